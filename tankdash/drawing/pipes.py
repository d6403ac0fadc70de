"""Draws the links between tanks at their true heights: straight, stepped, over a crest, or shut."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from tankdash.drawing.arrange import Place
from tankdash.drawing.canvas import GROUNDS
from tankdash.drawing.scene import SceneLink
from tankdash.drawing.tankview import Pen, wall_columns

_LEVEL = 0.75
"""Ends that differ by less than this share of a line are drawn level: a step would say that they do not."""


def draw_link(pen: Pen, link: SceneLink, places: Sequence[Place], order: Sequence[str], lane: int) -> None:
    """Draw one link between the tanks in view that it joins.

    Parameters
    ----------
    pen : Pen
        What to draw with.
    link : SceneLink
        The link.
    places : sequence of Place
        Tanks in view, from left to right.
    order : sequence of str
        Ids of all tanks, from left to right: a pipe to one out of view runs to the edge.
    lane : int
        How many links already rise between the same tanks; each takes its own column.
    """
    seat = {name: spot for spot, name in enumerate(order)}
    ends = sorted((seat[name], height) for name, height in _levelled(pen, link) if name in seat)
    if not ends or not places:
        return
    start = seat[places[0].tank.id]
    has_mark = False
    for (one, height), (other, next_height) in pairwise(ends):
        inside = [spot - start for spot in (one, other) if 0 <= spot - start < len(places)]
        if not inside:
            if one < start and other >= start + len(places):
                _pass_through(pen, places, range(len(places) - 1), height, link)
            continue
        if one < start:
            _stub(pen, places[inside[0]], next_height, -1, link)
            _pass_through(pen, places, range(inside[0]), next_height, link)
        elif other >= start + len(places):
            _stub(pen, places[inside[0]], height, 1, link)
            _pass_through(pen, places, range(inside[0], len(places) - 1), height, link)
        else:
            first, last = one - start, other - start
            _pass_through(pen, places, range(first, last - 1), height, link)
            left, right = places[last - 1], places[last]
            _join(pen, places[first], left, right, height, next_height, link, lane, with_mark=not has_mark)
        has_mark = True


def _levelled(pen: Pen, link: SceneLink) -> Sequence[tuple[str, float]]:
    """Return the ends of a link, all at its sill where they differ by less than a line can show."""
    heights = [height for _, height in link.ends]
    if max(heights) - min(heights) >= _LEVEL * pen.ladder.step:
        return link.ends
    return [(name, max(heights)) for name, _ in link.ends]


def _role(link: SceneLink) -> str:
    return "link" if link.is_open else "link-closed"


def _line(pen: Pen, height: float) -> int:
    return max(0, min(pen.ladder.line(height), pen.ladder.lines - 1))


def _pass_through(pen: Pen, places: Sequence[Place], gaps: range, height: float, link: SceneLink) -> None:
    """Draw the pipe in gaps where it only passes, behind the tanks between."""
    line = _line(pen, height)
    for gap in gaps:
        left = wall_columns(places[gap], pen.ladder, line)[1]
        right = wall_columns(places[gap + 1], pen.ladder, line)[0]
        for x in range(left + 1, right):
            pen.grid.put(x, pen.y(line), pen.signs.pipe, _role(link))


def _stub(pen: Pen, place: Place, height: float, side: int, link: SceneLink) -> None:
    """Draw the beginning of a pipe whose other end is out of view."""
    line = _line(pen, height)
    left, right = wall_columns(place, pen.ladder, line)
    _joint(pen, right if side > 0 else left, line, side, link)
    for step in range(1, 3):
        pen.grid.put((right + step) if side > 0 else (left - step), pen.y(line), pen.signs.pipe, _role(link))


def _joint(pen: Pen, x: int, line: int, side: int, link: SceneLink) -> None:
    """Draw where the pipe leaves the wall; side 1 is to the right."""
    pen.grid.put(x, pen.y(line), pen.signs.joint_right if side > 0 else pen.signs.joint_left, _role(link))


def _join(
    pen: Pen,
    origin: Place,
    left: Place,
    right: Place,
    height: float,
    next_height: float,
    link: SceneLink,
    lane: int,
    *,
    with_mark: bool,
) -> None:
    """Draw the pipe from `origin` across the gap between `left` and `right` into `right`."""
    signs, role = pen.signs, _role(link)
    near, far = _line(pen, height), _line(pen, next_height)
    _joint(pen, wall_columns(origin, pen.ladder, near)[1], near, 1, link)
    start = wall_columns(left, pen.ladder, near)[1] + 1
    end = wall_columns(right, pen.ladder, far)[0] - 1
    _joint(pen, end + 1, far, -1, link)
    left_up, left_down, up_right, down_right = tuple(signs.corners)
    y = pen.y

    def put(x: int, line: int, char: str) -> None:
        ground = pen.grid.role(x, y(line)).rpartition("-on-")[2]
        if ground not in GROUNDS:
            pen.grid.put(x, y(line), char, role)

    def across(line: int, begin: int, stop: int) -> None:
        for x in range(begin, stop):
            put(x, line, signs.pipe)

    def up(x: int, one: int, other: int) -> None:
        for line in range(min(one, other) + 1, max(one, other)):
            put(x, line, signs.pipe_up)

    top = None if link.crest is None else _line(pen, link.crest)
    gap_start, gap_end = left.end + 1, right.x - 1
    if top is not None and top > max(near, far) and gap_end - gap_start >= 1:
        rise, fall = gap_start, gap_end
        if gap_end - gap_start >= 4:
            rise, fall = gap_start + 1, gap_end - 1
        across(near, start, rise)
        put(rise, near, left_up)
        up(rise, near, top)
        put(rise, top, down_right)
        across(top, rise + 1, fall)
        put(fall, top, left_down)
        up(fall, far, top)
        put(fall, far, up_right)
        across(far, fall + 1, end + 1)
        middle, mark_line = (rise + fall) // 2, top
    elif near == far:
        across(near, start, end + 1)
        middle, mark_line = (gap_start + gap_end) // 2, near
    else:
        bend = min(gap_end, max(gap_start, (gap_start + gap_end) // 2 + lane))
        across(near, start, bend)
        put(bend, near, left_up if far > near else left_down)
        up(bend, near, far)
        put(bend, far, down_right if far > near else up_right)
        across(far, bend + 1, end + 1)
        middle, mark_line = bend, max(near, far) - (1 if abs(near - far) > 1 else 0)
    if with_mark and not link.is_open:
        put(middle, mark_line, signs.closed)
    elif with_mark and link.crest is not None and link.primed is None:
        put(middle, mark_line, signs.unsure)
