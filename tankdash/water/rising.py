"""A pool that rises: what it holds against its level, and the ways out of it from the lowest up (R9)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import Enum
from heapq import heapify, heappush
from math import inf
from typing import TypeVar

from tankdash.water.model import Link, Tank

__all__ = ["Lip", "Overflow", "Rising", "SillWay", "height_that_holds"]


class Overflow(Enum):
    """An overflow that leads back to where its own water comes from (R6): a way down, met again from below."""

    DOWN = "down"
    """From the tank that overflows to the one below."""
    BACK = "back"
    """From the one below, once it stands as high as the one that overflows into it."""


SillWay = tuple[float, int, int, Link | Overflow]
"""Height of the sill above the datum [m], a number that keeps the order, the node beyond it, what leads there."""

Lip = tuple[float, int, int]
"""Height of the lip above the datum [m], the tank node it belongs to, the node its water falls into."""

Way = TypeVar("Way", SillWay, Lip)


def height_that_holds(tanks: Iterable[Tank], volume: float, low: float, high: float) -> float:
    """Return the height at which one surface through several tanks holds a volume (R1, R17).

    Parameters
    ----------
    tanks : iterable of Tank
        The tanks it stands in.
    volume : float
        Sum of what they hold, [m3].
    low, high : float
        Heights above the datum that hold less and more than `volume`, [m].

    Returns
    -------
    float
        Above the datum, to the rounding of the volumes, [m]. Found by false position with the stale end halved
        (Illinois), each step kept inside the bracket; a plateau gives some height on it.
    """
    members = list(tanks)
    under = sum(tank.volume_at(low) for tank in members) - volume
    over = sum(tank.volume_at(high) for tank in members) - volume
    if under >= 0.0:
        return low
    if over <= 0.0:
        return high
    stale = 0
    for _ in range(200):
        middle = high - over * (high - low) / (over - under)
        if not low < middle < high:
            middle = 0.5 * (low + high)
        if not low < middle < high:
            break
        miss = sum(tank.volume_at(middle) for tank in members) - volume
        if abs(miss) <= 1e-15 * max(1e-3, volume):
            return middle
        if miss > 0.0:
            high, over = middle, miss
            under, stale = (0.5 * under, 1) if stale == 1 else (under, 1)
        else:
            low, under = middle, miss
            over, stale = (0.5 * over, -1) if stale == -1 else (over, -1)
    return 0.5 * (low + high)


@dataclass(eq=False)
class Rising:
    """Tanks that hold one surface while they fill.

    Straight walls are kept as two sums, volume = area x height - offset, so that a pool of thousands costs no more
    than one tank; other shapes are added up one by one.
    """

    nodes: list[int]
    """Tank nodes; none for the meeting place of a header, one behind all others for water that has gone away."""
    surface: float
    """Where this rise began, or where the pool stands while it passes its water on, above the datum, [m]."""
    water: float = 0.0
    """What it holds, [m3]."""
    area: float = 0.0
    """Sum of straight walls' plan areas, [m2]."""
    offset: float = 0.0
    """Sum of plan area times height of the floor, [m3]."""
    shaped: list[Tank] = field(default_factory=list)
    """Tanks whose water surface changes with depth."""
    sills: list[SillWay] = field(default_factory=list)
    """Heap of links not yet under water."""
    lips: list[Lip] = field(default_factory=list)
    """Heap of lips not yet reached."""
    top: float = inf
    """Where this rise ends, above the datum, [m]."""

    def add_tank(self, node: int, tank: Tank) -> None:
        """Put a tank into the pool."""
        self.nodes.append(node)
        area = tank.shape.plan_area
        if area is None:
            self.shaped.append(tank)
        else:
            self.area += area
            self.offset += area * (tank.base + tank.silt)

    def volume_at(self, height: float) -> float:
        """Return what the pool holds when it stands at `height` above the datum, [m3]."""
        return self.area * height - self.offset + sum(tank.volume_at(height) for tank in self.shaped)

    def take_in(self, other: Rising) -> None:
        """Merge another pool that stands at the same height into this one (R9)."""
        self.water += other.water
        self.area += other.area
        self.offset += other.offset
        self.nodes += other.nodes
        self.shaped += other.shaped
        self.sills = _joined_heap(self.sills, other.sills)
        self.lips = _joined_heap(self.lips, other.lips)


def _joined_heap(one: list[Way], other: list[Way]) -> list[Way]:
    """Return one heap of two, moving the smaller into the larger."""
    large, small = (one, other) if len(one) >= len(other) else (other, one)
    if len(small) * 4 > len(large):
        large += small
        heapify(large)
    else:
        for way in small:
            heappush(large, way)
    return large
