"""The line of keys at the foot of a page or a form: at most six, none ever cut, each can be clicked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from textual import events
from textual.message import Message

from tankdash.drawing.canvas import Row, Span
from tankdash.tui.widgets.picture import Picture, row_width


class Foot(NamedTuple):
    """One key of the bar."""

    key: str
    """The key as it is written on the keyboard."""
    name: str
    """What it does, in one or two words."""
    run: str
    """What a click on it carries out: an action string."""


class KeyBar(Picture):
    """Keys with their names."""

    class Chosen(Message):
        """A key of the bar was clicked."""

        def __init__(self, run: str) -> None:
            super().__init__()
            self.run = run
            """Action string to carry out."""

    def __init__(self, feet: Sequence[Foot], *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.feet: tuple[Foot, ...] = tuple(feet)
        """What is shown, left to right."""
        self._places: list[tuple[int, int, str]] = []

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the one line, with names dropped from the right only if the width leaves no other way."""
        for gap in ("   ", "  ", " "):
            row, places = self._line(self.feet, gap)
            if row_width(row) <= width:
                break
        else:
            kept = len(self.feet)
            while kept > 1 and row_width(row) > width:
                kept -= 1
                # Help stays to the last: it names everything that had to go.
                row, places = self._line((*self.feet[: kept - 1], self.feet[-1]), " ")
        self._places = places
        return [row]

    @staticmethod
    def _line(feet: Sequence[Foot], gap: str) -> tuple[Row, list[tuple[int, int, str]]]:
        """Return the row of the feet and where each begins and ends."""
        row: Row = [Span(" ", "plain")]
        places: list[tuple[int, int, str]] = []
        for number, foot in enumerate(feet):
            if number:
                row.append(Span(gap, "plain"))
            start = row_width(row)
            row += [Span(foot.key, "key"), Span(f" {foot.name}", "plain")]
            places.append((start, row_width(row), foot.run))
        return row, places

    def on_click(self, event: events.Click) -> None:
        """Carry out the key under the pointer."""
        for start, end, run in self._places:
            if start <= event.x < end:
                self.post_message(self.Chosen(run))
                event.stop()
                return
