"""First-flush pipes through the journal: how much room each had when it rained, and which rains found it full (R13).

A `FlushPipe` of the water floor is driven step by step, in the order of time.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from tankdash.journal.entries import Change, Done, Entry
from tankdash.keeping.rain.events import RainEvent, events, events_of
from tankdash.keeping.rain.gauges import Reading, counting, journal_begins
from tankdash.keeping.when import instant, local_day
from tankdash.site.model import Site
from tankdash.water.catch import runs_off
from tankdash.water.first_flush import Flushed, FlushPipe
from tankdash.water.model import FirstFlush, Roof


@dataclass(frozen=True)
class FlushedEvent:
    """One rain event as one roof's pipe met it."""

    event: RainEvent
    before: FlushPipe
    """The room it found."""
    flushed: Flushed
    """What the pipe took of it in all, [m3]."""
    is_unflushed: bool
    """Whether it ran into the tanks over a full pipe, dirty and undiminished."""


@dataclass(frozen=True)
class RoofFlush:
    """The first-flush pipe of one roof over the whole journal."""

    roof: str
    pipe: FlushPipe
    """As it is now."""
    met: tuple[FlushedEvent, ...]
    """Every event that ran off this roof."""
    before: Mapping[int, FlushPipe]
    """The room each reading found, by the number of its entry."""
    unflushed: int
    """Events since the pipe was last emptied that found it full."""

    def room_before(self, event: RainEvent) -> FlushPipe | None:
        """Return the room that `event` found; None when it did not run off this roof."""
        return self.before.get(event.entry_numbers[0])


def runoff(roof: Roof, depth_mm: float | None) -> float:
    """Return what runs off `roof` when `depth_mm` falls in one event, before its first-flush pipe (R13), [m3].

    Examples
    --------
    >>> round(runoff(Roof("shed", area=24.0, fills="north", runoff=0.9, first_loss=0.0005), 10.0), 4)
    0.2052
    """
    if depth_mm is None:
        return math.inf
    return runs_off(roof, depth_mm / 1000.0)


def flush_states(
    site: Site, entries: Sequence[Entry], now: datetime, rains: Sequence[RainEvent] | None = None
) -> dict[str, RoofFlush]:
    """Return every first-flush pipe of the garden as the journal leaves it at `now`.

    A pipe starts empty. A chore that `empties` its roof empties it when done; so does the end of a winter, in which
    it stands open. Rain on a roof that is plugged, bypassed, laid up or not there yet does not reach its pipe, and
    rain from before the owner's first entry is left out. A reading counts at the time it was taken.

    Parameters
    ----------
    site, entries : Site, sequence of Entry
        The garden and its journal, void entries left out.
    now : datetime
        Nothing later is looked at.
    rains : sequence of RainEvent, optional
        The journal's events, where the caller has them already.
    """
    if rains is None:
        rains = events(entries, site.rain, site.zone)
    begins = journal_begins(entries, now)
    steps = _steps(entries, [event for event in rains if begins <= event.end <= instant(now)], now)
    return {
        key: _walk(site, placed.thing, placed.thing.first_flush, steps, now)
        for key, placed in site.roofs.items()
        if placed.thing.first_flush is not None
    }


@dataclass(frozen=True)
class Fallen:
    """All rain up to some moment, and what it met: worked out once for levels, chores, totals and timeline."""

    readings: tuple[Reading, ...]
    """Those that count, in order of their ends."""
    rains: tuple[RainEvent, ...]
    """Rain events, in order."""
    pipes: Mapping[str, RoofFlush]
    """First-flush pipes, by roof."""


def fallen_by(site: Site, entries: Sequence[Entry], now: datetime) -> Fallen:
    """Return the rain noted up to `now`, and what became of the first-flush pipes; see `flush_states`."""
    until = instant(now)
    known = [entry for entry in entries if entry.at <= until]
    readings = tuple(counting(known, site.zone))
    rains = events_of(readings, site.rain)
    return Fallen(readings, tuple(rains), flush_states(site, known, now, rains))


_Step = tuple[datetime, int, Done | Change | tuple[RainEvent, Reading]]


