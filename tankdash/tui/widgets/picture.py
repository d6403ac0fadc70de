"""A widget that shows rows of spans: what the drawing floor makes, with a colour for each role.

It keeps the strips it has made and repaints only the lines that changed, so typing in a form costs little.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.widget import Widget

from tankdash.drawing.canvas import PLAIN_ROLES, Row, Span, parts
from tankdash.drawing.cells import in_ascii, printable, text_width

OWN_ROLES = ("title", "strong", "key", "due", "coming", "plain", "rule")
"""Roles of words and lists, beside those of the drawing floor."""

ROLES = (*PLAIN_ROLES, *OWN_ROLES)
"""Every role; the app has a component class `picture--ROLE` for it. A sign over water takes the colours of two."""

_PLAIN_SIGNS = str.maketrans("▸✓○─█▲▼↑↓←→", ">vo-#^v^v<>")
"""Signs of lists and keys for terminals that show only ASCII."""


def paragraph(text: str, width: int, role: str = "plain", indent: int = 0) -> list[Row]:
    """Return `text` wrapped to `width` cells as rows in one role.

    Parameters
    ----------
    text : str
        Words.
    width : int
        Cells to fill.
    role : str, optional
        Role of the words.
    indent : int, optional
        Cells left free before each line but the first.

    Examples
    --------
    >>> [row[0].text for row in paragraph("empty the pipe", 9)]
    ['empty the', 'pipe']
    """
    lines = _wrapped(printable(text), max(8, width), " " * indent)
    return [[Span(line, role)] for line in lines]


def _wrapped(text: str, width: int, indent: str) -> list[str]:
    """Return lines of at most `width` cells; a word that no line holds is broken, as those without blanks must be."""
    if text.isascii():
        return textwrap.wrap(text, width, subsequent_indent=indent, break_on_hyphens=False)
    lines: list[str] = []
    line = ""
    for word in text.split():
        start = indent if lines else ""
        if line and text_width(line) + 1 + text_width(word) <= width:
            line = f"{line} {word}"
            continue
        if line:
            lines.append(line)
            start = indent
        while text_width(start + word) > width:
            kept = len(word)
            while kept > 1 and text_width(start + word[:kept]) > width:
                kept -= 1
            lines.append(start + word[:kept])
            word, start = word[kept:], indent
        line = start + word
    return [*lines, line] if line else lines


def row_width(row: Row) -> int:
    """Return the cells a row takes."""
    return sum(text_width(span.text) for span in row)


def beside(left: Row, right: Row, width: int) -> Row:
    """Return one row with `left` at its beginning and `right` flush with its end."""
    gap = max(1, width - row_width(left) - row_width(right))
    return [*left, Span(" " * gap, "plain"), *right]


def _ascii(text: str) -> str:
    return in_ascii(text.translate(_PLAIN_SIGNS))


class Picture(Widget):
    """Rows of spans on the screen."""

    ALLOW_SELECT: ClassVar[bool] = False

    def __init__(
        self, rows: Sequence[Row] = (), *, id: str | None = None, classes: str | None = None
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._rows: list[Row] = list(rows)
        self._strips: dict[int, Strip] = {}
        self._styles: dict[str, Style] = {}
        self._inks: dict[str, Style] = {}
        self._drawn_for: Size | None = None

    @property
    def rows(self) -> list[Row]:
        """What is shown now."""
        return self._rows

    @property
    def text(self) -> str:
        """What is shown now, as plain text."""
        return "\n".join("".join(span.text for span in row).rstrip() for row in self._rows)

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the rows for a size; a picture that draws itself overrides this."""
        return self._rows

    def redraw(self) -> None:
        """Draw again for the size the widget has now and show what changed."""
        width, height = self.size
        if width > 0 and height > 0:
            if self._drawn_for != self.size:
                self._strips.clear()
                self._drawn_for = self.size
            self.show(self.draw(width, height))
        elif width > 0 and self.styles.height is not None and self.styles.height.is_auto:
            # It had nothing to show and so no line of its own.
            self.refresh(layout=True)

    def show(self, rows: Sequence[Row]) -> None:
        """Show `rows`, repainting only the lines that differ from those shown."""
        old, new = self._rows, list(rows)
        if new == old:
            return
        self._rows = new
        changed = [
            line
            for line in range(max(len(old), len(new)))
            if line >= len(old) or line >= len(new) or old[line] != new[line]
        ]
        for line in changed:
            self._strips.pop(line, None)
        if len(old) != len(new) and self.styles.height is not None and self.styles.height.is_auto:
            self.refresh(layout=True)
        elif self.size.width > 0:
            self.refresh(*(Region(0, line, self.size.width, 1) for line in changed))

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """Return the lines needed, so that `height: auto` fits the drawing."""
        self._strips.clear()
        self._rows = self.draw(width, 0)
        return len(self._rows)

    def render_line(self, y: int) -> Strip:
        """Return one line of the picture."""
        if self._drawn_for != self.size:
            # Drawn when first painted at a size, so that the first frame is whole.
            self._strips.clear()
            self._drawn_for = self.size
            self._rows = list(self.draw(*self.size))
        strip = self._strips.get(y)
        if strip is None:
            strip = self._strips[y] = self._paint(self._rows[y] if y < len(self._rows) else [])
        return strip

    def _paint(self, row: Row) -> Strip:
        """Turn a row into a strip as wide as the widget."""
        shown = _ascii if getattr(self.app, "ascii_only", False) else printable
        segments = [Segment(shown(span.text), self._style(span.role)) for span in row if span.text]
        return Strip(segments).adjust_cell_length(self.size.width, self.rich_style).simplify()

    def _style(self, role: str) -> Style:
        """Return the style of a role; of a sign over water, the sign's colour on the water's."""
        found = self._inks.get(role)
        if found is None:
            ink, ground = parts(role)
            found = self.role_style(ink)
            if ground is not None:
                found = self.role_style(ground) + Style(
                    color=found.color, bold=found.bold, dim=bool(found.dim)
                )
            self._inks[role] = found
        return found

    def role_style(self, role: str) -> Style:
        """Return how the app writes a role, on the ground of this picture.

        The app works the roles out once for all pictures: working them out for each would take longer than all else
        that is done for the first frame.
        """
        return self.rich_style + self.app.get_component_styles(f"picture--{role}").partial_rich_style

    def notify_style_update(self) -> None:
        """Forget painted strips when colours change."""
        self._strips.clear()
        self._inks.clear()
        super().notify_style_update()
