"""Marks and words on the tanks: the lip, the last dip, outlets with their names, and heights written where they are."""

from __future__ import annotations

from collections.abc import Sequence

from tankdash.drawing.arrange import Place
from tankdash.drawing.canvas import GROUNDS
from tankdash.drawing.cells import in_ascii, text_width
from tankdash.drawing.scene import Scene, SceneOutlet, ScenePool, SceneTank
from tankdash.drawing.tankview import Pen, base_eighths, wall_columns
from tankdash.units import format_length

_SHORTEST_NAME = 4
"""Cells of a name cut after a whole word that still tells which outlet it is."""


def draw_marks(pen: Pen, place: Place, spill: float | None) -> None:
    """Draw the height the pool is full at, and the line of the last dip."""
    ladder, tank = pen.ladder, place.tank
    if tank.ghost is not None and tank.base < tank.ghost <= tank.brim:
        line = ladder.line(tank.ghost)
        left, right = wall_columns(place, ladder, line)
        for x in range(left + 1, right):
            if pen.grid.role(x, pen.y(line)) != "surface":
                pen.over(x, pen.y(line), pen.signs.ghost, "ghost")
    full = min(tank.lip, spill) if spill is not None else tank.lip
    line = ladder.line(full)
    if tank.base < full and 0 <= line < ladder.lines:
        left, right = wall_columns(place, ladder, line)
        char = pen.level_char(full)
        for x in (left + 1, right - 1):
            if pen.grid.is_free(x, pen.y(line)):
                pen.grid.put(x, pen.y(line), char, "lip")


def draw_lip(pen: Pen, place: Place, direction: int, is_first: bool) -> None:
    """Draw where a tank spills and which way: to the tank at the left (-1) or right (1), or away (0)."""
    tank, ladder, signs = place.tank, pen.ladder, pen.signs
    has_pipe = tank.lip < tank.brim - 1e-3
    if not has_pipe and not is_first and tank.overflow_to is None:
        return
    line = min(ladder.line(tank.lip), ladder.lines - 1)
    left, right = wall_columns(place, ladder, line)
    y = pen.y(line)
    wall, side = (left, -1) if direction < 0 else (right, 1)
    if has_pipe:
        pen.grid.put(wall, y, signs.spout_left if side < 0 else signs.spout_right, "lip")
    arrow = {-1: signs.spill_left, 0: signs.spill_away, 1: signs.spill_right}[direction]
    pen.grid.put(wall + side, y, arrow, "lip")


