"""Rain events: what the readings of the gauges add up to between two dry gaps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from tankdash.journal.entries import Entry
from tankdash.keeping.rain.gauges import Reading, counting, sum_open
from tankdash.site.model import RainRules

SUM_DAYS = 1.5
"""A reading over more days than this is a sum: its days are not known one by one."""


@dataclass(frozen=True)
class RainEvent:
    """Rain parted from the next by a dry gap."""

    start: datetime
    """From when it may have rained."""
    end: datetime
    """When the last of it was read."""
    low_mm: float
    high_mm: float | None
    depth_mm: float
    entry_numbers: tuple[int, ...]
    readings: tuple[Reading, ...] = ()
    """What it is made of, in order of their ends."""

    @property
    def is_sum(self) -> bool:
        """Return whether it is the total of several days, so that its timing is not known."""
        return any((reading.end - reading.start) > timedelta(days=SUM_DAYS) for reading in self.readings)


def events(entries: Iterable[Entry], rules: RainRules, zone: ZoneInfo) -> list[RainEvent]:
    """Return the rain events of the journal, in time.

    Two readings belong to one event when less than the dry gap lies between them: from the end of the first to the
    start of the second where its period tells when it rained, else to the time it was read.

    Parameters
    ----------
    entries : iterable of Entry
        The journal, void entries left out.
    rules : RainRules
        The dry gap.
    zone : ZoneInfo
        Zone of the garden.

    Returns
    -------
    list of RainEvent
        Every one that may have brought a depth, however small; traces bring none.
    """
    return events_of(counting(entries, zone), rules)


def events_of(readings: Iterable[Reading], rules: RainRules) -> list[RainEvent]:
    """Return the rain events of the readings that count, in order of their ends; see `events`."""
    gap = timedelta(hours=rules.gap_hours)
    groups: list[list[Reading]] = []
    for reading in readings:
        if not reading.has_rain or reading.is_trace:
            continue
        onset = reading.start if reading.is_told else reading.end
        if groups and onset - groups[-1][-1].end < gap:
            groups[-1].append(reading)
        else:
            groups.append([reading])
    return [_event(group) for group in groups]


def _event(group: list[Reading]) -> RainEvent:
    """Return the event that the readings make together."""
    return RainEvent(
        start=min(reading.start for reading in group),
        end=group[-1].end,
        low_mm=sum(reading.low_mm for reading in group),
        high_mm=sum_open(reading.high_mm for reading in group),
        depth_mm=sum(reading.depth_mm for reading in group),
        entry_numbers=tuple(reading.number for reading in group),
        readings=tuple(group),
    )
