"""What is told of water whose way to the outlet is not known: both possibilities, and nothing that may be untrue."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from gardens import HUMP, START, at, codes, dip, journal, site

from tankdash.journal.entries import Change, TapOpened
from tankdash.keeping.state.levels import levels_of
from tankdash.keeping.state.replay import replay

ROW = """
site: A row and a header
timezone: UTC
units: metric
datum: the pad
tanks:
  one: {base: 0, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  two: {base: 0, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  header: {base: 5 m, shape: {kind: straight, holds: 500 L, at: 100 cm}}
links:
  row: {join: [one, two], ports: 0}
outlets:
  low: {tank: one, at: 0}
  high: {tank: header, at: 0}
"""


def told(text: str, *happened, when=START):
    garden = site(text)
    return levels_of(garden, replay(garden, journal(*happened), when))


def test_what_a_crest_of_unknown_priming_lets_through_is_a_range_and_reaches_to_both_outcomes() -> None:
    """F06: `a` at 40 cm. Full of air nothing passes and b may be dry; full of water both stand at 40 cm: 2 x 350 L."""
    levels = told(HUMP, (START, dip(a=0.40)))
    assert levels.totals.usable_l is None
    assert levels.totals.usable_low_l == pytest.approx(0.0)
    assert levels.totals.usable_high_l >= 700.0 - 1e-6
    assert levels.tanks["a"].usable_l is None
    assert "cut-off" not in codes(levels.warnings)


def test_two_ends_that_were_read_and_differ_show_that_the_crest_is_full_of_air() -> None:
    """F06: 40 cm beside 15 cm: what stands in `a` does not pass; only the 10 cm over the tap of b are usable."""
    levels = told(HUMP, (START, dip(a=0.40, b=0.15)))
    assert levels.totals.usable_l == pytest.approx(100.0)
    assert levels.tanks["a"].usable_l == pytest.approx(0.0)


def test_water_that_may_still_pass_is_not_told_to_stand_below_its_link() -> None:
    """With the hose known to be full of water what lies over its ports passes, whatever the level may be."""
    levels = told(HUMP, (START, dip(a=0.40)), (at(0, 1), Change("hose", "primed")), when=at(0, 2))
    assert levels.tanks["a"].volume_l is None
    assert "cut-off" not in codes(levels.warnings)


def test_a_pump_of_unknown_rate_leaves_no_tank_of_its_row_below_a_link() -> None:
    levels = told(
        ROW,
        (START, dip(one=0.9, header=0.0)),
        (START, TapOpened(source="one", target="header")),
        when=at(0, 3),
    )
    assert "cut-off" not in codes(levels.warnings)
    assert "pump-on" in codes(levels.warnings)


def test_the_hose_in_doubt_is_named_with_what_to_note() -> None:
    levels = told(HUMP.replace("hose: {", "hose: {label: Hose over the wall, "), (START, dip(a=0.40)))
    (caution,) = [warning for warning in levels.warnings if warning.code == "crest"]
    assert "whether Hose over the wall is full of water" in caution.text
    assert "`set hose primed`" in caution.text
