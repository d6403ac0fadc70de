"""Head at outlets and beds, and which the water still reaches."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankdash.planning.gravity import Head, heads
from tankdash.planning.supply import supply
from tankdash.planning.telling import head_words
from tankdash.site import load_text
from tankdash.units import format_head

DAY = date(2026, 7, 1)
STAND = """
site: A barrel on a stand
timezone: UTC
units: {units}
datum: the ground
tanks: {{barrel: {{base: {base}, shape: {{kind: straight, holds: 200 L, at: {high}}}}}}}
outlets: {{tap: {{tank: barrel, at: {at}, kind: {kind}}}}}
beds: {{drip: {{need: 10 L/day, from: tap, height: {bed}, min_head: {least}}}}}
"""


def stand(units="metric", base="60 cm", high="90 cm", at="0 cm", kind="tap", bed="10 cm", least="1 m"):
    return load_text(STAND.format(**locals()))


def head_of(site, surface, full):
    return heads(site, site.layout(DAY), {"barrel": surface}, {"barrel": full})


def test_H1_a_surface_ten_feet_up_and_a_tap_at_six():
    """Reference H1 (P): 1.72 psi by 0.43 psi/ft; K3 (P): 0.433 psi/ft, so 1.73."""
    site = stand("us", base="6 ft", high="4 ft", bed="0 ft", least="0 ft")
    tap = head_of(site, 10 * 0.3048, 10 * 0.3048)["tap"]
    assert tap.now == pytest.approx(4 * 0.3048)
    assert format_head(tap.now, "us") in ("1.72 psi", "1.73 psi")


def test_F33_pressure_full_and_at_the_cut_off():
    """A drip line 0.10 up under a barrel 0.60 to 1.50: 13.7 kPa full, 9.8 at a metre of head; cut off at 1.10."""
    drip = head_of(stand(), 1.10, 1.50)["bed:drip"]
    assert format_head(drip.full, "metric") == "13.7 kPa"
    assert format_head(drip.needed, "metric") == "9.8 kPa"
    assert drip.is_reached
    assert head_of(stand(), 1.09, 1.50)["bed:drip"].is_reached is False


def test_F33_half_of_four_modules_serves_a_point_level_with_the_second():
    """Four modules of 125 L, stacked: a point level with the bottom of the second from top gets 250 of 500 L."""
    site = load_text(
        """
site: Four modules
timezone: UTC
units: metric
datum: the ground
tanks: {stack: {base: 0 cm, shape: {kind: straight, holds: 500 L, at: 2 m}}}
outlets: {tap: {tank: stack, at: 0 cm}}
beds: {sink: {need: 10 L/day, from: tap, height: 1 m}}
"""
    )
    answer = supply(site, site.layout(DAY), {"stack": 0.5}, DAY)
    assert answer.beds["sink"].usable * 1000 == pytest.approx(250.0)
    assert answer.outlets["tap"].usable * 1000 == pytest.approx(500.0)


def test_F33_half_a_cistern_for_a_garden_that_lies_higher():
    """A cistern of 2.4 m, the garden tap 1.2 m above its floor: (2.4 - 1.2) / 2.4."""
    site = stand(base="0 cm", high="2.4 m", bed="1.2 m", least="0 m")
    answer = supply(site, site.layout(DAY), {"barrel": 0.2}, DAY)
    assert answer.beds["drip"].usable / 0.2 == pytest.approx(0.5)


def test_a_bed_above_the_lip_is_never_reached_by_gravity():
    site = stand(bed="3 m", least="0 m")
    head = head_of(site, 1.5, 1.5)["bed:drip"]
    assert "never reach" in head_words(head, "metric")
    assert supply(site, site.layout(DAY), {"barrel": 0.2}, DAY).beds["drip"].days == 0.0


def test_a_pump_lifts_whatever_the_height():
    site = stand(kind="pump", bed="3 m")
    head = head_of(site, 0.7, 1.5)["bed:drip"]
    assert head.is_reached
    assert head_words(head, "metric") == "by pump"
    assert supply(site, site.layout(DAY), {"barrel": 0.1}, DAY).beds["drip"].usable == pytest.approx(0.1)


def test_a_bed_below_an_outlet_that_the_water_does_not_reach_gets_nothing():
    """R7: the water must stand above the outlet too, however low the bed lies."""
    site = load_text(
        """
site: High tap
timezone: UTC
units: metric
datum: the ground
tanks: {butt: {base: 50 cm, shape: {kind: straight, holds: 200 L, at: 1 m}}}
outlets: {tap: {tank: butt, at: 30 cm}}
beds: {low: {need: 5 L/day, from: tap, height: 0 cm}}
"""
    )
    below, above = (
        heads(site, site.layout(DAY), {"butt": z}, {"butt": 1.5})["bed:low"] for z in (0.75, 0.85)
    )
    assert below.now == pytest.approx(0.75)
    assert below.is_reached is False
    assert "the water stands below the outlet" in head_words(below, "metric")
    assert below.is_ever_reached
    assert above.is_reached is True
    assert supply(site, site.layout(DAY), {"butt": 0.05}, DAY).beds["low"].usable == 0.0


def test_an_unknown_surface_gives_no_head():
    head = head_of(stand(), None, 1.5)["tap"]
    assert head.now is None
    assert head.is_reached is None
    assert head_words(head, "metric").startswith("unknown now")


@given(surface=st.floats(0, 3), rise=st.floats(0, 1))
def test_a_higher_surface_never_reaches_less(surface, rise):
    low, high = Head(surface, 3.0, 1.0), Head(surface + rise, 3.0, 1.0)
    assert high.is_reached or not low.is_reached
