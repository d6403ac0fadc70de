"""The side view: all tanks on one height scale, on their bases, with the water that stands in them.

The first thing anyone looks at; it has to be understood in three seconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from tankdash.drawing.arrange import Arrangement, Place, arrange
from tankdash.drawing.canvas import Row
from tankdash.drawing.cells import text_width
from tankdash.drawing.glyphs import glyphs
from tankdash.drawing.grid import Grid
from tankdash.drawing.ladder import Ladder, ladder_for, ticks
from tankdash.drawing.levellist import level_list
from tankdash.drawing.marks import draw_lip, draw_marks, draw_outlets, write_heights
from tankdash.drawing.pipes import draw_link
from tankdash.drawing.scene import PLAIN_STATES, Scene, SceneTank, state_text, volume_text
from tankdash.drawing.tankview import Pen, draw_base, draw_tank

LEAST_WIDTH = 40
LEAST_HEIGHT = 8
"""Below this the picture gives way to a list."""

_AXIS = 7
"""Cells of the height axis: five for the figure, one for the tick, one free."""

_MARK = 7
"""Cells kept at the right for the mark of tanks out of view."""


def side_view(
    scene: Scene,
    width: int,
    height: int,
    ascii: bool = False,
    first: int = 0,
    ink: bool = False,
    keys: tuple[str, str] = ("", ""),
) -> list[Row]:
    """Return the picture of the tanks.

    Parameters
    ----------
    scene : Scene
        What to show.
    width, height : int
        Size of the picture; below 40 x 8 it is a list, [cells].
    ascii : bool
        Use no sign outside ASCII.
    first : int
        First tank to show when not all fit; more than can be scrolled is taken as the last page.
    ink : bool
        Draw water with signs too, for output that shows no background colour.
    keys : tuple of str
        Keys that show tanks further left and further right; they are told where tanks are out of view.

    Returns
    -------
    list of Row
        Exactly `height` rows of exactly `width` cells.
    """
    if width < LEAST_WIDTH or height < LEAST_HEIGHT or not scene.tanks:
        return level_list(scene, width, height, ascii, first, ink, keys)
    signs = glyphs(ascii)
    captions, text_rows = _captions(scene, ascii), _text_rows(scene, width, height, ascii)
    lines = height - text_rows
    ladder = _ladder(scene, lines)
    view = _view(scene, width, height, ascii, first)
    grid = Grid(width, height, ascii)
    pen = Pen(grid, ladder, signs, ink)
    _draw_axis(pen, scene, width)
    _draw_tanks(pen, scene, view)
    _write_captions(grid, view, captions, scene, lines, text_rows)
    _write_more(grid, view, lines, width, ascii, keys)
    return grid.rows()


def first_shown(scene: Scene, width: int, height: int, first: int, ascii: bool = False) -> int:
    """Return the first tank that `side_view` shows when it is asked to begin with `first`, so that one can scroll on.

    Parameters
    ----------
    scene, width, height, first, ascii
        As given to `side_view`.
    """
    if width < LEAST_WIDTH or height < LEAST_HEIGHT or not scene.tanks:
        return max(0, min(first, len(scene.tanks) - max(1, height - 1)))
    return _view(scene, width, height, ascii, first).before


def _text_rows(scene: Scene, width: int, height: int, ascii: bool) -> int:
    """Return how many rows the words under the tanks take."""
    return 3 if height >= 14 or not _fits_in_two(_captions(scene, ascii), width) else 2


def _ladder(scene: Scene, lines: int) -> Ladder:
    """Return the height scale that shows every tank and crest, with a line of air over them where there are enough."""
    heights = [height for tank in scene.tanks for height in (tank.base, tank.brim)]
    heights += [link.crest for link in scene.links if link.crest is not None]
    fitted = ladder_for(heights, lines - (1 if lines >= 7 else 0))
    return Ladder(fitted.foot, fitted.step, lines)


def _view(scene: Scene, width: int, height: int, ascii: bool, first: int) -> Arrangement:
    """Return where the tanks stand that fit, from `first` on."""
    text_rows = _text_rows(scene, width, height, ascii)
    needs = [
        min(18, max(map(text_width, caption[1:3] if text_rows == 3 else caption[3:])))
        for caption in _captions(scene, ascii)
    ]
    cells_per_metre = 2.0 / _ladder(scene, height - text_rows).step
    return arrange(scene.tanks, _AXIS, width - _AXIS, cells_per_metre, needs, first, _MARK)


def _captions(scene: Scene, ascii: bool) -> list[tuple[str, str, str, str]]:
    """Return for each tank its label, volume, state with its sign, and volume and state on one line."""
    signs = glyphs(ascii)
    found = []
    for tank in scene.tanks:
        volume = volume_text(tank, scene.units, "-" if ascii else "–")
        state = state_text(tank, signs)
        found.append((tank.label, volume, state, f"{volume} {state}"))
    return found


def _fits_in_two(captions: Sequence[tuple[str, str, str, str]], width: int) -> bool:
    """Return whether every tank's volume and state go on one line."""
    return sum(max(10, text_width(caption[3]) + 2) for caption in captions) <= width - _AXIS


