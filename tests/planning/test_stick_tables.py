"""The stick table: held against the levels of each reading, read the way the stick is read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.planning.stick import litres_per_length, reading_of, stick_table, top_of
from tankdash.site import load_text
from tankdash.site.model import DipRule
from tankdash.water.holding import full, usable
from tankdash.water.readings import depth_from_reading, gauge_through
from tankdash.water.rest import at_rest

TEXT = """
site: Three totes
timezone: UTC
units: metric
datum: top of the slab
tanks:
  north: {base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm, overflow: 95 cm}
  middle: {base: 17 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm}
  south: {base: 23 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm}
links:
  a: {join: [north, middle], ports: 8 cm}
  b: {join: [middle, south], ports: 8 cm}
outlets: {tap: {tank: south, at: 10 cm}}
roofs: {shed: {area: 24 m2, runoff: 0.9, fills: north}}
"""
LAYOUT = load_text(TEXT).layout(date(2026, 6, 1))
FLOOR = DipRule()


def rows_by_depth(tank="north", rule=FLOOR, step=0.01):
    return {round(row.depth, 6): row for row in stick_table(LAYOUT, tank, rule, step)}


def test_a_line_says_what_the_same_dip_would():
    """The worked example: north at 60 cm is 600 + 630 + 570 L, 1410 of them usable."""
    row = rows_by_depth()[0.6]
    assert row.total_low * 1000 == row.total_high * 1000 == pytest.approx(1800.0)
    assert row.usable_low * 1000 == pytest.approx(1410.0)


@settings(max_examples=40)
@given(tank=st.sampled_from(["north", "middle", "south"]), step=st.floats(0.004, 0.3))
def test_every_line_agrees_with_the_resting_state_of_its_dip(tank, step):
    for row in stick_table(LAYOUT, tank, FLOOR, step):
        rest = at_rest(LAYOUT, {tank: row.depth})
        held = [sum(getattr(one, end) for one in rest.tanks.values()) for end in ("low", "high")]
        assert [row.total_low, row.total_high] == pytest.approx(held)
        low = usable(LAYOUT, {key: one.low for key, one in rest.tanks.items()})
        assert row.usable_low == pytest.approx(sum(low.values()))
        assert row.usable_low <= row.total_low + 1e-12


def test_readings_are_round_and_both_ends_are_there():
    rows = stick_table(LAYOUT, "north", FLOOR, 0.1)
    assert [round(row.reading, 6) for row in rows] == [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95]


def test_the_table_ends_where_the_pool_spills():
    """North's overflow at 1.15 m caps the row: middle, on 17 cm, stands at 98 cm then, not at its own 105."""
    assert top_of(LAYOUT, "middle") == pytest.approx(0.98)
    last = stick_table(LAYOUT, "middle", FLOOR, 0.05)[-1]
    assert last.total_low == pytest.approx(sum(full(LAYOUT).values()))


def test_a_gap_is_told_as_a_gap_in_round_figures():
    rows = stick_table(LAYOUT, "south", DipRule("brim"), 0.1)
    assert rows[0].reading == pytest.approx(1.05)
    assert {round(row.reading, 6) for row in rows[1:-1]} <= {round(0.1 * n, 6) for n in range(11)}
    for row in rows:
        assert depth_from_reading(row.reading, brim=1.05, measured_from="brim") == pytest.approx(row.depth)


@given(depth=st.floats(0.1, 1.0), offset=st.floats(-0.05, 0.05), on_silt=st.booleans())
def test_a_reading_turned_round_is_the_depth_again(depth, offset, on_silt):
    for measured_from in ("floor", "brim"):
        rule = DipRule(measured_from, offset=offset, on_silt=on_silt)
        reading = reading_of(depth, rule, 1.2, 0.04)
        back = depth_from_reading(
            max(0.0, reading), brim=1.2, measured_from=measured_from, offset=offset,
            silt_under_stick=0.04 if on_silt and measured_from == "floor" else 0.0,
        )  # fmt: skip
        assert back == pytest.approx(depth)


def test_a_gauge_that_sinks_as_the_water_rises_has_its_own_table():
    rule = DipRule(scale=((0.0, 0.9), (0.9, 0.0)))
    rows = stick_table(LAYOUT, "north", rule, 0.1)
    gauge = gauge_through(*rule.scale)
    assert all(gauge.depth(row.reading) == pytest.approx(row.depth) for row in rows)
    assert rows[0].reading > rows[-1].reading >= 0.0


def test_where_a_tank_is_cut_off_its_water_is_a_range():
    row = rows_by_depth()[0.05]
    assert not row.is_sure
    assert row.total_low * 1000 == pytest.approx(50.0)
    # Middle may stand at north's port, 28 - 17 cm, and south at its own, 8 cm: 50 + 110 + 80.
    assert row.total_high * 1000 == pytest.approx(240.0)


def test_F29_the_slope_of_the_stick_is_that_of_all_tanks_together():
    """Three totes of 1 m2: 3000 L a metre, 30 L a centimetre, whatever lies below the links."""
    assert litres_per_length(stick_table(LAYOUT, "north", FLOOR, 0.01)) == pytest.approx(3.0)


@pytest.mark.parametrize("step", [0.0, -0.01, float("nan"), float("inf"), 1e-6])
def test_a_step_nobody_can_print_is_refused(step):
    with pytest.raises(ValueError, match="step"):
        stick_table(LAYOUT, "north", FLOOR, step)


def test_a_tank_that_no_inlet_fills_goes_up_to_its_lip():
    links = {key: replace(link, is_open=False) for key, link in LAYOUT.links.items()}
    alone = replace(LAYOUT, links=links)
    assert top_of(alone, "south") == pytest.approx(1.05)


def test_a_bank_of_its_own_is_not_counted_with_what_nobody_dipped():
    """A cistern that no link joins tells nothing of the row beside it: its table is its own."""
    text = TEXT.replace(
        "links:", "  cistern: {base: 0 cm, shape: {kind: straight, holds: 9000 L, at: 2 m}}\nlinks:"
    )
    layout = load_text(text.replace("{tap: {", "{well: {tank: cistern, at: 20 cm}, tap: {")).layout(
        date(2026, 6, 1)
    )
    for row in stick_table(layout, "cistern", FLOOR, 0.1):
        assert row.is_sure and row.usable_is_sure
        assert row.total_low * 1000 == pytest.approx(4500.0 * row.depth)
        assert row.usable_low * 1000 == pytest.approx(max(0.0, 4500.0 * (row.depth - 0.2)))
    alone = stick_table(LAYOUT, "north", FLOOR, 0.1)
    for row, same in zip(stick_table(layout, "north", FLOOR, 0.1), alone, strict=True):
        assert row.total_low == pytest.approx(same.total_low)
        assert row.usable_low == pytest.approx(same.usable_low)
