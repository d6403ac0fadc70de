"""Days on which chores come round by the calendar: from an anchor, once a year, in season.

Months are always counted from the anchor and clamped to the end of a short month, never chained from turn to turn.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

from tankdash.keeping.when import day_after
from tankdash.site.model import Chore, Season
from tankdash.units import Span

AHEAD_SHARE = 4
"""A chore done within this part (one over it) of its interval before a calendar turn counts for that turn."""


def turn_days(anchor: date, every: Span, first: date, last: date) -> Iterator[date]:
    """Yield the days of the turns counted from `anchor`, itself the first, that lie in `first` to `last`.

    Parameters
    ----------
    anchor : date
        Day of the first turn.
    every : Span
        Months and days between turns; clock time is left out. Without either there is no turn.
    first, last : date
        Bounds, both inclusive.

    Examples
    --------
    >>> year = turn_days(date(2023, 12, 31), Span(months=2), date(2023, 12, 1), date(2024, 7, 1))
    >>> [str(day) for day in year]
    ['2023-12-31', '2024-02-29', '2024-04-30', '2024-06-30']
    """
    if every.months <= 0 and every.days <= 0:
        return
    # 31 days to the month: a guess that cannot overshoot; the loop walks the rest.
    turn = max(0, (first - anchor).days // (every.months * 31 + every.days))
    while (day := day_after(anchor, every, turn)) <= last:
        if day >= first:
            yield day
        turn += 1


def last_turn_day(anchor: date, every: Span, until: date) -> date | None:
    """Return the last turn on or before `until`; None when the first is still to come."""
    reach = until - timedelta(days=every.months * 31 + every.days)
    return max(turn_days(anchor, every, min(reach, until), until), default=None)


def yearly_day(on: tuple[int, int], year: int) -> date:
    """Return the day of `year` with that month and day; 29 February becomes the 28th in common years.

    Examples
    --------
    >>> str(yearly_day((2, 29), 2026))
    '2026-02-28'
    """
    return date(2000, *on) + relativedelta(year=year)


def yearly_days(on: tuple[int, int], first: date, last: date) -> Iterator[date]:
    """Yield the yearly days that lie in `first` to `last`, both inclusive."""
    for year in range(first.year, last.year + 1):
        day = yearly_day(on, year)
        if first <= day <= last:
            yield day


def season_edges(season: Season, first: date, last: date) -> Iterator[tuple[date, bool]]:
    """Yield the days within `first` to `last` on which a season begins (True) or is over (False)."""
    for year in range(first.year - 1, last.year + 1):
        edges = (_first_day(season, year), True), (yearly_day(season.end, year) + timedelta(days=1), False)
        for day, begins in edges:
            if first <= day <= last and season.holds(day) == begins:
                yield day, begins


def season_start(season: Season, day: date) -> date:
    """Return `day` if it is in season, else the day on which the next one begins."""
    if season.holds(day):
        return day
    # A season of 29 February alone is there once in four years, or in eight over a century's end.
    starts = (_first_day(season, year) for year in range(day.year, day.year + 9))
    return next(start for start in starts if start > day and season.holds(start))


def is_by_calendar(chore: Chore) -> bool:
    """Return whether the turns of `every` are counted from its anchor; hours are always counted from done."""
    return (
        chore.every is not None
        and chore.every.seconds == 0
        and chore.counted_from == "calendar"
        and chore.starting is not None
    )


def counts_ahead(chore: Chore, done: date, day: date) -> bool:
    """Return whether doing the chore on `done` counts for its calendar turn of the later `day`.

    Examples
    --------
    >>> drain = Chore("drain", "Drain for winter", on=(11, 1))
    >>> counts_ahead(drain, date(2026, 10, 25), date(2026, 11, 1))
    True
    >>> counts_ahead(drain, date(2026, 5, 25), date(2026, 11, 1))
    False
    """
    if chore.by == day:
        return True
    every = chore.every if is_by_calendar(chore) else None
    interval = day - day_after(day, every, -1) if every is not None else timedelta(days=365)
    return day - done <= interval / AHEAD_SHARE


def calendar_days(chore: Chore, first: date, last: date) -> list[date]:
    """Return the days in `first` to `last` on which the calendar alone brings the chore, out of season left out.

    These are its yearly day, its one day, and its turns when they are counted from the calendar.
    """
    days: set[date] = set()
    if chore.on is not None:
        days.update(yearly_days(chore.on, first, last))
    if chore.by is not None and first <= chore.by <= last:
        days.add(chore.by)
    if chore.every is not None and chore.starting is not None and is_by_calendar(chore):
        days.update(turn_days(chore.starting, chore.every, first, last))
    return sorted(day for day in days if chore.season is None or chore.season.holds(day))


def _first_day(season: Season, year: int) -> date:
    """Return the day of `year` on which the season begins; one from 29 February on has no 28th in it."""
    day = yearly_day(season.start, year)
    return day if season.holds(day) else day + timedelta(days=1)