def _draw_axis(pen: Pen, scene: Scene, width: int) -> None:
    ladder, signs, grid = pen.ladder, pen.signs, pen.grid
    unit, marks = ticks(ladder, scene.units)
    for line in range(ladder.lines):
        grid.put(_AXIS - 2, pen.y(line), signs.axis, "axis")
    datum = ladder.line(0.0)
    if 0 <= datum < ladder.lines:
        grid.fill(_AXIS - 1, pen.y(datum), width - _AXIS + 1, pen.level_char(0.0), "axis")
    for line, text in marks:
        if line == ladder.lines - 1:
            continue
        grid.right(0, pen.y(line), text, "axis", _AXIS - 2)
        grid.put(_AXIS - 2, pen.y(line), signs.tick, "axis")
    grid.right(0, pen.y(ladder.lines - 1), unit, "axis", _AXIS - 2)


def _draw_tanks(pen: Pen, scene: Scene, view: Arrangement) -> None:
    places = view.places
    ground = 0.0 if 0 <= pen.ladder.line(0.0) < pen.ladder.lines else pen.ladder.foot
    pool_of = {name: pool for pool in scene.pools for name in pool.tanks}
    order = [tank.id for tank in scene.tanks]
    for place in places:
        draw_base(pen, place, ground)
    _draw_shared_surfaces(pen, scene, places)
    for place in places:
        draw_tank(pen, place)
    between: dict[tuple[str, str], int] = {}
    for link in scene.links:
        pair = (link.ends[0][0], link.ends[-1][0])
        draw_link(pen, link, places, order, between.get(pair, 0))
        between[pair] = between.get(pair, 0) + 1
    for place in places:
        tank = place.tank
        pool = pool_of.get(tank.id)
        draw_marks(pen, place, pool.spill if pool else None)
        draw_lip(pen, place, _side(tank, order), pool is not None and pool.spills_at == tank.id)
        draw_outlets(pen, place, scene.outlets)
    write_heights(pen, scene, places)
    _name_datum(pen)


def _name_datum(pen: Pen) -> None:
    """Write what the line at height 0 is, at its end or where it is free."""
    y, name = pen.y(pen.ladder.line(0.0)), " datum"
    for x in range(pen.grid.width - len(name), _AXIS, -1):
        if all(pen.grid.role(spot, y) == "axis" for spot in range(x, x + len(name))):
            pen.grid.text(x, y, name, "axis")
            return


def _side(tank: SceneTank, order: Sequence[str]) -> int:
    if tank.overflow_to not in order:
        return 0
    return 1 if order.index(str(tank.overflow_to)) > order.index(tank.id) else -1


def _draw_shared_surfaces(pen: Pen, scene: Scene, places: Sequence[Place]) -> None:
    """Draw the surface of each pool through the gaps between its tanks, so that it reads as one."""
    for pool in scene.pools:
        members = [spot for spot, place in enumerate(places) if place.tank.id in pool.tanks]
        line = pen.ladder.line(pool.surface)
        if not 0 <= line < pen.ladder.lines:
            continue
        for one, other in pairwise(members):
            for gap in range(one, other):
                for x in range(places[gap].end + 1, places[gap + 1].x):
                    if pen.grid.is_free(x, pen.y(line)):
                        pen.grid.put(x, pen.y(line), pen.level_char(pool.surface), "surface")


def _write_captions(
    grid: Grid,
    view: Arrangement,
    captions: Sequence[tuple[str, str, str, str]],
    scene: Scene,
    top: int,
    rows: int,
) -> None:
    for spot, place in enumerate(view.places, start=view.before):
        label, volume, state, both = captions[spot]
        role = "dim" if scene.tanks[spot].state in PLAIN_STATES else "figure"
        if scene.tanks[spot].is_stranded or scene.tanks[spot].state == "unknown":
            role = "warn"
        x, room = _caption_room(place)
        grid.middle(x, top, label, "label", room)
        if rows == 3:
            grid.middle(x, top + 1, volume, "figure", room)
            grid.middle(x, top + 2, state, role, room)
        else:
            start = x + max(0, room - text_width(both)) // 2
            used = grid.text(start, top + 1, volume, "figure", room)
            grid.text(start + used + 1, top + 1, state, role, room - used - 1)


def _caption_room(place: Place) -> tuple[int, int]:
    """Return the widest stretch of the tank's own room that has the tank in its middle."""
    reach = min(place.x - place.slot_x, place.slot_x + place.slot_width - 1 - place.end)
    if reach < 1:
        return place.slot_x, place.slot_width
    return place.x - reach, place.width + 2 * reach


def _write_more(
    grid: Grid, view: Arrangement, row: int, width: int, ascii: bool, keys: tuple[str, str]
) -> None:
    """Say how many tanks are out of view on either side, and by which key they come into it."""
    signs = glyphs(ascii)
    if view.before:
        grid.text(0, row, f"{signs.more_left}{view.before} more", "warn", _AXIS)
        if keys[0]:
            grid.text(0, row + 1, f" key {keys[0]}", "warn", _AXIS)
    if view.after:
        # The last tank leaves a cell free at its right, which a mark of two figures takes.
        grid.right(width - _MARK - 1, row, f"{view.after} more{signs.more_right}", "warn", _MARK + 1)
        if keys[1]:
            grid.right(width - _MARK - 1, row + 1, f"key {keys[1]} ", "warn", _MARK + 1)
