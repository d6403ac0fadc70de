"""Draws the links between tanks at their true heights: straight, stepped, over a crest, or shut."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from tankdash.drawing.arrange import Place
from tankdash.drawing.canvas import GROUNDS
from tankdash.drawing.glyphs import Glyphs
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
    near, far = _line(pen, height), _line(pen, next_height)
    _joint(pen, wall_columns(origin, pen.ladder, near)[1], near, 1, link)
    start = wall_columns(left, pen.ladder, near)[1] + 1
    end = wall_columns(right, pen.ladder, far)[0] - 1
    _joint(pen, end + 1, far, -1, link)
    run = _Run(pen.signs, start, end, near, far)
    top = None if link.crest is None else _line(pen, link.crest)
    gap = (left.end + 1, right.x - 1)
    if top is not None and top > max(near, far) and gap[1] - gap[0] >= 1:
        run.go_over(top, *gap)
    elif near == far:
        run.go_straight(*gap)
    else:
        run.step(min(gap[1], max(gap[0], sum(gap) // 2 + lane)))
    if with_mark and not link.is_open:
        run.mark(pen.signs.closed)
    elif with_mark and link.crest is not None and link.primed is None:
        run.mark(pen.signs.unsure)
    for (x, line), char in run.cells.items():
        if pen.grid.role(x, pen.y(line)).rpartition("-on-")[2] not in GROUNDS:
            pen.grid.put(x, pen.y(line), char, _role(link))


class _Run:
    """The cells of a pipe from one wall to the next, by (column, line)."""

    def __init__(self, signs: Glyphs, start: int, end: int, near: int, far: int) -> None:
        self.signs = signs
        self.start, self.end = start, end
        """Columns beside the two walls."""
        self.near, self.far = near, far
        """Lines of the two ports."""
        self.cells: dict[tuple[int, int], str] = {}
        self.middle = (start, near)
        """Where a sign of its state goes."""

    def mark(self, char: str) -> None:
        """Put a sign on the pipe."""
        self.cells[self.middle] = char

    def go_straight(self, first: int, last: int) -> None:
        """Go from wall to wall in one line."""
        self._across(self.near, self.start, self.end + 1)
        self.middle = ((first + last) // 2, self.near)

    def step(self, bend: int) -> None:
        """Go up or down at one column."""
        left_up, left_down, up_right, down_right = tuple(self.signs.corners)
        near, far = self.near, self.far
        self._across(near, self.start, bend)
        self.cells[bend, near] = left_up if far > near else left_down
        self._up(bend, near, far)
        self.cells[bend, far] = down_right if far > near else up_right
        self._across(far, bend + 1, self.end + 1)
        self.middle = (bend, max(near, far) - (1 if abs(near - far) > 1 else 0))

    def go_over(self, top: int, first: int, last: int) -> None:
        """Rise to a crest and fall again, within the gap from `first` to `last`."""
        left_up, left_down, up_right, down_right = tuple(self.signs.corners)
        rise, fall = (first + 1, last - 1) if last - first >= 4 else (first, last)
        self._across(self.near, self.start, rise)
        self.cells[rise, self.near] = left_up
        self._up(rise, self.near, top)
        self.cells[rise, top] = down_right
        self._across(top, rise + 1, fall)
        self.cells[fall, top] = left_down
        self._up(fall, self.far, top)
        self.cells[fall, self.far] = up_right
        self._across(self.far, fall + 1, self.end + 1)
        self.middle = ((rise + fall) // 2, top)

    def _across(self, line: int, begin: int, stop: int) -> None:
        self.cells.update({(x, line): self.signs.pipe for x in range(begin, stop)})

    def _up(self, x: int, one: int, other: int) -> None:
        self.cells.update(
            {(x, line): self.signs.pipe_up for line in range(min(one, other) + 1, max(one, other))}
        )
