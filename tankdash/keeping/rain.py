"""Gauge readings and what they truly say: the depth that fell, in which period, and which of them count.

From them the rain events, parted by dry gaps, and the totals by day, month and year with their ranges.
"""

from __future__ import annotations

import calendar
from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from tankdash.journal.entries import Entry, Rain
from tankdash.keeping.when import closing_day, instant, local, local_day, wall_days
from tankdash.site.model import RainRules

OWN_GAUGE = "gauge"
"""The garden's own gauge; another one counts only in periods that this one does not cover."""

SUM_DAYS = 1.5
"""A reading over more days than this is a sum: its days are not known one by one."""


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


@dataclass(frozen=True)
class RainTotal:
    """What is known of the rain of one day, month or year."""

    first: date
    last: date
    """First and last local day, both inclusive."""
    mm: float | None
    """None when no reading tells of it: unknown, never dry."""
    low_mm: float | None
    high_mm: float | None
    """With `mm` given, None means no upper bound."""
    days_read: int
    """Days that a reading tells of."""
    wet_days: int
    """Days read that were wet, traces among them; a sum of several days counts once."""

    @property
    def days(self) -> int:
        """Return how many days it has."""
        return (self.last - self.first).days + 1

    @property
    def is_complete(self) -> bool:
        """Return whether every day of it was read."""
        return self.days_read >= self.days

    @property
    def is_open(self) -> bool:
        """Return whether it is only a lower bound."""
        return self.mm is not None and self.high_mm is None


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
        start = local(at.astimezone(zone) - timedelta(days=1), zone)
    for entry in entries:
        record = entry.record
        if isinstance(record, Rain) and record.gauge == gauge and start < record.end <= at:
            start = record.end
    return start, at


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
    gap = timedelta(hours=rules.gap_hours)
    groups: list[list[Reading]] = []
    for reading in counting(entries, zone):
        if not reading.has_rain or reading.is_trace:
            continue
        onset = reading.start if reading.is_told else reading.end
        if groups and onset - groups[-1][-1].end < gap:
            groups[-1].append(reading)
        else:
            groups.append([reading])
    return [_event(group) for group in groups]


def days(
    entries: Iterable[Entry],
    rules: RainRules,
    zone: ZoneInfo,
    start: date | None = None,
    end: date | None = None,
) -> list[RainTotal]:
    """Return the rain of each local day from `start` to `end`; a day that nobody read has no depth.

    Without `start` or `end` it reaches from the first to the last day booked. The total of several days is shared
    among them, each anything between nothing and all of it.
    """
    return _totals(entries, rules, zone, lambda day: (day, day), start, end)


def months(
    entries: Iterable[Entry],
    rules: RainRules,
    zone: ZoneInfo,
    start: date | None = None,
    end: date | None = None,
) -> list[RainTotal]:
    """Return the rain of each month, from that of `start` to that of `end`; see `days`."""
    return _totals(entries, rules, zone, _month, start, end)


def years(
    entries: Iterable[Entry],
    rules: RainRules,
    zone: ZoneInfo,
    start: date | None = None,
    end: date | None = None,
) -> list[RainTotal]:
    """Return the rain of each year, from that of `start` to that of `end`; see `days`."""
    return _totals(entries, rules, zone, _year, start, end)


def rainfall(
    entries: Sequence[Entry], rules: RainRules, zone: ZoneInfo, until: date | None = None
) -> dict[str, Any]:
    """Return events, months and years as the JSON of the `rainfall` command."""
    return {
        "booked": rules.booked,
        "events": [
            {
                "start": local(event.start, zone).isoformat(),
                "end": local(event.end, zone).isoformat(),
                "depth_mm": round(event.depth_mm, 6),
                "low_mm": round(event.low_mm, 6),
                "high_mm": _rounded(event.high_mm),
            }
            for event in events(entries, rules, zone)
        ],
        "months": [
            {"month": f"{total.first:%Y-%m}"} | _total_json(total)
            for total in months(entries, rules, zone, end=until)
        ],
        "years": [
            {"year": f"{total.first:%Y}"} | _total_json(total)
            for total in years(entries, rules, zone, end=until)
        ],
        "conflicts": [
            {
                "entries": [conflict.first, conflict.second],
                "gauge": conflict.gauge,
                "start": local(conflict.start, zone).isoformat(),
                "end": local(conflict.end, zone).isoformat(),
            }
            for conflict in conflicts(entries, zone)
        ],
    }


