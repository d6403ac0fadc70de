"""Full, usable, lost to uneven bases, headroom, and level from volume (R6, R7, R8, R16)."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan

import pytest

from tankdash.water.errors import OutOfRange
from tankdash.water.holding import (
    full,
    headroom,
    lost_to_bases,
    never_fills,
    usable,
    usable_from,
    volume_below_outlet,
)
from tankdash.water.model import Layout, Link, Outlet, Roof, Tank
from tankdash.water.one_surface import Band, OneSurface, level_of
from tankdash.water.rest import at_rest
from tankdash.water.shapes import Lying, Straight, Table
from tankdash.water.sills import banks, sills_from


def tote(name: str, base: float = 0.0, **more: object) -> Tank:
    return Tank(name, Straight(1.0, 1.05), base=base, brim=1.05, **more)  # type: ignore[arg-type]


def example() -> Layout:
    """The worked example of the contract."""
    tanks = {
        "north": tote("north", 0.20, overflow=0.95),
        "middle": tote("middle", 0.17),
        "south": tote("south", 0.23),
    }
    links = {
        "nm": Link("nm", ("north", "middle"), (0.08, 0.08)),
        "ms": Link("ms", ("middle", "south"), (0.08, 0.08)),
    }
    return Layout(tanks, links, {"tap": Outlet("tap", "south", 0.10)})


def test_the_worked_example_comes_out_to_the_litre() -> None:
    site = example()
    contents = at_rest(site, {"north": 0.60}).contents
    when_full = full(site)
    assert sum(contents.values()) == pytest.approx(1.800)
    assert list(usable(site, contents).values()) == pytest.approx([0.47, 0.47, 0.47])
    assert sum(volume_below_outlet(site, contents).values()) == pytest.approx(0.390)
    assert list(when_full.values()) == pytest.approx([0.95, 0.98, 0.92])
    assert sum(usable(site, when_full).values()) == pytest.approx(2.460)
    assert headroom(site, contents) == pytest.approx(1.050)
    assert lost_to_bases(site) == pytest.approx(0.200)
    share = sum(usable(site, contents).values()) / sum(usable(site, when_full).values())
    assert 100 * share == pytest.approx(57.3, abs=0.05)


def test_a_roof_on_one_of_them_fills_them_all_alike() -> None:
    site = replace(example(), roofs={"shed": Roof("shed", 24.0, "south")})
    assert list(full(site).values()) == pytest.approx([0.95, 0.98, 0.92])


def test_usable_ends_at_the_outlet_or_at_the_sill_whichever_is_higher() -> None:
    """Sills to the tap's tank are 0.31; the tap itself stands at 0.33. Lower it and the sill counts."""
    site = example()
    assert usable_from(site) == pytest.approx({"north": 0.33, "middle": 0.33, "south": 0.33})
    low = replace(site, outlets={"tap": Outlet("tap", "south", 0.01)})
    assert usable_from(low) == pytest.approx({"north": 0.31, "middle": 0.31, "south": 0.24})


def test_of_two_outlets_the_better_one_counts_for_each_tank() -> None:
    site = replace(
        example(), outlets={"tap": Outlet("tap", "south", 0.10), "own": Outlet("own", "north", 0.0)}
    )
    assert usable_from(site) == pytest.approx({"north": 0.20, "middle": 0.28, "south": 0.31})
    assert usable_from(site, ["tap"])["north"] == pytest.approx(0.33)
    with pytest.raises(OutOfRange, match="no outlet 'hose'"):
        usable_from(site, ["hose"])


def test_a_bed_needs_its_height_and_its_head() -> None:
    site = example()
    contents = at_rest(site, {"north": 0.60}).contents
    assert sum(usable(site, contents, above=0.70).values()) == pytest.approx(0.30)
    assert sum(usable(site, contents, above=0.80).values()) == pytest.approx(0.0, abs=1e-12)


def test_no_way_to_the_outlet_means_nothing_usable() -> None:
    site = replace(example(), links={})
    assert usable(site, {"north": 0.9, "middle": 0.9, "south": 0.9}) == pytest.approx(
        {"north": 0.0, "middle": 0.0, "south": 0.8}
    )
    assert usable_from(site)["north"] == inf


