"""Bases from dips with chance errors: the plus-minus that is claimed holds in nineteen of twenty draws, or more."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from tankdash.journal.entries import Dips, Entry, TankDip
from tankdash.keeping.checking.survey import survey_of
from tankdash.keeping.state.replay import replay
from tankdash.site import load_text

NOTED = {"north": 0.20, "middle": 0.17, "south": 0.23}
TEXT = """
site: Three totes
timezone: UTC
units: metric
datum: top of the slab
accuracy: 5 mm
tanks:
  north: {base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm}
  middle: {base: 17 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm}
  south: {base: 23 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm}
links:
  a: {join: [north, middle], ports: 8 cm, bore: 50 mm, run: 60 cm}
  b: {join: [middle, south], ports: 8 cm, bore: 50 mm, run: 60 cm}
outlets: {tap: {tank: south, at: 10 cm}}
"""
START = datetime(2026, 5, 4, 8, 0, tzinfo=UTC)
ACCURACY = 0.005
"""Of one dip, as the site file has it, [m]."""


def normal(draw: random.Random) -> float:
    """Return an error whose accuracy is twice its standard deviation, the usual coverage factor."""
    return draw.gauss(0.0, ACCURACY / 2.0)


def even(draw: random.Random) -> float:
    """Return an error that is as likely to be anything up to the accuracy."""
    return draw.uniform(-ACCURACY, ACCURACY)


def entry(
    number: int,
    surface: float,
    true: dict[str, float],
    draw: random.Random,
    error: Callable[[random.Random], float],
) -> Entry:
    depths = {key: surface - base + error(draw) for key, base in true.items()}
    dips = Dips(tuple(TankDip(key, depth, depth, depth) for key, depth in depths.items()))
    at = START + timedelta(days=7 * number)
    return Entry(number, str(number), "dip", at, at, dips, "dip")


@pytest.mark.parametrize(("surveys", "error"), [(1, normal), (1, even), (4, even)])
def test_true_bases_lie_within_the_plus_minus_in_nineteen_of_twenty_draws(
    surveys: int, error: Callable[[random.Random], float]
) -> None:
    """A thousand gardens with bases moved by chance, dipped with chance errors of the stick, seeded."""
    site, draw = load_text(TEXT), random.Random(20260504)
    held = total = 0
    for _ in range(1000):
        true = {
            key: base + (0.0 if key == "north" else draw.uniform(-0.04, 0.04)) for key, base in NOTED.items()
        }
        entries = [
            entry(number, draw.uniform(0.6, 1.0), true, draw, error) for number in range(1, surveys + 1)
        ]
        found = survey_of(site, replay(site, entries, entries[-1].at, whole=True), "north")
        for key in ("middle", "south"):
            tank = found.tanks[key]
            total += 1
            held += abs(tank.base_m - true[key]) <= tank.plus_minus_m
    assert total == 2000
    assert held / total >= 0.95


def test_a_claim_half_as_wide_would_fail() -> None:
    """The draw above can fail: with half of the plus-minus far fewer than nineteen of twenty are held."""
    site, draw = load_text(TEXT), random.Random(7)
    held = 0
    for _ in range(200):
        one = entry(1, 0.8, NOTED, draw, even)
        tank = survey_of(site, replay(site, [one], one.at, whole=True), "north").tanks["south"]
        held += abs(tank.base_m - 0.23) <= 0.5 * tank.plus_minus_m
    assert held / 200 < 0.85


@pytest.mark.parametrize(("surveys", "error"), [(3, even), (3, normal), (8, even)])
def test_settlement_is_cried_for_a_base_that_stands_still_in_one_of_twenty_draws_at_most(
    surveys: int, error: Callable[[random.Random], float]
) -> None:
    site, draw = load_text(TEXT), random.Random(11)
    cried = total = 0
    for _ in range(500):
        entries = [
            entry(number, draw.uniform(0.6, 1.0), NOTED, draw, error) for number in range(1, surveys + 1)
        ]
        found = survey_of(site, replay(site, entries, entries[-1].at, whole=True), "north")
        for key in ("middle", "south"):
            total += 1
            cried += found.tanks[key].is_settling
            assert found.tanks[key].finding != "link-not-passing"
    assert total == 1000
    assert cried / total <= 0.05


def test_settlement_of_two_centimetres_a_month_is_told_within_its_slope() -> None:
    """Eight weekly surveys: it is found in every draw, the slope within 1 cm a month, the base within its claim."""
    site, draw, weekly = load_text(TEXT), random.Random(12), -0.020 * 7.0 / 30.44
    for _ in range(100):
        entries = []
        for number in range(1, 9):
            true = {**NOTED, "south": NOTED["south"] + weekly * number}
            entries.append(entry(number, draw.uniform(0.7, 1.0), true, draw, even))
        south = survey_of(site, replay(site, entries, entries[-1].at, whole=True), "north").tanks["south"]
        assert south.is_settling
        assert south.per_month_m == pytest.approx(-0.020, abs=0.010)
        assert abs(south.base_m - (NOTED["south"] + 8 * weekly)) <= south.plus_minus_m
