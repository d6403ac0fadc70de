"""Bases over time: what each survey said, with its plus-minus, against the height that was noted then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from tankdash.drawing.canvas import Row
from tankdash.drawing.cells import text_width
from tankdash.drawing.columns import short_day
from tankdash.drawing.grid import Grid
from tankdash.units import Units, format_length

LEAST_HEIGHT = 3
"""Lines below which no tank is drawn."""
LEAST_SPAN = 0.02
"""The scale never shows less than this, so that a stick's own doubt does not look like a landslide, [m]."""


@dataclass(frozen=True)
class Measured:
    """What one survey said of one base."""

    day: date
    base: float
    """[m]."""
    plus_minus: float
    """[m]."""


@dataclass(frozen=True)
class BaseTrack:
    """One tank's base over time."""

    name: str
    measured: Sequence[Measured]
    """By day."""
    noted: Sequence[tuple[date | None, float]]
    """Height noted, from which day on; the first from always, [m]."""
    trend: tuple[float, float] | None = None
    """Height of the robust line on the first and on the last day measured, [m]; None where there is none."""


def base_chart(
    track: BaseTrack,
    first: date,
    last: date,
    width: int,
    height: int,
    units: Units,
    ascii: bool = False,
    span: float = LEAST_SPAN,
    scale: int = 0,
) -> list[Row]:
    """Return one tank's base over time.

    A dot is what a survey said, the bar through it what two sticks leave open, the line the height noted then, and
    the light line the trend.

    Parameters
    ----------
    track : BaseTrack
        What is known of the base.
    first, last : date
        Days at the left and the right end, first <= last.
    width, height : int
        Size, [cells].
    units : Units
        For the scale.
    ascii : bool
        Use no sign outside ASCII.
    span : float
        Height of the scale, so that several tanks can be compared; made larger where this track needs it, [m].
    scale : int
        Cells for the scale at the left, at least, so that charts under each other begin alike.

    Returns
    -------
    list of Row
        Exactly `height` rows of exactly `width` cells.
    """
    grid = Grid(max(0, width), max(0, height), ascii)
    low, high = extent(track, first)
    middle, half = (low + high) / 2.0, max(span, high - low, LEAST_SPAN) / 2.0
    foot, top = middle - half, middle + half
    texts = [format_length(top, units), format_length(foot, units)]
    left = max(scale, *map(text_width, texts)) + 1
    plot = width - left - 1
    if height < LEAST_HEIGHT or plot < 12:
        if height > 0:
            grid.text(0, 0, "too small to draw", "dim")
        return grid.rows()
    dot, bar, line, slope, axis = ("o", ":", "-", ".", "|") if ascii else ("●", "╎", "─", "·", "│")
    grid.right(0, 0, texts[0], "axis", left - 1)
    grid.right(0, height - 1, texts[1], "axis", left - 1)
    for y in range(height):
        grid.put(left, y, axis, "axis")
    days = max(1, (last - first).days)

    def column(day: date) -> int:
        return left + 1 + round(max(0, min(days, (day - first).days)) / days * (plot - 1))

    def row(base: float) -> int:
        return height - 1 - max(0, min(height - 1, round((base - foot) / (top - foot) * (height - 1))))

    starts = [first if day is None else max(first, day) for day, _ in track.noted]
    for (_, base), start, end in zip(track.noted, starts, [*starts[1:], last], strict=True):
        if start <= end:
            grid.fill(column(start), row(base), column(end) - column(start) + 1, line, "base")
    if track.trend is not None and len(track.measured) > 1:
        left_most, right_most = column(track.measured[0].day), column(track.measured[-1].day)
        for x in range(left_most, right_most + 1, 2):
            share = (x - left_most) / max(1, right_most - left_most)
            y = row(track.trend[0] + share * (track.trend[1] - track.trend[0]))
            if grid.is_free(x, y):
                grid.put(x, y, slope, "ghost")
    for one in track.measured:
        x = column(one.day)
        for y in range(row(one.base + one.plus_minus), row(one.base - one.plus_minus) + 1):
            grid.put(x, y, bar, "band")
    for one in track.measured:
        grid.put(column(one.day), row(one.base), dot, "figure")
    return grid.rows()


def date_axis(first: date, last: date, width: int, left: int) -> Row:
    """Return the dates under charts: the first day, the last one, and the middle where there is room.

    Parameters
    ----------
    first, last : date
        Days at both ends.
    width : int
        Of the whole line, [cells].
    left : int
        Where the plot begins, [cells].
    """
    grid = Grid(max(0, width), 1)

    def told(day: date) -> str:
        return f"{short_day(day)} {day.year}" if first.year != last.year else short_day(day)

    plot = width - left
    grid.text(left, 0, told(first), "axis")
    if last > first and plot > 2 * text_width(told(last)) + 2:
        grid.right(left, 0, told(last), "axis", plot)
        middle = date.fromordinal((first.toordinal() + last.toordinal()) // 2)
        if plot > 5 * text_width(told(last)) and first < middle < last:
            grid.middle(left, 0, told(middle), "axis", plot)
    return grid.rows()[0]


def scale_width(tracks: Sequence[BaseTrack], first: date, units: Units, span: float) -> int:
    """Return the cells that the widest scale of several charts takes."""
    widest = 0
    for track in tracks:
        low, high = extent(track, first)
        middle, half = (low + high) / 2.0, max(span, high - low, LEAST_SPAN) / 2.0
        texts = [format_length(end, units) for end in (middle - half, middle + half)]
        widest = max(widest, *map(text_width, texts))
    return widest


def extent(track: BaseTrack, first: date) -> tuple[float, float]:
    """Return the lowest and the highest height a chart has to show, what was noted before it began left out, [m]."""
    shown = [track.noted[n][1] for n in range(len(track.noted)) if _reaches(track.noted, n, first)]
    shown += [one.base + side * one.plus_minus for one in track.measured for side in (-1.0, 1.0)]
    return min(shown, default=0.0), max(shown, default=0.0)


def common_span(tracks: Sequence[BaseTrack], first: date) -> float:
    """Return the span that shows every track on one scale, a round number of centimetres up, [m].

    Examples
    --------
    >>> day = date(2026, 6, 1)
    >>> common_span([BaseTrack("a", [Measured(day, 0.20, 0.0085)], [(None, 0.23)])], day)
    0.04
    """
    widest = max((high - low for low, high in (extent(track, first) for track in tracks)), default=0.0)
    return max(LEAST_SPAN, ceil(widest * 100.0 - 1e-9) / 100.0)


def _reaches(noted: Sequence[tuple[date | None, float]], place: int, first: date) -> bool:
    """Return whether a noted height was still in force on the first day or later."""
    following = noted[place + 1][0] if place + 1 < len(noted) else None
    return place + 1 == len(noted) or (following is not None and following > first)
