"""The pipe that takes the first dirty water of each rain: how much it should hold, and what room it has (R13).

Its room is followed through rain, dry time and emptying. Each roof has a pipe of its own; they are never pooled.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, sqrt

from tankdash.water.errors import above_zero, not_negative
from tankdash.water.model import FirstFlush
from tankdash.water.openings import round_opening

__all__ = ["FLUSH_DEPTHS", "FlushPipe", "Flushed", "Room", "dirt_left", "flush_length", "flush_room"]

FLUSH_DEPTHS: Mapping[str, float] = {
    "20 to 25 L on an average roof": 0.10e-3,
    "10 US gal per 1000 sq ft": 10 * 3.785411784e-3 / (1000 * 0.3048**2),
    "clean roof, 0.5 US gal per 100 sq ft": 0.5 * 3.785411784e-3 / (100 * 0.3048**2),
    "usual roof, 1 US gal per 100 sq ft": 1.0 * 3.785411784e-3 / (100 * 0.3048**2),
    "dirty roof, 2 US gal per 100 sq ft": 2.0 * 3.785411784e-3 / (100 * 0.3048**2),
    "longest recommended": 2.0e-3,
}
"""Depths of rain that first-flush pipes are advised to take, [m]: they differ twentyfold.

enHealth, Guidance on use of rainwater tanks (Australia, 2010), s. 5.4; Texas Manual on Rainwater Harvesting, 3rd ed.
2005, ch. 2; extension practice.
"""

FULL_SHARE = 0.05
"""A pipe with less than this share of its room left counts as full: the rain that finds it so is unflushed."""


def flush_room(bore: float, length: float) -> float:
    """Return what a first-flush pipe of a bore and length holds, [m] to [m3].

    Examples
    --------
    >>> round(flush_room(0.075, 1.8) * 1000, 2)
    7.95
    """
    return round_opening(bore) * above_zero(length, "the length of a first-flush pipe", "m")


def flush_length(area: float, depth: float, bore: float) -> float:
    """Return the length of pipe that takes the first `depth` of rain off a roof, [m2], [m], [m] to [m].

    Examples
    --------
    >>> round(flush_length(98.0, 0.001, 0.110), 2)
    10.31
    """
    return (
        not_negative(area, "the area of a roof", "m2")
        * not_negative(depth, "a depth", "m")
        / round_opening(bore)
    )


def dirt_left(flushed_depth: float) -> float:
    """Return the share of the roof's dirt still in the water after a depth was flushed away, [m].

    It halves for each millimetre: Martinson and Thomas, 12th Int. Rainwater Catchment Systems Conf., 2005.

    Examples
    --------
    >>> dirt_left(0.003)
    0.125
    """
    return float(0.5 ** (not_negative(flushed_depth, "a flushed depth", "m") * 1000.0))


@dataclass(frozen=True)
class Flushed:
    """What the pipe took of one rain."""

    low: float
    """At least, [m3]."""
    high: float
    """At most, [m3]."""


@dataclass(frozen=True)
class Room:
    """Room in a pipe by one law of emptying."""

    least: float
    """[m3]."""
    most: float
    """[m3]."""


@dataclass(frozen=True)
class FlushPipe:
    """Room in one first-flush pipe, as a range: what its emptying by itself leaves uncertain.

    Of a self-emptying pipe only the time that a full one takes is known. Whether it runs evenly, as a dripper does,
    or slower as the head falls, as a hole does (Torricelli: the root of the head falls evenly), is not: both are
    followed side by side, and the range is over both.
    """

    holds: float
    """Room when empty, [m3]."""
    even: Room
    """Room if it empties evenly, [m3]."""
    hole: Room
    """Room if it empties as through a hole, [m3]."""
    empties: float | None = None
    """Time a full pipe takes to drain by itself, [s]; None when it is emptied by hand."""

    @classmethod
    def with_room(cls, flush: FirstFlush, low: float, high: float) -> FlushPipe:
        """Return the pipe with room between `low` and `high`, 0 <= low <= high <= holds, [m3]."""
        return cls(flush.holds, Room(low, high), Room(low, high), flush.empties)

    @classmethod
    def empty(cls, flush: FirstFlush) -> FlushPipe:
        """Return the pipe with all of its room."""
        return cls.with_room(flush, flush.holds, flush.holds)

    @property
    def low(self) -> float:
        """Return the room it has at least, [m3]."""
        return min(self.even.least, self.hole.least)

    @property
    def high(self) -> float:
        """Return the room it has at most, [m3]."""
        return max(self.even.most, self.hole.most)

    @property
    def mid(self) -> float:
        """Return the middle of the range, [m3]."""
        return (self.low + self.high) / 2.0

    @property
    def is_full(self) -> bool:
        """Return whether it can do nothing for the next rain."""
        return self.high <= FULL_SHARE * self.holds

    def _with_rooms(self, even: Room, hole: Room) -> FlushPipe:
        return FlushPipe(self.holds, even, hole, self.empties)

    def emptied(self) -> FlushPipe:
        """Return the pipe after somebody emptied it."""
        return self._with_rooms(even=Room(self.holds, self.holds), hole=Room(self.holds, self.holds))

    def filled(self) -> FlushPipe:
        """Return the pipe without any room."""
        return self._with_rooms(even=Room(0.0, 0.0), hole=Room(0.0, 0.0))

    def wait(self, seconds: float) -> FlushPipe:
        """Return the pipe after a dry time, [s]; one that is emptied by hand stays as it is.

        Examples
        --------
        >>> full = FlushPipe.with_room(FirstFlush(holds=0.008, empties=6 * 3600.0), 0.0, 0.0)
        >>> half = full.wait(3 * 3600.0)
        >>> round(half.low, 6), round(half.high, 6)
        (0.004, 0.006)
        """
        if self.empties is None or seconds <= 0.0:
            return self
        part = seconds / self.empties if self.empties > 0.0 else inf
        return self._with_rooms(
            even=Room(self._even(self.even.least, part), self._even(self.even.most, part)),
            hole=Room(self._hole(self.hole.least, part), self._hole(self.hole.most, part)),
        )

    def before_rain_in(self, seconds: float) -> FlushPipe:
        """Return the room found by a rain that fell at an unknown time within the next `seconds`, [s]."""
        later = self.wait(seconds)
        return self._with_rooms(
            even=Room(self.even.least, later.even.most), hole=Room(self.hole.least, later.hole.most)
        )

    def rain(self, low: float, high: float, seconds: float = 0.0) -> tuple[FlushPipe, Flushed]:
        """Return the pipe after a rain within a period, and what it took.

        Parameters
        ----------
        low, high : float
            What runs off the roof past its first loss, 0 <= low <= high (may be infinite), [m3].
        seconds : float
            Period within which it rained, [s]. A self-emptying pipe may regain room in it before or after the rain, and
            leaks while it rains: the longer the period, the wider the range.

        Returns
        -------
        FlushPipe, Flushed
            The pipe at the end of the period; the water it kept out of the tank.
        """
        found = self.before_rain_in(seconds)
        taken = Flushed(min(low, self.low), min(high, found.most_kept(seconds)))
        early = self._with_rooms(even=_less(self.even, low, high), hole=_less(self.hole, low, high)).wait(
            seconds
        )
        late = self._with_rooms(even=_less(found.even, low, high), hole=_less(found.hole, low, high))
        after = self._with_rooms(
            even=Room(late.even.least, max(early.even.most, late.even.most)),
            hole=Room(late.hole.least, max(early.hole.most, late.hole.most)),
        )
        return after, taken

    def most_kept(self, seconds: float) -> float:
        """Return the most it can keep of a rain that lasts `seconds`: its room, and what leaks out meanwhile, [m3]."""
        if self.empties is None or seconds <= 0.0:
            return self.high
        leak = self.holds * seconds / self.empties if self.empties > 0.0 else inf
        # A hole under the full head runs twice as fast as on average.
        return max(self.even.most + leak, self.hole.most + 2.0 * leak)

    def _even(self, room: float, part: float) -> float:
        """Return the room after `part` of the emptying time, running evenly."""
        return min(self.holds, room + self.holds * part)

    def _hole(self, room: float, part: float) -> float:
        """Return the room after `part` of the emptying time, running through a hole: the root of the head falls."""
        root = sqrt(max(0.0, 1.0 - room / self.holds))
        return self.holds * (1.0 - max(0.0, root - part) ** 2)


def _less(room: Room, low: float, high: float) -> Room:
    """Return the room left once between `low` and `high` has run in."""
    return Room(max(0.0, room.least - high), max(0.0, room.most - low))
