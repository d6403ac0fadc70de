"""The top line of a page: the garden's name, the page, what presses, and the day and time."""

from __future__ import annotations

from textual.reactive import reactive

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import printable
from tankdash.tui.state import Seen
from tankdash.tui.widgets.picture import Picture, beside, row_width

NARROW = 50
"""Cells below which the day and the time are said in short."""


class Masthead(Picture):
    """Name, page and time."""

    shown: reactive[Seen | None] = reactive(None, init=False)
    """The state."""

    def __init__(self, title: str) -> None:
        super().__init__()
        self.title = title
        """Name of the page; empty on the home page."""

    def watch_shown(self) -> None:
        """Draw again."""
        self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the line; the time stays, the name is cut if both do not fit."""
        if self.shown is None:
            return []
        right: Row = [Span(f"{day_and_time(self.shown)} ", "dim")]
        room = width - row_width(right) - 2
        name = printable(self.shown.site.name)
        title = f"  {self.title}" if self.title else ""
        if len(name) > room - len(title):
            name = name[: max(0, room - len(title) - 1)] + "…"
        left: Row = [Span(f" {name}", "title")]
        if title:
            left.append(Span(title, "key"))
        return [beside(left, right, width)]


def day_and_time(shown: Seen) -> str:
    """Return the time of the state in words, such as `Sat 2 May 2026, 07:30`."""
    now = shown.now
    return f"{now:%a} {now.day} {now:%b %Y, %H:%M}"