def test_what_stands_under_the_sill_is_not_usable_even_when_full_beside_it() -> None:
    """A tank cut off at its sill keeps 8 cm that no tap can reach."""
    site = example()
    assert usable(site, {"middle": 0.11, "north": 0.05, "south": 0.05})["middle"] == 0.0


def test_a_tank_no_inlet_reaches_never_fills_and_a_pumped_header_is_full_at_its_lip() -> None:
    site = Layout(
        {"a": tote("a", overflow=0.8), "b": tote("b"), "header": tote("header", 5.0, overflow=0.9)},
        {"ab": Link("ab", ("a", "b"), (0.9, 0.9))},
        roofs={"shed": Roof("shed", 20.0, "a")},
    )
    assert full(site) == pytest.approx({"a": 0.8, "b": 0.0, "header": 0.9})
    assert never_fills(site) == ["b"]
    assert lost_to_bases(site) == pytest.approx(1.05)
    assert lost_to_bases(site, ["header"]) == pytest.approx(0.0)


def test_an_overflow_is_an_inlet_of_the_tank_below() -> None:
    site = Layout(
        {"a": tote("a", 1.0, overflow=0.8, overflow_to="b"), "b": tote("b", overflow=0.5)},
        roofs={"shed": Roof("shed", 20.0, "a")},
    )
    assert full(site) == pytest.approx({"a": 0.8, "b": 0.5})
    assert headroom(site, {"a": 0.7}) == pytest.approx(0.6)


def test_a_tank_held_above_its_lip_by_the_water_it_spills_into_loses_nothing_to_bases() -> None:
    low = Tank("low", Straight(1.0, 1.0), base=0.0, brim=1.0, overflow=0.7, overflow_to="high")
    high = Tank("high", Straight(1.0, 1.0), base=0.5, brim=1.0, overflow=0.4)
    hose = Link("hose", ("low", "high"), (0.1, 0.1), crest=2.0, primed=False)
    site = Layout({"low": low, "high": high}, {"hose": hose}, roofs={"shed": Roof("shed", 10.0, "low")})
    assert full(site) == pytest.approx({"low": 0.9, "high": 0.4})
    assert lost_to_bases(site) == pytest.approx(0.0)


def test_an_overflow_that_stays_within_its_bank_is_no_inlet_of_it() -> None:
    """No roof anywhere: the pair is full at its lips, although the upper one's overflow runs into the lower (R6)."""
    tanks = {"upper": tote("upper", 1.0, overflow=0.9, overflow_to="lower"), "lower": tote("lower")}
    hose = Link("hose", ("upper", "lower"), (0.1, 0.1), crest=2.0, primed=False)
    assert full(Layout(tanks, {"hose": hose})) == pytest.approx({"upper": 0.9, "lower": 1.05})


def test_banks_that_only_feed_each_other_are_full_at_their_lips() -> None:
    """Each pair stands on a slope and overflows to the foot of the other: without a roof no drop would ever come."""
    tanks = {
        "top-one": tote("top-one", 1.5, overflow=0.9, overflow_to="foot-two"),
        "foot-one": tote("foot-one"),
        "top-two": tote("top-two", 1.5, overflow=0.9, overflow_to="foot-one"),
        "foot-two": tote("foot-two"),
    }
    links = {
        way: Link(way, (f"top-{way}", f"foot-{way}"), (0.1, 0.1), crest=2.5, primed=False)
        for way in ("one", "two")
    }
    pairs = Layout(tanks, links)
    assert full(pairs) == pytest.approx({"top-one": 0.9, "foot-one": 1.05, "top-two": 0.9, "foot-two": 1.05})
    rained_on = replace(pairs, roofs={"shed": Roof("shed", 10.0, "foot-one")})
    assert never_fills(rained_on) == ["top-one", "top-two", "foot-two"]


def test_headroom_ends_at_the_first_lip_and_not_at_the_last() -> None:
    """Two roofs of 10 and 30 m2 on two tanks apart but for a high link: the larger one's tank spills first."""
    site = Layout(
        {"a": tote("a", overflow=0.8), "b": tote("b", overflow=0.8)},
        {"ab": Link("ab", ("a", "b"), (0.9, 0.9))},
        roofs={"small": Roof("small", 10.0, "a"), "large": Roof("large", 30.0, "b")},
    )
    assert headroom(site, {}) == pytest.approx(0.8 * 4 / 3)
    assert headroom(site, full(site)) == pytest.approx(0.0)
    # Two sites in one: the room of both counts.
    apart = replace(site, links={})
    assert headroom(apart, {}) == pytest.approx(1.6)


