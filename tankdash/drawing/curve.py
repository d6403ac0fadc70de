"""A curve of storage against the share of days served: how much more each further litre brings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tankdash.drawing.canvas import Row
from tankdash.drawing.cells import text_width
from tankdash.drawing.glyphs import glyphs
from tankdash.drawing.grid import Grid

_LEFT = 7
"""Cells for the scale at the left."""


@dataclass(frozen=True)
class Knot:
    """A place on the curve with a sign of one cell and a word under it."""

    at: float
    """In the unit of the curve's storage."""
    share: float
    """0 to 1."""
    sign: str


def curve(
    points: Sequence[tuple[float, float]],
    knots: Sequence[Knot],
    width: int,
    height: int,
    ends: tuple[str, str],
    ascii: bool = False,
    floor: float = 0.0,
    ink: bool = False,
) -> list[Row]:
    """Return the curve as a hill with its knots on the slope.

    Parameters
    ----------
    points : sequence of (storage, share)
        By rising storage, shares 0 to 1; between two of them the line is straight.
    knots : sequence of Knot
        Places to mark.
    width, height : int
        Size, [cells].
    ends : (str, str)
        What to write under the left and the right end of the axis.
    ascii : bool
        Use no sign outside ASCII.
    floor : float
        Share at the foot of the scale, 0 to 0.9; what lies lower is cut off, so that the bend can be seen.
    ink : bool
        Draw the hill with signs too, for output that shows no background colour.

    Returns
    -------
    list of Row
        Exactly `height` rows of exactly `width` cells. The scale ends at all days; the axis says both ends.
    """
    grid = Grid(max(0, width), max(0, height), ascii)
    plot, lines = width - _LEFT, height - 1
    if plot < 8 or lines < 3 or len(points) < 2 or points[-1][0] <= 0.0:
        if height > 0:
            grid.text(0, 0, "too small to draw" if len(points) > 1 else "nothing to show yet", "dim")
        return grid.rows()
    signs = glyphs(ascii)
    ground = "▒" if ink and signs.water == " " else signs.water
    top = points[-1][0]
    span = max(0.1, 1.0 - floor)

    def eighths(share: float) -> int:
        return max(0, min(8 * lines, round((share - floor) / span * 8 * lines)))

    def column(storage: float) -> int:
        return max(0, min(plot - 1, int(storage / top * plot)))

    for y in range(lines):
        grid.put(_LEFT - 1, y, signs.axis, "axis")
    grid.right(0, 0, "100 %", "axis", _LEFT - 1)
    grid.right(0, lines - 1, f"{100.0 * floor:.0f} %", "axis", _LEFT - 1)
    for x in range(plot):
        height_here = eighths(share_at(points, (x + 0.5) / plot * top))
        whole, rest = divmod(height_here, 8)
        for level in range(whole):
            grid.put(_LEFT + x, lines - 1 - level, ground, "water")
        if rest:
            grid.put(_LEFT + x, lines - 1 - whole, signs.rising[rest], "water-edge")
    for knot in knots:
        if knot.at <= top:
            y = lines - 1 - max(0, (eighths(knot.share) - 1) // 8)
            x = _LEFT + column(knot.at)
            grid.put(x, y, knot.sign, "lip-on-water" if grid.role(x, y) == "water" else "lip")
    grid.text(_LEFT, lines, ends[0], "axis")
    taken = text_width(ends[0]) + 1
    grid.right(_LEFT + taken, lines, ends[1], "axis", plot - taken)
    return grid.rows()


def share_at(points: Sequence[tuple[float, float]], storage: float) -> float:
    """Return the share at a storage, along straight lines between the points; nothing at no storage.

    Examples
    --------
    >>> share_at([(1.0, 0.5), (3.0, 0.9)], 2.0), share_at([(1.0, 0.5), (3.0, 0.9)], 9.0)
    (0.7, 0.9)
    """
    before = (0.0, 0.0)
    for point in points:
        if storage <= point[0]:
            width = point[0] - before[0]
            part = 1.0 if width <= 0.0 else (storage - before[0]) / width
            return before[1] + part * (point[1] - before[1])
        before = point
    return before[1]
