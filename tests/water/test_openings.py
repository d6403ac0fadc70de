"""Openings and emptying times against worked examples (H2-H8, H17, G8) and an independent quadrature."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, nan, pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from tankdash.water.emptying import time_to_level, time_to_run_down
from tankdash.water.errors import OutOfRange
from tankdash.water.friction import GRAVITY
from tankdash.water.model import Tank
from tankdash.water.openings import (
    emitter_head,
    flow_through,
    head_for,
    overflow_capacity,
    parallel,
    part_full,
    round_opening,
)
from tankdash.water.shapes import Box, Cone, Lying, Straight, Table, Upright

FOOT = 0.3048
INCH = 0.0254
GRAVITY_OF_THE_BOOK = sqrt(GRAVITY / 9.81)
"""Times go with the root of gravity; the books take 9.81."""


@dataclass(frozen=True)
class Sphere:
    """A tank the program does not know, to show that any shape will do."""

    radius: float

    @property
    def height(self) -> float:
        return 2 * self.radius

    @property
    def plan_area(self) -> None:
        return None

    def volume(self, depth: float) -> float:
        return pi * depth**2 * (self.radius - depth / 3)

    def depth(self, volume: float) -> float:
        return float(brentq(lambda depth: self.volume(depth) - volume, 0.0, self.height))

    def area(self, depth: float) -> float:
        return pi * depth * (2 * self.radius - depth)


def test_H2_a_round_tank_through_a_square_hole() -> None:
    """Exam practice problem (P): 4 ft across, 5 sq in, 6 to 2 ft, Cd 1, g 32.2: 93.4 s (printed 94)."""
    found = time_to_run_down(Upright(4 * FOOT, 6 * FOOT), 5 * INCH**2, 6 * FOOT, 2 * FOOT, coefficient=1.0)
    assert found * sqrt(GRAVITY / (32.2 * FOOT)) == pytest.approx(93.4, abs=0.05)


def test_H3_half_of_it_and_all_of_it() -> None:
    """Choudhary and Om Prakash, Fluid Mechanics, Ex. 6.18 and 6.19 (I): 1577.15 s and 5384.7 s."""
    tank = Straight(3.2, 5.0)
    half = time_to_run_down(tank, 10e-4, 5.0, 2.5)
    assert half * GRAVITY_OF_THE_BOOK == pytest.approx(1577.15, abs=0.05)
    assert time_to_run_down(tank, 10e-4, 5.0, 0.0) * GRAVITY_OF_THE_BOOK == pytest.approx(5384.7, abs=0.1)


def test_H4_a_drum_to_the_last_drop() -> None:
    """Same, Ex. 6.17 (I): 1.2 m across, 50 mm hole, 3 m to empty: 750.8 s."""
    found = time_to_run_down(Upright(1.2, 3.0), round_opening(0.05), 3.0, 0.0)
    assert found * GRAVITY_OF_THE_BOOK == pytest.approx(750.8, abs=0.05)


def test_H5_a_sphere() -> None:
    """Textbook companion ch. 6 ex. 6.4 (P, rounds to 2285.0): R 2 m, 1.5 m deep, 50 mm hole: 2285.7 s."""
    found = time_to_run_down(Sphere(2.0), round_opening(0.05), 1.5, 0.0)
    assert found * GRAVITY_OF_THE_BOOK == pytest.approx(2285.7, abs=0.05)


def test_H6_two_tanks_through_one_opening() -> None:
    """Same companion (I): 4 x 2 and 2 x 2 m, 0.01 m2, Cd 0.62, 0.30 to 0.10 m apart: 0.01504 m3/s, 44.96 s."""
    assert flow_through(0.01, 0.30, 0.62) == pytest.approx(0.01504, abs=5e-6)
    found = time_to_level(Box(4, 2, 3), Box(2, 2, 3), 0.01, 1.30, 1.00, until=0.10, coefficient=0.62)
    assert found * GRAVITY_OF_THE_BOOK == pytest.approx(44.96, abs=0.01)


def test_H7_two_large_basins() -> None:
    """Textbook (I): 1000 sq ft each, 2 sq ft, Cd 0.8, 9 to 4 ft apart: 77.88 s with g 32.2."""
    basin = Straight(1000 * FOOT**2, 20 * FOOT)
    found = time_to_level(basin, basin, 2 * FOOT**2, 10 * FOOT, FOOT, until=4 * FOOT, coefficient=0.8)
    assert found * sqrt(GRAVITY / (32.2 * FOOT)) == pytest.approx(77.88, abs=0.01)


def test_H8_until_they_are_level() -> None:
    """Massey and Ward-Smith, Mechanics of Fluids (M inputs; printed 2100.9): level at 1.15 m after 2099 s."""
    small, large = Straight(1.5, 3.0), Straight(7.5, 3.0)
    level = (1.5 * 2.15 + 7.5 * 0.95) / 9.0
    assert level == pytest.approx(1.15)
    found = time_to_level(small, large, round_opening(0.025), 2.15, 0.95)
    assert found * GRAVITY_OF_THE_BOOK == pytest.approx(2099.0, abs=1.0)


def test_G8_an_emitter_that_should_give_more() -> None:
    """FAO Irrigation Manual ex. 8 (P): x 0.42, 4 L/h at 10 m, wanted 4.32 L/h: 12.0 m."""
    assert emitter_head(4.32, 4.0, 10.0, 0.42) == pytest.approx(12.0, abs=0.05)


def test_H17_parallel_openings_add_by_area() -> None:
    """Arithmetic: 2 x 40 mm against 80 mm is half, not the whole."""
    assert parallel(round_opening(0.04), round_opening(0.04)) / round_opening(0.08) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("shape", "start", "end", "at"),
    [(Lying(1.2, 2.0), 1.2, 0.0, 0.0), (Cone(1.0, 0.4, 1.5), 1.4, 0.1, 0.1), (Lying(1.0, 1.0), 0.9, 0.5, 0.2),
     (Table([(0, 0), (0.3, 0.2), (0.5, 0.6), (1.0, 0.9)]), 1.0, 0.05, 0.0)],
)  # fmt: skip
def test_any_shape_agrees_with_an_independent_quadrature(
    shape: Lying, start: float, end: float, at: float
) -> None:
    """`scipy` quad on dt = A dh / (Cd a sqrt(2 g h)), without the change of variable."""
    expected = quad(lambda h: shape.area(h) / (0.6 * 1e-4 * sqrt(2 * GRAVITY * (h - at))), max(end, at + 1e-12), start,
                    points=[0.3, 0.4, 0.5], limit=400)[0]  # fmt: skip
    assert time_to_run_down(shape, 1e-4, start, end, at=at) == pytest.approx(expected, rel=2e-5)


@settings(max_examples=50)
@given(st.floats(0.2, 5.0), st.floats(0.2, 5.0), st.floats(0.05, 1.0), st.just(0.0) | st.floats(1e-6, 0.9))
def test_two_straight_tanks_follow_the_closed_form(
    one: float, two: float, apart: float, share: float
) -> None:
    """H6's formula: t = 2 A1 A2 (sqrt d1 - sqrt d2) / (Cd a sqrt(2 g) (A1 + A2))."""
    until = apart * share
    found = time_to_level(Straight(one, 3.0), Straight(two, 3.0), 1e-3, 1.0 + apart, 1.0, until=until)
    expected = 2 * one * two * (sqrt(apart) - sqrt(until)) / (0.6 * 1e-3 * sqrt(2 * GRAVITY) * (one + two))
    assert found == pytest.approx(expected, rel=1e-6)


