"""What the readings of the gauges add up to: rain events parted by dry gaps, and totals with their ranges and gaps."""

from __future__ import annotations

import calendar
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from tankdash.journal.entries import Entry
from tankdash.keeping.rain.gauges import (
    OWN_GAUGE,
    Conflict,
    Reading,
    conflicts,
    counting,
    default_period,
    journal_begins,
    readings,
)
from tankdash.keeping.when import closing_day, local, local_day, wall_days
from tankdash.site.model import RainRules

__all__ = [
    "OWN_GAUGE",
    "Conflict",
    "RainEvent",
    "RainTotal",
    "Reading",
    "booked_days",
    "conflicts",
    "counting",
    "days",
    "default_period",
    "events",
    "journal_begins",
    "months",
    "rainfall",
    "readings",
    "years",
]

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
