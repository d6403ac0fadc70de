"""Draws one tank: the block it stands on, its walls and what is in it."""

from __future__ import annotations

from math import floor

from tankdash.drawing.arrange import Place
from tankdash.drawing.canvas import GROUNDS
from tankdash.drawing.glyphs import Glyphs
from tankdash.drawing.grid import Grid
from tankdash.drawing.ladder import Ladder
from tankdash.drawing.scene import SceneTank

_BANDS = ("band", "cut-off-band")


class Pen:
    """What every part of the picture is drawn with: the sheet, the height scale and the signs."""

    def __init__(self, grid: Grid, ladder: Ladder, signs: Glyphs, ink: bool) -> None:
        self.grid = grid
        self.ladder = ladder
        self.signs = signs
        self.usable_char = signs.water if signs.water != " " or not ink else "▒"
        self.is_dense = ink or grid.ascii
        """Whether patterns alone must tell the kinds of water apart."""

    def y(self, line: int) -> int:
        """Return the row of the sheet for a line of the ladder."""
        return self.ladder.lines - 1 - line

    def over(self, x: int, y: int, char: str, ink: str) -> None:
        """Put a sign on whatever water is in the cell, so that the water still shows behind it."""
        ground = self.grid.role(x, y).rpartition("-on-")[2]
        self.grid.put(x, y, char, f"{ink}-on-{ground}" if ground in GROUNDS else ink)

    def level_char(self, height: float) -> str:
        """Return the line that shows a height best within its cell."""
        eighths = self.ladder.eighths(height)
        return (
            self.signs.line_low
            if eighths <= 2
            else self.signs.line_high
            if eighths >= 7
            else self.signs.line_mid
        )