@given(st.floats(1e-5, 0.1), st.floats(0.0, 10.0), st.floats(0.3, 1.0))
def test_flow_and_head_undo_each_other(area: float, head: float, coefficient: float) -> None:
    assert head_for(area, flow_through(area, head, coefficient), coefficient) == pytest.approx(
        head, rel=1e-12, abs=1e-15
    )


def test_an_overflow_can_be_narrower_than_the_storm() -> None:
    tote = Tank("north", Straight(1.0, 1.05), brim=1.05, overflow=0.95, overflow_bore=0.05)
    capacity = overflow_capacity(tote)
    assert capacity == pytest.approx(0.6 * pi / 4 * 0.05**2 * sqrt(2 * GRAVITY * 0.075))
    assert overflow_capacity(Tank("n", Straight(1.0, 1.0), brim=1.0)) == inf
    assert overflow_capacity(Tank("n", Straight(1.0, 1.0), brim=1.0, overflow=0.9)) is None


@pytest.mark.parametrize("bad", [-1.0, nan, inf])
def test_impossible_openings_are_refused(bad: float) -> None:
    for ask in (
        lambda: flow_through(bad, 1.0), lambda: flow_through(1e-3, bad), lambda: head_for(1e-3, bad),
        lambda: round_opening(bad), lambda: parallel(1.0, bad), lambda: flow_through(1e-3, 1.0, bad),
    ):  # fmt: skip
        with pytest.raises(OutOfRange):
            ask()


