"""Drawing, moving and losing a prime (R10)."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan

import pytest

from tankdash.water.drawing_off import draw, draw_from_tank, transfer
from tankdash.water.errors import OutOfRange
from tankdash.water.filling import pour
from tankdash.water.model import Layout, Link, Outlet, Tank
from tankdash.water.priming import unprimed_by, with_primes_lost
from tankdash.water.shapes import Lying, Straight


def tote(name: str, base: float = 0.0, **more: object) -> Tank:
    return Tank(name, Straight(1.0, 1.0), base=base, brim=1.0, **more)  # type: ignore[arg-type]


def row(**more: object) -> Layout:
    """Three totes on one level with sills at 0.3 and 0.2, a tap on the last at 5 cm and one on the first at 40 cm."""
    tanks = {name: tote(name) for name in "abc"}
    links = {
        "ab": Link("ab", ("a", "b"), (0.3, 0.3), **more),  # type: ignore[arg-type]
        "bc": Link("bc", ("b", "c"), (0.2, 0.2)),
    }
    return Layout(tanks, links, {"tap": Outlet("tap", "c", 0.05), "high": Outlet("high", "a", 0.40)})


FULL = dict.fromkeys("abc", 0.9)


@pytest.mark.parametrize(
    ("asked", "left"),
    [
        (0.3, (0.8, 0.8, 0.8)),
        (1.8, (0.3, 0.3, 0.3)),
        (1.9, (0.3, 0.25, 0.25)),
        (2.0, (0.3, 0.2, 0.2)),
        (2.1, (0.3, 0.2, 0.1)),
        (2.15, (0.3, 0.2, 0.05)),
    ],
)
def test_a_pool_sinks_parts_at_its_sills_and_what_is_cut_off_keeps_its_water(
    asked: float, left: tuple[float, ...]
) -> None:
    outcome = draw(row(), FULL, "tap", asked)
    assert list(outcome.contents.values()) == pytest.approx(list(left))
    assert (outcome.drawn, outcome.short) == (pytest.approx(asked), pytest.approx(0.0, abs=1e-12))


def test_an_outlet_gives_nothing_below_itself() -> None:
    outcome = draw(row(), FULL, "tap", 5.0)
    assert outcome.drawn == pytest.approx(2.15)
    assert outcome.drawn + outcome.short == pytest.approx(5.0)
    again = draw(row(), outcome.contents, "tap", 1.0)
    assert (again.drawn, again.short, again.contents) == (0.0, 1.0, outcome.contents)


def test_a_tank_behind_a_closed_valve_is_no_help() -> None:
    outcome = draw(row(is_open=False), FULL, "tap", 5.0)
    assert outcome.contents["a"] == 0.9
    assert outcome.drawn == pytest.approx(0.7 + 0.85)


def test_a_curved_bank_gives_to_the_drop() -> None:
    drums = {
        name: Tank(name, Lying(1.0, 2.0), base=base, brim=1.0) for name, base in (("a", 0.0), ("b", 0.2))
    }
    site = Layout(drums, {"ab": Link("ab", ("a", "b"), (0.1, 0.0))}, {"tap": Outlet("tap", "a", 0.0)})
    before = pour(site, {}, {"a": 2.5}).contents
    outcome = draw(site, before, "tap", 1.0)
    assert sum(outcome.contents.values()) == pytest.approx(1.5, abs=1e-12)
    surface = {name: tank.base + tank.depth(outcome.contents[name]) for name, tank in drums.items()}
    assert surface["a"] == pytest.approx(surface["b"])


def test_a_draw_of_nothing_takes_nothing() -> None:
    for nothing in (0.0, -0.0):
        assert draw(row(), FULL, "tap", nothing).contents == FULL


@pytest.mark.parametrize("volume", [nan, inf, -0.1])
def test_what_is_no_volume_cannot_be_drawn(volume: float) -> None:
    with pytest.raises(OutOfRange):
        draw(row(), FULL, "tap", volume)
    with pytest.raises(OutOfRange):
        transfer(row(), FULL, "a", "c", volume)


def test_unknown_names_are_refused_with_the_known_ones() -> None:
    with pytest.raises(OutOfRange, match="tap, high"):
        draw(row(), FULL, "hose", 1.0)
    with pytest.raises(OutOfRange, match="a, b, c"):
        transfer(row(), FULL, "d", "a", 1.0)


def test_a_bucket_reaches_the_floor_and_a_pump_its_intake() -> None:
    alone = Layout({"a": tote("a"), "b": tote("b")})
    assert draw_from_tank(alone, {"a": 0.5}, "a", 1.0).drawn == pytest.approx(0.5)
    assert draw_from_tank(alone, {"a": 0.5}, "a", 1.0, down_to=0.2).drawn == pytest.approx(0.3)
    moved = transfer(alone, {"a": 0.5, "b": 0.8}, "a", "b", 0.4)
    assert moved.contents == pytest.approx({"a": 0.1, "b": 1.0})
    assert (moved.drawn, moved.short, moved.spilled) == (pytest.approx(0.4), 0.0, {"b": pytest.approx(0.2)})


def test_moving_water_within_a_pool_moves_nothing() -> None:
    moved = transfer(row(), FULL, "a", "c", 0.5)
    assert list(moved.contents.values()) == pytest.approx([0.9] * 3)


def siphon() -> Layout:
    tanks = {"main": tote("main"), "small": tote("small", 0.3)}
    hose = Link("hose", ("main", "small"), (0.35, 0.05), crest=1.4, primed=True)
    return Layout(tanks, {"hose": hose}, {"tap": Outlet("tap", "main", 0.0)})


def test_a_siphon_runs_above_its_crest_both_ways_while_both_ends_are_covered() -> None:
    site = siphon()
    water = pour(site, {}, {"main": 1.0}).contents
    assert water == pytest.approx({"main": 0.65, "small": 0.35})
    assert unprimed_by(site, water) == set()
    lower = draw(site, water, "tap", 0.2).contents
    assert lower == pytest.approx({"main": 0.55, "small": 0.25})


def test_a_siphon_whose_end_is_uncovered_passes_nothing_back() -> None:
    site = siphon()
    water = pour(site, {}, {"main": 1.0}).contents
    drawn = draw(site, water, "tap", 0.8).contents
    assert drawn["small"] == pytest.approx(0.05)
    assert unprimed_by(site, drawn) == {"hose"}
    after = with_primes_lost(site, drawn)
    refilled = pour(after, drawn, {"main": 0.5}).contents
    assert refilled["small"] == drawn["small"]
    assert with_primes_lost(after, refilled).links["hose"].primed is False


def test_a_transfer_that_breaks_a_siphon_does_not_run_back_through_it() -> None:
    site = siphon()
    site = replace(site, tanks=site.tanks | {"far": tote("far")})
    water = pour(site, {}, {"main": 1.0}).contents
    moved = transfer(site, water, "main", "far", 0.9)
    assert moved.contents["small"] == pytest.approx(0.05)
    back = transfer(with_primes_lost(site, moved.contents), moved.contents, "far", "main", 0.9)
    assert back.contents["small"] == pytest.approx(0.05)


def test_a_link_without_a_hump_has_no_prime_to_lose() -> None:
    site = siphon()
    low = replace(site, links={"hose": replace(site.links["hose"], crest=0.2)})
    assert unprimed_by(low, {"main": 0.0, "small": 0.0}) == set()


@pytest.mark.parametrize("over", [0.0, 1e-12, 1e-9, 4e-7])
def test_a_hair_over_the_sill_is_no_reason_to_move_what_stands_below_it(over: float) -> None:
    """The first tank stands at its sill, but for rounding, and the others 10 cm under it."""
    site = row()
    water = {"a": 0.3 + over, "b": 0.2, "c": 0.2}
    for asked in (1e-9, 1e-3):
        left = draw(replace(site, outlets={"tap": Outlet("tap", "a", 0.0)}), water, "tap", asked).contents
        assert left == pytest.approx({"a": 0.3 - asked, "b": 0.2, "c": 0.2}, abs=1e-6)
        poured = pour(site, water, {"a": asked}).contents
        assert poured["a"] == pytest.approx(0.3, abs=1e-6)
        assert poured["b"] + poured["c"] == pytest.approx(0.4 + asked, abs=1e-6)
