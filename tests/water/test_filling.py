"""Filling is fill-spill-merge, and litres never appear or vanish (R9)."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from banks import bank, example, inflows, layouts, tote, uneven

from tankdash.water.filling import pour
from tankdash.water.pools import is_at_rest


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_litres_never_appear_or_vanish(data: st.DataObject) -> None:
    layout = data.draw(layouts())
    before = pour(layout, {}, data.draw(inflows(layout)))
    inflow = data.draw(inflows(layout))
    after = pour(layout, before.contents, inflow)
    given_in = sum(before.contents.values()) + sum(inflow.values())
    kept = sum(after.contents.values()) + sum(after.spilled.values())
    assert kept == pytest.approx(given_in, rel=1e-9, abs=1e-15)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_what_was_poured_stands_at_rest(data: st.DataObject) -> None:
    layout = data.draw(layouts())
    after = pour(layout, {}, data.draw(inflows(layout)))
    assert is_at_rest(layout, after.contents)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_order_of_pouring_does_not_matter_where_the_end_is_unique(data: st.DataObject) -> None:
    layout = data.draw(layouts(marks=uneven))
    inflow = data.draw(inflows(layout))
    together = pour(layout, {}, inflow)
    one_by_one: dict[str, float] = {}
    spilled = 0.0
    for name, volume in data.draw(st.permutations(sorted(inflow.items()))):
        step = pour(layout, one_by_one, {name: volume})
        one_by_one, spilled = step.contents, spilled + sum(step.spilled.values())
    assert sum(together.spilled.values()) == pytest.approx(spilled, abs=1e-7)
    for name, volume in together.contents.items():
        assert one_by_one.get(name, 0.0) == pytest.approx(volume, abs=1e-6)
