"""The rain: months with their gaps shown, and the single rains, newest first."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from tankdash.drawing.canvas import Row, Span
from tankdash.keeping.desk import Desk
from tankdash.keeping.when import MONTHS, local
from tankdash.tui.pages.sheetpage import SheetPage
from tankdash.tui.state import Shown
from tankdash.tui.table import Column, table
from tankdash.tui.widgets.picture import paragraph
from tankdash.units import Units, format_rain

MONTHS_SHOWN = 13
"""A year and the same month of the last one."""


def depth_words(low: float | None, high: float | None, units: Units) -> str:
    """Return a depth, a range, or a lower bound.

    Examples
    --------
    >>> depth_words(12.0, 12.0, "metric"), depth_words(60.0, 90.0, "metric"), depth_words(5.0, None, "metric")
    ('12 mm', '60 mm to 90 mm', 'over 5 mm')
    """
    least = format_rain(low or 0.0, units)
    if high is None:
        return f"over {least}"
    most = format_rain(high, units)
    return most if least == most else f"{least} to {most}"


class RainPage(SheetPage[dict[str, Any]]):
    """Months and single rains."""

    HEADING = "Rain"

    def ask(self, desk: Desk, shown: Shown) -> dict[str, Any]:
        """Return the rain as the desk has it."""
        return desk.rainfall(shown.now)

    def write(self, shown: Shown, answer: dict[str, Any], width: int) -> list[Row]:
        """Return months with bars, then the rains."""
        months, rains = answer["months"][-MONTHS_SHOWN:], answer["events"]
        if not months and not rains:
            return paragraph("No rain is written down yet. r writes what the gauge shows.", width)
        units, zone = shown.site.units, shown.site.zone
        rows: list[Row] = [[Span("Months", "strong")]]
        most = max((month["high_mm"] or month["mm"] or 0.0 for month in months), default=0.0)
        room = max(0, width - 46)
        lines = []
        for month in months:
            year, number = (int(part) for part in str(month["month"]).split("-")[:2])
            depth = month["mm"] or 0.0
            bar = "█" * round(room * depth / most) if most > 0 else ""
            is_whole = month["days_read"] >= month["days"]
            read = "every day read" if is_whole else f"{month['days_read']} of {month['days']} days read"
            lines.append(
                [
                    (f"{MONTHS[number - 1]} {year}", "plain"),
                    (depth_words(month["low_mm"], month["high_mm"], units), "strong"),
                    (read, "dim" if is_whole else "warn"),
                    (bar, "rain"),
                ]
            )
        columns = (Column("month"), Column("rain", is_figure=True), Column("read"), Column("", keep=False))
        rows += table(columns, lines, width)
        rows += [[], [Span("Rains, newest first", "strong")]]
        told = []
        for rain in reversed(rains):
            start = local(datetime.fromisoformat(rain["start"]), zone)
            end = local(datetime.fromisoformat(rain["end"]), zone)
            told.append(
                [
                    (f"{start:%a} {start.day} {MONTHS[start.month - 1]} {start.year}", "plain"),
                    (f"{start:%H:%M}", "dim"),
                    (f"to {end:%a %H:%M}", "dim"),
                    (depth_words(rain["low_mm"], rain["high_mm"], units), "strong"),
                ]
            )
        columns = (Column("from"), Column(""), Column("", keep=False), Column("depth", is_figure=True))
        return rows + table(columns, told, width)
