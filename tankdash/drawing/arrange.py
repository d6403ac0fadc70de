"""Where each tank stands across the picture: as many as fit, as broad as they are, the rest a scroll away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tankdash.drawing.scene import SceneTank

LEAST_BODY = 7
"""Cells of the narrowest tank, walls included."""

LEAST_GAP = 3
_MOST_GAP = 9
_BROADEST = 1.7
"""A tank may be drawn this much broader than true to its height, to use the room."""


@dataclass(frozen=True)
class Place:
    """A tank's place across the picture, [cells]."""

    tank: SceneTank
    x: int
    """Its left wall."""
    width: int
    """From wall to wall, both included."""
    slot_x: int
    slot_width: int
    """Room for the words under it."""

    @property
    def end(self) -> int:
        """Return the column of its right wall."""
        return self.x + self.width - 1


@dataclass(frozen=True)
class Arrangement:
    """The tanks in view."""

    places: tuple[Place, ...]
    before: int
    """Tanks out of view to the left."""
    after: int
    """Tanks out of view to the right."""


def arrange(
    tanks: Sequence[SceneTank],
    left: int,
    width: int,
    cells_per_metre: float,
    words: Sequence[int],
    first: int,
    mark: int,
) -> Arrangement:
    """Return where the tanks stand in `width` cells from `left` on.

    Parameters
    ----------
    tanks : sequence of SceneTank
        All of them.
    left, width : int
        Room for tanks, [cells].
    cells_per_metre : float
        Columns that a metre takes when drawn true to the height scale.
    words : sequence of int
        Room each tank needs for its words, [cells].
    first : int
        First tank to show; moved back where that leaves room at the right.
    mark : int
        Cells kept free at the right when tanks are out of view, for the mark that says so.
    """
    slots = [max(LEAST_BODY + LEAST_GAP, need + 1) for need in words]
    room = width
    if sum(slots) > width:
        room = width - mark
    count = len(tanks)
    last = count
    while last > 1 and sum(slots[last - 1 :]) <= room:
        last -= 1
    # `last` is now one before the earliest tank from which all the rest fit.
    furthest = 0 if sum(slots) <= room else min(last, count - 1)
    first = max(0, min(first, furthest))
    end = first + 1
    while end < count and sum(slots[first : end + 1]) <= room:
        end += 1
    shown = list(tanks[first:end])
    return Arrangement(
        _spread(shown, left, room, cells_per_metre, slots[first:end]), before=first, after=count - end
    )


def _spread(
    tanks: list[SceneTank], left: int, room: int, cells_per_metre: float, slots: list[int]
) -> tuple[Place, ...]:
    """Share the room among the tanks in view: bodies by their breadth, then the gaps."""
    count = len(tanks)
    gap = max(LEAST_GAP, min(_MOST_GAP, room // (count * 4)))
    breadths = [max(0.05, tank.outline.broadest) for tank in tanks]

    def bodies(scale: float) -> list[int]:
        return [max(LEAST_BODY, round(scale * breadth)) for breadth in breadths]

    def slots_at(scale: float) -> list[int]:
        return [max(body + gap, slot) for body, slot in zip(bodies(scale), slots, strict=True)]

    low, high = 0.0, cells_per_metre * _BROADEST
    if sum(slots_at(high)) > room:
        for _ in range(24):
            middle = 0.5 * (low + high)
            if sum(slots_at(middle)) <= room:
                low = middle
            else:
                high = middle
    else:
        low = high
    if sum(slots_at(low)) > room:
        gap = LEAST_GAP
    body, wide = bodies(low), slots_at(low)
    spare = max(0, room - sum(wide))
    more = min(spare // count, max(0, 24 - max(wide)))
    x = left + (spare - more * count) // 2
    places = []
    for tank, width, slot in zip(tanks, body, wide, strict=True):
        slot += more
        width = min(width, slot - LEAST_GAP)
        places.append(Place(tank, x + (slot - width) // 2, width, x, slot - 1))
        x += slot
    return tuple(places)
