"""Levels: from one dip, what stands in every tank, what of it can be used, and what is said beside it."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from gardens import START, THREE_TOTES, at, codes, dip, journal, rain, site

from tankdash.journal.entries import Change, Dips, Note, Pour, TankDip, Use
from tankdash.keeping.state.levels import Levels, levels_of
from tankdash.keeping.state.replay import replay
from tankdash.keeping.state.what_if import what_if
from tankdash.site.model import Site
from tankdash.units import Depths


def levels(garden: Site, *happened: object, now: object = None) -> Levels:
    entries = journal(*happened)  # type: ignore[arg-type]
    moment = now or (entries[-1].at if entries else START)
    return levels_of(garden, replay(garden, entries, moment))  # type: ignore[arg-type]


def test_the_worked_example_comes_out_to_the_last_figure() -> None:
    garden = site()
    told = levels(garden, (START, dip(north=0.6))).as_json()
    assert told["schema"] == 1
    assert told["site"] == "Three totes"
    assert told["basis"] == "dip"
    north = told["tanks"]["north"]
    assert {key: north[key] for key in ("depth_m", "surface_m", "volume_l", "low_l", "high_l")} == {
        "depth_m": 0.6, "surface_m": 0.8, "volume_l": 600.0, "low_l": 600.0, "high_l": 600.0,
    }  # fmt: skip
    assert (north["usable_l"], north["full_l"], north["lip_m"], north["state"]) == (
        470.0,
        950.0,
        1.15,
        "dipped",
    )
    assert [told["tanks"][key]["volume_l"] for key in ("middle", "south")] == [630.0, 570.0]
    assert [told["tanks"][key]["state"] for key in ("middle", "south")] == ["level", "level"]
    assert told["pools"] == [
        {"tanks": ["north", "middle", "south"], "surface_m": 0.8, "spill_m": 1.15, "spills_at": "north"}
    ]
    totals = told["totals"]
    expected = {
        "volume_l": 1800.0, "low_l": 1800.0, "high_l": 1800.0, "usable_l": 1410.0, "below_outlet_l": 390.0,
        "full_l": 2850.0, "usable_full_l": 2460.0, "headroom_l": 1050.0, "lost_to_bases_l": 200.0, "percent": 57.3,
    }  # fmt: skip
    assert {key: totals[key] for key in expected} == expected
    assert told["settled"] == {"spread_m": 0.0, "settle_s": 0.0}
    assert all(
        told["moved"][key] == 0.0
        for key in (
            "caught_l",
            "caught_low_l",
            "caught_high_l",
            "first_flush_l",
            "spilled_l",
            "used_l",
            "short_l",
        )
    )
    assert told["warnings"] == []


def test_before_any_dip_nothing_is_known_and_nothing_is_guessed() -> None:
    told = levels(site()).as_json()
    assert told["basis"] == "none"
    for tank in told["tanks"].values():
        assert tank["volume_l"] is None and tank["depth_m"] is None and tank["usable_l"] is None
        assert tank["state"] == "unknown"
        assert (tank["low_l"], tank["high_l"]) == (0.0, tank["full_l"])
    assert told["totals"]["volume_l"] is None and told["totals"]["percent"] is None
    assert (told["totals"]["low_l"], told["totals"]["high_l"]) == (0.0, 2850.0)
    assert told["pools"] == []


def test_a_tank_below_its_link_is_a_range_and_not_a_guess() -> None:
    told = levels(site(), (START, dip(south=0.02)))
    middle = told.tanks["middle"]
    assert middle.state == "cut-off" and middle.volume_l is None
    assert middle.low_l == 0.0 and middle.high_l > 0.0
    assert told.totals.volume_l is None
    # What is cut off reaches no outlet either way, so the usable water is known all the same.
    assert told.totals.usable_l == pytest.approx(0.0)
    assert "cut-off" in codes(told.warnings)


def test_rain_after_the_dip_turns_it_into_an_estimate() -> None:
    told = levels(site(), (START, dip(north=0.3)), (at(1), rain(10.0, at(1))))
    assert told.basis == "estimate"
    # 10 mm on 24 m2 at 0.9.
    assert told.moved.caught_l == pytest.approx(216.0)
    assert told.totals.volume_l == pytest.approx(900.0 + 216.0)
    assert {tank.state for tank in told.tanks.values()} == {"level"}
    assert told.pools[0].surface_m == pytest.approx(0.5 + 0.072)


def test_a_range_in_the_gauge_becomes_a_range_in_the_tanks() -> None:
    told = levels(site(), (START, dip(north=0.3)), (at(1), rain(5.0, at(1), high_mm=15.0)))
    assert (told.moved.caught_low_l, told.moved.caught_l, told.moved.caught_high_l) == (
        pytest.approx(108.0), pytest.approx(216.0), pytest.approx(324.0),
    )  # fmt: skip
    assert told.totals.low_l == pytest.approx(1008.0)
    assert told.totals.high_l == pytest.approx(1224.0)


def test_a_gauge_that_ran_over_leaves_the_upper_end_open_up_to_full() -> None:
    reading = rain(5.0, at(1))
    over = type(reading)(5.0, None, reading.start, reading.end)
    told = levels(site(), (START, dip(north=0.3)), (at(1), over))
    assert told.moved.caught_high_l is None
    assert told.totals.low_l == pytest.approx(1008.0)
    assert told.totals.high_l == pytest.approx(2850.0)
    assert told.as_json()["moved"]["caught_high_l"] is None


def test_more_drawn_than_there_was_is_said_and_not_stored_as_less_than_nothing() -> None:
    told = levels(site(), (START, dip(north=0.6)), (at(1), Use(2000.0, "tap")))
    assert told.totals.usable_l == pytest.approx(0.0, abs=1e-6)
    assert told.moved.used_l == pytest.approx(1410.0)
    assert told.moved.short_l == pytest.approx(590.0)
    assert "short" in codes(told.warnings)


def test_a_dip_above_the_spill_is_reported_as_such() -> None:
    told = levels(site(), (START, dip(middle=1.03)))
    assert "above-spill" in codes(told.warnings)


def test_dips_that_disagree_each_stand_for_their_own_tank() -> None:
    told = levels(site(), (START, dip(north=0.6, middle=0.5, south=0.55)))
    assert told.totals.volume_l == pytest.approx(1650.0)
    # Surfaces 0.80, 0.67 and 0.78.
    assert told.settled.spread_m == pytest.approx(0.13)
    assert told.settled.settle_s is not None and told.settled.settle_s > 0.0
    assert "not-settled" in codes(told.warnings)


def test_two_dips_that_agree_within_their_sticks_are_settled() -> None:
    told = levels(site(), (START, dip(north=0.6, middle=0.635)))
    assert told.settled.settle_s == 0.0
    assert "not-settled" not in codes(told.warnings)


def test_a_dip_read_as_a_range_is_a_range() -> None:
    told = levels(site(), (START, Dips((TankDip("north", 0.6, 0.55, 0.65),))))
    assert (told.totals.low_l, told.totals.volume_l, told.totals.high_l) == (
        pytest.approx(1650.0), pytest.approx(1800.0), pytest.approx(1950.0),
    )  # fmt: skip


def test_a_dip_soon_after_rain_through_a_thin_hose_is_provisional() -> None:
    thin = site(THREE_TOTES.replace("bore: 50 mm", "bore: 13 mm"))
    shower = (at(0, -0.2), rain(15.0, at(0, -0.2), hours=0.3))
    hasty = levels(thin, shower, (START, dip(north=0.6)))
    assert "provisional" in codes(hasty.warnings)
    patient = levels(thin, (at(-2), rain(15.0, at(-2), hours=0.3)), (START, dip(north=0.6)))
    assert "provisional" not in codes(patient.warnings)
    assert "provisional" not in codes(levels(site(), shower, (START, dip(north=0.6))).warnings)


def test_a_sealed_tank_is_left_out_of_the_total_and_says_so() -> None:
    told = levels(site(), (START, Change("middle", "sealed")), (at(1), dip(north=0.6)))
    assert told.tanks["middle"].state == "vent-closed"
    assert "vent-closed" in codes(told.warnings)
    # The link chain is broken at the middle one, so the south is not known either.
    assert told.tanks["south"].state == "unknown"


def test_a_what_if_dip_is_the_same_as_a_dip_and_writes_nothing() -> None:
    garden = site()
    entries = journal((START, dip(north=0.3)))
    imagined = what_if(garden, entries, at(2), [dip(north=0.6)])
    assert imagined.basis == "what-if"
    assert imagined.totals.volume_l == pytest.approx(1800.0)
    assert len(entries) == 1


def test_a_what_if_applies_dips_then_settings_then_rain_then_the_rest() -> None:
    garden = site()
    told = what_if(
        garden,
        [],
        START,
        [Use(100.0, "tap"), Pour(50.0, "north"), dip(north=0.3)],
        rain=Depths(10.0, 10.0),
    )
    assert told.moved.caught_l == pytest.approx(216.0)
    assert told.moved.used_l == pytest.approx(100.0)
    assert told.moved.poured_l == pytest.approx(50.0)
    assert told.totals.volume_l == pytest.approx(900.0 + 216.0 + 50.0 - 100.0)


@pytest.mark.parametrize(("flush", "kept"), [("empty", 8.0), ("full", 0.0)])
def test_a_what_if_shower_meets_the_first_flush_pipe_as_told(flush: str, kept: float) -> None:
    garden = site(
        THREE_TOTES.replace("fills: north", "fills: north, first_flush: {holds: 8 L, empties: by hand}")
    )
    told = what_if(garden, [], START, [dip(north=0.3)], Depths(10.0, 10.0), flush)  # type: ignore[arg-type]
    assert told.moved.first_flush_l == pytest.approx(kept)
    assert told.moved.caught_l == pytest.approx(216.0 - kept)


HUMP = """
site: Hose with a hump
timezone: UTC
units: metric
datum: the slab
tanks:
  high: {base: 0 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  low: {base: 0 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
links:
  hose: {join: [high, low], ports: 5 cm, crest: 55 cm, bore: 25 mm, run: 3 m}
outlets:
  tap: {tank: low, at: 0 cm}
roofs:
  shed: {area: 10 m2, runoff: 1.0, fills: high}
"""


def test_a_crest_nobody_has_looked_at_leaves_both_outcomes_open_after_rain() -> None:
    """R5: 100 L into the high one stay there, or half of them stand in the low one."""
    garden = site(HUMP)
    told = levels(garden, (START, dip(high=0.3, low=0.3)), (at(1), rain(10.0, at(1))))
    assert (told.tanks["low"].low_l, told.tanks["low"].high_l) == (pytest.approx(300.0), pytest.approx(350.0))
    assert (told.tanks["high"].low_l, told.tanks["high"].high_l) == (
        pytest.approx(350.0),
        pytest.approx(400.0),
    )
    assert told.tanks["low"].volume_l is None
    primed = levels(
        garden, (START, Change("hose", "primed")), (START, dip(high=0.3, low=0.3)), (at(1), rain(10.0, at(1)))
    )
    assert primed.tanks["low"].volume_l == pytest.approx(350.0)
    unprimed = levels(
        garden,
        (START, Change("hose", "unprimed")),
        (START, dip(high=0.3, low=0.3)),
        (at(1), rain(10.0, at(1))),
    )
    assert unprimed.tanks["low"].volume_l == pytest.approx(300.0)


def test_one_dip_beside_a_crest_nobody_has_looked_at_asks_for_the_other() -> None:
    told = levels(site(HUMP), (START, dip(high=0.3)))
    assert told.tanks["low"].volume_l is None
    assert "crest" in codes(told.warnings)


def test_a_tank_behind_a_closed_valve_is_said_to_reach_no_outlet() -> None:
    told = levels(site(), (START, Change("north-middle", "closed")), (at(1), dip(north=0.6, south=0.5)))
    (caution,) = [warning for warning in told.warnings if warning.code == "cut-off"]
    assert "north is joined to no outlet" in caution.text and "600 L" in caution.text


def test_a_dry_overflow_after_a_storm_on_full_tanks_asks_for_the_inlet() -> None:
    full = dip(north=0.95, middle=0.98, south=0.92)
    told = levels(site(), (START, full), (at(1), rain(20.0, at(1))), (at(1, 1), Note("overflow dry")))
    (caution,) = [warning for warning in told.warnings if warning.code == "inlet"]
    assert "432 L" in caution.text


def test_winter_asks_for_nothing() -> None:
    told = levels(
        site(),
        (START, dip(north=0.6)),
        (at(1), Change("shed", "plugged")),
        (at(1), Change("south", "drain-open")),
        (at(1), Change("site", "winter")),
        (at(30), rain(20.0, at(30))),
    )
    assert {"plugged", "drain-open"}.isdisjoint(codes(told.warnings))
    assert "winter" in codes(told.warnings)


def test_a_provisional_dip_leaves_the_estimate_possible_too() -> None:
    thin = site(THREE_TOTES.replace("bore: 50 mm", "bore: 13 mm"))
    happened = [
        (START, dip(north=0.4)),
        (at(1), rain(10.0, at(1), hours=0.3)),
        (at(1, 0.1), dip(north=0.6)),
    ]
    told = levels(thin, *happened)
    assert "provisional" in codes(told.warnings)
    # By the dip 1800 L; by the dip before and the rain since, 1200 + 216 L.
    assert told.totals.volume_l == pytest.approx(1800.0)
    assert told.totals.low_l == pytest.approx(1416.0)
    assert told.totals.high_l == pytest.approx(1800.0)
    settled = levels(thin, *happened, (at(3), dip(north=0.47)))
    assert "provisional" not in codes(settled.warnings)
    assert settled.totals.low_l == settled.totals.high_l == pytest.approx(1410.0)


def test_what_is_usable_of_a_tank_is_a_range_that_closes_where_its_water_is_known() -> None:
    known = levels(site(), (START, dip(north=0.6))).tanks["north"]
    assert (known.usable_low_l, known.usable_l, known.usable_high_l) == pytest.approx((470.0, 470.0, 470.0))
    rained = levels(site(), (START, dip(north=0.6)), (at(0, 2), rain(5.0, at(0, 2), high_mm=15.0))).tanks[
        "north"
    ]
    assert rained.usable_l is not None
    assert rained.usable_low_l == pytest.approx(rained.low_l - 130.0)
    assert rained.usable_high_l == pytest.approx(rained.high_l - 130.0)


def test_water_that_spills_after_somebody_looked_was_not_looked_for() -> None:
    """F26: the overflow was dry before the storm of the next day; that one may well have run out of it."""
    full = dip(north=0.95)
    before = (START, full), (at(0, 1), Note("overflow dry")), (at(1), rain(20.0, at(1)))
    assert "inlet" not in codes(levels(site(), *before).warnings)
    after = (START, full), (at(1), rain(20.0, at(1))), (at(1, 1), Note("overflow dry"))
    assert "inlet" in codes(levels(site(), *after).warnings)


def test_dips_that_lie_apart_are_told_with_how_long_their_links_need() -> None:
    """10 cm through 25 mm, 2 m long, K 3: 267 s by stepping the flow by hand (D), and a third of doubt."""
    text = THREE_TOTES.replace("bore: 50 mm, run: 60 cm, losses: 2.5", "bore: 25 mm, run: 2 m, losses: 3")
    told = levels(site(text), (START, dip(north=0.6, middle=0.73)))
    (caution,) = [warning for warning in told.warnings if warning.code == "not-settled"]
    assert re.search(r"level that in about [4-8] min", caution.text)


TWO_ROWS = """
site: Two rows
timezone: UTC
units: metric
datum: the lower step
tanks:
  round: {base: 120 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  tote: {base: 118 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, overflow: 95 cm, overflow_to: drum}
  drum: {base: 10 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  trough: {base: 12 cm, shape: {kind: straight, holds: 500 L, at: 60 cm}}
links:
  above: {join: [round, tote], ports: 8 cm}
  below: {join: [drum, trough], ports: 8 cm}
outlets:
  upper: {tank: tote, at: 10 cm}
  lower: {tank: trough, at: 10 cm}
"""


def test_a_row_dipped_earlier_still_shares_its_surface_and_is_not_said_to_be_held_back() -> None:
    """The last dip is of the other row: what the first dip told of this one stays true, its way to the tap too."""
    told = levels(site(TWO_ROWS), (START, dip(round=0.6)), (at(hours=1), dip(drum=0.6)))
    assert told.tanks["round"].usable_l and told.tanks["round"].usable_l > 0.0
    assert "cut-off" not in codes(told.warnings)
    assert [pool.tanks for pool in told.pools] == [("drum", "trough"), ("round", "tote")]


def test_a_tank_nobody_has_dipped_is_not_said_to_stand_below_its_link() -> None:
    told = levels(site(TWO_ROWS), (START, dip(round=0.6)))
    assert told.tanks["drum"].state == "unknown"
    assert "cut-off" not in codes(told.warnings)
