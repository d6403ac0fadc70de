"""Totals of the rain by day, month and year, with their ranges, and days that nobody read as gaps."""

from __future__ import annotations

import calendar
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from tankdash.journal.entries import Entry
from tankdash.keeping.rain.events import SUM_DAYS
from tankdash.keeping.rain.gauges import Reading, counting, sum_open
from tankdash.keeping.when import closing_day, local_day, wall_days
from tankdash.site.model import RainRules

Per = Literal["day", "month", "year"]

BOOKED_WITHIN = timedelta(days=2)
"""A reading is booked to days of its period or to the one before, by any zone's clock."""


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


def totals(
    per: Per,
    entries: Iterable[Entry],
    rules: RainRules,
    zone: ZoneInfo,
    start: date | None = None,
    end: date | None = None,
) -> list[RainTotal]:
    """Return the rain of each local day, month or year; one that nobody read has no depth.

    Parameters
    ----------
    per : {"day", "month", "year"}
        What is totalled.
    entries : iterable of Entry
        The journal, void entries left out.
    rules : RainRules
        The depth that makes a wet day, and the day a reading is booked to.
    zone : ZoneInfo
        The garden's zone.
    start, end : date, optional
        From the day, month or year of `start` to that of `end`; left out, the first and the last day booked.

    Returns
    -------
    list of RainTotal
        All spans in order, those without a reading as unknown. The total of several days is shared among them, each
        anything between nothing and all of it.
    """
    return totals_of(per, counting(entries, zone), rules, zone, start, end)


def totals_of(
    per: Per,
    readings: Iterable[Reading],
    rules: RainRules,
    zone: ZoneInfo,
    start: date | None = None,
    end: date | None = None,
) -> list[RainTotal]:
    """Return the rain of the readings that count by local day, month or year; see `totals`."""
    sums: dict[tuple[date, date], _Sum] = {}
    if start is not None and end is not None:
        first, last = _span(per, start)[0] - BOOKED_WITHIN, _span(per, end)[1] + BOOKED_WITHIN
        readings = [known for known in readings if _first_day(known) <= last and _last_day(known) >= first]
    for reading in readings:
        booked = booked_days(reading, rules, zone)
        shares: dict[tuple[date, date], list[date]] = {}
        for day in booked:
            shares.setdefault(_span(per, day), []).append(day)
        for span, here in shares.items():
            sums.setdefault(span, _Sum()).add(reading, here, len(here) / len(booked), rules.wet_mm)
    if start is None:
        start = min((span[0] for span in sums), default=end)
    if end is None:
        end = max((span[1] for span in sums), default=start)
    found: list[RainTotal] = []
    while start is not None and end is not None and start <= end:
        span = _span(per, start)
        total = sums.get(span)
        if total is None:
            found.append(RainTotal(*span, None, None, None, 0, 0))
        else:
            found.append(RainTotal(*span, total.mm, total.low, total.high, len(total.days), len(total.wet)))
        start = span[1] + timedelta(days=1)
    return found


def booked_days(reading: Reading, rules: RainRules, zone: ZoneInfo) -> list[date]:
    """Return the local days a reading's depth is booked to: the one it opens on or the one it closes on.

    Examples
    --------
    >>> from datetime import UTC, datetime
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


def _first_day(reading: Reading) -> date:
    return reading.start.date() if reading.day is None else min(reading.day, reading.start.date())


def _last_day(reading: Reading) -> date:
    return reading.end.date() if reading.day is None else max(reading.day, reading.end.date())


def _span(per: Per, day: date) -> tuple[date, date]:
    """Return the first and the last day of what is totalled that `day` lies in."""
    if per == "day":
        return day, day
    if per == "month":
        return day.replace(day=1), day.replace(day=calendar.monthrange(day.year, day.month)[1])
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
        self.high = sum_open((self.high, reading.high_mm))
        for day in here:
            self.days.setdefault(day, 0.0)
        if reading.end - reading.start <= timedelta(days=SUM_DAYS):
            self.days[here[-1]] += reading.depth_mm
            if self.days[here[-1]] >= wet_mm or reading.is_trace:
                self.wet.add(here[-1])
        elif part >= 1.0 and (reading.depth_mm >= wet_mm or reading.is_trace):
            self.wet.add(here[-1])
