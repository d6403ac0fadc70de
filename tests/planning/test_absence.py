"""Going away and making room: needs held against what is there, and what an open tap leaves."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.planning.absence import away
from tankdash.planning.supply import supply
from tankdash.planning.telling import absence_words, left_open_words
from tankdash.site import load_text

DAY = date(2026, 7, 1)
TEXT = """
site: Two linked barrels
timezone: UTC
units: metric
datum: the paving
tanks:
  one: {base: 0 cm, shape: {kind: straight, holds: 200 L, at: 100 cm}}
  two: {base: 0 cm, shape: {kind: straight, holds: 200 L, at: 100 cm}}
links: {hose: {join: [one, two], ports: 5 cm}}
outlets: {tap: {tank: two, at: 10 cm}}
roofs: {shed: {area: 10 m2, runoff: 0.9, fills: one}}
beds: {pots: {need: 18 L/day, from: tap}, herbs: {area: 2 m2, need: 21 mm/week, from: tap}}
"""
SITE = load_text(TEXT)
LAYOUT = SITE.layout(DAY)


def test_F42_an_open_tap_leaves_about_its_height_whatever_the_rain():
    """Two barrels of 200 L, a tap 10 cm up: 20 L in each, 40 together, from full or from little."""
    for held in (0.2, 0.1, 0.02):
        absence = away(SITE, LAYOUT, {"one": held, "two": held}, DAY, 11, left_open="tap")
        assert absence.left_open.least * 1000 == pytest.approx(40.0)
        assert absence.left_open.most * 1000 == pytest.approx(40.0)
    words = left_open_words(absence, "the tap", "metric")
    assert "about 40 L" in words
    assert "whatever the rain" in words


def test_with_less_than_the_tap_the_rain_decides_up_to_it():
    absence = away(SITE, LAYOUT, {"one": 0.012, "two": 0.012}, DAY, 3, left_open="tap")
    assert absence.left_open.least * 1000 == pytest.approx(24.0)
    assert absence.left_open.most * 1000 == pytest.approx(40.0)
    assert "between 24 L and 40 L" in left_open_words(absence, "the tap", "metric")


@settings(max_examples=50)
@given(held=st.floats(0.0, 0.2), days=st.integers(1, 40), rain=st.floats(0, 40))
def test_an_absence_is_short_just_when_the_supply_ends_in_it(held, days, rain):
    contents = {"one": held, "two": held}
    answer = supply(SITE, LAYOUT, contents, DAY, {DAY: rain})
    absence = away(SITE, LAYOUT, contents, DAY, days, answer.credit)
    assert absence.given + absence.short == pytest.approx(absence.need)
    if abs(answer.together.days - days) > 1e-6:
        assert (absence.short > 0) == (answer.together.days < days)


def test_it_is_said_in_words():
    plenty = away(SITE, LAYOUT, {"one": 0.2, "two": 0.2}, DAY, 3)
    assert absence_words(plenty, "metric") == (
        "Away for 3 days: the beds ask for 72 L; it is there, with 288 L to spare, without rain."
    )
    assert "short by" in absence_words(away(SITE, LAYOUT, {"one": 0.03, "two": 0.03}, DAY, 3), "metric")


PUMPED = """
site: A pump stands higher than the tap
timezone: UTC
units: us
datum: the pad
tanks:
  tank: {base: 0, shape: {kind: straight, holds: 500 gal, at: 50 in}}
  other: {base: 0, shape: {kind: straight, holds: 100 gal, at: 50 in}}
outlets:
  tap: {tank: tank, at: 2 in}
  pump: {tank: tank, at: 8 in, kind: pump}
  elsewhere: {tank: other, at: 0}
beds: {tomatoes: {need: 4 gal/day, from: pump}}
"""


def test_only_what_reaches_the_beds_is_to_spare():
    """20 in of water: 180 gal over the tap, 120 over the pump; another tank reaches no bed at all (F35)."""
    gallon = 0.003785411784
    site = load_text(PUMPED)
    absence = away(site, site.layout(DAY), {"tank": 200 * gallon, "other": 90 * gallon}, DAY, 10)
    assert absence.spare / gallon == pytest.approx(120.0 - 40.0)
