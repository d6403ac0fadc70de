"""Bases over time: a dot for every survey, its bar, what was noted, on one scale and in exactly its place."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.drawing.basetime import (
    LEAST_SPAN,
    BaseTrack,
    Measured,
    base_chart,
    common_span,
    date_axis,
    extent,
    scale_width,
)
from tankdash.drawing.canvas import ROLES, as_text
from tankdash.drawing.cells import text_width

FIRST, LAST = date(2026, 1, 10), date(2026, 11, 20)
SINKS = BaseTrack(
    "South tote",
    [Measured(FIRST + timedelta(days=30 * n), 0.23 - 0.004 * n, 0.0085) for n in range(9)],
    [(None, 0.23), (date(2026, 5, 10), 0.214)],
    (0.23, 0.198),
)
STANDS = BaseTrack(
    "Middle tote", [Measured(FIRST + timedelta(days=30 * n), 0.17, 0.0085) for n in range(9)], [(None, 0.17)]
)


def charts(ascii: bool = False):
    span = common_span([STANDS, SINKS], FIRST)
    scale = scale_width([STANDS, SINKS], FIRST, "metric", span)
    rows = []
    for track in (STANDS, SINKS):
        rows += base_chart(track, FIRST, LAST, 70, 7, "metric", ascii, span, scale)
    return [*rows, date_axis(FIRST, LAST, 70, scale + 2)]


def test_the_charts_are_drawn_as_kept(golden):
    golden("bases-over-time-70", charts())
    golden("bases-over-time-ascii-70", charts(ascii=True))


def test_every_survey_has_its_dot_and_a_base_that_sinks_comes_down():
    rows = as_text(base_chart(SINKS, FIRST, LAST, 90, 9, "metric")).split("\n")
    dots = sorted(
        (line.index("●", place), number) for number, line in enumerate(rows) for place in places(line)
    )
    assert len(dots) == 9
    assert [number for _, number in dots] == sorted(number for _, number in dots)
    assert dots[-1][1] - dots[0][1] >= 3


def places(line: str) -> list[int]:
    return [place for place, char in enumerate(line) if char == "●"]


def test_a_base_that_stands_keeps_to_one_line():
    rows = as_text(base_chart(STANDS, FIRST, LAST, 90, 9, "metric")).split("\n")
    assert sum("●" in line for line in rows) == 1
    assert sum(line.count("●") for line in rows) == 9


def test_a_stick_of_its_own_doubt_does_not_fill_the_scale():
    one = BaseTrack("a", [Measured(FIRST, 0.2, 0.001)], [(None, 0.2)])
    assert common_span([one], FIRST) == LEAST_SPAN


def test_what_was_noted_before_the_first_day_does_not_stretch_the_scale():
    moved = BaseTrack("a", [Measured(LAST, 0.2, 0.005)], [(None, 0.9), (FIRST, 0.2)])
    assert extent(moved, FIRST) == pytest.approx((0.195, 0.205))


bases = st.floats(-3.0, 3.0)


@settings(max_examples=80)
@given(
    measured=st.lists(st.tuples(st.integers(0, 900), bases, st.floats(0, 0.05)), max_size=12),
    noted=st.lists(st.tuples(st.integers(-50, 900), bases), max_size=4),
    width=st.integers(0, 130),
    height=st.integers(0, 14),
    units=st.sampled_from(["metric", "us"]),
)
def test_a_chart_fills_exactly_its_place_in_roles_that_are_known(measured, noted, width, height, units):
    track = BaseTrack(
        "a",
        [Measured(FIRST + timedelta(days=day), base, doubt) for day, base, doubt in sorted(measured)],
        [(None, 0.2), *((FIRST + timedelta(days=day), base) for day, base in sorted(noted))],
        (0.2, 0.1),
    )
    rows = base_chart(track, FIRST, FIRST + timedelta(days=900), width, height, units)
    assert len(rows) == height
    for row in rows:
        assert sum(text_width(span.text) for span in row) == width
        assert all(span.role in ROLES for span in row)


@given(width=st.integers(0, 130), left=st.integers(0, 20), days=st.integers(0, 3000))
def test_the_axis_fills_its_line_and_names_both_ends_where_there_is_room(width, left, days):
    row = date_axis(FIRST, FIRST + timedelta(days=days), width, left)
    assert sum(text_width(span.text) for span in row) == width
    if width - left > 40 and days:
        text = "".join(span.text for span in row)
        assert text.strip().startswith("10 Jan")
        assert text.rstrip() == text
