"""Tables as rows of spans: columns as wide as their widest cell, figures flush right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import pad, printable, text_width


@dataclass(frozen=True)
class Column:
    """A column of a table."""

    heading: str
    """What stands over it."""
    is_figure: bool = False
    """Whether its cells stand flush right."""
    keep: bool = True
    """Whether it stays when the table is too wide; the last of the others goes first."""


Cell = tuple[str, str]
"""Text and role."""


def table(columns: Sequence[Column], lines: Sequence[Sequence[Cell]], width: int, gap: int = 2) -> list[Row]:
    """Return a table no wider than `width`.

    Parameters
    ----------
    columns : sequence of Column
        What stands in it, left to right.
    lines : sequence of sequence of (text, role)
        One cell for each column.
    width : int
        Cells to fill; columns that need not be kept are dropped from the right until the table fits, then the
        first column is cut.
    gap : int, optional
        Cells between columns.
    """
    clean = [[(printable(text), role) for text, role in line] for line in lines]
    places = list(range(len(columns)))

    def widths() -> list[int]:
        return [
            max([text_width(columns[place].heading), *(text_width(line[place][0]) for line in clean)])
            for place in places
        ]

    while sum(widths()) + gap * (len(places) - 1) > width:
        spare = [place for place in places if not columns[place].keep]
        if not spare:
            break
        places.remove(spare[-1])
    sizes = widths()
    over = sum(sizes) + gap * (len(places) - 1) - width
    if over > 0 and sizes:
        sizes[0] = max(4, sizes[0] - over)

    def row(cells: Sequence[Cell]) -> Row:
        made: Row = []
        for number, (place, size) in enumerate(zip(places, sizes, strict=True)):
            text, role = cells[place]
            text = pad(text, size, "right" if columns[place].is_figure else "left")
            made.append(Span((" " * gap if number else "") + text, role))
        return made

    return [row([(column.heading, "dim") for column in columns]), *(row(line) for line in clean)]
