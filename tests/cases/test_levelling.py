"""Tanks that will not level, and odd hardware: situations people met, told with the functions of the water floor."""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan

import pytest

from tankdash.water.drawing_off import draw, transfer
from tankdash.water.errors import OutOfRange
from tankdash.water.filling import pour, settle, settled
from tankdash.water.holding import full, headroom, lost_to_bases, never_fills, usable
from tankdash.water.model import Layout, Link, Outlet, Roof, Tank
from tankdash.water.one_surface import OneSurface, level_of
from tankdash.water.pools import pools
from tankdash.water.priming import unprimed_by, with_primes_lost
from tankdash.water.readings import depth_from_reading
from tankdash.water.rest import at_rest
from tankdash.water.shapes import Straight
from tankdash.water.sills import banks, sills_from


def straight(name: str, area: float, height: float, base: float = 0.0, **more: object) -> Tank:
    """Return a tank with straight walls that spills at its brim unless told otherwise."""
    return Tank(name, Straight(area, height), base=base, brim=height, **more)  # type: ignore[arg-type]


def litres(volume: float) -> float:
    return volume * 1000.0


LIFT = 0.130 / 0.6


def two_tanks(*, lifted: bool) -> Layout:
    """Two tanks of 0.60 m2, the second one's overflow 217 mm under the first's until it is lifted by as much."""
    base = 0.05 if lifted else 0.05 - LIFT
    tanks = {
        "first": straight("first", 0.6, 1.2, overflow=1.0),
        "second": straight("second", 0.6, 1.2, base=base, overflow=0.95),
    }
    pipe = Link("pipe", ("first", "second"), (0.02, 0.05))
    taps = {"tap": Outlet("tap", "second", 0.0)}
    return Layout(tanks, {"pipe": pipe}, taps, {"roof": Roof("roof", 20.0, "first")})


def test_F01_the_second_overflow_is_lower_and_caps_the_first() -> None:
    site = two_tanks(lifted=False)
    (pool,) = pools(site, full(site))
    assert pool.spills_at == "second"
    assert litres(site.tanks["first"].lip_volume - full(site)["first"]) == pytest.approx(130.0)
    assert litres(lost_to_bases(site)) == pytest.approx(130.0)


def test_F01_lifting_by_217_mm_wins_it_back_and_60_litres_stay_under_the_link() -> None:
    assert pytest.approx(0.217, abs=5e-4) == LIFT
    site = two_tanks(lifted=True)
    assert litres(lost_to_bases(site)) == pytest.approx(0.0, abs=1e-9)
    when_full = full(site)
    stranded = when_full["first"] - usable(site, when_full)["first"]
    assert litres(stranded) == pytest.approx(60.0)
    own_tap = replace(site, outlets={"own": Outlet("own", "first", 0.0)})
    assert usable(own_tap, when_full)["first"] == pytest.approx(when_full["first"])


def butts(first_base: float = 0.0, cut_off: float = 0.84) -> Layout:
    """Two butts joined at the bottom, a third over ports at 0.86 m; the feed of the first stops at `cut_off`."""
    tanks = {
        "one": straight("one", 0.25, 0.90, base=first_base, overflow=cut_off - first_base),
        "two": straight("two", 0.25, 0.90),
        "three": straight("three", 0.25, 0.90),
    }
    links = {
        "bottom": Link("bottom", ("one", "two"), (0.05, 0.05)),
        "top": Link("top", ("two", "three"), (0.86, 0.86)),
    }
    return Layout(tanks, links, {"tap": Outlet("tap", "one", 0.05)}, {"feed": Roof("feed", 10.0, "one")})


def test_F02_a_third_butt_with_a_hole_near_the_top_never_fills() -> None:
    site = butts()
    assert never_fills(site) == ["three"]
    sill = sills_from(site, "one")["three"]
    cap = pools(site, full(site))[0].spill
    assert (sill, cap) == (pytest.approx(0.86), pytest.approx(0.84))
    assert sill - cap == pytest.approx(0.020)


def test_F02_an_inch_under_the_first_helps_only_if_the_cut_off_rises_with_it() -> None:
    inch = 0.0254
    fixed = butts(inch)
    assert never_fills(fixed) == ["three"]
    raised = butts(inch, cut_off=0.84 + inch)
    assert never_fills(raised) == []
    assert 0.84 + inch - 0.86 == pytest.approx(0.0054)


