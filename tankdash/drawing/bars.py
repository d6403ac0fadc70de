"""Small pieces for forms and lists: a bar of how full, and a dip stick with the reading on it."""

from __future__ import annotations

from tankdash.drawing.canvas import Row
from tankdash.drawing.glyphs import glyphs
from tankdash.drawing.grid import Grid
from tankdash.drawing.ladder import Ladder, ticks
from tankdash.units import Units, format_length

STICK_WIDTH = 22
"""Cells of a dip stick: its marks, the stick, the reading."""


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


def dip_stick(
    reading: float | None,
    length: float,
    height: int,
    units: Units,
    ascii: bool = False,
    from_brim: bool = False,
) -> list[Row]:
    """Return a stick, `STICK_WIDTH` cells wide, with marks as on a tape and wet up to the reading.

    Parameters
    ----------
    reading : float or None
        Wet length, or with `from_brim` the dry length from the top; None for a stick not yet dipped, [m].
    length : float
        From the floor to the brim, > 0, [m].
    height : int
        Rows, [cells].
    units : Units
        For the marks.
    ascii : bool
        Use no sign outside ASCII.
    from_brim : bool
        Whether the stick is read as a gap from the brim down.

    Returns
    -------
    list of Row
        Exactly `height` rows of `STICK_WIDTH` cells.
    """
    grid = Grid(STICK_WIDTH, max(0, height), ascii)
    if height < 2 or length <= 0.0:
        return grid.rows()
    signs = glyphs(ascii)
    ladder = Ladder(0.0, length / height, height)
    marks = dict(ticks(ladder, units)[1])
    depth = None if reading is None else max(0.0, min(length, length - reading if from_brim else reading))
    wet = -1 if depth is None or depth <= 0.0 else ladder.line(depth)
    for line in range(height):
        y = height - 1 - line
        mark = height - 1 - line if from_brim else line
        if mark in marks:
            grid.right(0, y, marks[mark], "axis", 5)
        grid.put(6, y, signs.tick if mark in marks else signs.axis, "wall")
        if line < wet:
            grid.put(7, y, signs.water, "water")
            grid.put(8, y, signs.water, "water")
        elif line == wet and depth is not None:
            sign = signs.rising[ladder.eighths(depth)]
            grid.put(7, y, sign, "surface")
            grid.put(8, y, sign, "surface")
        grid.put(9, y, signs.axis, "wall")
    if reading is not None and depth is not None:
        text = format_length(reading, units)
        y = height - 1 - max(0, wet)
        grid.text(11, y, text, "figure", STICK_WIDTH - 11)
    return grid.rows()
