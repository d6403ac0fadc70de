"""One line that tells what was just done or what went wrong; it stays until the next key that does something."""

from __future__ import annotations

from textual.reactive import reactive

from tankdash.drawing.canvas import Row, Span
from tankdash.tui.state import Notice
from tankdash.tui.widgets.picture import Picture, paragraph


class NoticeLine(Picture):
    """The notice of the state, if it has one."""

    notice: reactive[Notice | None] = reactive(None, init=False)
    """What to tell; None hides the line."""

    def watch_notice(self, notice: Notice | None) -> None:
        """Show or hide the line."""
        self.set_class(notice is not None, "-shown")
        self.set_class(notice is not None and notice.is_trouble, "-trouble")
        self.refresh(layout=True)
        self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the words behind their glyph."""
        if self.notice is None:
            return []
        mark, role = ("!", "warn") if self.notice.is_trouble else ("✓", "done")
        lines = paragraph(self.notice.words, width - 4, "strong")
        return [
            [Span(f" {mark} " if number == 0 else "   ", role), *line] for number, line in enumerate(lines)
        ]
