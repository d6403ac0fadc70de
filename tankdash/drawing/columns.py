"""Days as columns: several columns a day, one, or several days a column, and the dates written under them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil
from typing import Protocol

_BROADEST = 4
"""Most columns of one day."""

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class Mark(Protocol):
    """What happened to a chore on one day."""

    @property
    def chore(self) -> str:
        """Id of the chore."""

    @property
    def kind(self) -> str:
        """done, late, missed or unflushed."""


class Day(Protocol):
    """One local day of a track; the water is that at its end. `keeping.track.TrackDay` is one."""

    @property
    def day(self) -> date:
        """Which."""

    @property
    def rain_mm(self) -> float | None:
        """Likely rain; None when no reading tells of it."""

    @property
    def rain_low_mm(self) -> float | None:
        """At least."""

    @property
    def rain_high_mm(self) -> float | None:
        """At most; None, with `rain_mm` given, for no upper bound."""

    @property
    def volume_l(self) -> float | None:
        """Water; None when only the ends are known, or nothing."""

    @property
    def low_l(self) -> float | None:
        """At least."""

    @property
    def high_l(self) -> float | None:
        """At most."""

    @property
    def usable_l(self) -> float | None:
        """What of it can reach an outlet."""

    @property
    def spilled_l(self) -> float:
        """Over lips on this day."""

    @property
    def is_dipped(self) -> bool:
        """Whether a dip was taken."""

    @property
    def is_ahead(self) -> bool:
        """Whether it is still to come."""

    @property
    def marks(self) -> Sequence[Mark]:
        """What happened to chores."""


class Track(Protocol):
    """Days in a row. `keeping.track.Track` is one."""

    @property
    def days(self) -> Sequence[Day]:
        """In order, none left out."""

    @property
    def full_l(self) -> float:
        """What the site holds when full."""


@dataclass(frozen=True)
class Stretch:
    """One day, or the days that share a column."""

    x: int
    width: int
    first: date
    last: date
    rain_low: float | None
    """Sum over the days read; None when none of them was, [mm]."""
    rain_high: float | None
    """None, with `rain_low` given, for no upper bound, [mm]."""
    is_gappy: bool
    """Whether a day of it was not read."""
    low: float | None
    """Water at the end of its last day that is known, [L]."""
    high: float | None
    volume: float | None
    usable: float | None
    is_dipped: bool
    is_ahead: bool
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Columns:
    """The plot's columns from left to right."""

    left: int
    end: int
    """Column after the last."""
    days_each: int
    """Days of one column; 1 also where a day has several columns."""
    stretches: tuple[Stretch, ...]

    def at(self, day: date | None) -> Stretch | None:
        """Return the stretch that holds `day`."""
        if day is None:
            return None
        return next((stretch for stretch in self.stretches if stretch.first <= day <= stretch.last), None)


def columns_for(days: Sequence[Day], left: int, width: int) -> Columns:
    """Return how `days` share `width` columns from `left` on; no day is left out and the last ends at the right.

    Parameters
    ----------
    days : sequence of TrackDay
        In order, at least one.
    left, width : int
        The plot, [cells].
    """
    count = len(days)
    broad = max(1, min(_BROADEST, width // count))
    each = max(1, ceil(count / width))
    left_over = width - ceil(count / each) * broad
    # Full columns are counted from the last day back, so that the newest day never shares with fewer than the rest.
    starts = list(range(count % each or each, count + 1, each))
    stretches = []
    for spot, stop in enumerate(starts):
        stretches.append(_stretch(days[max(0, stop - each) : stop], left + left_over + spot * broad, broad))
    return Columns(left, left + width, each, tuple(stretches))


def _stretch(days: Sequence[Day], x: int, width: int) -> Stretch:
    """Return several days as one: rain summed, water of the last known day, all marks."""
    read = [day for day in days if day.rain_mm is not None]
    low: float | None = None
    high: float | None = None
    if read:
        low = sum(day.rain_low_mm if day.rain_low_mm is not None else day.rain_mm or 0.0 for day in read)
        if all(day.rain_high_mm is not None for day in read):
            high = sum(day.rain_high_mm or 0.0 for day in read)
    known = next((day for day in reversed(days) if day.low_l is not None), None)
    return Stretch(
        x=x,
        width=width,
        first=days[0].day,
        last=days[-1].day,
        rain_low=low,
        rain_high=high,
        is_gappy=any(day.rain_mm is None and not day.is_ahead for day in days),
        low=None if known is None else known.low_l,
        high=None if known is None else known.high_l,
        volume=None if known is None else known.volume_l,
        usable=None if known is None else known.usable_l,
        is_dipped=any(day.is_dipped for day in days),
        is_ahead=all(day.is_ahead for day in days),
        marks=tuple(mark for day in days for mark in day.marks),
    )


def date_marks(columns: Columns) -> list[tuple[int, str]]:
    """Return what to write under which column: the month where it begins, then days of the month.

    The first column always says its month, so that no axis is without one.
    """
    found: list[tuple[int, str]] = []
    for spot, stretch in enumerate(columns.stretches):
        begins = next((day for day in _days(stretch.first, stretch.last) if day.day == 1), None)
        if begins is not None:
            name = _MONTHS[begins.month - 1]
            found.append((stretch.x, f"{name} {begins.year}" if begins.month == 1 else name))
        elif spot == 0:
            found.append((stretch.x, short_day(stretch.first)))
        elif columns.days_each == 1 and stretch.first.day in (5, 10, 15, 20, 25):
            found.append((stretch.x, str(stretch.first.day)))
    while len(found) > 1 and found[0][0] + len(found[0][1]) >= found[1][0]:
        # Of two that do not fit side by side the one stays that names a month.
        del found[1 if found[1][1].isdigit() else 0]
    return found


def _days(first: date, last: date) -> list[date]:
    return [date.fromordinal(number) for number in range(first.toordinal(), last.toordinal() + 1)]


def short_day(day: date) -> str:
    """Return a day and its month in short.

    Examples
    --------
    >>> short_day(date(2026, 6, 2))
    '2 Jun'
    """
    return f"{day.day} {_MONTHS[day.month - 1]}"
