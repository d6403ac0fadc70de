"""Curves with their doubt: past years side by side as bands of shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from tankdash.drawing.canvas import Row
from tankdash.drawing.cells import text_width
from tankdash.drawing.columns import short_day
from tankdash.drawing.glyphs import glyphs
from tankdash.drawing.grid import Grid

_LEFT = 8
"""Cells for the scale at the left."""


@dataclass(frozen=True)
class Spread:
    """Where many curves stand on one date, in the unit of the plot: least <= lower <= middle <= upper <= most."""

    day: date
    least: float
    lower: float
    """A quarter of the curves are below."""
    middle: float
    upper: float
    """A quarter of the curves are above."""
    most: float


def spreads(
    first: date,
    least: Sequence[float],
    lower: Sequence[float],
    middle: Sequence[float],
    upper: Sequence[float],
    most: Sequence[float],
) -> list[Spread]:
    """Return curves of one figure a day from `first` on as spreads.

    Examples
    --------
    >>> spreads(date(2026, 6, 1), [0.0], [1.0], [2.0], [3.0], [4.0])[0].middle
    2.0
    """
    curves = zip(least, lower, middle, upper, most, strict=True)
    return [Spread(first + timedelta(days=number), *values) for number, values in enumerate(curves)]


def bands(
    spreads: Sequence[Spread],
    width: int,
    height: int,
    top: float,
    top_text: str,
    ascii: bool = False,
    zero_text: str = "0",
) -> list[Row]:
    """Return the curves as bands: the middle as a line, the middle half dense, the rest light.

    Where there are more dates than columns a column shows the widest doubt of its dates, so that no dry day is lost.

    Parameters
    ----------
    spreads : sequence of Spread
        By date, in order.
    width, height : int
        Size, [cells].
    top : float
        Value at the top, > 0, in the unit of the spreads.
    top_text, zero_text : str
        What to write at the top and the foot of the scale.
    ascii : bool
        Use no sign outside ASCII.

    Returns
    -------
    list of Row
        Exactly `height` rows of exactly `width` cells; the last holds the dates.
    """
    grid = Grid(max(0, width), max(0, height), ascii)
    plot, lines = width - _LEFT, height - 1
    if plot < 4 or lines < 2 or not spreads or top <= 0.0:
        if height > 0:
            grid.text(0, 0, "nothing to show yet" if not spreads else "too small to draw", "dim")
        return grid.rows()
    signs = glyphs(ascii)
    dense, light, line_sign = ("#", ":", "=") if ascii else ("▒", "░", "━")
    for y in range(lines):
        grid.put(_LEFT - 1, y, signs.axis, "axis")
    grid.right(0, 0, top_text, "axis", _LEFT - 1)
    grid.right(0, lines - 1, zero_text, "axis", _LEFT - 1)

    def row_of(value: float) -> int:
        return max(0, min(lines - 1, int(value / top * lines - 1e-9)))

    taken, count = 0, len(spreads)
    for x in range(plot):
        first = x * count // plot
        group = spreads[first : max(first + 1, (x + 1) * count // plot)]
        least, most = row_of(min(one.least for one in group)), row_of(max(one.most for one in group))
        lower, upper = row_of(min(one.lower for one in group)), row_of(max(one.upper for one in group))
        middle = row_of(sorted(one.middle for one in group)[len(group) // 2])
        for level in range(least, most + 1):
            is_dense = lower <= level <= upper
            sign, role = (line_sign, "figure") if level == middle else (dense if is_dense else light, "band")
            grid.put(_LEFT + x, lines - 1 - level, sign, role)
        text = short_day(group[0].day)
        is_first_of_day = x == 0 or spreads[(x - 1) * count // plot].day != group[0].day
        if x >= taken and is_first_of_day and x + text_width(text) <= plot:
            grid.text(_LEFT + x, lines, text, "axis")
            taken = x + max(12, text_width(text) + 2)
    return grid.rows()
