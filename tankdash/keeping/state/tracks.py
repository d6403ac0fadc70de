"""Three accounts of the same water side by side: the least it can be, the likely figure, and the most.

They run as one as long as nothing parts them, so a plain journal costs a third.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

from tankdash.water.model import Contents, Layout

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)
U = TypeVar("U")

SAME_WATER = 1e-9
"""Two figures closer than this are one, [m3]."""


@dataclass(frozen=True)
class Three(Generic[T_co]):
    """One thing at its low, likely and high end."""

    low: T_co
    mid: T_co
    high: T_co

    def map(self, work: Callable[[T_co], U]) -> Three[U]:
        """Return `work` done on each, once only where they are the same object or equal."""
        mid = work(self.mid)
        low = mid if self.low is self.mid or self.low == self.mid else work(self.low)
        high = mid if self.high is self.mid or self.high == self.mid else work(self.high)
        return Three(low, mid, high)

    def pair(self, other: Three[U]) -> Three[tuple[T_co, U]]:
        """Return this and `other` end by end."""
        mid = (self.mid, other.mid)
        low = mid if _same(self.low, self.mid) and _same(other.low, other.mid) else (self.low, other.low)
        high = mid if _same(self.high, self.mid) and _same(other.high, other.mid) else (self.high, other.high)
        return Three(low, mid, high)


def _same(one: object, other: object) -> bool:
    return one is other or one == other


def alike(thing: T) -> Three[T]:
    """Return the same thing at all three ends."""
    return Three(thing, thing, thing)


def ordered(contents: Three[Contents]) -> Three[Contents]:
    """Return the tracks with each tank's ends put in order around its likely figure.

    Two resting states of a siphon, or a split at a sill, can let the low track hold more in one tank than the high.
    """
    low, mid, high = contents.low, contents.mid, contents.high
    if low is mid and high is mid:
        return contents
    lower = {tank: min(low[tank], high[tank], mid[tank]) for tank in mid}
    upper = {tank: max(low[tank], high[tank], mid[tank]) for tank in mid}
    return Three(lower, mid, upper)


def spread(contents: Three[Contents], tank: str) -> float:
    """Return how far apart the ends stand in `tank`, [m3]."""
    return contents.high[tank] - contents.low[tank]


def clamped(contents: Mapping[str, float], layout: Layout) -> dict[str, float]:
    """Return `contents` for exactly the tanks of `layout`, none below zero or above its brim, [m3]."""
    return {key: min(max(contents.get(key, 0.0), 0.0), tank.capacity) for key, tank in layout.tanks.items()}
