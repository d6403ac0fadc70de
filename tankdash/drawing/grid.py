"""A sheet of terminal cells to draw on, each holding a character and its role; at the end it becomes rows of spans."""

from __future__ import annotations

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import char_width, cut, in_ascii, text_width


class Grid:
    """`width` by `height` cells, (0, 0) at the top left. What falls outside is not drawn."""

    def __init__(self, width: int, height: int, ascii: bool = False) -> None:
        self.width = width
        self.height = height
        self.ascii = ascii
        """Whether labels are to be turned into ASCII."""
        self._chars = [[" "] * width for _ in range(height)]
        self._roles = [["air"] * width for _ in range(height)]

    def put(self, x: int, y: int, char: str, role: str) -> None:
        """Set one cell to a character one cell wide."""
        if 0 <= x < self.width and 0 <= y < self.height:
            self._clear(x, y)
            self._chars[y][x] = char
            self._roles[y][x] = role

    def fill(self, x: int, y: int, width: int, char: str, role: str) -> None:
        """Set `width` cells of a line, beginning at `x`, to the same character."""
        for column in range(max(0, x), min(self.width, x + width)):
            self.put(column, y, char, role)

    def text(self, x: int, y: int, text: str, role: str, room: int | None = None) -> int:
        """Write `text` from (x, y) on, cut to `room` cells or to the edge, and return the cells it took."""
        edge = self.width - x if room is None else min(room, self.width - x)
        if not 0 <= y < self.height or x < 0 or edge <= 0:
            return 0
        text = cut(in_ascii(text) if self.ascii else text, edge, "~" if self.ascii else "…")
        column = x
        for char in text:
            width = char_width(char)
            if width == 0:
                self._chars[y][max(x, column - 1)] += char
                continue
            self.put(column, y, char, role)
            if width == 2:
                self.put(column + 1, y, "", role)
            column += width
        return column - x

    def middle(self, x: int, y: int, text: str, role: str, room: int) -> None:
        """Write `text` in the middle of `room` cells from `x` on."""
        shown = cut(in_ascii(text) if self.ascii else text, room, "~" if self.ascii else "…")
        self.text(x + max(0, room - text_width(shown)) // 2, y, shown, role, room)

    def right(self, x: int, y: int, text: str, role: str, room: int) -> None:
        """Write `text` so that it ends at the last of `room` cells from `x` on."""
        shown = cut(in_ascii(text) if self.ascii else text, room, "~" if self.ascii else "…")
        self.text(x + max(0, room - text_width(shown)), y, shown, role, room)

    def char(self, x: int, y: int) -> str:
        """Return what stands in a cell; a blank outside the sheet."""
        return self._chars[y][x] if 0 <= x < self.width and 0 <= y < self.height else " "

    def role(self, x: int, y: int) -> str:
        """Return the role of a cell; `air` outside the sheet."""
        return self._roles[y][x] if 0 <= x < self.width and 0 <= y < self.height else "air"

    def is_free(self, x: int, y: int) -> bool:
        """Return whether a cell lies on the sheet and nothing is drawn in it."""
        return (
            0 <= x < self.width
            and 0 <= y < self.height
            and self._chars[y][x] == " "
            and self._roles[y][x] == "air"
        )

    def rows(self) -> list[Row]:
        """Return the sheet as rows of spans, neighbours of one role joined."""
        return [_row(chars, roles) for chars, roles in zip(self._chars, self._roles, strict=True)]

    def _clear(self, x: int, y: int) -> None:
        """Blank the other half of a wide character that is about to be overwritten."""
        line = self._chars[y]
        if line[x] == "" and x > 0:
            line[x - 1] = " "
        if x + 1 < self.width and line[x + 1] == "":
            line[x + 1] = " "


def _row(chars: list[str], roles: list[str]) -> Row:
    row: Row = []
    start = 0
    for end in range(1, len(roles) + 1):
        if end == len(roles) or roles[end] != roles[start]:
            row.append(Span("".join(chars[start:end]), roles[start]))
            start = end
    return row
