"""Field cases F27 to F31: what the roof brought against what the rain allowed, and what left again."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "keeping"))
from gardens import START, at, dip, journal, rain, site

from tankdash.journal.entries import Pour, Use
from tankdash.keeping.checking.balance import Balance, balance_of
from tankdash.keeping.state.replay import replay
from tankdash.keeping.state.what_if import what_if
from tankdash.site.model import Site
from tankdash.units import Depths, format_rain, format_volume, parse_area, parse_rain, parse_volume
from tankdash.water.readings import sensitivity

ONE_TANK = """
site: One tank
timezone: UTC
units: metric
datum: the yard
tanks:
  tote: {{base: 0 cm, shape: {{kind: straight, holds: {holds}, at: 100 cm}}}}
outlets:
  tap: {{tank: tote, at: 0 cm}}
roofs:
  garage: {{area: {area}, runoff: {runoff}, fills: tote{more}}}
"""


def one_tank(holds: str = "1000 L", area: str = "20 m2", runoff: float = 1.0, more: str = "") -> Site:
    return site(ONE_TANK.format(holds=holds, area=area, runoff=runoff, more=more))


def balance(garden: Site, *happened: object) -> Balance:
    entries = journal(*happened)  # type: ignore[arg-type]
    return balance_of(garden, replay(garden, entries, entries[-1].at, whole=True))


def test_F27_more_water_than_the_rain_allows_is_no_error_of_the_reading() -> None:
    garden = one_tank()
    (stretch,) = balance(
        garden, (START, dip(tote=0.0)), (at(0.9), rain(8.0, at(0.9), hours=10)), (at(1), dip(tote=0.2))
    ).stretches
    assert stretch.residual.expected.mid * 1000.0 == pytest.approx(160.0)
    assert stretch.residual.seen.mid * 1000.0 == pytest.approx(200.0)
    assert stretch.finding == "more-than-rain"
    # 200 / 160, as if 10 mm had fallen; the stick alone explains 10 L, not 40.
    assert "125 %" in stretch.text and "10 mm" in stretch.text
    assert "roof area" in stretch.text and "where the rain was measured" in stretch.text


def test_F27_within_the_stick_and_the_spread_of_runoff_nothing_is_found() -> None:
    (stretch,) = balance(
        one_tank(), (START, dip(tote=0.0)), (at(0.9), rain(8.0, at(0.9), hours=10)), (at(1), dip(tote=0.18))
    ).stretches
    assert stretch.finding == "none"


def test_F29_feet_and_millimetres_in_one_garden_convert_exactly() -> None:
    # (i) 95 gal from 3/8 in is 253 gal an inch, the whole of 406 sq ft.
    yield_per_inch = parse_volume("95 US gal", "us") / (3 / 8)
    assert yield_per_inch / (parse_area("1 sq ft") * 0.0254) == pytest.approx(406.4, abs=0.1)
    # (iii) 1756 sq ft at 0.898 and 2 mm: 293 L; 0.898 is the owner's 0.56 gal/sq ft/in.
    garden = one_tank(holds="2000 L", area="1756 sq ft", runoff=0.56 / (144 / 231))
    told = what_if(garden, [], START, [dip(tote=0.1)], parse_rain("2 mm", "metric"))
    assert told.moved.caught_l == pytest.approx(293.0, abs=0.5)
    assert format_volume(told.moved.caught_l / 1000.0, "us") == "77.4 US gal"


def test_F29_what_fills_a_tote_from_a_small_roof() -> None:
    garden = site(
        """
site: Small roof
timezone: America/New_York
units: us
datum: the pallet
tanks:
  tote: {base: 0 in, shape: {kind: straight, holds: 275 gal, at: 39.4 in}}
outlets:
  tap: {tank: tote, at: 0 in}
roofs:
  shed: {area: 50 sq ft, runoff: 1.0, fills: tote}
"""
    )
    shower = what_if(garden, [], START, [dip(tote=0.0)], parse_rain("1.2 in", "us"))
    assert format_volume(shower.moved.caught_l / 1000.0, "us") == "37.4 US gal"
    assert shower.totals.percent == pytest.approx(13.6, abs=0.05)
    depth = shower.tanks["tote"].depth_m
    assert depth is not None and depth / 0.0254 == pytest.approx(5.36, abs=0.01)
    nearly = what_if(garden, [], START, [dip(tote=0.0)], parse_rain("8.8 in", "us"))
    over = what_if(garden, [], START, [dip(tote=0.0)], parse_rain("8.83 in", "us"))
    assert nearly.moved.spilled_l == 0.0 and over.moved.spilled_l > 0.0
    assert format_rain(8.82 * 25.4, "us") == "8.82 in"


def test_F29_the_slope_of_the_stick_follows_from_the_tanks() -> None:
    """10 gal to the inch means 16.0 sq ft of barrels."""
    garden = one_tank(holds="1000 L")
    tank = garden.tanks["tote"].thing
    area = sensitivity(tank, 0.5)
    assert parse_volume("10 US gal", "us") / 0.0254 / parse_area("1 sq ft") == pytest.approx(16.04, abs=0.01)
    assert area == pytest.approx(1.0)


def test_F29_the_runoff_is_learned_from_rains_and_rises_and_only_offered() -> None:
    """Five rains of 10 mm that bring 170 L where 0.95 of 20 m2 owe 190 L: the roof runs off 0.85."""
    garden = one_tank(holds="4000 L", runoff=0.95)
    happened: list[tuple[object, object]] = [(START, dip(tote=0.0))]
    risen = 0.0
    for day, brought in enumerate((0.170, 0.174, 0.166, 0.171, 0.169), start=1):
        risen += brought / 4.0
        happened.append((at(day), rain(10.0, at(day))))
        happened.append((at(day, 6), dip(tote=risen)))
    found = balance(garden, *happened)
    (learned,) = found.learned
    assert learned.roof == "garage" and learned.stretches == 5 and learned.was == 0.95
    assert learned.runoff == pytest.approx(0.85, abs=0.002)
    assert 0.005 < learned.spread < 0.03
    assert garden.roofs["garage"].thing.runoff == 0.95


def test_F29_three_rains_teach_nothing_yet() -> None:
    garden = one_tank(holds="4000 L", runoff=0.95)
    happened: list[tuple[object, object]] = [(START, dip(tote=0.0))]
    for day in (1, 2, 3):
        happened += [(at(day), rain(10.0, at(day))), (at(day, 6), dip(tote=0.0425 * day))]
    assert balance(garden, *happened).learned == ()


def test_F30_more_was_harvested_than_the_barrels_can_hold() -> None:
    """55 gal three times and 100 gal twice is 365 gal through 155 gal of barrels: draws inside the rain made room."""
    garden = site(
        """
