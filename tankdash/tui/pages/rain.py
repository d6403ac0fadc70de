"""The rain: the timeline, months with their gaps named, and the single rains, newest first."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from textual.app import ComposeResult

from tankdash.drawing.canvas import Row, Span
from tankdash.keeping.desk import Desk
from tankdash.keeping.when import MONTHS, local
from tankdash.tui.frame import FramedApp
from tankdash.tui.pages.holding import HoldsTimeline
from tankdash.tui.pages.page import Page
from tankdash.tui.pages.sheetpage import SheetPage
from tankdash.tui.state import Shown
from tankdash.tui.table import Cell, Column, table
from tankdash.tui.widgets.picture import paragraph, row_width
from tankdash.tui.widgets.sheet import Sheet
from tankdash.tui.widgets.timeline import TimelineView, TimelineWords
from tankdash.units import Units, format_rain

MONTHS_SHOWN = 13
"""A year and the same month of the last one."""

SIDE_BY_SIDE = 96
"""Columns from which months and rains stand beside each other."""

BAR = 14
"""Cells of the longest month's bar."""


def depth_words(low: float | None, high: float | None, units: Units) -> str:
    """Return a depth, a range, or a lower bound.

    Examples
    --------
    >>> depth_words(12.0, 12.0, "metric"), depth_words(60.0, 90.0, "metric"), depth_words(5.0, None, "metric")
    ('12 mm', '60–90 mm', 'over 5 mm')
    """
    least = format_rain(low or 0.0, units)
    if high is None:
        return f"over {least}"
    most = format_rain(high, units)
    return most if least == most else f"{least.partition(' ')[0]}–{most}"


def month_rows(months: list[dict[str, Any]], units: Units, width: int) -> list[Row]:
    """Return a line for each month: depth, days read, a bar."""
    most = max((month["high_mm"] or month["low_mm"] or 0.0 for month in months), default=0.0)
    lines: list[list[Cell]] = []
    for month in reversed(months):
        year, number = (int(part) for part in str(month["month"]).split("-")[:2])
        bar = "█" * round(BAR * (month["low_mm"] or 0.0) / most) if most > 0 else ""
        is_whole = month["days_read"] >= month["days"]
        read = "every day" if is_whole else f"{month['days_read']} of {month['days']} days"
        depth = depth_words(month["low_mm"], month["high_mm"], units)
        lines.append(
            [(f"{MONTHS[number - 1]} {year}", "plain"), (depth, "strong"), (bar, "rain"), (read, "dim")]
        )
    columns = (Column("month"), Column("rain", is_figure=True), Column("", keep=False), Column("read on"))
    return table(columns, lines, width)


def rain_rows(rains: list[dict[str, Any]], shown: Shown, width: int) -> list[Row]:
    """Return a line for each rain, newest first."""
    lines: list[list[Cell]] = []
    for rain in reversed(rains):
        start = local(datetime.fromisoformat(rain["start"]), shown.site.zone)
        end = local(datetime.fromisoformat(rain["end"]), shown.site.zone)
        depth = depth_words(rain["low_mm"], rain["high_mm"], shown.site.units)
        begun = f"{start:%a} {start.day} {MONTHS[start.month - 1]} {start.year}"
        lines.append(
            [(begun, "plain"), (f"{start:%H:%M}", "dim"), (f"to {end:%a %H:%M}", "dim"), (depth, "strong")]
        )
    columns = (Column("rain from"), Column(""), Column("", keep=False), Column("depth", is_figure=True))
    return table(columns, lines, width)


class RainPage(HoldsTimeline, SheetPage[dict[str, Any]]):
    """Timeline, months and single rains."""

    HEADING = "Rain"

    def compose_body(self) -> ComposeResult:
        """Yield the timeline above the tables."""
        app = self.app
        ascii_only = isinstance(app, FramedApp) and app.ascii_only
        yield TimelineWords(ascii_only=ascii_only, id="rain-words")
        yield TimelineView(ascii_only=ascii_only, ink=app.no_color, id="rain-timeline").data_bind(Page.shown)
        yield Sheet(self._rows, id="sheet")

    def ask(self, desk: Desk, shown: Shown) -> dict[str, Any]:
        """Return the rain as the desk has it."""
        return desk.rainfall(shown.now)

    def write(self, shown: Shown, answer: dict[str, Any], width: int) -> list[Row]:
        """Return months and rains, beside each other where there is room."""
        months, rains = answer["months"][-MONTHS_SHOWN:], answer["events"]
        if not months and not rains:
            return paragraph("No rain is written down yet. r writes what the gauge shows.", width)
        if width < SIDE_BY_SIDE:
            return [*month_rows(months, shown.site.units, width), [], *rain_rows(rains, shown, width)]
        half = width // 2
        left = month_rows(months, shown.site.units, half - 2)
        right = rain_rows(rains, shown, width - half)
        left += [[] for _ in range(len(right) - len(left))]
        right += [[] for _ in range(len(left) - len(right))]
        return [
            [*one, Span(" " * (half - row_width(one)), "plain"), *other]
            for one, other in zip(left, right, strict=True)
        ]