def test_F02_water_never_comes_back_through_the_high_port() -> None:
    site = butts()
    full_third = pour(site, {}, {"three": 0.30})
    assert full_third.contents["three"] == pytest.approx(0.25 * 0.86)
    # Emptying the first two through the tap leaves it alone.
    after = draw(site, full_third.contents, "tap", 1.0)
    assert after.contents["three"] == pytest.approx(0.25 * 0.86)
    told = at_rest(site, {"one": 0.40})
    assert told.tanks["three"].volume is None
    assert told.tanks["three"].high == pytest.approx(0.25 * 0.86)


def greenhouse(crate: float) -> Layout:
    """A main butt outdoors, and a small barrel indoors topped up by a siphon over the rims."""
    tanks = {
        "main": straight("main", 0.25, 0.88),
        "barrel": straight("barrel", 0.10, 0.60, base=crate),
    }
    # Both hose ends hang 3 cm above the barrel's floor.
    hose = Link("hose", ("main", "barrel"), (crate + 0.03, 0.03), crest=1.0, primed=True)
    taps = {"indoors": Outlet("indoors", "barrel", 0.0), "outdoors": Outlet("outdoors", "main", 0.0)}
    return Layout(tanks, {"hose": hose}, taps, {"roof": Roof("roof", 10.0, "main")})


def test_F03_on_its_crate_the_barrel_is_topped_up_until_the_hose_end_comes_out() -> None:
    site = greenhouse(0.30)
    when_full = full(site)
    assert pools(site, when_full)[0].spills_at == "main"
    emptied = draw(site, when_full, "indoors", 1.0)
    assert litres(emptied.contents["main"]) == pytest.approx(0.33 * 250)
    assert litres(emptied.contents["main"]) == pytest.approx(82.5)
    assert unprimed_by(site, emptied.contents) == {"hose"}


def test_F03_a_lost_prime_does_not_come_back_with_the_level() -> None:
    site = greenhouse(0.30)
    emptied = draw(site, full(site), "indoors", 1.0).contents
    after = with_primes_lost(site, emptied)
    refilled = pour(after, emptied, {"main": 0.1}).contents
    assert refilled["barrel"] == emptied["barrel"]
    primed_again = replace(after, links={"hose": replace(after.links["hose"], primed=True)})
    assert settle(primed_again, refilled)["barrel"] > emptied["barrel"]


def test_F03_left_on_the_floor_it_spills_indoors_what_stands_above_its_rim() -> None:
    up, down = greenhouse(0.30), greenhouse(0.0)
    water = {"main": 0.88 * 0.25, "barrel": 0.0}
    assert pools(up, settle(up, water))[0].spills_at == "main"
    lost = settled(down, water | {"barrel": 0.60 * 0.10})
    assert list(lost.spilled) == ["barrel"]
    assert litres(lost.spilled["barrel"]) == pytest.approx((0.88 - 0.60) * 250)


MIXED = {
    "a": straight("a", 0.26, 0.90, base=0.20),
    "b": straight("b", 0.28, 0.60, base=0.50),
    "c": straight("c", 0.24, 1.10),
}


@pytest.mark.parametrize(
    ("level", "expected", "together"),
    [(0.40, (52, 0, 96), 148), (0.80, (156, 84, 192), 432), (1.10, (234, 168, 264), 666)],
)
def test_F04_mixed_barrels_with_their_rims_in_line(
    level: float, expected: tuple[int, ...], together: int
) -> None:
    manifold = Layout(MIXED, {"manifold": Link("manifold", ("a", "b", "c"), (0.0, 0.0, 0.0))})
    told = at_rest(manifold, {"c": level})
    assert [litres(told.tanks[name].volume or 0.0) for name in "abc"] == pytest.approx(list(expected))
    assert litres(told.low) == pytest.approx(together)
    assert (told.tanks["b"].state == "dry") == (level < 0.5)


def test_F04_three_hundred_litres_stand_at_631_mm() -> None:
    manifold = Layout(MIXED, {"manifold": Link("manifold", ("a", "b", "c"), (0.0, 0.0, 0.0))})
    assert level_of(manifold, "abc", 0.300).low == pytest.approx(0.631, abs=5e-4)
    poured = pour(manifold, {}, {"c": 0.300}).contents
    assert OneSurface(MIXED.values()).volume(0.6307692) == pytest.approx(sum(poured.values()), abs=1e-6)
    assert poured["b"] == pytest.approx(0.28 * 0.1307692, abs=1e-6)


