"""Rain turned into water on its way: what each roof brings in any slice of a gauge reading (R13, R14).

The first loss is taken once an event, the first-flush pipe takes what room each reading found in it; both come
first, so a slice brings the difference between what had come by its end and by its start.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from tankdash.keeping.rain.flush import Fallen, runoff
from tankdash.keeping.state.tracks import Three, alike
from tankdash.keeping.when import instant
from tankdash.water.first_flush import FlushPipe
from tankdash.water.model import Layout, Roof

OPEN_END_MM = 10_000.0
"""Depth put for the open end of a reading such as `>5.5 in`: more than the tanks of any garden can hold."""

NOTHING: Three[float] = alike(0.0)
"""No water and no doubt about it."""


@dataclass(frozen=True)
class Fall:
    """One gauge reading as rain in its period, what an emptied or left-in gauge means already worked out."""

    start: datetime
    end: datetime
    """In UTC; equal to `start` for rain noted without a period."""
    depth_mm: Three[float]
    """Of this reading alone; the high end is `OPEN_END_MM` when the gauge only gave a lower bound."""
    event: int
    """Which rain event it is part of, counted from the first."""
    entry: int
    """Number of the journal entry."""
    rooms: Mapping[str, Three[float]] = field(default_factory=dict)
    """Room that it found in each roof's first-flush pipe, [m3]; absent where there is none."""

    @property
    def is_open(self) -> bool:
        """Return whether the gauge only gave a lower bound."""
        return self.depth_mm.high >= OPEN_END_MM

    def share_until(self, moment: datetime) -> float:
        """Return the share of the reading that had fallen by `moment`, spread evenly over its period (R14)."""
        if moment >= self.end:
            return 1.0
        if moment <= self.start:
            return 0.0
        return (moment - self.start) / (self.end - self.start)


@dataclass(frozen=True)
class Brought:
    """What one slice of rain brought."""

    caught: dict[str, Three[float]]
    """Into each tank that a roof fills, [m3]."""
    flushed: dict[str, float]
    """Kept back by first-flush pipes, by the tank they stand before, [m3]."""
    by_roof: dict[str, float]
    """Likely catch of each roof, [m3]."""


@dataclass
class FallSoFar:
    """A reading while its rain comes down."""

    fall: Fall
    share: float = 0.0
    """Share that has fallen."""
    ran: dict[str, Three[float]] = field(default_factory=dict)
    """What has run off each roof in this reading, [m3]."""

    def slice(self, layout: Layout, fallen: Three[float], share: float) -> tuple[Brought, Three[float]]:
        """Return what comes until `share` of the reading is down, and the depth of the event by then.

        Parameters
        ----------
        layout : Layout
            Its roofs are those that deliver; plugged and bypassed ones are not in it.
        fallen : Three of float
            Depth of the event so far, [mm].
        share : float
            Share of the reading that is down at the end of the slice, not less than before.
        """
        depth, part = self.fall.depth_mm, share - self.share
        after = added(fallen, Three(depth.low * part, depth.mid * part, depth.high * part))
        self.share = share
        caught: dict[str, Three[float]] = {}
        flushed: dict[str, float] = {}
        by_roof: dict[str, float] = {}
        for roof in layout.roofs.values():
            before = self.ran.get(roof.id, NOTHING)
            now = self.ran[roof.id] = added(before, _runs(roof, fallen, after))
            room = self.fall.rooms.get(roof.id, NOTHING)
            # The least water comes of the least rain and the emptiest pipe.
            low = max(0.0, now.low - room.high) - max(0.0, before.low - room.high)
            mid = max(0.0, now.mid - room.mid) - max(0.0, before.mid - room.mid)
            high = max(0.0, now.high - room.low) - max(0.0, before.high - room.low)
            came = Three(min(low, mid), mid, max(mid, high))
            caught[roof.fills] = added(caught.get(roof.fills, NOTHING), came)
            flushed[roof.fills] = flushed.get(roof.fills, 0.0) + (now.mid - before.mid - mid)
            by_roof[roof.id] = mid
        return Brought(caught, flushed, by_roof), after


def added(one: Three[float], other: Three[float]) -> Three[float]:
    """Return the sum, end by end."""
    return Three(one.low + other.low, one.mid + other.mid, one.high + other.high)


def _runs(roof: Roof, before: Three[float], after: Three[float]) -> Three[float]:
    """Return what runs off while the event grows from `before` to `after`, [mm] to [m3]."""
    low, mid, high = (
        runoff(roof, end) - runoff(roof, start)
        for start, end in ((before.low, after.low), (before.mid, after.mid), (before.high, after.high))
    )
    return Three(low, mid, high)


def falls_of(fallen: Fallen) -> list[Fall]:
    """Return every reading that brought rain, with the room it found in the first-flush pipes."""
    pipes = fallen.pipes
    falls: list[Fall] = []
    for place, event in enumerate(fallen.rains):
        for reading in event.readings:
            start, end = instant(reading.start), instant(reading.end)
            high = OPEN_END_MM if reading.high_mm is None else reading.high_mm
            rooms = {
                roof: _room(pipe.before[reading.number], (end - start).total_seconds())
                for roof, pipe in pipes.items()
                if reading.number in pipe.before
            }
            depth = Three(reading.low_mm, reading.depth_mm, high)
            falls.append(Fall(start, end, depth, place, reading.number, rooms))
    return falls


def _room(found: FlushPipe, seconds: float) -> Three[float]:
    """Return what a pipe can keep of a rain in a period of `seconds`, its leak while it rains included, [m3]."""
    most = found.most_kept(seconds)
    return Three(found.low, (found.low + most) / 2.0, most)
