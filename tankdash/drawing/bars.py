"""A bar of how full a tank is, for lists."""

from __future__ import annotations

from tankdash.drawing.canvas import Row
from tankdash.drawing.glyphs import glyphs
from tankdash.drawing.grid import Grid


def capacity_bar(
    usable: float,
    held: float,
    full: float,
    width: int,
    ascii: bool = False,
    ink: bool = False,
    *,
    most: float | None = None,
) -> Row:
    """Return one row: what lies below the outlet, what is usable, what may be there too, and the room left.

    Parameters
    ----------
    usable, held, full : float
        In one unit, usable <= held; what is above `full` is not drawn.
    width : int
        [cells].
    most : float, optional
        What is held at the most, where `held` is what is held at the least.
    ascii : bool
        Use no sign outside ASCII.
    ink : bool
        Draw water with signs too, for output that shows no background colour.

    Examples
    --------
    >>> "".join(span.text for span in capacity_bar(3, 5, 10, 20, ascii=True))
    '....~~~~~~__________'
    >>> "".join(span.text for span in capacity_bar(3, 5, 10, 20, ascii=True, most=6.5))
    '....~~~~~~:::_______'
    """
    grid = Grid(max(0, width), 1, ascii)
    signs = glyphs(ascii)
    if full > 0.0:
        held = max(0.0, min(held, full))
        wet = max(1 if held > 0.0 else 0, round(held / full * width))
        below = min(wet, round(max(0.0, held - usable) / full * width))
        grid.fill(0, 0, below, signs.below_outlet, "below-outlet")
        grid.fill(below, 0, wet - below, "▒" if ink and signs.water == " " else signs.water, "water")
        grid.fill(wet, 0, width - wet, signs.line_low, "axis")
        may = round(min(full, held if most is None else max(held, most)) / full * width)
        grid.fill(wet, 0, may - wet, signs.band, "band")
    return grid.rows()[0]
