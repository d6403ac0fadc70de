"""Gauge readings and what they truly say: the depth that fell, in which period, and which of them count."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from tankdash.journal.entries import Entry, Rain
from tankdash.keeping.when import instant, local, wall_days

OWN_GAUGE = "gauge"
"""The garden's own gauge; another one counts only in periods that this one does not cover."""


@dataclass(frozen=True)
class Reading:
    """One gauge reading after its meaning is worked out: what fell between `start` and `end`."""

    number: int
    """Number of its entry."""
    gauge: str
    start: datetime
    end: datetime
    low_mm: float
    high_mm: float | None
    """None when there is no upper bound."""
    depth_mm: float
    """The middle of the range; the lower bound when the upper end is open."""
    is_trace: bool = False
    """A wet reading that adds nothing."""
    day: date | None = None
    """Local day the owner booked it to."""
    is_told: bool = False
    """Whether its period says when it rained, instead of only since when the gauge was not read."""
    share: float = 1.0
    """Part of its period that no reading before it in rank covers; the depths above are those of this part."""

    @property
    def has_rain(self) -> bool:
        """Return whether any depth may have fallen."""
        return self.high_mm is None or self.high_mm > 0.0


@dataclass(frozen=True)
class Conflict:
    """Two readings of one gauge whose periods overlap; the first counts, the second for the rest only."""

    first: int
    second: int
    """Numbers of the two entries."""
    gauge: str
    start: datetime
    end: datetime
    """The time both claim."""


def days_before(at: datetime, days: int, zone: ZoneInfo) -> datetime:
    """Return the same local time so many days earlier; where the calendar jumped over that day, so many times 24 hours.

    Islands that moved over the date line have days that never were.
    """
    start = local(at.astimezone(zone) - timedelta(days=days), zone)
    return start if instant(start) < instant(at) else local(instant(at) - timedelta(days=days), zone)


def default_period(
    entries: Iterable[Entry], gauge: str, at: datetime, zone: ZoneInfo | None = None
) -> tuple[datetime, datetime]:
    """Return the period of a reading taken at `at`: since the last reading of that gauge, one day at most.

    Parameters
    ----------
    entries : iterable of Entry
        The journal.
    gauge : str
        Which gauge is read.
    at : datetime
        When it is read.
    zone : ZoneInfo, optional
        Makes the day a local one, which a clock change shortens or stretches; else it has 24 hours.

    Returns
    -------
    tuple of datetime
        Start and end. Both are `at` when that gauge was already read then.
    """
    if zone is None:
        start = at - timedelta(days=1)
    else:
        start = days_before(at, 1, zone)
    for entry in entries:
        record = entry.record
        if isinstance(record, Rain) and record.gauge == gauge and start < record.end <= at:
            start = record.end
    return start, at


def journal_begins(entries: Iterable[Entry], now: datetime) -> datetime:
    """Return when the owner began to keep the journal: the first entry that was not brought in with a file.

    Rain from before it may stand in the totals, but nobody can have done a chore for it.
    """
    own = (entry for entry in entries if entry.batch is None)
    firsts = (entry.record.end if isinstance(entry.record, Rain) else entry.at for entry in own)
    return min((instant(first) for first in firsts), default=instant(now))


def readings(entries: Iterable[Entry], zone: ZoneInfo) -> list[Reading]:
    """Return every reading with the depth that fell in its period, in order of their ends, before ranking.

    A gauge that was left in shows the old depth too, so the next reading counts from it. Where it shows less than
    before, rain cannot be told from what evaporated: the fall gives a lower bound of nothing and no upper one.
    """
    by_gauge: dict[str, list[tuple[datetime, int, Rain]]] = {}
    for entry in entries:
        if isinstance(entry.record, Rain):
            by_gauge.setdefault(entry.record.gauge, []).append(
                (instant(entry.record.end), entry.number, entry.record)
            )
    known = [reading for marks in by_gauge.values() for reading in _of_one_gauge(marks, zone)]
    return sorted(known, key=lambda reading: (reading.end, reading.number))


