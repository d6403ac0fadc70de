"""From a reading to a depth: stick, tape, gauge, sight tube (D1-D3 and the refusals)."""

from __future__ import annotations

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankdash.water.errors import OutOfRange
from tankdash.water.model import Tank
from tankdash.water.readings import (
    depth_from_gap,
    depth_from_reading,
    gauge_through,
    sensitivity,
    share_of_steps,
)
from tankdash.water.shapes import Lying, Straight, Table

INCH = 0.0254


def test_D1_depth_is_reference_height_less_gap() -> None:
    """API MPMS ch. 2 terms (P): 46.0 - 12.5 = 33.5 in."""
    assert depth_from_gap(12.5 * INCH, 46.0 * INCH) / INCH == pytest.approx(33.5)
    assert depth_from_reading(12.5 * INCH, brim=46.0 * INCH, measured_from="brim") / INCH == pytest.approx(
        33.5
    )


def test_D3_an_eighth_of_an_inch() -> None:
    """Arithmetic: 1/8 in on a tank of 1.0 m2 is 3.2 L."""
    tote = Tank("t", Straight(1.0, 1.0), brim=1.0)
    assert sensitivity(tote, 0.5) * INCH / 8 * 1000 == pytest.approx(3.2, abs=0.05)


def test_a_lying_tank_is_most_sensitive_at_its_middle() -> None:
    tank = Tank("t", Lying(1.0, 2.0), brim=1.0)
    assert sensitivity(tank, 0.5) == pytest.approx(2.0)
    assert sensitivity(tank, 0.1) < 0.7 * sensitivity(tank, 0.5)


@given(st.floats(0.0, 1.05))
def test_depth_and_gap_mean_the_same_water(depth: float) -> None:
    assert depth_from_reading(1.05 - depth, brim=1.05, measured_from="brim") == pytest.approx(
        depth, abs=1e-12
    )


def test_a_stick_on_silt_reads_from_the_top_of_the_silt() -> None:
    assert depth_from_reading(0.55, brim=1.05, silt_under_stick=0.05) == pytest.approx(0.60)
    # A gap is measured from above: silt changes nothing.
    assert depth_from_reading(0.45, brim=1.05, measured_from="brim", silt_under_stick=0.05) == pytest.approx(
        0.60
    )


def test_an_offset_is_added_to_what_was_read() -> None:
    assert depth_from_reading(0.50, brim=1.05, offset=0.02) == pytest.approx(0.52)
    assert depth_from_reading(0.50, brim=1.05, measured_from="brim", offset=0.02) == pytest.approx(0.53)
    assert depth_from_reading(0.01, brim=1.05, offset=-0.02) == 0.0


@pytest.mark.parametrize(
    ("reading", "options"),
    [
        (1.06, {}), (1.04, {"offset": 0.02}), (1.02, {"silt_under_stick": 0.05}), (-0.01, {}), (nan, {}), (inf, {}),
        (1.06, {"measured_from": "brim"}), (-0.01, {"measured_from": "brim"}), (nan, {"measured_from": "brim"}),
        (0.0, {"measured_from": "brim", "offset": -0.01}),
    ],
)  # fmt: skip
def test_readings_that_cannot_be_are_refused(reading: float, options: dict) -> None:
    with pytest.raises(OutOfRange):
        depth_from_reading(reading, brim=1.05, **options)


def test_exactly_at_the_brim_and_exactly_dry_are_readings() -> None:
    assert depth_from_reading(1.05, brim=1.05) == 1.05
    assert depth_from_reading(0.0, brim=1.05) == 0.0
    assert depth_from_reading(1.05, brim=1.05, measured_from="brim") == 0.0
    assert depth_from_reading(0.0, brim=1.05, measured_from="brim") == 1.05


@pytest.mark.parametrize(("gap", "reference"), [(0.5, None), (1.1, 1.0), (-0.1, 1.0), (nan, 1.0)])
def test_a_gap_needs_a_mark_it_lies_under(gap: float, reference: float | None) -> None:
    with pytest.raises(OutOfRange):
        depth_from_gap(gap, reference)


@given(st.floats(-5.0, 5.0), st.floats(0.1, 5.0), st.floats(0.0, 1.0), st.floats(0.1, 1.0), st.booleans())
def test_a_gauge_gives_back_the_levels_that_settled_it(
    mark: float, apart: float, depth: float, rise: float, is_falling: bool
) -> None:
    other = mark - apart if is_falling else mark + apart
    gauge = gauge_through((mark, depth), (other, depth + rise))
    assert (gauge.per_mark < 0.0) == is_falling
    assert gauge.depth(mark) == pytest.approx(depth, abs=1e-9)
    assert gauge.depth(other) == pytest.approx(depth + rise, abs=1e-9)
    assert gauge.mark(gauge.depth(0.3)) == pytest.approx(0.3, abs=1e-9)


@pytest.mark.parametrize(
    ("one", "other"), [((1.0, 0.5), (2.0, 0.5)), ((1.0, 0.2), (1.0, 0.8)), ((nan, 0.2), (1.0, 0.8))]
)
def test_two_points_that_say_nothing_are_refused(
    one: tuple[float, float], other: tuple[float, float]
) -> None:
    with pytest.raises(OutOfRange):
        gauge_through(one, other)


def test_marks_that_are_no_numbers_are_refused() -> None:
    gauge = gauge_through((0.0, 0.0), (1.0, 1.0))
    for ask in (gauge.depth, gauge.mark):
        with pytest.raises(OutOfRange):
            ask(nan)


def test_steps_of_a_tank_give_a_share() -> None:
    assert share_of_steps(3, 12) == 0.25
    assert share_of_steps(6, 12, Table([(0, 0), (1, 1), (2, 4)])) == 0.25
    for steps, total in ((13, 12), (-1, 12), (1, 0), (nan, 12)):
        with pytest.raises(OutOfRange):
            share_of_steps(steps, total)


def test_a_depth_above_the_brim_has_no_sensitivity() -> None:
    tote = Tank("t", Straight(1.0, 1.0), brim=0.9)
    with pytest.raises(OutOfRange):
        sensitivity(tote, 0.95)


def test_a_tape_held_above_the_brim_reads_longer_than_the_tank_is_deep():
    """The tape starts 0.10 m above the brim of a 1.00 m tank: 1.05 m of tape is 0.95 m of gap."""
    assert depth_from_reading(1.05, brim=1.0, measured_from="brim", offset=-0.10) == pytest.approx(0.05)
    with pytest.raises(OutOfRange, match="deeper than the tank"):
        depth_from_reading(1.11, brim=1.0, measured_from="brim", offset=-0.10)
