"""Catch of one roof (R13) against the published tables C1-C7."""

from __future__ import annotations

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankdash.water.catch import RUNOFF, catch, runs_off
from tankdash.water.errors import OutOfRange
from tankdash.water.model import Roof

INCH = 0.0254
FOOT = 0.3048
GALLON = 231 * INCH**3


def roof(area: float, runoff: float = 1.0, first_loss: float = 0.0, screen: float = 1.0) -> Roof:
    return Roof("roof", area, "tank", runoff, first_loss, screen)


def test_K1_an_inch_on_a_square_foot() -> None:
    """Definitions: 144/231 = 0.623377 US gal; 0.623 in the UC Santa Cruz rain tank guide (P)."""
    assert catch(roof(FOOT**2), INCH).caught / GALLON == pytest.approx(0.623377, abs=5e-7)


def test_K2_a_millimetre_on_a_square_metre() -> None:
    """Definition: 1 L."""
    assert catch(roof(1.0), 0.001).caught == pytest.approx(0.001)


def test_C1_an_inch_on_twenty_by_fifty_feet() -> None:
    """Arithmetic exact; a garden journal of 2012 (P): 623.38 US gal."""
    assert catch(roof(20 * 50 * FOOT**2), INCH).caught / GALLON == pytest.approx(623.38, abs=0.005)


def test_C2_a_year_with_its_wetting_loss() -> None:
    """The enHealth, Guidance on use of rainwater tanks, App. B (P): 0.8 (750 - 24) 200 = 116 160 L."""
    assert catch(roof(200.0, 0.80, 0.024), 0.750).caught * 1000 == pytest.approx(116_160)


@pytest.mark.parametrize(
    ("area", "rain_mm", "kilolitres"),
    [(100, 150, 10), (100, 300, 22), (100, 600, 46), (100, 1000, 78), (500, 400, 150), (500, 800, 310)],
)
def test_C3_the_annual_table(area: float, rain_mm: float, kilolitres: float) -> None:
    """The enHealth Table B.1 (P), in whole kL, by the formula of C2."""
    assert catch(roof(area, 0.80, 0.024), rain_mm / 1000).caught == pytest.approx(kilolitres, abs=0.6)


def test_C4_a_factor_that_already_holds_its_efficiency() -> None:
    """Greywater Action FAQ (P): 2000 sq ft, 25 in a year, 0.56 gal per sq ft and inch: 28 000 gal."""
    efficiency = 0.56 / (144 / 231)
    assert efficiency == pytest.approx(0.898, abs=5e-4)
    assert catch(roof(2000 * FOOT**2, efficiency), 25 * INCH).caught / GALLON == pytest.approx(28_000)


def test_C5_ninety_in_a_hundred() -> None:
    """Home Power magazine (P): 1000 sq ft, 1 in, 0.90: 561 gal, which is 623 x 0.9 rounded."""
    assert catch(roof(1000 * FOOT**2, 0.90), INCH).caught / GALLON == pytest.approx(561, abs=0.6)


def test_C6_a_rule_of_thumb_four_in_a_hundred_low() -> None:
    """Montgomery County Conservation District (P): 50 x 35 ft, 1 in, rule 0.6: 1050; exact 1090.9 gal."""
    exact = catch(roof(50 * 35 * FOOT**2), INCH).caught / GALLON
    assert exact == pytest.approx(1090.9, abs=0.05)
    by_rule = 0.6 * 50 * 35
    assert by_rule == 1050
    assert by_rule / exact == pytest.approx(0.9625, abs=5e-4)


def test_C7_runoff_is_data_with_a_range() -> None:
    """Gould and Nissen-Petersen; Centre for Alternative Technology; BS EN 16941-1 (M)."""
    assert RUNOFF["metal"] == (0.95, 0.95)
    assert RUNOFF["asphalt shingle"] == (0.90, 0.90)
    assert RUNOFF["tile"] == (0.75, 0.90)
    assert RUNOFF["flat gravel"] == (0.50, 0.80)
    assert RUNOFF["corrugated iron"] == (0.80, 0.85)
    assert RUNOFF["green"] == (0.30, 0.50)


def test_what_passes_over_the_leaf_screen_is_lost() -> None:
    """R13: the screen's share comes on top of the runoff."""
    went = catch(roof(50.0, 0.9, 0.001, screen=0.8), 0.011)
    assert went.caught == pytest.approx(0.010 * 50 * 0.9 * 0.8)
    assert went.lost == pytest.approx(0.011 * 50 - 0.36)


def test_F7_a_full_pipe_takes_nothing() -> None:
    """The enHealth s. 5.4 (P): it must be empty when the next shower starts."""
    house = roof(100.0)
    assert catch(house, 0.010, room=0.070).caught == pytest.approx(0.930)
    assert catch(house, 0.010, room=0.0).caught == pytest.approx(1.0)


roofs = st.builds(
    Roof, st.just("r"), st.floats(1.0, 500.0), st.just("t"), st.floats(0.01, 1.5), st.floats(0.0, 0.005),
    st.floats(0.1, 1.0),
)  # fmt: skip


@given(roofs, st.floats(0.0, 0.5), st.floats(0.0, 2.0))
def test_all_that_fell_is_accounted_for(one: Roof, depth: float, room: float) -> None:
    went = catch(one, depth, room)
    assert went.caught >= 0.0
    assert 0.0 <= went.flushed <= room
    assert went.caught + went.flushed + went.lost == pytest.approx(depth * one.area, abs=1e-9)


@given(roofs, st.floats(0.0, 0.5), st.floats(0.0, 0.5), st.floats(0.0, 1.0))
def test_more_rain_never_brings_less(one: Roof, depth: float, more: float, room: float) -> None:
    assert catch(one, depth + more, room).caught >= catch(one, depth, room).caught


@pytest.mark.parametrize("bad", [-0.001, nan, inf])
def test_impossible_rain_is_refused(bad: float) -> None:
    for ask in (
        lambda: catch(roof(10.0), bad), lambda: catch(roof(10.0), 0.01, bad), lambda: runs_off(roof(10.0), bad),
    ):  # fmt: skip
        with pytest.raises(OutOfRange):
            ask()
