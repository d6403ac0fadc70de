"""The top line of a page: the garden's name, the page, what presses, and the day and time."""

from __future__ import annotations

from textual.reactive import reactive

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import cut, text_width
from tankdash.tui.chorewords import pressing_words
from tankdash.tui.state import Seen, Shown
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
        """Return the line; the time stays, the name is cut if both do not fit.

        Away from the home page, which lists them, it says how many chores press.
        """
        if self.shown is None:
            return []
        time: Row = [Span(f"{day_and_time(self.shown, is_short=width < NARROW)} ", "dim")]
        title = f"  {self.title}" if self.title else ""
        room = width - row_width(time) - text_width(title) - 2
        left: Row = [Span(f" {cut(self.shown.site.name, room)}", "title"), Span(title, "key")]
        pressing = pressing_words(self.shown.chores) if title and isinstance(self.shown, Shown) else ""
        told: Row = [Span(f"! {pressing}   ", "late"), *time] if pressing else time
        fits = row_width(left) + row_width(told) + 2 <= width
        return [beside(left, told if fits else time, width)]


def day_and_time(shown: Seen, *, is_short: bool = False) -> str:
    """Return the time of the state in words, such as `Sat 2 May 2026, 07:30`, or `Sat 07:30`."""
    now = shown.now
    return f"{now:%a %H:%M}" if is_short else f"{now:%a} {now.day} {now:%b %Y, %H:%M}"
