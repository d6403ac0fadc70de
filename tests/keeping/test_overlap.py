"""What one tank may hold another cannot hold at the same time: the water in all is known better than tank by tank."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from gardens import HUMP, START, at, dip, journal, rain, site

from tankdash.journal.entries import Pour, TapClosed, TapOpened, Use
from tankdash.keeping.state.levels import levels_of
from tankdash.keeping.state.replay import replay

CISTERN = """
site: A cistern and a header
timezone: UTC
units: metric
datum: the yard
tanks:
  cistern: {base: -2 m, shape: {kind: straight, holds: 8000 L, at: 2 m}}
  header: {base: 3 m, shape: {kind: straight, holds: 3000 L, at: 1.5 m}}
outlets:
  intake: {tank: cistern, at: 25 cm, kind: pump}
  field: {tank: header, at: 5 cm}
roofs:
  hall: {area: 100 m2, runoff: 1.0, fills: cistern}
"""
DIPPED = (START, dip(cistern=1.0, header=0.25))
"""4000 L below, 500 L above."""
ON = (at(0, 1), TapOpened(source="cistern", target="header"))


def totals(*happened, hours: float, text: str = CISTERN):
    garden = site(text)
    return levels_of(garden, replay(garden, journal(*happened), at(0, hours))).totals


def test_a_running_pump_makes_no_water() -> None:
    """Of 4500 L the pump can move 4000; the header takes 2500 of them, and 1500 may have run over."""
    known = totals(DIPPED, ON, hours=9)
    assert known.high_l == pytest.approx(4500.0)
    assert known.low_l == pytest.approx(3000.0)
    # Of the header's 500 L a hundred stand below its tap, whatever came up.
    assert known.usable_high_l == pytest.approx(4400.0)


def test_what_comes_and_goes_while_it_runs_is_counted_once() -> None:
    drawn = totals(DIPPED, ON, (at(0, 3), Use(200.0, "field")), hours=9)
    assert drawn.high_l == pytest.approx(4300.0)
    rained = totals(DIPPED, ON, (at(0, 3), rain(10.0, at(0, 3))), hours=9)
    assert rained.high_l == pytest.approx(5500.0)
    assert rained.low_l <= 3000.0 + 1e-6


def test_a_dip_of_what_it_takes_from_tells_what_the_other_can_hold() -> None:
    """2400 L are left of 4000: 1600 went up at most, so of 4500 L there are no more."""
    off = (at(0, 5), TapClosed(source="cistern", target="header"))
    known = totals(DIPPED, ON, off, (at(0, 6), dip(cistern=0.6)), hours=7)
    assert known.high_l == pytest.approx(4500.0)


def test_water_that_levels_either_way_is_the_same_water() -> None:
    """F06: 400 L and 150 L, full of air or not, are 550 L; 10 L more make 560."""
    known = totals((START, dip(a=0.40, b=0.15)), (at(0, 1), Pour(10.0, "a", "hose")), hours=2, text=HUMP)
    assert known.volume_l == pytest.approx(560.0)
    assert known.low_l == known.high_l == pytest.approx(560.0)


def test_what_is_usable_is_told_as_one_figure_where_it_is_the_same_either_way() -> None:
    """A tap 5 cm up in both: of 560 L a hundred lie below the taps, however the rest is shared."""
    both = HUMP.rstrip() + "\n  other: {tank: a, at: 5 cm}\n"
    happened = (START, dip(a=0.40, b=0.15)), (at(0, 1), Pour(10.0, "a", "hose"))
    known = totals(*happened, hours=2, text=both)
    assert known.usable_l == pytest.approx(460.0)
    assert known.usable_low_l == known.usable_high_l == pytest.approx(460.0)
    assert known.percent == pytest.approx(100.0 * 460.0 / 1900.0)
    with_one = totals(*happened, hours=2, text=HUMP)
    assert with_one.usable_l is None
    assert with_one.usable_low_l < with_one.usable_high_l


@settings(max_examples=60, deadline=None)
@given(
    below=st.floats(0.0, 2.0),
    above=st.floats(0.0, 1.5),
    moved=st.floats(0.0, 1.0),
    used=st.floats(0.0, 1.0),
    mm=st.floats(0.0, 60.0),
)
def test_what_there_is_lies_between_the_ends_whatever_the_pump_moved(below, above, moved, used, mm) -> None:
    """The pump moved `moved` of what it could get in two hours; then it rained, and some was drawn from the header."""
    litres = below * 4000.0 * moved
    start = (START, dip(cistern=below, header=above))
    held = min(3000.0, above * 2000.0 + litres)
    draw = used * max(0.0, held - 100.0)
    after = [(at(0, 4), rain(mm, at(0, 4)))] if mm > 0.5 else []
    after += [(at(0, 5), Use(draw, "field"))] if draw > 1.0 else []
    told = TapClosed(source="cistern", target="header", volume_l=litres)
    pumped = [ON, (at(0, 3), told)] if litres > 1.0 else []
    truth = totals(start, *pumped, *after, hours=6)
    known = totals(start, ON, *after, hours=6)
    assert known.low_l - 1e-3 <= truth.volume_l <= known.high_l + 1e-3
    assert known.usable_low_l - 1e-3 <= truth.usable_l <= known.usable_high_l + 1e-3
    assert known.high_l <= below * 4000.0 + above * 2000.0 + 100.0 * mm + 1e-3


STEP = """
site: A hose over a step
timezone: UTC
units: metric
datum: the lower path
tanks:
  drum: {base: 107 cm, shape: {kind: lying, diameter: 69 cm, length: 137 cm}}
  tall: {base: 15 cm, shape: {kind: upright, diameter: 76 cm, height: 122 cm}}
  slim: {base: 25 cm, shape: {kind: upright, diameter: 50 cm, height: 107 cm}}
links:
  low: {join: [tall, slim], ports: 12 cm}
  over: {join: [drum, tall], ports: [5 cm, 102 cm], crest: 175 cm}
outlets:
  tap: {tank: tall, at: 12 cm}
"""


def test_what_was_dipped_on_both_sides_of_a_crest_is_known_in_all_however_it_stands() -> None:
    known = totals((START, dip(drum=0.127, tall=0.5)), hours=0, text=STEP)
    assert known.low_l == pytest.approx(known.high_l)
    assert known.volume_l == pytest.approx(known.low_l)