def test_F05_a_barrel_with_its_lid_on_tight_is_not_counted() -> None:
    barrels = {
        "one": straight("one", 0.26, 0.90),
        "sealed": straight("sealed", 0.26, 0.90, vented=False),
        "two": straight("two", 0.26, 0.90),
    }
    site = Layout(barrels, {"manifold": Link("manifold", ("one", "sealed", "two"), (0.0,) * 3)})
    told = at_rest(site, {"one": 0.90})
    sealed = told.tanks["sealed"]
    assert (sealed.state, sealed.volume, sealed.low) == ("vent-closed", None, 0.0)
    assert sealed.high == pytest.approx(0.26 * 0.067, rel=0.01)
    assert [pool.tanks for pool in told.pools] == [("one", "two")]
    assert told.high == pytest.approx(2 * 0.26 * 0.90)
    assert "vent-closed" in {warning.code for warning in told.warnings}


def hump(primed: bool | None) -> Layout:
    tanks = {name: straight(name, 1.0, 1.0) for name in ("a", "b")}
    return Layout(tanks, {"hose": Link("hose", ("a", "b"), (0.05, 0.05), crest=0.55, primed=primed)})


def test_F06_full_of_water_the_hose_levels_and_full_of_air_it_does_not() -> None:
    water = {"a": 0.40, "b": 0.15}
    assert settle(hump(True), water) == pytest.approx({"a": 0.275, "b": 0.275})
    assert settle(hump(False), water) == water


def test_F06_when_nobody_knows_both_ends_are_told_and_their_sum_is_one() -> None:
    told = at_rest(hump(None), {"a": 0.40, "b": 0.15})
    assert (told.tanks["a"].low, told.tanks["a"].high) == pytest.approx((0.275, 0.40))
    assert (told.tanks["b"].low, told.tanks["b"].high) == pytest.approx((0.15, 0.275))
    assert (litres(told.low), litres(told.high)) == pytest.approx((550.0, 550.0))
    assert [warning.code for warning in told.warnings] == ["crest"]
    one = at_rest(hump(None), {"a": 0.40})
    assert one.tanks["b"].volume is None
    assert (one.tanks["b"].low, one.tanks["b"].high) == pytest.approx((0.0, 0.55))


def test_F06_an_observation_decides() -> None:
    level = at_rest(hump(None), {"a": 0.275, "b": 0.275})
    assert not level.warnings
    known = at_rest(hump(True), {"a": 0.275})
    assert known.tanks["b"].volume == pytest.approx(0.275)


def test_F07_a_full_tank_opened_to_an_empty_one_ends_in_unequal_halves() -> None:
    tanks = {"one": straight("one", 10.18, 2.5), "two": straight("two", 10.18, 2.5, base=-0.20)}
    pipe = Link("pipe", ("one", "two"), (0.0, 0.2))
    site = Layout(tanks, {"pipe": pipe})
    before = {"one": tanks["one"].volume(2.40), "two": 0.0}
    # Litres are printed to the whole litre; the product is 24 432.
    assert litres(before["one"]) == pytest.approx(24429, abs=4)
    after = settle(site, before)
    assert tanks["one"].depth(after["one"]) == pytest.approx(1.10)
    assert tanks["two"].depth(after["two"]) == pytest.approx(1.30)
    assert (litres(after["one"]), litres(after["two"])) == pytest.approx((11197, 13232), abs=3)
    told = at_rest(site, {"one": 1.02, "two": 1.22})
    assert told.spread == pytest.approx(0.0, abs=1e-12)
    assert not told.warnings
    missing = sum(after.values()) - told.low
    assert litres(missing) == pytest.approx(1629, abs=4)
    assert missing / sum(after.values()) == pytest.approx(0.067, abs=5e-4)


def test_F09_a_leaning_tank_loses_a_wedge_and_its_dip_reads_high_off_the_middle() -> None:
    lean = tan(radians(3.0))
    fall = 1.2 * lean
    assert fall == pytest.approx(0.063, abs=5e-4)
    upright = straight("tote", 1.2 * 1.0, 1.0)
    leaning = replace(upright, overflow=1.0 - fall / 2)
    assert litres(upright.lip_volume - leaning.lip_volume) == pytest.approx(37.7, abs=0.1)
    off = 0.45 * lean
    assert off == pytest.approx(0.0236, abs=5e-5)
    read = 0.50 + off
    corrected = depth_from_reading(read, brim=1.0, measured_from="floor", offset=-off)
    assert corrected == pytest.approx(0.50)
    assert litres(leaning.volume(read) - leaning.volume(corrected)) == pytest.approx(28, abs=0.5)