def wall_columns(place: Place, ladder: Ladder, line: int) -> tuple[int, int]:
    """Return the columns of the left and right wall of a tank in one line."""
    tank = place.tank
    lower = max(ladder.middle(line) - 0.5 * ladder.step, tank.base)
    upper = min(ladder.middle(line) + 0.5 * ladder.step, tank.brim)
    share = tank.outline.breadth(0.5 * (lower + upper) - tank.base) / max(1e-9, tank.outline.broadest)
    inset = floor((1.0 - share) * 0.5 * (place.width - 1) + 0.5)
    inset = min(inset, (place.width - 2) // 2)
    return place.x + inset, place.end - inset


def draw_base(pen: Pen, place: Place, ground: float) -> None:
    """Draw the block under a tank, from `ground` up to its floor, true to height."""
    ladder, signs, tank = pen.ladder, pen.signs, place.tank
    if tank.base <= ground + 1e-9:
        line = ladder.line(tank.base)
        if tank.base < ground - 1e-9 and line >= 0:
            pen.grid.fill(place.x, pen.y(line), place.width, pen.level_char(tank.base), "base")
        return
    full = floor(ladder.place(tank.base) + 1e-9)
    for line in range(max(0, floor(ladder.place(ground) + 0.5)), full):
        pen.grid.fill(place.x, pen.y(line), place.width, signs.solid, "base")
    if base_eighths(ladder, tank) > 0:
        pen.grid.fill(place.x, pen.y(full), place.width, signs.rising[base_eighths(ladder, tank)], "base")


def base_eighths(ladder: Ladder, tank: SceneTank) -> int:
    """Return how far the base reaches into the line the tank's floor is in, in eighths, 0 to 7."""
    place = ladder.place(tank.base)
    return min(7, round(8.0 * (place - floor(place + 1e-9))))


def ground_role(tank: SceneTank, height: float) -> str:
    """Return which kind of water stands at a height of a tank."""
    if tank.is_stranded:
        return "cut-off"
    return "water" if tank.usable_from is not None and height >= tank.usable_from else "below-outlet"


def draw_tank(pen: Pen, place: Place) -> None:
    """Draw the walls of a tank and what stands in it."""
    ladder, signs, tank = pen.ladder, pen.signs, place.tank
    floor_line = max(0, floor(ladder.place(tank.base) + 1e-9))
    brim_line = min(ladder.lines - 1, ladder.line(tank.brim))
    walls = {line: wall_columns(place, ladder, line) for line in range(floor_line, brim_line + 1)}
    for line, (left, right) in walls.items():
        y = pen.y(line)
        char, role = _content(pen, tank, line)
        foot = base_eighths(ladder, tank) if line == floor_line else 0
        for x in range(left + 1, right):
            if foot and role in GROUNDS:
                pen.grid.put(x, y, signs.rising[foot], f"base-on-{role}")
            elif not (foot and (role == "air" or (role in _BANDS and _reaches_above(pen, tank, line)))):
                pen.grid.put(x, y, _patterned(pen, char, role, x, y), role)
        if not foot:
            _draw_walls(pen, line, walls, y)
        if tank.outline.is_closed and line == brim_line and role == "air":
            pen.grid.fill(left + 1, y, right - left - 1, signs.lid, "wall")
    top = ladder.eighths(tank.brim)
    if top <= 4 and tank.outline.breadth(tank.brim - tank.base) >= 0.98 * tank.outline.broadest:
        for x in walls.get(brim_line, ()):
            if pen.grid.char(x, pen.y(brim_line)) == signs.wall:
                pen.grid.put(x, pen.y(brim_line), signs.wall_half, "wall")


def _reaches_above(pen: Pen, tank: SceneTank, line: int) -> bool:
    """Return whether a doubtful surface also shows in the lines above this one."""
    return tank.high is not None and pen.ladder.line(tank.high) > line


def _draw_walls(pen: Pen, line: int, walls: dict[int, tuple[int, int]], y: int) -> None:
    left, right = walls[line]
    below = walls.get(line - 1, (left, right))[0]
    above = walls.get(line + 1, (left, right))[0]
    lean = (below - left) or (left - above)
    signs = pen.signs
    for x in range(above + 1, left):
        pen.grid.put(x, y, signs.lid, "wall")
        pen.grid.put(left + right - x, y, signs.lid, "wall")
    for x in range(below + 1, left):
        pen.grid.put(x, y, signs.line_low, "wall")
        pen.grid.put(left + right - x, y, signs.line_low, "wall")
    pen.grid.put(
        left, y, signs.wall if lean == 0 else signs.leans_left if lean > 0 else signs.leans_right, "wall"
    )
    pen.grid.put(
        right, y, signs.wall if lean == 0 else signs.leans_right if lean > 0 else signs.leans_left, "wall"
    )


def _content(pen: Pen, tank: SceneTank, line: int) -> tuple[str, str]:
    """Return the sign and the role of what stands in one line of a tank."""
    ladder, signs = pen.ladder, pen.signs
    wet = -1 if tank.low is None else ladder.line(tank.low)
    most = -1 if tank.high is None else ladder.line(tank.high)
    if line < wet:
        role = ground_role(tank, max(ladder.middle(line), tank.base + 1e-6))
        chars = {"water": pen.usable_char, "below-outlet": signs.below_outlet, "cut-off": signs.cut_off}
        return chars[role], role
    if line == wet and tank.low is not None:
        return signs.rising[ladder.eighths(tank.low)], "surface"
    if line <= most and tank.high is not None:
        char, role = (signs.cut_off_band, "cut-off-band") if tank.is_stranded else (signs.band, "band")
        # The upper edge is a line, except in a band so low that it would show nothing else.
        has_edge = line == most and (tank.low is not None or ladder.line(tank.base) < line - 1)
        return (pen.level_char(tank.high) if has_edge else char), role
    return " ", "air"


def _patterned(pen: Pen, char: str, role: str, x: int, y: int) -> str:
    """Thin a pattern out so that it reads as a texture and not as text; sure water is denser than doubtful."""
    is_sparse = (
        role == "below-outlet"
        or (role == "cut-off" and not pen.is_dense)
        or (role == "cut-off-band" and char == pen.signs.cut_off_band)
    )
    return char if not is_sparse or (x + y) % 2 == 0 else " "