def counting(entries: Iterable[Entry], zone: ZoneInfo) -> list[Reading]:
    """Return the readings that count, in order of their ends, each with the depth of its own part.

    The own gauge ranks first, the others in the order in which they first appear. A reading counts for the part of
    its period that no earlier-ranked one covers; cut so, it may hold all of its depth or none.
    """
    known = readings(entries, zone)
    gauges = list(dict.fromkeys(reading.gauge for reading in known))
    gauges.sort(key=lambda gauge: gauge != OWN_GAUGE)
    claimed = _Claimed()
    counted: list[Reading] = []
    for gauge in gauges:
        for reading in known:
            if reading.gauge == gauge:
                share = claimed.claim(reading.start, reading.end)
                if share > 0.0:
                    counted.append(_cut(reading, share))
    return sorted(counted, key=lambda reading: (reading.end, reading.number))


def conflicts(entries: Iterable[Entry], zone: ZoneInfo) -> list[Conflict]:
    """Return the pairs of readings of one gauge that claim the same time."""
    latest: dict[str, Reading] = {}
    clashing: list[Conflict] = []
    for reading in readings(entries, zone):
        before = latest.get(reading.gauge)
        if before is not None and (reading.start < before.end or reading.start == reading.end == before.end):
            start = max(before.start, reading.start)
            clashing.append(Conflict(before.number, reading.number, reading.gauge, start, before.end))
        latest[reading.gauge] = reading
    return clashing


class _Claimed:
    """The time that readings of higher rank already cover, as disjoint stretches in order."""

    def __init__(self) -> None:
        self._starts: list[datetime] = []
        self._ends: list[datetime] = []

    def claim(self, start: datetime, end: datetime) -> float:
        """Cover `start` to `end` too; return the share of it that was free before."""
        if start >= end:
            place = bisect_right(self._starts, end) - 1
            return 0.0 if place >= 0 and end <= self._ends[place] else 1.0
        left = bisect_right(self._ends, start)
        right = left
        covered = timedelta()
        while right < len(self._starts) and self._starts[right] < end:
            covered += min(end, self._ends[right]) - max(start, self._starts[right])
            right += 1
        joined_start = min([start, *self._starts[left:right]])
        joined_end = max([end, *self._ends[left:right]])
        self._starts[left:right] = [joined_start]
        self._ends[left:right] = [joined_end]
        return 1.0 - covered / (end - start)


def _of_one_gauge(marks: list[tuple[datetime, int, Rain]], zone: ZoneInfo) -> Iterable[Reading]:
    """Yield the readings of one gauge, each counted from the one before where that left the gauge in."""
    before: Rain | None = None
    for end, number, rain in sorted(marks, key=lambda mark: mark[:2]):
        start = min(instant(rain.start), end)
        low, high = (0.0, 0.0) if rain.trace else (rain.low_mm, rain.high_mm)
        if before is not None and before.left_in:
            low, high = _risen(before, low, high)
            start = min(start, instant(before.end))
        yield Reading(
            number=number,
            gauge=rain.gauge,
            start=start,
            end=end,
            low_mm=low,
            high_mm=high,
            depth_mm=low if high is None else (low + high) / 2.0,
            is_trace=rain.trace,
            day=rain.day,
            is_told=_tells_when(before, rain, zone),
        )
        before = rain


def _risen(before: Rain, low: float, high: float | None) -> tuple[float, float | None]:
    """Return the rain between what the gauge showed when it was left in and what it shows now."""
    shown_low, shown_high = (0.0, 0.0) if before.trace else (before.low_mm, before.high_mm)
    if high is None:
        return (0.0 if shown_high is None else max(0.0, low - shown_high)), None
    if high < shown_low:
        return 0.0, None
    return (0.0 if shown_high is None else max(0.0, low - shown_high)), high - shown_low


def _tells_when(before: Rain | None, rain: Rain, zone: ZoneInfo) -> bool:
    """Return whether the period was given for its own sake, and is not just the time since the last reading."""
    if rain.day is not None or (before is not None and instant(rain.start) == instant(before.end)):
        return False
    has_whole_days = (instant(rain.end) - instant(rain.start)) % timedelta(days=1) == timedelta()
    return not has_whole_days and wall_days(rain.start, rain.end, zone) % 1.0 != 0.0


def _cut(reading: Reading, share: float) -> Reading:
    """Return the reading with the depth of the part that counts: between none and all of it, if it is cut."""
    if share >= 1.0:
        return reading
    return replace(reading, share=share, low_mm=0.0, depth_mm=reading.depth_mm * share)


def sum_open(ends: Iterable[float | None]) -> float | None:
    """Return the sum of upper ends; open as soon as one is."""
    total = 0.0
    for end in ends:
        if end is None:
            return None
        total += end
    return total
