"""Insides of tanks that no formula describes: a table of measured rows, a shape partly filled otherwise.

Like all shapes they are imported from `tankdash.water.shapes`.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import isfinite

from tankdash.water.errors import OutOfRange, within
from tankdash.water.model import Shape


@dataclass(frozen=True)
class Table:
    """Measured depths and volumes, with straight lines between the rows.

    Examples
    --------
    >>> bulging = Table(rows=((0.0, 0.0), (0.5, 0.4), (1.0, 1.0)))
    >>> bulging.volume(0.75), bulging.depth(0.4), bulging.area(0.2)
    (0.7, 0.5, 0.8)
    """

    rows: tuple[tuple[float, float], ...]
    """(depth [m], volume [m3]) from (0, 0); depth strictly rising, volume never falling."""

    def __init__(self, rows: Iterable[Iterable[float]]) -> None:
        kept = tuple((float(depth), float(volume)) for depth, volume in rows)
        object.__setattr__(self, "rows", kept)
        if len(kept) < 2 or kept[0] != (0.0, 0.0):
            raise OutOfRange("a table needs two rows or more, the first of them 0, 0")
        for depth, volume in kept:
            if not (isfinite(depth) and isfinite(volume)):
                raise OutOfRange("a table holds finite numbers only")
        for (lower, less), (upper, more) in pairwise(kept):
            if upper <= lower:
                raise OutOfRange(f"the depths of a table must rise: {upper:g} m stands after {lower:g} m")
            if more < less:
                raise OutOfRange(
                    f"the volumes of a table must not fall: {more:g} m3 stands after {less:g} m3"
                )
        if kept[-1][1] <= 0.0:
            raise OutOfRange("a table must end with a volume above 0")

    @property
    def height(self) -> float:
        """Depth of the last row, [m]."""
        return self.rows[-1][0]

    @property
    def plan_area(self) -> float | None:
        """Water surface if the table is one straight line, else None, [m2]."""
        return self._slopes[0] if len(self._slopes) == 1 else None

    @cached_property
    def _depths(self) -> list[float]:
        return [depth for depth, _ in self.rows]

    @cached_property
    def _volumes(self) -> list[float]:
        return [volume for _, volume in self.rows]

    @cached_property
    def _slopes(self) -> list[float]:
        return [(more - less) / (upper - lower) for (lower, less), (upper, more) in pairwise(self.rows)]

    def volume(self, depth: float) -> float:
        """Return what the shape holds up to `depth`, 0 <= depth <= height, [m3]; else OutOfRange."""
        depth = within(depth, self.height, "depth", "m")
        row = min(bisect_right(self._depths, depth), len(self.rows) - 1)
        (lower, less), (upper, more) = self.rows[row - 1], self.rows[row]
        return more if depth == upper else less + (more - less) * ((depth - lower) / (upper - lower))

    def depth(self, volume: float) -> float:
        """Return the lowest depth holding `volume`, 0 <= volume <= volume(height), [m]; else OutOfRange."""
        volume = within(volume, self._volumes[-1], "volume", "m3")
        row = bisect_left(self._volumes, volume)
        if row == 0:
            return 0.0
        (lower, less), (upper, more) = self.rows[row - 1], self.rows[row]
        return upper if volume == more else lower + (upper - lower) * ((volume - less) / (more - less))

    def area(self, depth: float) -> float:
        """Return the water surface just above `depth` (just below it at the top), [m2]; else OutOfRange."""
        depth = within(depth, self.height, "depth", "m")
        return self._slopes[min(bisect_right(self._depths, depth), len(self._slopes)) - 1]

    def without_plateaus(self, tilt: float = 1e-3) -> Table:
        """Return a table whose volume rises everywhere, each row moved by at most a share `tilt` of the whole, [-].

        Over equal rows the surface jumps with the first drop; whoever follows it through time needs a slope.

        Examples
        --------
        >>> Table(rows=((0.0, 0.0), (0.5, 0.0), (1.0, 1.0))).without_plateaus(0.25).rows
        ((0.0, 0.0), (0.5, 0.125), (1.0, 1.0))
        """
        if all(more > less for (_, less), (_, more) in pairwise(self.rows)):
            return self
        full = self.rows[-1][1]
        return Table(
            (depth, (1.0 - tilt) * volume + tilt * full * depth / self.height) for depth, volume in self.rows
        )


@dataclass(frozen=True)
class Partly:
    """A shape of which only a share is water: stones, a liner, ribs.

    Examples
    --------
    >>> from tankdash.water.shapes import Box
    >>> Partly(Box(length=2.0, width=1.0, height=1.0), share=0.95).volume(0.5)
    0.95
    """

    shape: Shape
    """The inside without what fills it."""
    share: float
    """Of every layer that is water, 0 < share <= 1."""

    def __post_init__(self) -> None:
        if not 0.0 < self.share <= 1.0:
            raise OutOfRange(f"the share that is water must be above 0 and at most 1, not {self.share:g}")

    @property
    def height(self) -> float:
        """Of the shape, [m]."""
        return self.shape.height

    @property
    def plan_area(self) -> float | None:
        """Share of the shape's own plan area, [m2]; None when that changes with depth."""
        whole = self.shape.plan_area
        return None if whole is None else self.share * whole

    def volume(self, depth: float) -> float:
        """Return what the shape holds up to `depth`, 0 <= depth <= height, [m3]; else OutOfRange."""
        return self.share * self.shape.volume(depth)

    def depth(self, volume: float) -> float:
        """Return the lowest depth holding `volume`, 0 <= volume <= volume(height), [m]; else OutOfRange."""
        return self.shape.depth(volume / self.share)

    def area(self, depth: float) -> float:
        """Return the water surface at `depth`, 0 <= depth <= height, [m2]; else OutOfRange."""
        return self.share * self.shape.area(depth)
