"""The tanks as a list, for screens too small for the side view: a line a tank, with a bar of how full it is."""

from __future__ import annotations

from tankdash.drawing.canvas import Row
from tankdash.drawing.cells import text_width
from tankdash.drawing.glyphs import glyphs
from tankdash.drawing.grid import Grid
from tankdash.drawing.scene import PLAIN_STATES, Scene, SceneTank, state_text, volume_text


def level_list(
    scene: Scene,
    width: int,
    height: int,
    ascii: bool = False,
    first: int = 0,
    ink: bool = False,
    keys: tuple[str, str] = ("", ""),
) -> list[Row]:
    """Return one line for each tank: label, volume, state, and a bar from floor to lip where there is room.

    Parameters
    ----------
    scene : Scene
        What to show.
    width, height : int
        Size, [cells].
    ascii : bool
        Use no sign outside ASCII.
    first : int
        First tank to show when not all fit.
    ink : bool
        Draw water with signs too, for output that shows no background colour.
    keys : tuple of str
        Keys that show tanks further back and further on; they are told where tanks are left out.

    Returns
    -------
    list of Row
        Exactly `height` rows of exactly `width` cells; the last says how many tanks are left out.
    """
    grid = Grid(max(0, width), max(0, height), ascii)
    if not scene.tanks:
        grid.text(0, 0, "no tanks yet", "dim")
        return grid.rows()
    signs = glyphs(ascii)
    shown = list(scene.tanks)
    if len(shown) > height:
        first = max(0, min(first, len(shown) - max(1, height - 1)))
        shown = shown[first : first + max(1, height - 1)]
        left_out = len(scene.tanks) - len(shown)
        if height > 1:
            told = f"{left_out} more"
            if any(keys):
                told += f": keys {keys[0]} {keys[1]}"
            grid.text(0, height - 1, told, "warn")
    dash = "-" if ascii else "–"
    volumes = [volume_text(tank, scene.units, dash) for tank in shown]
    states = [state_text(tank, signs) for tank in shown]
    volume_room = max(map(text_width, volumes))
    state_room = max(map(text_width, states))
    label_room = min(
        max(text_width(tank.label) for tank in shown), max(4, width - volume_room - state_room - 4)
    )
    for row, (tank, volume, state) in enumerate(zip(shown, volumes, states, strict=True)):
        grid.text(0, row, tank.label, "label", label_room)
        grid.right(label_room + 1, row, volume, "figure", volume_room)
        x = label_room + volume_room + 3
        is_plain = tank.state in PLAIN_STATES
        grid.text(x, row, state, "dim" if is_plain else "warn" if tank.is_stranded else "figure")
        x += state_room + 2
        if width - x >= 8:
            _draw_bar(grid, x, row, min(24, width - x), tank, ink)
    return grid.rows()


def _draw_bar(grid: Grid, x: int, y: int, room: int, tank: SceneTank, ink: bool) -> None:
    """Draw how much of the tank's depth up to its lip is wet."""
    signs = glyphs(grid.ascii)
    deep = max(1e-9, tank.lip - tank.base)
    wet = 0.0 if tank.low is None else min(1.0, (tank.low - tank.base) / deep)
    most = wet if tank.high is None else min(1.0, (tank.high - tank.base) / deep)
    filled = max(1 if wet > 0.0 else 0, round(wet * room))
    reach = 0.0 if tank.usable_from is None else (tank.usable_from - tank.base) / deep
    for column in range(room):
        if column < filled:
            if tank.is_stranded:
                grid.put(x + column, y, signs.cut_off, "cut-off")
            elif (column + 0.5) / room < reach or tank.usable_from is None:
                grid.put(x + column, y, signs.below_outlet, "below-outlet")
            else:
                grid.put(x + column, y, "▒" if ink and signs.water == " " else signs.water, "water")
        elif column < round(most * room):
            char, role = (signs.cut_off_band, "cut-off-band") if tank.is_stranded else (signs.band, "band")
            grid.put(x + column, y, char, role)
        else:
            grid.put(x + column, y, "_" if grid.ascii else "▁", "axis")