def test_a_closed_vent_holds_nothing_that_counts() -> None:
    site = example()
    site = replace(site, tanks=site.tanks | {"south": replace(site.tanks["south"], vented=False)})
    assert full(site)["south"] == 0.0
    assert never_fills(site) == []
    assert lost_to_bases(site) == pytest.approx(0.95 + 1.05 - 0.95 - 0.98)


def test_banks_are_what_open_links_join() -> None:
    site = example()
    assert banks(site) == [("north", "middle", "south")]
    shut = replace(site, links=site.links | {"nm": replace(site.links["nm"], is_open=False)})
    assert banks(shut) == [("north",), ("middle", "south")]
    assert sills_from(site, "north") == pytest.approx({"north": -inf, "middle": 0.28, "south": 0.31})


# Level from volume (R16)


def test_a_plateau_between_tiers_gives_a_band() -> None:
    """The lower tank is full at 1.0; the upper one stands on 1.5. The same litres stand anywhere between."""
    tiers = Layout({
        "low": Tank("low", Straight(1.0, 1.0), brim=1.0),
        "high": Tank("high", Straight(2.0, 1.0), base=1.5, brim=1.0),
    })  # fmt: skip
    assert level_of(tiers, ["low", "high"], 1.0) == Band(1.0, 1.5)
    assert level_of(tiers, ["low", "high"], 0.5) == Band(0.5, 0.5)
    assert level_of(tiers, ["low", "high"], 2.0) == pytest.approx(Band(2.0, 2.0))
    assert level_of(tiers, ["low", "high"], 0.0) == Band(0.0, 0.0)
    assert level_of(tiers, ["low", "high"], 3.0) == pytest.approx(Band(2.5, 2.5))


def test_a_plateau_is_one_whatever_rounding_says() -> None:
    tiers = OneSurface(
        [
            Tank(f"low{place}", Straight(area, 0.9), base=0.1, brim=0.9)
            for place, area in enumerate((0.26, 0.28, 0.1))
        ]
        + [Tank("high", Straight(0.3, 1.0), base=1.5, brim=1.0)]
    )
    assert tiers.band(0.64 * 0.9) == pytest.approx(Band(1.0, 1.5))


def test_curved_tanks_are_searched_between_their_marks() -> None:
    drums = OneSurface([Tank("a", Lying(1.0, 2.0), brim=1.0), Tank("b", Lying(0.8, 1.0), base=0.4, brim=0.8)])
    for step in range(1, 120):
        height = step / 100
        assert drums.height(drums.volume(height)) == pytest.approx(height, abs=1e-9)


def test_a_table_may_stand_still_within_its_rows() -> None:
    odd = OneSurface([Tank("odd", Table(((0.0, 0.0), (0.5, 0.4), (1.0, 0.9))), base=0.2, brim=1.0)])
    assert odd.height(0.4) == pytest.approx(0.7)
    assert odd.band(0.65) == pytest.approx(Band(0.95, 0.95))


@pytest.mark.parametrize("volume", [nan, inf, -0.01, 3.2])
def test_what_they_cannot_hold_has_no_level(volume: float) -> None:
    with pytest.raises(OutOfRange):
        level_of(example(), ["north", "middle", "south"], volume)


def test_level_of_nothing_and_of_strangers_is_refused() -> None:
    with pytest.raises(OutOfRange):
        OneSurface([])
    with pytest.raises(OutOfRange, match="no tank 'west'"):
        level_of(example(), ["west"], 0.1)


@pytest.mark.parametrize(("height", "holds"), [(0.001, 0.001), (10.0, 1000.0), (1.0, 0.001), (10.0, 0.001)])
def test_full_from_a_litre_to_a_thousand_cubic_metres(height: float, holds: float) -> None:
    tanks = {name: Tank(name, Straight(holds / height, height), brim=height) for name in ("a", "b")}
    site = Layout(tanks, {"ab": Link("ab", ("a", "b"), (0.0, 0.0))}, {"tap": Outlet("tap", "b", 0.0)})
    assert list(full(site).values()) == pytest.approx([holds, holds])
    assert sum(usable(site, full(site)).values()) == pytest.approx(2 * holds)
    assert headroom(site, {}) == pytest.approx(2 * holds)
