"""The line of keys at the foot of a page or a form: at most six and the pages, none ever cut, each can be clicked."""

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


class _Place(NamedTuple):
    """Where a key stands in the bar."""

    start: int
    end: int
    run: str


ROOM_BETWEEN = 3
"""Columns at least between the keys and the pages."""


class KeyBar(Picture):
    """Keys with their names, and the pages at the right as far as there is room.

    Parameters
    ----------
    feet : sequence of Foot
        The keys, left to right.
    pages : sequence of Foot, optional
        The pages there are.
    here : str, optional
        Name of the page that is shown.
    """

    class Chosen(Message):
        """A key of the bar was clicked."""

        def __init__(self, run: str) -> None:
            super().__init__()
            self.run = run
            """Action string to carry out."""

    def __init__(
        self, feet: Sequence[Foot], pages: Sequence[Foot] = (), here: str = "", *, id: str | None = None
    ) -> None:
        super().__init__(id=id)
        self.feet: tuple[Foot, ...] = tuple(feet)
        """What is shown, left to right."""
        self.pages: tuple[Foot, ...] = tuple(pages)
        """What is shown at the right."""
        self.here = here
        """Stands out among the pages."""
        self._places: list[_Place] = []

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the one line, with names dropped from the right only if the width leaves no other way."""
        return [self._with_pages(width) or self._keys_alone(width)]

    def _with_pages(self, width: int) -> Row | None:
        """Return the keys with every page by name, or else with the numbers of the pages; None without room."""
        if not self.pages:
            return None
        some = Foot(f"{self.pages[0].key}-{self.pages[-1].key}", "pages", "")
        for gap, pages, between in (
            ("   ", self.pages, "  "),
            ("  ", self.pages, "  "),
            ("  ", self.pages, " "),
            ("   ", (some,), ""),
            ("  ", (some,), ""),
        ):
            left, places = _line(self.feet, gap, 1, "key", "plain")
            right, others = _line(pages, between, 0, "dim", "dim", self.here)
            free = width - row_width(left) - row_width(right) - 1
            if free >= ROOM_BETWEEN:
                shift = row_width(left) + free
                self._places = [*places, *(_Place(a + shift, b + shift, run) for a, b, run in others)]
                return [*left, Span(" " * free, "plain"), *right]
        return None

    def _keys_alone(self, width: int) -> Row:
        for gap in ("   ", "  ", " "):
            row, places = _line(self.feet, gap, 1, "key", "plain")
            if row_width(row) <= width:
                break
        else:
            kept = len(self.feet)
            while kept > 1 and row_width(row) > width:
                kept -= 1
                # Help stays to the last: it names everything that had to go.
                row, places = _line((*self.feet[: kept - 1], self.feet[-1]), " ", 1, "key", "plain")
        self._places = places
        return row

    def on_click(self, event: events.Click) -> None:
        """Carry out the key under the pointer."""
        for start, end, run in self._places:
            if start <= event.x < end and run:
                self.post_message(self.Chosen(run))
                event.stop()
                return


def _line(
    feet: Sequence[Foot], gap: str, margin: int, key_role: str, name_role: str, here: str = ""
) -> tuple[Row, list[_Place]]:
    """Return the row of the feet and where each begins and ends; the one named `here` stands out."""
    row: Row = [Span(" " * margin, "plain")] if margin else []
    places: list[_Place] = []
    for number, foot in enumerate(feet):
        if number:
            row.append(Span(gap, "plain"))
        start = row_width(row)
        is_here = foot.name == here
        row += [Span(foot.key, key_role), Span(f" {foot.name}", "strong" if is_here else name_role)]
        places.append(_Place(start, row_width(row), foot.run))
    return row, places
