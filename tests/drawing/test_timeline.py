"""The timeline: no rain lost, no gap taken for a dry day, ranges as ranges, all on one date axis."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.drawing.canvas import ROLES, Row, as_text
from tankdash.drawing.cells import text_width
from tankdash.drawing.columns import columns_for
from tankdash.drawing.daywords import legend, value_at
from tankdash.drawing.timeline import day_at, plot_width, timeline

Golden = Callable[[str, list[Row]], None]
END = date(2026, 6, 14)


@dataclass(frozen=True)
class SomeMark:
    chore: str
    kind: str


@dataclass(frozen=True)
class SomeDay:
    day: date
    rain_mm: float | None = 0.0
    rain_low_mm: float | None = 0.0
    rain_high_mm: float | None = 0.0
    volume_l: float | None = None
    low_l: float | None = None
    high_l: float | None = None
    usable_l: float | None = None
    spilled_l: float = 0.0
    is_dipped: bool = False
    is_ahead: bool = False
    marks: tuple[SomeMark, ...] = ()


@dataclass(frozen=True)
class SomeTrack:
    days: tuple[SomeDay, ...]
    full_l: float = 2850.0
    usable_full_l: float = 2460.0
    spare: dict[str, float] = field(default_factory=dict)


def rain(mm: float | None, low: float | None = None, high: float | None = None) -> dict[str, float | None]:
    return {
        "rain_mm": mm,
        "rain_low_mm": mm if low is None else low,
        "rain_high_mm": mm if high is None else high,
    }


def season(count: int) -> SomeTrack:
    """A made-up spring: a shower every sixth day, a dip every tenth, water used evenly, two days not read."""
    days = []
    water = 1500.0
    for back in range(count):
        day = END - timedelta(days=count - 1 - back)
        mm = (0.0, 0.0, 4.0, 0.0, 18.0, 0.0)[back % 6]
        water = max(120.0, min(2850.0, water + mm * 22 - 60.0))
        doubt = 25.0 * (back % 10)
        told = rain(mm)
        if back % 12 == 4:
            told = rain(mm, 0.6 * mm, 1.4 * mm)
        if back % 17 in (7, 8):
            told = rain(None)
        kinds = ("done", "late", "missed", "unflushed", "done")
        marks = (SomeMark("pipe", kinds[back // 6 % 5]),) if back % 6 == 5 else ()
        days.append(
            SomeDay(
                day, **told, volume_l=water, low_l=max(0.0, water - doubt), high_l=min(2850.0, water + doubt),
                usable_l=max(0.0, water - 390.0), is_dipped=back % 10 == 0, marks=marks,
            )
        )  # fmt: skip
    ahead = rain(None)
    days += [SomeDay(END + timedelta(days=step), **ahead, is_ahead=True) for step in (1, 2, 3)]
    return SomeTrack(tuple(days))


PICTURES = [
    ("timeline-a-day-two-columns-80x8", 29, (80, 8), {}),
    ("timeline-a-day-a-column-80x9", 61, (80, 9), {"ink": True}),
    ("timeline-two-days-a-column-80x9", 120, (80, 9), {"ink": True}),
    ("timeline-year-120x12", 362, (120, 12), {"ink": True}),
    ("timeline-ascii-80x9", 61, (80, 9), {"ascii": True}),
    ("timeline-cursor-80x9", 61, (80, 9), {"cursor": date(2026, 6, 2)}),
    ("timeline-us-80x9", 61, (80, 9), {"units": "us"}),
    ("timeline-narrow-40x6", 37, (40, 6), {"ink": True}),
]


@pytest.mark.parametrize(("name", "count", "size", "how"), PICTURES, ids=[picture[0] for picture in PICTURES])
def test_picture_is_the_one_we_looked_at(
    golden: Golden, name: str, count: int, size: tuple[int, int], how: dict[str, object]
) -> None:
    golden(name, timeline(season(count), *size, today=END, **how))  # type: ignore[arg-type]


@given(
    width=st.integers(20, 200),
    height=st.integers(4, 60),
    count=st.integers(1, 500),
    plain=st.booleans(),
    back=st.integers(-3, 500),
)
@settings(max_examples=80, deadline=None)
def test_every_size_is_filled_to_the_cell(
    width: int, height: int, count: int, plain: bool, back: int
) -> None:
    how = {"ascii": plain, "today": END, "cursor": END - timedelta(days=back) if back >= 0 else None}
    rows = timeline(season(count), width, height, **how)  # type: ignore[arg-type]
    assert len(rows) == height
    for row in rows:
        assert sum(text_width(span.text) for span in row) == width
        assert all(span.role in ROLES for span in row)
    if plain:
        assert as_text(rows).isascii()


@given(
    wet=st.sets(st.integers(0, 399), min_size=1, max_size=30),
    width=st.integers(12, 120),
    depth=st.floats(0.01, 80.0),
)
@settings(max_examples=80, deadline=None)
def test_no_rain_is_lost_however_many_days_share_a_column(wet: set[int], width: int, depth: float) -> None:
    dry = [SomeDay(END - timedelta(days=399 - spot)) for spot in range(400)]
    days = tuple(replace(day, **rain(depth)) if spot in wet else day for spot, day in enumerate(dry))
    columns = columns_for(days, 0, width)
    assert sum(stretch.rain_low or 0.0 for stretch in columns.stretches) == pytest.approx(depth * len(wet))
    with_rain = {stretch.x for stretch in columns.stretches if stretch.rain_low}
    rows = timeline(SomeTrack(days), width, 8)
    offset = (width - plot_width(width)) * 7 // 16
    drawn = set()
    column = 0
    for span in rows[0]:
        drawn |= set(range(column, column + len(span.text))) if span.role == "rain" else set()
        column += len(span.text)
    assert {
        x + offset for x in {s.x for s in columns_for(days, 0, plot_width(width)).stretches if s.rain_low}
    } <= drawn
    assert with_rain


def test_a_day_nobody_read_is_a_gap_and_not_a_dry_day() -> None:
    days = [SomeDay(END - timedelta(days=back)) for back in (2, 1, 0)]
    days[1] = replace(days[1], **rain(None))
    top = "".join(span.text for span in timeline(SomeTrack(tuple(days)), 12, 6)[0])
    assert top == "    ····    "
    plain = "".join(span.text for span in timeline(SomeTrack(tuple(days)), 12, 6, ascii=True)[0])
    assert plain == "    ....    "


def test_a_range_hangs_solid_to_its_low_end_and_lighter_to_its_high_end() -> None:
    days = (SomeDay(END, **rain(20.0, 10.0, 20.0)),)
    rows = timeline(SomeTrack(days), 12, 13)
    solid = sum(1 for row in rows for span in row if span.role == "rain")
    lighter = sum(1 for row in rows for span in row if span.role == "rain-band")
    assert solid == 2
    assert lighter == 2


def test_rain_with_no_upper_bound_reaches_down_the_scale_lightly() -> None:
    day = SomeDay(END, rain_mm=5.0, rain_low_mm=5.0, rain_high_mm=None)
    rows = timeline(SomeTrack((day,)), 12, 13)
    assert any(span.role == "rain-band" for span in rows[3])


def test_rain_of_a_day_not_yet_come_is_no_gap() -> None:
    days = (SomeDay(END), SomeDay(END + timedelta(days=1), **rain(None), is_ahead=True))
    assert "·" not in as_text(timeline(SomeTrack(days), 40, 8))


def _sign(*kinds: str) -> str:
    days = (SomeDay(END, marks=tuple(SomeMark("pipe", kind) for kind in kinds)),)
    return "".join(span.text for span in timeline(SomeTrack(days), 12, 7)[5]).strip()[0]


def test_each_chore_mark_has_its_own_sign_and_the_legend_names_it() -> None:
    signs = [_sign(kind) for kind in ("done", "late", "missed", "unflushed")]
    assert len(set(signs)) == 4
    assert all(sign in as_text([legend()]) for sign in signs)


def test_a_chore_that_stays_late_does_not_hide_what_was_done() -> None:
    days = tuple(
        SomeDay(
            END - timedelta(days=9 - spot),
            marks=(SomeMark("pipe", "missed" if spot == 2 else "late"),) * (spot >= 2)
            + (SomeMark("screen", "done"),) * (spot == 6),
        )
        for spot in range(10)
    )
    row = "".join(span.text for span in timeline(SomeTrack(days), 12, 7)[5])
    assert row == "    ✗╌╌╌✓╌╌╌"
    done, late = ("".join(span.text for span in row) for row in timeline(SomeTrack(days), 12, 8)[5:7])
    assert done == "        ✓   "
    assert late == "    ✗╌╌╌╌╌╌╌"


def test_the_legend_gives_up_words_before_signs_and_never_half_a_word() -> None:
    for width in range(12, 160):
        row = legend(width=width)
        text = "".join(span.text for span in row)
        assert text_width(text) <= width
        assert all(word in as_text([legend()]) or word in "missed not read perhaps" for word in text.split())
    assert "unflushed" in "".join(span.text for span in legend(width=48))


def test_a_missed_chore_is_not_hidden_by_one_that_was_done() -> None:
    marks = (SomeMark("pipe", "done"), SomeMark("screen", "missed"))
    assert "✗" in as_text(timeline(SomeTrack((SomeDay(END, marks=marks),)), 40, 8))


def test_the_sentence_under_the_cursor() -> None:
    track = SomeTrack(
        (
            SomeDay(END, **rain(12.0, 10.0, 14.0), volume_l=1800.0, usable_l=1410.0, is_dipped=True,
                    marks=(SomeMark("pipe", "done"),)),
            SomeDay(END + timedelta(days=1), **rain(None), low_l=100.0, high_l=900.0),
            SomeDay(END + timedelta(days=2), **rain(0.0), spilled_l=40.0),
            SomeDay(END + timedelta(days=3), **rain(None), is_ahead=True),
        )
    )  # fmt: skip
    assert value_at(track, END, labels={"pipe": "Empty the pipe"}).parts == (
        "Sun 14 Jun", "10 mm to 14 mm", "1410 L usable", "dipped", "done: Empty the pipe",
    )  # fmt: skip
    assert value_at(track, END, labels={"pipe": "Empty the pipe"}).full == (
        "Sunday 14 June 2026: 10 mm to 14 mm of rain; 1800 L in the tanks, 1410 L usable; dipped; done: Empty the pipe."
    )
    assert value_at(track, END + timedelta(days=1)).full == (
        "Monday 15 June 2026: rain not read; between 100 L and 900 L in the tanks."
    )
    assert value_at(track, END + timedelta(days=2)).full == (
        "Tuesday 16 June 2026: no rain; the water not known; 40 L spilled."
    )
    assert value_at(track, END + timedelta(days=3)).full.endswith("still to come.")
    assert value_at(track, END + timedelta(days=9)).full.endswith("nothing known.")


@given(count=st.integers(1, 800), width=st.integers(1, 200))
@settings(max_examples=100)
def test_every_day_has_its_column_and_the_last_ends_at_the_right(count: int, width: int) -> None:
    days = [SomeDay(END - timedelta(days=count - 1 - spot)) for spot in range(count)]
    columns = columns_for(days, 0, width)
    assert columns.stretches[0].first == days[0].day
    assert columns.stretches[-1].last == END
    for one, other in zip(columns.stretches, columns.stretches[1:], strict=False):
        assert other.first == one.last + timedelta(days=1)
        assert other.x == one.x + one.width
    assert columns.stretches[0].x >= 0
    assert columns.stretches[-1].x + columns.stretches[-1].width == width


@given(count=st.integers(1, 400), width=st.integers(12, 160))
@settings(max_examples=60)
def test_each_column_of_the_plot_stands_for_days_in_order(count: int, width: int) -> None:
    track = season(count)
    days = [day for day in (day_at(track, x, width) for x in range(width)) if day is not None]
    assert days == sorted(days)
    assert days[-1] == track.days[-1].day
    assert day_at(track, width + 3, width) is None
