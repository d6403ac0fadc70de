"""Clocks that tell how much water has come, so that a rise is looked at only when it ends (R9).

One clock runs for the whole filling; each pool that feeds several others has one of its own, which counts the
water passed per unit of carrying capacity. A pool fed from one clock fills at a fixed reading of that clock,
however often its speed changes: ten thousand tanks behind one tank cost one look at each. A pool fed from many
clocks is told instead whenever one of them changes its speed, and keeps their sum: ten thousand tanks that all
run into one cost one look at each of them, not one at all of them whenever that one is looked at.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from heapq import heapify, heappop, heappush
from math import inf

from tankdash.water.rising import Rising

__all__ = ["Clock", "Fed", "Intake", "Schedule"]

ROUNDING = 1e-12
"""A pool that lacks no more than this share of its volume is full."""

FEW = 8
"""Up to so many clocks are read one by one; of more a pool keeps the sum of what they bring."""


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
    fed: set[Intake] = field(default_factory=set)
    """All that take water by this clock."""
    told: set[Intake] = field(default_factory=set)
    """Those of them that must be told when its speed changes: they share it out again, or keep a sum."""
    owner: Fed | None = None
    """The pool whose water it counts; None for the clock of the whole filling."""
    alarm: int = 0
    """Counts how often its next event was set; only the last one holds."""

    def reading_at(self, time: float) -> float:
        """Return the reading at a time not before `at`, [m3] per unit of capacity."""
        return self.reading + self.speed * (time - self.at)


@dataclass(eq=False)
class Intake:
    """All the water that runs to one pool; handed on in one piece when that pool passes it on or merges."""

    pool: Fed
    """Where it runs to."""
    shares: dict[Clock, float] = field(default_factory=dict)
    """Share of each clock's water that comes here, [m3] per unit of its reading."""
    read: dict[Clock, float] = field(default_factory=dict)
    """Readings of those clocks at time `at`, while they are few."""
    at: float = 0.0
    """When the pool's `water` was true."""
    keeps_sum: bool = False
    """Whether the clocks have become too many to be read one by one."""
    sum: float = 0.0
    """What all of them bring per unit of time, kept from then on, [m3]."""

    @property
    def rate(self) -> float:
        """What comes here per unit of time at the present speeds, [m3]."""
        return max(0.0, self.sum) if self.keeps_sum else self.sum_of_shares()

    def sum_of_shares(self) -> float:
        """Return the same, added up anew, [m3] per unit of time."""
        return sum(share * clock.speed for clock, share in self.shares.items())


@dataclass(eq=False)
class Fed(Rising):
    """A rising pool and the water that comes to it."""

    home: int = 0
    """One of its nodes."""
    stands: bool = False
    """Whether it stands at its top and passes its water on."""
    moved: bool = False
    """Whether any water has come to it."""
    intake: Intake = field(init=False)
    """What comes to it."""
    turn: int = 0
    """Counts how often its end was foreseen; only the last one holds."""
    seen: float = 0.0
    """When that was; a rise that would end in no time at all has ended."""
    passes_to: int | None = None
    """Node that gets all its water while it stands at its top; None while it rises."""
    weir: Clock | None = None
    """Clock of the ways that share its water while it stands at its top; None while it rises."""

    def __post_init__(self) -> None:
        self.intake = Intake(self)