@pytest.mark.parametrize(
    ("start", "end", "at"), [(0.5, 0.6, 0.0), (1.2, 0.5, 0.0), (0.5, 0.1, 0.2), (nan, 0.0, 0.0)]
)
def test_a_tank_runs_down_and_not_up(start: float, end: float, at: float) -> None:
    with pytest.raises(OutOfRange):
        time_to_run_down(Straight(1.0, 1.0), 1e-4, start, end, at=at)


def test_tanks_that_cannot_draw_level_are_refused() -> None:
    with pytest.raises(OutOfRange, match="runs empty or full"):
        time_to_level(Straight(0.1, 1.0), Straight(5.0, 1.0), 1e-3, 3.0, 0.5, high_base=2.0)
    with pytest.raises(OutOfRange, match="stands lower"):
        time_to_level(Straight(1.0, 1.0), Straight(1.0, 1.0), 1e-3, 0.2, 0.5)


@pytest.mark.parametrize(("bore", "depth"), [(0.05, 0.01), (0.1, 0.05), (0.3, 0.1), (0.3, 0.299)])
def test_a_pipe_that_is_not_filled_passes_the_sum_of_its_strips(bore: float, depth: float) -> None:
    """`scipy` sums Cd b(y) sqrt(2 g (h - y)) over the height of the water (D)."""

    def strip(height: float) -> float:
        return 2.0 * sqrt(height * (bore - height)) * sqrt(2.0 * GRAVITY * (depth - height))

    summed, _ = quad(strip, 0.0, depth, epsabs=1e-12)
    assert part_full(bore, depth, 0.6) == pytest.approx(0.6 * summed, rel=1e-6)


def test_an_overflow_close_under_the_brim_still_passes_what_fits_through_its_lower_part() -> None:
    """A 300 mm pipe 10 cm under the brim is a third full: some litres a second, not nothing (T)."""
    tank = Tank("n", Straight(1.0, 5.0), brim=5.0, overflow=4.9, overflow_bore=0.3)
    assert 0.006 < (overflow_capacity(tank) or 0.0) < 0.014


@given(bore=st.floats(0.02, 0.4), share=st.floats(0.0, 1.5))
def test_an_overflow_passes_the_more_the_lower_it_sits(bore: float, share: float) -> None:
    def capacity(depth: float) -> float:
        tank = Tank("n", Straight(1.0, 2.0), brim=2.0, overflow=2.0 - depth, overflow_bore=bore)
        return overflow_capacity(tank) or 0.0

    assert 0.0 <= capacity(share * bore) <= capacity(share * bore + 0.01) + 1e-12


def test_more_water_than_fills_the_pipe_is_another_opening() -> None:
    with pytest.raises(OutOfRange):
        part_full(0.1, 0.11)
