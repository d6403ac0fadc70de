"""The curve of storage and the meters of tables: exact sizes, nothing invented, the bend where it is."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankdash.drawing.canvas import ROLES, as_text
from tankdash.drawing.cells import text_width
from tankdash.drawing.curve import Knot, curve, share_at
from tankdash.drawing.meter import meter

BEND = [(0.5, 0.40), (1.0, 0.72), (2.0, 0.90), (3.0, 0.96), (6.0, 0.99)]
KNOTS = [Knot(1.0, 0.72, "0"), Knot(2.0, 0.90, "1"), Knot(3.0, 0.96, "2")]
ENDS = ("days served in full", "to 6000 L")


@pytest.mark.parametrize("ascii", [False, True])
def test_the_curve_is_drawn_as_kept(golden, ascii):
    name = "curve-ascii" if ascii else "curve"
    golden(name, curve(BEND, KNOTS, 60, 9, ENDS, ascii, floor=0.6))


@given(width=st.integers(0, 120), height=st.integers(0, 30), floor=st.sampled_from([0.0, 0.5, 0.9]))
def test_the_curve_fills_exactly_its_place_in_roles_that_are_known(width, height, floor):
    rows = curve(BEND, KNOTS, width, height, ENDS, floor=floor)
    assert len(rows) == height
    for row in rows:
        assert sum(text_width(span.text) for span in row) == width
        assert all(span.role in ROLES for span in row)


def test_every_knot_stands_on_the_curve_further_right_and_no_lower_than_the_one_before():
    rows = as_text(curve(BEND, KNOTS, 70, 12, ENDS)).split("\n")
    places = {
        char: (line.index(char, 7), number)
        for number, line in enumerate(rows[:-1])
        for char in "012"
        if char in line[7:]
    }
    assert [places[char][0] for char in "012"] == sorted(places[char][0] for char in "012")
    assert [places[char][1] for char in "012"] == sorted((places[char][1] for char in "012"), reverse=True)


@given(
    st.lists(st.tuples(st.floats(0.001, 10.0), st.floats(0.0, 1.0)), min_size=1, max_size=8), st.floats(0, 12)
)
def test_between_points_the_share_lies_between_theirs(points, storage):
    points = sorted(points)
    shares = [0.0, *(share for _, share in points)]
    assert min(shares) <= share_at(points, storage) <= max(shares) + 1e-12


@given(share=st.none() | st.floats(0.0, 3.0), width=st.integers(0, 40), mark=st.none() | st.floats(-1, 2))
def test_a_meter_is_as_wide_as_asked_and_more_never_looks_less(share, width, mark):
    drawn = meter(share, width, mark=mark)
    assert len(drawn) == width
    assert meter(share, width, ascii=True, mark=mark).isascii()
    if share is not None and mark is None and width:
        assert drawn.count("━") <= meter(share + 0.1, width).replace("▶", "━").count("━")
        assert ("▶" in drawn) == (share > 1.0 + 1e-9)