def booked_days(reading: Reading, rules: RainRules, zone: ZoneInfo) -> list[date]:
    """Return the local days a reading's depth is booked to: the one it opens on or the one it closes on.

    Examples
    --------
    >>> from datetime import UTC
    >>> nine = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)
    >>> reading = Reading(1, "gauge", nine - timedelta(days=1), nine, 12.0, 12.0, 12.0)
    >>> [str(day) for day in booked_days(reading, RainRules(booked="previous day"), ZoneInfo("UTC"))]
    ['2026-05-31']
    """
    if reading.day is not None:
        return [reading.day]
    count = max(1, round(wall_days(reading.start, reading.end, zone)))
    last = closing_day(reading.end, zone)
    if rules.booked == "previous day":
        last = min(last, local_day(reading.start, zone) + timedelta(days=count - 1))
    return [last - timedelta(days=back) for back in range(count - 1, -1, -1)]


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


def _event(group: list[Reading]) -> RainEvent:
    """Return the event that the readings make together."""
    return RainEvent(
        start=min(reading.start for reading in group),
        end=group[-1].end,
        low_mm=sum(reading.low_mm for reading in group),
        high_mm=_sum_open(reading.high_mm for reading in group),
        depth_mm=sum(reading.depth_mm for reading in group),
        entry_numbers=tuple(reading.number for reading in group),
        readings=tuple(group),
    )


def _sum_open(ends: Iterable[float | None]) -> float | None:
    """Return the sum of upper ends; open as soon as one is."""
    total = 0.0
    for end in ends:
        if end is None:
            return None
        total += end
    return total


def _month(day: date) -> tuple[date, date]:
    return day.replace(day=1), day.replace(day=calendar.monthrange(day.year, day.month)[1])


def _year(day: date) -> tuple[date, date]:
    return date(day.year, 1, 1), date(day.year, 12, 31)


class _Sum:
    """A total while it is being added up."""

    def __init__(self) -> None:
        self.low = self.mm = 0.0
        self.high: float | None = 0.0
        self.days: dict[date, float] = {}
        self.wet: set[date] = set()

    def add(self, reading: Reading, here: list[date], part: float, wet_mm: float) -> None:
        """Add the `part` of a reading that falls on the days `here`."""
        self.low += reading.low_mm if part >= 1.0 else 0.0
        self.mm += reading.depth_mm * part
        self.high = _sum_open((self.high, reading.high_mm))
        for day in here:
            self.days.setdefault(day, 0.0)
        if reading.end - reading.start <= timedelta(days=SUM_DAYS):
            self.days[here[-1]] += reading.depth_mm
            if self.days[here[-1]] >= wet_mm or reading.is_trace:
                self.wet.add(here[-1])
        elif part >= 1.0 and (reading.depth_mm >= wet_mm or reading.is_trace):
            self.wet.add(here[-1])


def _totals(
    entries: Iterable[Entry],
    rules: RainRules,
    zone: ZoneInfo,
    span_of: Callable[[date], tuple[date, date]],
    start: date | None,
    end: date | None,
) -> list[RainTotal]:
    """Return the totals of all spans between `start` and `end`, those without a reading as unknown."""
    sums: dict[tuple[date, date], _Sum] = {}
    for reading in counting(entries, zone):
        booked = booked_days(reading, rules, zone)
        shares: dict[tuple[date, date], list[date]] = {}
        for day in booked:
            shares.setdefault(span_of(day), []).append(day)
        for span, here in shares.items():
            sums.setdefault(span, _Sum()).add(reading, here, len(here) / len(booked), rules.wet_mm)
    if start is None:
        start = min((span[0] for span in sums), default=end)
    if end is None:
        end = max((span[1] for span in sums), default=start)
    totals: list[RainTotal] = []
    while start is not None and end is not None and start <= end:
        span = span_of(start)
        found = sums.get(span)
        if found is None:
            totals.append(RainTotal(*span, None, None, None, 0, 0))
        else:
            totals.append(RainTotal(*span, found.mm, found.low, found.high, len(found.days), len(found.wet)))
        start = span[1] + timedelta(days=1)
    return totals


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 6)


def _total_json(total: RainTotal) -> dict[str, Any]:
    """Return the figures of a total as JSON."""
    return {
        "mm": _rounded(total.mm),
        "low_mm": _rounded(total.low_mm),
        "high_mm": _rounded(total.high_mm),
        "days_read": total.days_read,
        "days": total.days,
        "wet_days": total.wet_days,
    }