def draw_outlets(pen: Pen, place: Place, outlets: Sequence[SceneOutlet]) -> None:
    """Draw taps and pumps on the face of their tank, with names where there is room; those of one line share it."""
    ladder, tank = pen.ladder, place.tank
    lines: dict[int, list[SceneOutlet]] = {}
    for outlet in sorted((one for one in outlets if one.tank == tank.id), key=lambda one: one.at):
        line = max(0, min(ladder.line(outlet.at), ladder.lines - 1))
        if line == ladder.line(tank.base) and base_eighths(ladder, tank) and ladder.line(tank.brim) > line:
            # It stands above the floor: the line that shows both shows the block.
            line += 1
        lines.setdefault(line, []).append(outlet)
    for line, sharing in lines.items():
        left, right = wall_columns(place, ladder, line)
        inside = right - left - 1
        for number, outlet in enumerate(sharing):
            start, end = (inside * part // len(sharing) for part in (number, number + 1))
            _draw_outlet(pen, outlet, left + 1 + start, pen.y(line), end - start)


def _draw_outlet(pen: Pen, outlet: SceneOutlet, x: int, y: int, room: int) -> None:
    """Draw one outlet in the middle of `room` cells."""
    sign = pen.signs.pump if outlet.is_pump else pen.signs.tap
    is_clear = all(pen.grid.char(spot, y) not in pen.signs.rising[1:] for spot in range(x, x + room))
    name = _name(pen, outlet, room - 2) if is_clear else ""
    x += max(0, room - (text_width(name) + 2 if name else 1)) // 2
    ground = pen.grid.role(x, y).rpartition("-on-")[2]
    role = f"outlet-on-{ground}" if ground in GROUNDS else "outlet"
    if name:
        for blank in (x - 1, x + 1, x + 2 + text_width(name)):
            if pen.grid.role(blank, y) == ground:
                pen.grid.put(blank, y, " ", ground)
        pen.grid.text(x + 2, y, name, role, room)
    pen.grid.put(x, y, sign, role)


def _name(pen: Pen, outlet: SceneOutlet, room: int) -> str:
    """Return what to write beside an outlet: its label, its first words, its kind, or nothing."""
    label = in_ascii(outlet.label) if pen.grid.ascii else outlet.label
    if text_width(label) <= room:
        return label
    words = label.split()
    while len(words) > 1:
        words.pop()
        begun = " ".join(words)
        if _SHORTEST_NAME <= text_width(begun) < room:
            return begun + ("~" if pen.grid.ascii else "…")
    kind = "pump" if outlet.is_pump else "tap"
    return kind if len(kind) <= room else ""


def write_heights(pen: Pen, scene: Scene, places: Sequence[Place]) -> None:
    """Write the height of each surface at its line, where it is full, and what the ghost and the dots mean; once each.

    Each is written in the first tank in view that has room for it, and left out where none has.
    """
    in_pools = {name for pool in scene.pools for name in pool.tanks}
    alone = (
        ScenePool((tank.id,), tank.surface)
        for tank in scene.tanks
        if tank.id not in in_pools and tank.surface is not None
    )
    for pool in (*scene.pools, *alone):
        mine = [place for place in places if place.tank.id in pool.tanks]
        line = pen.ladder.line(pool.surface)
        text = format_length(pool.surface, scene.units)
        for near in (line - 1, line + 1):
            if any(_write(pen, place, near, text, "figure") for place in mine):
                break
        if pool.spill is not None:
            told = f"full at {format_length(pool.spill, scene.units)}"
            full = pen.ladder.line(pool.spill)
            _ = any(_write(pen, place, full, text, "lip") for text in (told, "full") for place in mine)
    for place in places:
        ghost = place.tank.ghost
        if ghost is not None and _write(pen, place, pen.ladder.line(ghost), "before", "ghost"):
            break
    _write_out_of_reach(pen, scene, places)


def _write_out_of_reach(pen: Pen, scene: Scene, places: Sequence[Place]) -> None:
    """Write over the dots below what the water lies, each once, in the first tank with room."""
    written: set[str] = set()
    for line in range(pen.ladder.lines - 1, -1, -1):
        for place in places:
            text = _below_what(place.tank, scene)
            if text not in written and _write(pen, place, line, text, "below-outlet"):
                written.add(text)


def _below_what(tank: SceneTank, scene: Scene) -> str:
    """Return what keeps water in a tank: an outlet that is higher, or a link that is."""
    is_outlet = any(
        tank.usable_from is not None and abs(outlet.at - tank.usable_from) < 1e-6 for outlet in scene.outlets
    )
    return "below outlet" if is_outlet else "below link"


def _write(pen: Pen, place: Place, line: int, text: str, ink: str) -> bool:
    """Write `text` in the middle of a tank, with a blank at either side; return whether there was room for it."""
    if not 0 <= line < pen.ladder.lines or not place.tank.base < pen.ladder.middle(line) < place.tank.brim:
        return False
    left, right = wall_columns(place, pen.ladder, line)
    y, size = pen.y(line), text_width(text)
    x = left + 1 + (right - left - 1 - size) // 2
    cells = range(max(left + 1, x - 1), min(right, x + size + 1))
    if x <= left or x + size > right:
        return False
    roles = {pen.grid.role(spot, y) for spot in cells}
    ground = next(iter(roles))
    # A surface written between the marks of a lip would be taken for the lip's height.
    hides = range(left + 1, right) if ink == "figure" else cells
    if len(roles) > 1 or not _is_clear(pen, y, hides, ground, ink):
        return False
    for spot in cells:
        pen.grid.put(spot, y, " ", ground)
    over = ground.rpartition("-on-")[2]
    pen.grid.text(x, y, text, f"{ink}-on-{over}" if over in GROUNDS and over != ink else ink)
    return True


def _is_clear(pen: Pen, y: int, cells: range, ground: str, ink: str) -> bool:
    """Return whether writing in these cells hides nothing."""
    if ink == "below-outlet":
        return ground == ink
    if ink == "ghost":
        return ground.partition("-on-")[0] == "ghost"
    if ground in ("water", "below-outlet"):
        return ink == "figure" and all(pen.grid.role(spot, y) == ground for spot in cells)
    return all(pen.grid.is_free(spot, y) for spot in cells)