class Schedule:
    """The clocks of one filling and the next rise that ends."""

    def __init__(self) -> None:
        self.time = 0.0
        self.main = Clock()
        self._agenda: list[tuple[float, int, int, Clock]] = []
        self._order = 0

    def next_full(self, until: float) -> Fed | None:
        """Move on to the next rise that ends and return the pool; None when there is none.

        Parameters
        ----------
        until : float
            The latest time looked at, in the unit the inflows are given in, [-].
        """
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
        intake = pool.intake
        if intake.at == self.time or pool.weir is not None:
            return
        if intake.keeps_sum:
            pool.water += intake.rate * (self.time - intake.at)
        else:
            for clock, share in intake.shares.items():
                now = clock.reading_at(self.time)
                pool.water += share * (now - intake.read[clock])
                intake.read[clock] = now
        intake.at = self.time

    def let_in(self, pool: Fed, clock: Clock, share: float) -> None:
        """Let a share of a clock's water, [m3] per unit of its reading, run to a pool; `renew` must follow."""
        self.bring_up(pool)
        pool.moved = True
        self._enter(pool.intake, clock, share)

    def shut(self, pool: Fed, clock: Clock) -> None:
        """Let none of a clock's water run to a pool any more; `renew` must follow."""
        self.bring_up(pool)
        intake = pool.intake
        share = intake.shares.pop(clock, 0.0)
        intake.read.pop(clock, None)
        clock.fed.discard(intake)
        clock.told.discard(intake)
        intake.sum -= share * clock.speed
        if len(intake.shares) <= FEW:
            intake.sum = intake.sum_of_shares()

    def hand_on(self, source: Fed, target: Fed) -> list[Clock]:
        """Let all that runs to one pool run to another; `renew` must follow.

        The smaller intake goes into the larger, so that no share is moved often.

        Returns
        -------
        list of Clock
            Those that fed both: what they share out has come together.
        """
        self.bring_up(source)
        self.bring_up(target)
        source.turn += 1
        target.moved = True
        small, large = source.intake, target.intake
        if len(small.shares) > len(large.shares):
            small, large = large, small
        source.intake, target.intake = Intake(source, at=self.time), large
        large.pool = target
        self._mark(large)
        joined = []
        for clock, share in small.shares.items():
            clock.fed.discard(small)
            clock.told.discard(small)
            if clock in large.shares:
                joined.append(clock)
            self._enter(large, clock, share)
        return joined

    def hand_over(self, old: Clock, new: Clock) -> set[Fed]:
        """Let all that takes water by one clock take it by another, and return whom; `renew` must follow."""
        told = {intake.pool for intake in old.fed}
        for pool in told:
            share = pool.intake.shares[old]
            self.shut(pool, old)
            self.let_in(pool, new, share)
        return told

    def share_out(self, pool: Fed, weir: Clock) -> None:
        """Let a pool that stands share all its water out by a clock; `renew` must follow."""
        self.bring_up(pool)
        pool.turn += 1
        pool.weir, weir.owner = weir, pool
        for clock in () if pool.intake.keeps_sum else pool.intake.shares:
            clock.told.add(pool.intake)

    def rise(self, pool: Fed) -> None:
        """Let a pool keep its water from now on; `renew` must follow."""
        self.bring_up(pool)
        pool.turn += 1
        pool.passes_to, pool.weir = None, None
        self._mark(pool.intake)
        for clock in () if pool.intake.keeps_sum else pool.intake.shares:
            clock.told.discard(pool.intake)

    def _mark(self, intake: Intake) -> None:
        """Note that what has come until now is accounted for."""
        intake.at = self.time
        if not intake.keeps_sum:
            intake.read = {clock: clock.reading_at(self.time) for clock in intake.shares}
            if intake.pool.weir is not None:
                for clock in intake.shares:
                    clock.told.add(intake)

    def _enter(self, intake: Intake, clock: Clock, share: float) -> None:
        """Add a share of a clock's water to an intake that is up to date."""
        intake.shares[clock] = intake.shares.get(clock, 0.0) + share
        clock.fed.add(intake)
        if intake.keeps_sum or intake.pool.weir is not None:
            clock.told.add(intake)
        if intake.keeps_sum:
            intake.sum += share * clock.speed
        elif len(intake.shares) > FEW:
            intake.sum, intake.keeps_sum = intake.rate, True
            for each in intake.shares:
                each.told.add(intake)
            intake.read = {}
        else:
            intake.read[clock] = clock.reading_at(self.time)

    def renew(self, pools: set[Fed]) -> None:
        """Set the speeds of weirs whose feed has changed, from the highest down; then foresee the rises of the rest."""
        rising = {pool for pool in pools if pool.weir is None}
        queued = pools - rising
        waiting = [(-pool.surface, pool.home, pool) for pool in queued]
        heapify(waiting)
        while waiting:
            pool = heappop(waiting)[2]
            queued.discard(pool)
            weir = pool.weir
            if weir is None:
                continue
            weir.reading, weir.at = weir.reading_at(self.time), self.time
            speed = pool.intake.rate / weir.capacity
            gain, weir.speed = speed - weir.speed, speed
            self._set_alarm(weir)
            for intake in weir.told if gain != 0.0 else ():
                below = intake.pool
                if intake.keeps_sum:
                    self.bring_up(below)
                    intake.sum += intake.shares[weir] * gain
                if below.weir is None:
                    if intake.keeps_sum:
                        rising.add(below)
                elif below not in queued:
                    queued.add(below)
                    heappush(waiting, (-below.surface, below.home, below))
        for pool in rising:
            self.bring_up(pool)
            self._foresee(pool)

    def _foresee(self, pool: Fed) -> None:
        """Note when a pool will be full if all clocks keep their speeds.

        It cannot be full before one of its clocks shows the reading foreseen for it. Then it is looked at again:
        a clock that has changed its speed meanwhile costs another look, none is missed. A pool that keeps the sum
        is told of every change, so the clock of the whole filling is enough for it.
        """
        pool.turn += 1
        pool.seen = self.time
        rate = pool.intake.rate
        if pool.top == inf or rate <= 0.0:
            return
        lasts = max(0.0, pool.volume_at(pool.top) - pool.water) / rate
        marks = [
            (clock, clock.reading_at(self.time), clock.speed * lasts)
            for clock in ((self.main,) if pool.intake.keeps_sum else pool.intake.shares)
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