def pair(*, linked: bool) -> Layout:
    tanks = {name: straight(name, 3.33, 2.0) for name in ("south", "north")}
    link = {"link": Link("link", ("south", "north"), (0.0, 0.0))} if linked else {}
    taps = {f"{name}-tap": Outlet(f"{name}-tap", name, 0.40) for name in tanks}
    roofs = {"small": Roof("small", 50.0, "south"), "large": Roof("large", 100.0, "north")}
    return Layout(tanks, link, taps, roofs)


def test_F10_two_tanks_not_yet_linked_keep_their_own_and_the_taps_give_nothing() -> None:
    apart = pair(linked=False)
    assert banks(apart) == [("south",), ("north",)]
    told = at_rest(apart, {"south": 0.25, "north": 0.35})
    assert litres(told.low) == pytest.approx(2000, abs=3)
    assert sum(usable(apart, told.contents).values()) == 0.0
    # One dip says nothing of a tank no link leads to.
    alone = at_rest(apart, {"south": 0.25})
    assert alone.tanks["north"].state == "unknown"
    ends = [at_rest(apart, {"south": low, "north": low + 0.10}).low for low in (0.20, 0.30)]
    assert [litres(end) for end in ends] == pytest.approx([1667, 2333], abs=3)


def test_F10_after_the_link_they_share_thirty_centimetres_and_still_give_nothing() -> None:
    linked = pair(linked=True)
    after = settle(linked, {"south": 0.25 * 3.33, "north": 0.35 * 3.33})
    (pool,) = pools(linked, after)
    assert pool.surface == pytest.approx(0.30)
    assert sum(usable(linked, after).values()) == 0.0


def test_F49_a_header_spills_for_nine_hours_of_twelve() -> None:
    rate = 10.0 / 3.0
    below = {f"b{place}": straight(f"b{place}", 10.0, 2.25) for place in range(4)}
    header = straight("header", 5.0, 2.0, base=20.0)
    yard = Link("yard", tuple(below), (0.0,) * 4)
    site = Layout(below | {"header": header}, {"yard": yard}, {"pump": Outlet("pump", "b0", 0.0, "pump")})
    before = dict.fromkeys(below, 22.5)
    moved = transfer(site, before, "b0", "header", 12 * rate)
    assert litres(moved.spilled["header"]) == pytest.approx(30_000)
    assert litres(moved.contents["header"]) == pytest.approx(10_000)
    assert litres(sum(moved.contents[name] for name in below)) == pytest.approx(50_000)
    assert headroom(site, before) == pytest.approx(10.0)
    # The pump joins no levels, and cannot give what is not there.
    assert len(pools(site, moved.contents)) == 2
    assert transfer(site, before, "b0", "header", 100.0).short == pytest.approx(10.0)
    # A header no roof reaches is full at its lip.
    assert full(site)["header"] == pytest.approx(10.0)


def test_F51_with_no_valves_all_is_at_risk_and_with_all_but_one_only_that_tank() -> None:
    tanks = {f"t{place}": straight(f"t{place}", 10.0, 2.25) for place in range(8)}
    links = {f"v{place}": Link(f"v{place}", (f"t{place}", f"t{place + 1}"), (0.0, 0.0)) for place in range(7)}
    joint = {"joint": Outlet("joint", "t3", 0.0)}
    water = dict.fromkeys(tanks, 22.5)
    open_bank = Layout(tanks, links, joint)
    assert litres(draw(open_bank, water, "joint", 1000.0).drawn) == pytest.approx(180_000)
    shut = {key: replace(link, is_open=False) for key, link in links.items()}
    assert litres(draw(Layout(tanks, shut, joint), water, "joint", 1000.0).drawn) == pytest.approx(22_500)


def test_F51_a_plugged_barrel_fills_alone_and_joins_again_without_losing_a_litre() -> None:
    tanks = {name: straight(name, 0.26, 0.90) for name in ("a", "b", "c")}
    links = {
        "ab": Link("ab", ("a", "b"), (0.05, 0.05)),
        "bc": Link("bc", ("b", "c"), (0.05, 0.05)),
    }
    whole = Layout(tanks, links)
    plugged = Layout(tanks, links | {"bc": replace(links["bc"], is_open=False)})
    before = pour(whole, {}, {"a": 0.300}).contents
    apart = pour(plugged, before, {"c": 0.060}).contents
    assert apart["c"] == pytest.approx(before["c"] + 0.060)
    assert apart["a"] == before["a"]
    again = settle(whole, apart)
    assert list(again.values()) == pytest.approx([0.120] * 3)


def test_F51_a_reading_for_a_tank_that_is_not_in_the_layout_is_refused() -> None:
    with pytest.raises(OutOfRange, match="no tank 'old'"):
        at_rest(Layout(MIXED), {"old": 0.3})
