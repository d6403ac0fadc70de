"""A sheet of rows longer than the screen: it shows a part and says how much more there is."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual import events

from tankdash.drawing.canvas import Row, Span
from tankdash.tui.widgets.picture import Picture


class Sheet(Picture):
    """Rows with a place to read from."""

    def __init__(self, write: Callable[[int], Sequence[Row]], *, id: str | None = None) -> None:
        super().__init__(id=id, classes="sheet")
        self.write = write
        """Returns all rows for a width."""
        self.first = 0
        """First row shown."""
        self._written: list[Row] = []

    @property
    def whole_text(self) -> str:
        """All rows as plain text, those out of sight too."""
        return "\n".join("".join(span.text for span in row).rstrip() for row in self._written)

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the rows in sight."""
        self._written = list(self.write(width)) if width > 0 else []
        if height <= 0 or len(self._written) <= height:
            self.first = 0
            return self._written
        self.first = max(0, min(self.first, len(self._written) - height + 1))
        left = len(self._written) - self.first - height + 1
        shown = self._written[self.first : self.first + height - 1]
        words = f"{left} more line{'s' if left != 1 else ''} below: ↓" if left > 0 else "the end: ↑ goes back"
        return [*shown, [Span(words, "dim")]]

    def scroll_rows(self, step: int) -> None:
        """Read on, or back."""
        self.first = max(0, self.first + step)
        self.redraw()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Read on."""
        self.scroll_rows(2)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Read back."""
        self.scroll_rows(-2)
