"""The timeline: rain hangs from the top, the water stands below, the chores lie on the same date axis."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tankdash.drawing.canvas import Row
from tankdash.drawing.cells import text_width
from tankdash.drawing.columns import Columns, Stretch, Track, columns_for, date_marks, short_day
from tankdash.drawing.daywords import MARK_ROLES, MARKS, MARKS_ASCII
from tankdash.drawing.glyphs import Glyphs, glyphs
from tankdash.drawing.grid import Grid
from tankdash.units import Units, format_volume

LEAST_HEIGHT = 4
_LEAST_WITH_SCALES = 48
_LEFT = 7
_RIGHT = 9
"""Cells for the scales at the sides: rain at the left, water at the right."""

_LEAST_WITH_LANES = 8
"""Rows from which what was done and what is late have a row each."""

LANES = (("done", ("done",)), ("late", ("missed", "unflushed", "late")))
"""Rows of the chores: what stands at the left, and which marks lie there."""

_NICE_MM = (2.0, 5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 75.0, 100.0, 150.0, 200.0, 300.0, 500.0, 1000.0)
_NICE_INCH = tuple(
    25.4 * inches for inches in (0.1, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 20.0, 40.0)
)


def timeline(
    track: Track,
    width: int,
    height: int,
    ascii: bool = False,
    *,
    units: Units = "metric",
    cursor: date | None = None,
    today: date | None = None,
    ink: bool = False,
) -> list[Row]:
    """Return the days of a track as a picture.

    A day takes one column or several; where there are more days than columns a column stands for several days: its
    rain is their sum, its water that of the last of them, its mark the most pressing.

    Parameters
    ----------
    track : Track
        The days to show; fewer days is nearer.
    width, height : int
        Size, [cells]. Scales at the sides are left out below 48 cells.
    ascii : bool
        Use no sign outside ASCII.
    units : Units
        For the scales.
    cursor : date, optional
        Day under the cursor; its column is lit.
    today : date, optional
        Marked on the axis.
    ink : bool
        Draw water with signs too, for output that shows no background colour.

    Returns
    -------
    list of Row
        Exactly `height` rows of exactly `width` cells.
    """
    grid = Grid(max(0, width), max(0, height), ascii)
    signs = glyphs(ascii)
    if not track.days or width < 12 or height < LEAST_HEIGHT:
        if height > 0:
            grid.text(0, 0, "no days to show" if not track.days else "too small for the timeline", "dim")
        return grid.rows()
    has_scales = width >= _LEAST_WITH_SCALES
    columns = _columns(track, width)
    lanes = LANES if height >= _LEAST_WITH_LANES else (("chores", tuple(MARKS)),)
    plot = height - 1 - len(lanes)
    rain_rows = max(1, round(0.38 * plot))
    water_rows = plot - rain_rows
    top_mm = _rain_top(columns, units)
    for stretch in columns.stretches:
        _draw_rain(grid, signs, stretch, top_mm, rain_rows)
        if water_rows > 0:
            _draw_water(grid, signs, stretch, track.full_l, rain_rows, water_rows, ink)
    for number, (name, kinds) in enumerate(lanes):
        _draw_marks(grid, signs, columns, plot + number, kinds)
        if has_scales:
            grid.text(0, plot + number, name, "label", _LEFT - 1)
    _draw_dates(grid, columns, height - 1, today, cursor)
    if has_scales:
        _draw_scales(grid, signs, columns, track, units, top_mm, rain_rows, water_rows)
    if cursor is not None:
        _light(grid, columns, cursor, plot, ascii)
    return grid.rows()


def _rain_top(columns: Columns, units: Units) -> float:
    """Return the depth the rain scale reaches to, [mm]."""
    most = 0.0
    for stretch in columns.stretches:
        low = stretch.rain_low or 0.0
        # Rain without an upper bound gets room to show that it may have been more.
        most = max(most, 1.5 * low if stretch.rain_high is None else stretch.rain_high)
    nice = _NICE_MM if units == "metric" else _NICE_INCH
    return next((step for step in nice[1:] if step >= most), most)


def _depth_text(mm: float, units: Units) -> str:
    """Return a round depth of the scale in few cells."""
    return f"{mm:g} mm" if units == "metric" else f"{mm / 25.4:.3g} in"


def _draw_rain(grid: Grid, signs: Glyphs, stretch: Stretch, top_mm: float, rows: int) -> None:
    """Hang the rain from the top: solid as far as it surely was, lighter as far as it may have been."""
    if stretch.rain_low is None:
        if not stretch.is_ahead:
            grid.fill(stretch.x, 0, stretch.width, "." if grid.ascii else "·", "dim")
        return
    likely = max(stretch.rain_low, 0.0)
    most = top_mm if stretch.rain_high is None else stretch.rain_high
    steps = len(signs.hanging) - 1
    cells = rows * steps
    solid = min(cells, round(likely / top_mm * cells))
    lighter = min(cells, round(most / top_mm * cells))
    if most > 0.0 and lighter == 0:
        lighter = 1
    if likely > 0.0 and solid == 0:
        solid = 1
    if stretch.is_gappy and lighter == 0:
        grid.fill(stretch.x, 0, stretch.width, "." if grid.ascii else "·", "dim")
    body = max(1, stretch.width - (1 if stretch.width > 2 else 0))
    for row in range(rows):
        full = solid - row * steps
        may = lighter - row * steps
        if full > 0:
            grid.fill(stretch.x, row, body, signs.hanging[min(steps, full)], "rain")
        elif may > 0:
            grid.fill(
                stretch.x,
                row,
                body,
                "'" if may < steps and row == 0 and solid == 0 else signs.band,
                "rain-band",
            )


def _draw_water(
    grid: Grid, signs: Glyphs, stretch: Stretch, full: float, top: int, rows: int, ink: bool
) -> None:
    """Stand the water on the foot of the plot: what is below the outlet, what is usable, what may be."""
    low, high = stretch.low, stretch.high
    if low is None or full <= 0.0:
        return
    height = max(0.0, min(1.0, low / full)) * rows
    most = height if high is None else max(0.0, min(1.0, high / full)) * rows
    below = 0.0
    if stretch.usable is not None and stretch.volume is not None:
        below = max(0.0, stretch.volume - stretch.usable) / full * rows
    whole = int(height)
    eighths = int(8.0 * (height - whole))
    if low > 0.0 and whole == 0 and eighths == 0:
        eighths = 1
    foot = top + rows - 1
    usable_char = "▒" if ink and signs.water == " " else signs.water
    for line in range(rows):
        y = foot - line
        if line < whole:
            if line + 0.5 < below:
                for x in range(stretch.x, stretch.x + stretch.width):
                    grid.put(x, y, signs.below_outlet if (x + y) % 2 == 0 else " ", "below-outlet")
            else:
                grid.fill(stretch.x, y, stretch.width, usable_char, "water")
        elif line == whole and eighths:
            # Without colour a block would look like something else than the pattern of the water below it.
            edge = signs.rising[eighths] if not ink else usable_char if eighths >= 4 else signs.line_low
            grid.fill(stretch.x, y, stretch.width, edge, "water-edge")
        elif line < round(most):
            grid.fill(stretch.x, y, stretch.width, signs.band, "band")
    if stretch.is_dipped:
        above = foot - min(rows - 1, whole + (1 if eighths else 0))
        grid.put(stretch.x, above, signs.states["dipped"], "figure")


def _draw_marks(grid: Grid, signs: Glyphs, columns: Columns, y: int, shown: Sequence[str]) -> None:
    """Draw one sign a column, the most pressing; a chore that stays late is a line from where its time ran out."""
    was_late = False
    for stretch in columns.stretches:
        kinds = {mark.kind for mark in stretch.marks}
        is_late = "late" in shown and ("late" in kinds or "missed" in kinds)
        for kind, sign in (MARKS_ASCII if grid.ascii else MARKS).items():
            if kind not in kinds or kind not in shown:
                continue
            if kind == "late" and was_late:
                grid.fill(stretch.x, y, stretch.width, signs.line_mid, "late")
            else:
                grid.put(stretch.x, y, sign, MARK_ROLES[kind])
                if is_late:
                    grid.fill(stretch.x + 1, y, stretch.width - 1, signs.line_mid, "late")
            break
        was_late = is_late


def _draw_dates(grid: Grid, columns: Columns, y: int, today: date | None, cursor: date | None) -> None:
    """Write the dates, leaving room for the one under the cursor or for today."""
    shown = columns.at(cursor if cursor is not None else today)
    label, at = "", 0
    if shown is not None:
        label = "today" if cursor is None else f"{'^' if grid.ascii else '▲'}{short_day(cursor)}"
        at = max(columns.left, min(shown.x, grid.width - text_width(label)))
        if cursor is not None:
            label = label[0] + label[1:] if at == shown.x else label[1:] + label[0]
            at = at if at == shown.x else max(columns.left, shown.x + 1 - text_width(label))
        grid.text(at, y, label, "label" if cursor is None else "cursor")
    taken = columns.left
    for x, text in date_marks(columns):
        if label and x + text_width(text) >= at and x <= at + text_width(label):
            continue
        if x >= taken and x + text_width(text) <= columns.end:
            grid.text(x, y, text, "axis")
            taken = x + text_width(text) + 1


def _draw_scales(
    grid: Grid,
    signs: Glyphs,
    columns: Columns,
    track: Track,
    units: Units,
    top_mm: float,
    rain_rows: int,
    water_rows: int,
) -> None:
    """Write what the plot reaches to: rain at the left, water at the right."""
    grid.text(0, 0, "rain", "label", _LEFT - 1)
    if rain_rows > 1:
        grid.right(0, rain_rows - 1, _depth_text(top_mm, units), "axis", _LEFT - 1)
    if columns.days_each > 1 and rain_rows > 2:
        grid.right(0, 1, f"in {columns.days_each} d", "axis", _LEFT - 1)
    for y in range(rain_rows + water_rows):
        grid.put(_LEFT - 1, y, signs.axis, "axis")
        grid.put(columns.end, y, signs.axis, "axis")
    if water_rows > 0:
        x = columns.end + 1
        full = format_volume(track.full_l / 1000.0, units)
        figure, _, unit = full.partition(" ")
        grid.text(
            x, rain_rows, f"{figure} {unit}" if text_width(full) <= _RIGHT - 1 else figure, "axis", _RIGHT - 1
        )
        if water_rows > 2:
            under = unit if text_width(full) > _RIGHT - 1 else "full"
            grid.text(x, rain_rows + 1, under, "axis", _RIGHT - 1)
        grid.text(x, rain_rows + water_rows - 1, "0", "axis", _RIGHT - 1)
        grid.text(0, rain_rows + water_rows - 1, "water", "label", _LEFT - 1)


def _light(grid: Grid, columns: Columns, cursor: date, height: int, ascii: bool) -> None:
    """Light the column under the cursor where nothing else is drawn."""
    stretch = columns.at(cursor)
    if stretch is None:
        return
    for y in range(height):
        if grid.is_free(stretch.x, y):
            grid.put(stretch.x, y, ":" if ascii else "┊", "cursor")


def _columns(track: Track, width: int) -> Columns:
    """Return the columns of a timeline of this width."""
    return columns_for(track.days, _LEFT if width >= _LEAST_WITH_SCALES else 0, plot_width(width))


def day_at(track: Track, x: int, width: int) -> date | None:
    """Return the day, or the last of the days, that a column of a timeline of this width stands for.

    Parameters
    ----------
    track : Track
        The days shown.
    x : int
        Column of the picture, [cells].
    width : int
        As given to `timeline`, [cells].

    Returns
    -------
    date or None
        None beside the plot.
    """
    if not track.days or plot_width(width) < 1:
        return None
    found = (one for one in _columns(track, width).stretches if one.x <= x < one.x + one.width)
    return next((one.last for one in found), None)


def plot_width(width: int) -> int:
    """Return the columns a timeline of this width has for days; as many days fill it, or half as many, or twice."""
    return width - _LEFT - _RIGHT if width >= _LEAST_WITH_SCALES else width