site: Two barrels
timezone: UTC
units: us
datum: the yard
tanks:
  small: {base: 0 in, shape: {kind: straight, holds: 55 gal, at: 30 in}}
  large: {base: 0 in, shape: {kind: straight, holds: 100 gal, at: 30 in}}
outlets:
  small-tap: {tank: small, at: 0 in}
  large-tap: {tank: large, at: 0 in}
roofs:
  left: {area: 353 sq ft, runoff: 1.0, fills: small}
  right: {area: 642 sq ft, runoff: 1.0, fills: large}
"""
    )
    gallon = 3.785411784
    happened: list[tuple[object, object]] = [(START, dip(small=0.0, large=0.0))]
    # Two half-inch storms of eight hours; the small one is emptied twice, the large one once.
    happened += [
        (at(0, 4), Use(50 * gallon, "small-tap")),
        (at(0, 8), rain(12.7, at(0, 8), hours=8)),
        (at(0, 9), Use(90 * gallon, "large-tap")),
        (at(0, 9.5), Use(45 * gallon, "small-tap")),
        (at(1, 8), rain(12.7, at(1, 8), hours=8)),
        (at(1, 9), dip(small=30 * 0.0254, large=30 * 0.0254)),
    ]
    found = balance(garden, *happened)
    told = found.as_json()["stretches"]
    harvested = sum(stretch["harvested_l"] for stretch in told) / gallon
    used = sum(stretch["used_l"] for stretch in told) / gallon
    assert used == pytest.approx(185.0, abs=25.0)
    assert harvested > 155.0 + 100.0
    assert {stretch["finding"] for stretch in told} <= {"none", "more-than-rain", "unrecorded-use"}
    spilled = sum(stretch["spilled_l"] for stretch in told) / gallon
    assert harvested == pytest.approx(155.0 + used + spilled, abs=0.5)


def test_F30_room_for_a_shower_to_come_is_what_it_brings_less_what_is_free() -> None:
    """20 mm on 60 m2 at 0.9 is 1080 L; with 500 L free, 580 L would spill."""
    garden = one_tank(area="60 m2", runoff=0.9)
    told = what_if(garden, [], START, [dip(tote=0.5)], Depths(20.0, 20.0))
    assert told.moved.caught_l == pytest.approx(1080.0)
    assert told.moved.spilled_l == pytest.approx(580.0)


@pytest.mark.parametrize(("first_loss", "brought"), [("0.2 mm", 379.0), ("2.5 mm", 0.0)])
def test_F31_one_rain_two_roofs(first_loss: str, brought: float) -> None:
    """2.0 mm run off metal and vanish in gravel; one runoff figure cannot say both."""
    garden = one_tank(holds="5000 L", area="221.6 m2", runoff=0.95, more=f", first_loss: {first_loss}")
    told = what_if(garden, [], START, [dip(tote=0.1)], Depths(2.0, 2.0))
    assert told.moved.caught_l == pytest.approx(brought, abs=0.5)


def test_F31_a_gain_without_rain_that_was_noted_is_other_inflow_and_no_negative_leak() -> None:
    garden = one_tank(holds="5000 L")
    (stretch,) = balance(
        garden, (START, dip(tote=0.1)), (at(1), Pour(None, "tote", "melt")), (at(14), dip(tote=0.9))
    ).stretches
    assert stretch.finding == "none"
    assert "melt" in stretch.text and "4000 L" in stretch.text


def test_F31_a_measured_inflow_is_counted_like_rain() -> None:
    garden = one_tank()
    (stretch,) = balance(
        garden, (START, dip(tote=0.1)), (at(1), Pour(200.0, "tote", "melt")), (at(2), dip(tote=0.3))
    ).stretches
    assert stretch.finding == "none"
    assert stretch.residual.expected.mid * 1000.0 == pytest.approx(300.0)


def test_F31_a_gain_that_nobody_noted_asks_for_its_source() -> None:
    (stretch,) = balance(one_tank(), (START, dip(tote=0.1)), (at(3), dip(tote=0.3))).stretches
    assert stretch.finding == "more-than-rain"
    assert "dew" in stretch.text and "melt" in stretch.text
