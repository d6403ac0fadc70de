"""A figure large enough to read at arm's length: digits five half-cells tall."""

from __future__ import annotations

from tankdash.drawing.canvas import Row, Span

_PIXELS = {
    "0": "111 101 101 101 111",
    "1": "010 110 010 010 111",
    "2": "111 001 111 100 111",
    "3": "111 001 111 001 111",
    "4": "101 101 111 001 001",
    "5": "111 100 111 001 111",
    "6": "111 100 111 101 111",
    "7": "111 001 010 010 010",
    "8": "111 101 111 101 111",
    "9": "111 101 111 001 111",
    ".": "0 0 0 0 1",
    ",": "0 0 0 1 1",
    "-": "000 000 111 000 000",
    "–": "000 000 111 000 000",
    "?": "111 001 011 000 010",
}
"""Five lines of pixels, top first."""

_HALVES = {("0", "0"): " ", ("1", "0"): "▀", ("0", "1"): "▄", ("1", "1"): "█"}
"""Upper and lower pixel to the cell that shows them."""

HEIGHT = 3
"""Lines of a large figure."""


def large_figure(text: str, role: str = "figure") -> list[Row] | None:
    """Return `text` drawn large, three lines tall; None if it holds anything but digits and their signs.

    Parameters
    ----------
    text : str
        Digits, point, comma, dash, question mark.
    role : str, optional
        Role of every cell.

    Examples
    --------
    >>> for row in large_figure("17") or []:
    ...     print(row[0].text.rstrip())
    ▄█  ▀▀█
     █   █
    ▀▀▀  ▀
    """
    if not text or any(sign not in _PIXELS for sign in text):
        return None
    lines = ["", "", ""]
    for sign in text:
        pixels = [*_PIXELS[sign].split(), "0" * len(_PIXELS[sign].split()[0])]
        for line in range(HEIGHT):
            pairs = zip(pixels[2 * line], pixels[2 * line + 1], strict=True)
            lines[line] += "".join(_HALVES[pair] for pair in pairs) + " "
    return [[Span(line, role)] for line in lines]


def figure_width(text: str) -> int:
    """Return the cells a large figure takes."""
    return sum(len(_PIXELS[sign].split()[0]) + 1 for sign in text if sign in _PIXELS)
