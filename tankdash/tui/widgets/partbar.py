"""The parts of a page: names in one line, or in a column with the answer of each in a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual import events
from textual.message import Message

from tankdash.drawing.canvas import Row, Span
from tankdash.tui.widgets.picture import Picture, paragraph

COLUMN = 4
"""Lines from which there is room for answers."""


@dataclass(frozen=True)
class Part:
    """One part of a page."""

    id: str
    name: str
    answer: str
    """What it says, in a sentence."""
    is_trouble: bool = False
    """Whether it needs a hand."""


class PartBar(Picture):
    """Parts to choose from."""

    class PartChosen(Message):
        """A part was clicked."""

        def __init__(self, part: str) -> None:
            super().__init__()
            self.part = part
            """Its id."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._parts: tuple[Part, ...] = ()
        self._chosen = ""
        self._places: list[tuple[int, int, str]] = []

    def put(self, parts: Sequence[Part], chosen: str) -> None:
        """Show these parts, one of them marked."""
        self._parts, self._chosen = tuple(parts), chosen
        self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return one line of names, or the column."""
        self._places = []
        return self._column(width) if height >= COLUMN else [self._line()]

    def _line(self) -> Row:
        row: Row = []
        x = 0
        for part in self._parts:
            head, role = self._head(part)
            text = f"{head}{part.name}{'!' if part.is_trouble else ' '}"
            row += [Span(text, role), Span(" ", "plain")]
            self._places += [(0, column, part.id) for column in range(x, x + len(text))]
            x += len(text) + 1
        return [*row, Span(" ← →", "dim")]

    def _column(self, width: int) -> list[Row]:
        rows: list[Row] = []
        for part in self._parts:
            head, role = self._head(part)
            block: list[Row] = [[Span(f"{head}{part.name}", role)]]
            answer = paragraph(part.answer, width - 2, "warn" if part.is_trouble else "dim")
            block += [[Span("  ", "plain"), *line] for line in answer]
            for number in range(len(block)):
                self._places += [(len(rows) + number, column, part.id) for column in range(width)]
            rows += [*block, []]
        return [*rows, [Span("← → choose a part", "dim")]]

    def _head(self, part: Part) -> tuple[str, str]:
        return ("▸", "cursor") if part.id == self._chosen else (" ", "strong")

    def on_click(self, event: events.Click) -> None:
        """Choose the part under the pointer."""
        for y, x, part in self._places:
            if (y, x) == (event.y, event.x):
                self.post_message(self.PartChosen(part))
                event.stop()
                return
