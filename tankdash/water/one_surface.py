"""One surface through several tanks: volume from level, and level from volume (R1, R16, R17)."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from itertools import pairwise
from math import isfinite
from typing import NamedTuple

from tankdash.water.errors import OutOfRange, named
from tankdash.water.model import Layout, Tank
from tankdash.water.rising import height_that_holds

__all__ = ["Band", "OneSurface", "level_of"]


class Band(NamedTuple):
    """Heights between which the answer lies; both the same where it is one."""

    low: float
    """Above the datum, [m]."""
    high: float
    """Above the datum, [m]."""


class OneSurface:
    """Tanks that stand at one surface, read once so that every later question is answered at sight.

    Between the heights where a floor or a brim comes in, straight walls fill in proportion; other shapes are
    searched between two such heights. Links and lips are left out: this is what a stick table says.

    Examples
    --------
    Three barrels whose tops are in line and whose floors are not:

    >>> from tankdash.water.shapes import Straight
    >>> row = OneSurface([
    ...     Tank("a", Straight(0.26, 0.9), base=0.2, brim=0.9),
    ...     Tank("b", Straight(0.28, 0.6), base=0.5, brim=0.6),
    ...     Tank("c", Straight(0.24, 1.1), base=0.0, brim=1.1),
    ... ])
    >>> round(row.volume(0.4), 3), round(row.volume(1.1), 3), round(row.height(0.3), 3)
    (0.148, 0.666, 0.631)
    """

    def __init__(self, tanks: Iterable[Tank]) -> None:
        """Read the tanks; OutOfRange when there is none."""
        self.tanks = tuple(tanks)
        if not self.tanks:
            raise OutOfRange("a surface needs at least one tank to stand in")
        starts = {tank.base + tank.silt for tank in self.tanks}
        self._marks = sorted(starts | {tank.base + tank.brim for tank in self.tanks})
        self._volumes, self._slopes = self._sweep()

    def _sweep(self) -> tuple[list[float], list[float | None]]:
        """Return the volume at each mark, [m3], and the height one cubic metre takes from there on, [1/m2].

        Going up, a straight tank adds its plan area at its floor and takes it away at its brim; the others are
        asked at each mark, and the slope is None while any of them fills.
        """
        changes: dict[float, float] = dict.fromkeys(self._marks, 0.0)
        shaped: list[Tank] = []
        for tank in self.tanks:
            area = tank.shape.plan_area
            if area is None:
                shaped.append(tank)
            else:
                changes[tank.base + tank.silt] += area
                changes[tank.base + tank.brim] -= area
        area, straight = 0.0, 0.0
        volumes, slopes = [sum(tank.volume_at(self._marks[0]) for tank in shaped)], []
        for low, high in pairwise(self._marks):
            area += changes[low]
            straight += area * (high - low)
            there = straight + sum(tank.volume_at(high) for tank in shaped)
            gain = there - volumes[-1]
            flat = gain <= 1e-13 * there
            bends = any(tank.base + tank.silt < high and tank.base + tank.brim > low for tank in shaped)
            slopes.append(0.0 if flat else None if bends else (high - low) / gain)
            volumes.append(volumes[-1] if flat else there)
        return volumes, slopes

    @property
    def capacity(self) -> float:
        """What all of them hold at their brims, [m3]."""
        return self._volumes[-1]

    def volume(self, height: float) -> float:
        """Return what stands below `height` above the datum, each tank clamped to its floor and its brim, [m3]."""
        return sum(tank.volume_at(height) for tank in self.tanks)

    def height(self, volume: float) -> float:
        """Return the lowest height above the datum that holds `volume`, 0 to the capacity, [m]; else OutOfRange."""
        volumes = self._volumes
        if not 0.0 <= volume <= volumes[-1]:
            volume = self._inside(volume)
        place = bisect_left(volumes, volume)
        if place == 0:
            return self._marks[0]
        slope = self._slopes[place - 1]
        if slope is not None:
            return self._marks[place - 1] + (volume - volumes[place - 1]) * slope
        return height_that_holds(self.tanks, volume, self._marks[place - 1], self._marks[place])

    def band(self, volume: float) -> Band:
        """Return the lowest and the highest height above the datum, [m], that hold a volume, [m3] (R16).

        They differ on a plateau: the lower tanks are full to their brims and the upper ones not yet begun. Nothing
        stands at the lowest floor, and everything at the highest brim.
        """
        low = self.height(volume)
        volume = self._inside(volume)
        place = bisect_right(self._volumes, volume)
        if volume <= 0.0 or place == len(self._volumes):
            return Band(low, low)
        if self._volumes[place - 1] == volume:
            return Band(low, max(low, self._marks[place - 1]))
        if self._slopes[place - 1] is not None or self.volume(low + 1e-6) > volume:
            return Band(low, low)
        under, over = low, self._marks[place]
        while under < (middle := 0.5 * (under + over)) < over:
            under, over = (under, middle) if self.volume(middle) > volume else (middle, over)
        return Band(low, under)

    def _inside(self, volume: float) -> float:
        """Return a volume moved onto 0 or the capacity where only rounding is outside; else refuse it."""
        hair = 1e-9 * self.capacity
        if not isfinite(volume) or volume < -hair or volume > self.capacity + hair:
            raise OutOfRange(f"these tanks hold 0 to {self.capacity:g} m3 together, not {volume:g}")
        return min(max(0.0, volume), self.capacity)


def level_of(layout: Layout, tank_ids: Iterable[str], volume: float) -> Band:
    """Return the height at which one surface through some tanks holds a volume (R16).

    Parameters
    ----------
    layout : Layout
        What stands there.
    tank_ids : iterable of str
        The tanks that share the surface.
    volume : float
        What they hold together, 0 <= volume <= sum of capacities, [m3].

    Returns
    -------
    Band
        Heights above the datum, [m]; a plateau between tiers gives two.

    Raises
    ------
    OutOfRange
        If there is no such tank, or the volume lies outside what they hold.
    """
    return OneSurface(named(name, layout.tanks, "tank") for name in tank_ids).band(volume)
