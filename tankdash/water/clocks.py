"""Clocks that tell how much water has come, so that a rise is looked at only when it ends (R9).

One clock runs for the whole filling; each pool that feeds several others has one of its own, which counts the
water passed per unit of carrying capacity. A pool fed from one clock fills at a fixed reading of that clock,
however often its speed changes: ten thousand tanks behind one tank cost one look at each.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from heapq import heapify, heappop, heappush
from math import inf

from tankdash.water.rising import Rising

__all__ = ["Clock", "Fed", "Schedule"]


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
    watching: set[Fed] = field(default_factory=set)
    """Those of them that must be told when its speed changes: they take water by other clocks too, or share it out."""
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
    clock: Clock | None = None
    """The clock its rise is counted on."""
    rate: float = 0.0
    """Gain per unit of that clock, [m3]."""
    read: float = 0.0
    """Reading of that clock when `water` was true."""
    turn: int = 0
    """Counts its rises; events of an earlier one are void."""
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
            while clock.due:
                _, _, turn, pool = heappop(clock.due)
                if turn == pool.turn:
                    self._set_alarm(clock)
                    return pool
        return None

    def bring_up(self, pool: Fed) -> None:
        """Add the water that has come to a pool since it was last looked at."""
        if pool.clock is not None:
            now = pool.clock.reading_at(self.time)
            pool.water += pool.rate * (now - pool.read)
            pool.read = now

    def add(self, pool: Fed, clock: Clock, share: float) -> None:
        """Let a share of a clock's water run to a pool; `renew` must follow."""
        self.bring_up(pool)
        pool.feed[clock] = pool.feed.get(clock, 0.0) + share
        clock.fed.add(pool)
        pool.moved = True

    def take_feed(self, pool: Fed) -> dict[Clock, float]:
        """Return all that runs to a pool and let none of it run there any more."""
        self.bring_up(pool)
        feed, pool.feed = pool.feed, {}
        for clock in feed:
            clock.fed.discard(pool)
            clock.watching.discard(pool)
        pool.clock, pool.rate = None, 0.0
        pool.turn += 1
        return feed

    def hand_over(self, old: Clock, new: Clock) -> set[Fed]:
        """Let all that takes water by one clock take it by another, and return whom; `renew` must follow."""
        told = set(old.fed)
        for pool in told:
            self.bring_up(pool)
            old.watching.discard(pool)
            self.add(pool, new, pool.feed.pop(old))
        old.fed.clear()
        return told

    def renew(self, pools: set[Fed]) -> None:
        """Set the rates of pools whose feed has changed, and of all that hangs on them, from the highest down."""
        waiting = [(-pool.surface, pool.home, pool) for pool in pools]
        heapify(waiting)
        queued = set(pools)
        while waiting:
            pool = heappop(waiting)[2]
            queued.discard(pool)
            self.bring_up(pool)
            pool.turn += 1
            steady = len(pool.feed) == 1 and pool.weir is None
            for clock in pool.feed:
                if steady or clock is self.main:
                    clock.watching.discard(pool)
                else:
                    clock.watching.add(pool)
            if pool.weir is None:
                self._rise(pool, steady=steady)
                continue
            weir = pool.weir
            pool.clock = None
            weir.reading, weir.at = weir.reading_at(self.time), self.time
            weir.speed = sum(share * clock.speed for clock, share in pool.feed.items()) / weir.capacity
            self._set_alarm(weir)
            for below in weir.watching - queued:
                queued.add(below)
                heappush(waiting, (-below.surface, below.home, below))

    def _rise(self, pool: Fed, *, steady: bool) -> None:
        """Count a pool's rise on its own clock, or on the main one when it takes water by several."""
        if not pool.feed:
            pool.clock, pool.rate = None, 0.0
            return
        if steady:
            [(pool.clock, pool.rate)] = pool.feed.items()
        else:
            pool.clock, pool.rate = self.main, sum(share * clock.speed for clock, share in pool.feed.items())
        pool.read = pool.clock.reading_at(self.time)
        if pool.top < inf and pool.rate > 0.0:
            room = max(0.0, pool.volume_at(pool.top) - pool.water)
            self._order += 1
            heappush(pool.clock.due, (pool.read + room / pool.rate, self._order, pool.turn, pool))
            self._set_alarm(pool.clock)

    def _set_alarm(self, clock: Clock) -> None:
        """Put the next event of a clock on the agenda."""
        clock.alarm += 1
        while clock.due and clock.due[0][2] != clock.due[0][3].turn:
            heappop(clock.due)
        if clock.due and clock.speed > 0.0:
            time = self.time + max(0.0, clock.due[0][0] - clock.reading_at(self.time)) / clock.speed
            self._order += 1
            heappush(self._agenda, (time, self._order, clock.alarm, clock))
