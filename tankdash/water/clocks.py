"""Clocks that tell how much water has come, so that a rise is looked at only when it ends (R9).

One clock runs for the whole filling; each pool that feeds several others has one of its own, which counts the
water passed per unit of carrying capacity. A pool fed from one clock fills at a fixed reading of that clock,
however often its speed changes: ten thousand tanks behind one tank cost one look at each.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from heapq import heapify, heappop, heappush
from math import inf

from tankdash.water.rising import Rising

__all__ = ["Clock", "Fed", "Schedule"]

ROUNDING = 1e-12
"""A pool that lacks no more than this share of its volume is full."""


@dataclass(eq=False)
class Clock:
    """Water passed so far per unit of capacity."""

    reading: float = 0.0
    """At time `at`."""
    speed: float = 1.0
    """Gain of the reading per unit of time."""
    at: float = 0.0
    """Time of `reading`."""
    capacity: float = 0.0
    """Sum of the capacities of the ways that share this water."""
    ways: int = 0
    """How many they are."""
    due: list[tuple[float, int, int, Fed]] = field(default_factory=list)
    """Heap of rises that end: reading, order, turn of the pool, the pool."""
    fed: set[Fed] = field(default_factory=set)
    """All that take water by this clock."""
    weirs: set[Fed] = field(default_factory=set)
    """Those of them that share it out again, and must be told when its speed changes."""
    owner: Fed | None = None
    """The pool whose water it counts; None for the clock of the whole filling."""
    alarm: int = 0
    """Counts how often its next event was set; only the last one holds."""

    def reading_at(self, time: float) -> float:
        """Return the reading at a time not before `at`."""
        return self.reading + self.speed * (time - self.at)


@dataclass(eq=False)
class Fed(Rising):
    """A rising pool and the water that comes to it."""

    home: int = 0
    """One of its nodes."""
    stands: bool = False
    """Whether it stands at its top and passes its water on."""
    moved: bool = False
    """Whether any water has come to it."""
    feed: dict[Clock, float] = field(default_factory=dict)
    """Share of each clock's water that comes here, [m3] per unit of its reading."""
    read: dict[Clock, float] = field(default_factory=dict)
    """Readings of those clocks when `water` was true."""
    turn: int = 0
    """Counts how often its end was foreseen; only the last one holds."""
    seen: float = 0.0
    """When that was; a rise that would end in no time at all has ended."""
    passes_to: int | None = None
    """Node that gets all its water while it stands at its top; None while it rises."""
    weir: Clock | None = None
    """Clock of the ways that share its water while it stands at its top; None while it rises."""


class Schedule:
    """The clocks of one filling and the next rise that ends."""

    def __init__(self) -> None:
        self.time = 0.0
        self.main = Clock()
        self._agenda: list[tuple[float, int, int, Clock]] = []
        self._order = 0

    def next_full(self, until: float) -> Fed | None:
        """Move on to the next rise that ends, no later than `until`, and return the pool; None when there is none."""
        while self._agenda and self._agenda[0][0] <= until:
            time, _, alarm, clock = heappop(self._agenda)
            if alarm != clock.alarm:
                continue
            self.time = max(self.time, time)
            _, _, turn, pool = heappop(clock.due)
            self._set_alarm(clock)
            if turn != pool.turn:
                continue
            self.bring_up(pool)
            full = pool.volume_at(pool.top)
            if full - pool.water <= ROUNDING * full or self.time <= pool.seen:
                return pool
            self._foresee(pool)
        return None

    def bring_up(self, pool: Fed) -> None:
        """Add the water that has come to a pool since it was last looked at."""
        if pool.weir is None:
            for clock, share in pool.feed.items():
                now = clock.reading_at(self.time)
                pool.water += share * (now - pool.read[clock])
                pool.read[clock] = now

    def add(self, pool: Fed, feed: Mapping[Clock, float]) -> None:
        """Let shares of clocks' water run to a pool; `renew` must follow."""
        self.bring_up(pool)
        pool.moved = True
        for clock, share in feed.items():
            pool.feed[clock] = pool.feed.get(clock, 0.0) + share
            pool.read[clock] = clock.reading_at(self.time)
            clock.fed.add(pool)
            if pool.weir is not None:
                clock.weirs.add(pool)

    def take_feed(self, pool: Fed) -> dict[Clock, float]:
        """Return all that runs to a pool and let none of it run there any more."""
        self.bring_up(pool)
        feed, pool.feed, pool.read = pool.feed, {}, {}
        for clock in feed:
            clock.fed.discard(pool)
            clock.weirs.discard(pool)
        pool.turn += 1
        return feed

    def hand_over(self, old: Clock, new: Clock) -> set[Fed]:
        """Let all that takes water by one clock take it by another, and return whom; `renew` must follow."""
        told = set(old.fed)
        for pool in told:
            self.bring_up(pool)
            self.add(pool, {new: pool.feed.pop(old)})
            del pool.read[old]
        old.fed.clear()
        old.weirs.clear()
        return told

    def renew(self, pools: set[Fed]) -> None:
        """Set the speeds of weirs whose feed has changed, from the highest down; then foresee the rises of the rest."""
        queued = {pool for pool in pools if pool.weir is not None}
        waiting = [(-pool.surface, pool.home, pool) for pool in queued]
        heapify(waiting)
        while waiting:
            pool = heappop(waiting)[2]
            queued.discard(pool)
            weir = pool.weir
            if weir is None:
                continue
            weir.reading, weir.at = weir.reading_at(self.time), self.time
            weir.speed = sum(share * clock.speed for clock, share in pool.feed.items()) / weir.capacity
            self._set_alarm(weir)
            for below in weir.weirs - queued:
                queued.add(below)
                heappush(waiting, (-below.surface, below.home, below))
        for pool in pools:
            if pool.weir is None:
                self.bring_up(pool)
                self._foresee(pool)

    def _foresee(self, pool: Fed) -> None:
        """Note when a pool will be full if all clocks keep their speeds.

        It cannot be full before one of its clocks shows the reading foreseen for it. Then it is looked at again:
        a clock that has changed its speed meanwhile costs another look, none is missed.
        """
        pool.turn += 1
        pool.seen = self.time
        rate = sum(share * clock.speed for clock, share in pool.feed.items())
        if pool.top == inf or rate <= 0.0:
            return
        lasts = max(0.0, pool.volume_at(pool.top) - pool.water) / rate
        marks = [
            (clock, clock.reading_at(self.time), clock.speed * lasts)
            for clock in pool.feed
            if clock.speed > 0.0
        ]
        telling = [mark for mark in marks if mark[1] + mark[2] > mark[1]]
        for clock, reading, gain in telling or marks[:1]:
            self._order += 1
            heappush(clock.due, (reading + gain, self._order, pool.turn, pool))
            self._set_alarm(clock)

    def _set_alarm(self, clock: Clock) -> None:
        """Put the next event of a clock on the agenda."""
        clock.alarm += 1
        while clock.due and clock.due[0][2] != clock.due[0][3].turn:
            heappop(clock.due)
        if clock.due and clock.speed > 0.0:
            time = self.time + max(0.0, clock.due[0][0] - clock.reading_at(self.time)) / clock.speed
            self._order += 1
            heappush(self._agenda, (time, self._order, clock.alarm, clock))