def _steps(entries: Iterable[Entry], rains: Iterable[RainEvent], now: datetime) -> list[_Step]:
    """Return in order all that can change a pipe."""
    until = instant(now)
    steps: list[_Step] = []
    for entry in entries:
        if isinstance(entry.record, Done | Change) and instant(entry.at) <= until:
            steps.append((instant(entry.at), entry.number, entry.record))
    for event in rains:
        for reading in event.readings:
            steps.append((instant(reading.end), reading.number, (event, reading)))
    steps.sort(key=lambda step: step[:2])
    return steps


class _Walk:
    """One pipe on its way through the journal."""

    def __init__(self, site: Site, roof: Roof, flush: FirstFlush) -> None:
        self.roof = roof
        self.zone = site.zone
        self.placed = site.roofs[roof.id]
        self.emptying = {key for key, chore in site.chores.items() if chore.empties == roof.id}
        self.pipe = FlushPipe.empty(flush)
        self.clock: datetime | None = None
        self.state: Literal["open", "shut"] = "open"
        self.is_winter = False
        self.met: list[FlushedEvent] = []
        self.before: dict[int, FlushPipe] = {}
        self.unflushed = 0
        self.event_end: datetime | None = None
        self.fallen = (0.0, 0.0)

    def wait_until(self, at: datetime) -> None:
        """Let the time pass."""
        if self.clock is not None and at > self.clock:
            self.pipe = self.pipe.wait((at - self.clock).total_seconds())
        if self.clock is None or at > self.clock:
            self.clock = at

    def empty(self) -> None:
        """Somebody empties the pipe."""
        self.pipe = self.pipe.emptied()
        self.unflushed = 0

    def change(self, change: Change) -> None:
        """Something is set: the roof or the whole site."""
        if change.item == "site" and change.state in ("winter", "in-use"):
            if self.is_winter and change.state == "in-use":
                self.empty()
            self.is_winter = change.state == "winter"
        elif change.item == self.roof.id:
            self.state = "shut" if change.state in ("plugged", "bypass") else "open"

    def rain(self, event: RainEvent, reading: Reading, wet_mm: float) -> None:
        """Rain runs off the roof, as far as it does."""
        before = self.fallen if self.event_end == event.end else (0.0, 0.0)
        high = math.inf if reading.high_mm is None else reading.high_mm
        self.event_end, self.fallen = event.end, (before[0] + reading.low_mm, before[1] + high)
        start = instant(reading.start)
        self.wait_until(start)
        assert self.clock is not None
        seconds = max(0.0, (instant(reading.end) - max(start, self.clock)).total_seconds())
        if (
            self.state == "shut"
            or self.is_winter
            or not self.placed.stands_on(local_day(reading.end, self.zone))
        ):
            self.wait_until(instant(reading.end))
            return
        ran_low = runoff(self.roof, self.fallen[0]) - runoff(self.roof, before[0])
        ran_high = math.inf if math.isinf(self.fallen[1]) else runoff(self.roof, self.fallen[1])
        if math.isfinite(ran_high):
            ran_high -= runoff(self.roof, before[1])
        found = self.pipe.before_rain_in(seconds)
        self.pipe, taken = self.pipe.rain(ran_low, ran_high, seconds)
        self.clock = instant(reading.end)
        self.before[reading.number] = found
        is_unflushed = found.is_full and event.depth_mm >= wet_mm and runoff(self.roof, event.depth_mm) > 0.0
        if self.met and self.met[-1].event.end == event.end:
            last = self.met.pop()
            taken = Flushed(last.flushed.low + taken.low, last.flushed.high + taken.high)
            # Only the start of an event decides: a pipe that it fills itself has done its work.
            found, is_unflushed = last.before, last.is_unflushed
        elif is_unflushed:
            self.unflushed += 1
        self.met.append(FlushedEvent(event, found, taken, is_unflushed))


def _walk(
    site: Site, roof: Roof, flush: FirstFlush | None, steps: Iterable[_Step], now: datetime
) -> RoofFlush:
    """Return the pipe of one roof after all steps."""
    assert flush is not None
    walk = _Walk(site, roof, flush)
    for at, _, what in steps:
        if isinstance(what, Done):
            if what.chore in walk.emptying:
                walk.wait_until(at)
                walk.empty()
        elif isinstance(what, Change):
            walk.wait_until(at)
            walk.change(what)
        else:
            walk.rain(*what, wet_mm=site.rain.wet_mm)
    walk.wait_until(instant(now))
    return RoofFlush(roof.id, walk.pipe, tuple(walk.met), walk.before, walk.unflushed)
