"""Clock and calendar of the garden: typed times to instants, and local days with their true length.

Instants carry a fixed offset, so that differences are real seconds; days are counted in the site's zone.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from tankdash.units import Span

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
"""Names in the order of `date.weekday`."""

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
"""Short names, January first."""

HOW_TO_SAY = "write it as 2026-05-04 07:30, today 7:30, yesterday 18:00, monday 6:10 or now"
"""What every refusal offers instead."""

_ISO_DAY = re.compile(r"(\d{4})-(\d{2})-(\d{2})")
_CLOCK = re.compile(
    r"(\d{1,2}):(\d{2})(?::(\d{2})(?:\.(\d{1,6}))?)?\s*(am|pm)?\s*(z|[+-]\d{2}:?\d{2}(?::\d{2})?)?",
    re.IGNORECASE,
)
"""Seconds in an offset are those of a clock set by the sun, as there were before there were zones."""


class TimeError(ValueError):
    """A time that cannot be used; the message is a sentence that says what to write instead."""


class DoubledTime(TimeError):
    """A local time that the clock shows twice: somebody must say which one is meant."""

    def __init__(self, message: str, first: datetime, second: datetime) -> None:
        super().__init__(message)
        self.first = first
        """The earlier of the two, summer time as a rule."""
        self.second = second
        """The later of the two."""


def instant(at: datetime) -> datetime:
    """Return `at` in UTC, where comparing and subtracting never trips over a clock change.

    Raises
    ------
    ValueError
        If `at` has no offset.
    """
    if at.tzinfo is None:
        raise ValueError("an instant needs an offset")
    return at.astimezone(UTC)


def local(at: datetime, zone: ZoneInfo) -> datetime:
    """Return `at` as the clock of the garden shows it, with a fixed offset.

    Examples
    --------
    >>> local(datetime(2026, 7, 1, 6, 0, tzinfo=UTC), ZoneInfo("Europe/Lisbon")).isoformat()
    '2026-07-01T07:00:00+01:00'
    """
    shown = at.astimezone(zone)
    offset = shown.utcoffset()
    assert offset is not None
    return shown.replace(tzinfo=timezone(offset), fold=0)


def local_day(at: datetime, zone: ZoneInfo) -> date:
    """Return the local date the clock shows at `at`."""
    return at.astimezone(zone).date()


def closing_day(at: datetime, zone: ZoneInfo) -> date:
    """Return the local day a period that ends at `at` belongs to: midnight belongs to the day it closes.

    Examples
    --------
    >>> closing_day(datetime(2026, 6, 2, 0, 0, tzinfo=UTC), ZoneInfo("UTC"))
    datetime.date(2026, 6, 1)
    """
    return local_day(instant(at) - timedelta(microseconds=1), zone)


def start_of_day(day: date, zone: ZoneInfo) -> datetime:
    """Return the first instant of the local `day`; where the clock skips midnight, the first one there is."""
    midnight = datetime.combine(day, time(), tzinfo=zone)
    from dateutil.tz import resolve_imaginary

    return local(resolve_imaginary(midnight), zone)


def end_of_day(day: date, zone: ZoneInfo) -> datetime:
    """Return the instant at which the local `day` closes, which is the first of the next."""
    return start_of_day(day + timedelta(days=1), zone)


def last_second(day: date, zone: ZoneInfo) -> datetime:
    """Return the last whole second of the local `day`: what is to be done on that day is late after it."""
    return local(instant(end_of_day(day, zone)) - timedelta(seconds=1), zone)


def day_hours(day: date, zone: ZoneInfo) -> float:
    """Return how long the local `day` lasts, [h]: 24, or 23 and 25 when the clock changes.

    Examples
    --------
    >>> day_hours(date(2026, 3, 29), ZoneInfo("Europe/Lisbon"))
    23.0
    """
    return (end_of_day(day, zone) - start_of_day(day, zone)).total_seconds() / 3600.0


def wall_days(start: datetime, end: datetime, zone: ZoneInfo) -> float:
    """Return the days between two instants by the garden's clock: noon to noon is 1 whatever it does."""
    shown_start = start.astimezone(zone).replace(tzinfo=None)
    shown_end = end.astimezone(zone).replace(tzinfo=None)
    return (shown_end - shown_start) / timedelta(days=1)


def day_after(day: date, span: Span, turns: int = 1) -> date:
    """Return `day` plus `turns` times the months and days of `span`, month ends clamped from `day` itself.

    Examples
    --------
    >>> from tankdash.units import Span
    >>> [day_after(date(2023, 12, 31), Span(months=2), turn).isoformat() for turn in (1, 2, 3)]
    ['2024-02-29', '2024-04-30', '2024-06-30']
    """
    if span.months == 0:
        return day + timedelta(days=turns * span.days)
    from dateutil.relativedelta import relativedelta

    return day + relativedelta(months=turns * span.months, days=turns * span.days)


def moment_after(at: datetime, span: Span, zone: ZoneInfo) -> datetime:
    """Return `at` plus `span`: months and days at the same time of day by the local clock, then real seconds.

    Examples
    --------
    >>> from tankdash.units import Span
    >>> night_before = datetime(2026, 3, 28, 9, 0, tzinfo=UTC)
    >>> moment_after(night_before, Span(days=1), ZoneInfo("Europe/Lisbon")).isoformat()
    '2026-03-29T09:00:00+01:00'
    >>> moment_after(night_before, Span(seconds=86400), ZoneInfo("Europe/Lisbon")).isoformat()
    '2026-03-29T10:00:00+01:00'
    """
    from dateutil.relativedelta import relativedelta
    from dateutil.tz import resolve_imaginary

    shown = at.astimezone(zone) + relativedelta(months=span.months, days=span.days)
    return local(instant(resolve_imaginary(shown)) + timedelta(seconds=span.seconds), zone)


def at_local(day: date, clock: time, zone: ZoneInfo, fold: int | None = None) -> datetime:
    """Return the instant at which the garden's clock shows `clock` on `day`.

    Parameters
    ----------
    day, clock : date, time
        What the clock on the wall shows.
    zone : ZoneInfo
        Zone of the garden.
    fold : 0 or 1, optional
        Which of the two, when the clock shows it twice.

    Raises
    ------
    TimeError
        If a clock change leaves that time out.
    DoubledTime
        If it comes twice and `fold` does not say which.
    """
    from dateutil.tz import datetime_ambiguous, datetime_exists

    shown = datetime.combine(day, clock)
    words = f"{clock:%H:%M} on {_full_day(day)}"
    if not datetime_exists(shown, zone):
        raise TimeError(f"{words} does not exist: the clock goes forward over it; give another time.")
    if datetime_ambiguous(shown, zone):
        first, second = (local(shown.replace(tzinfo=zone, fold=which), zone) for which in (0, 1))
        if fold is None:
            raise DoubledTime(
                f"{words} comes twice because the clock goes back: add --fold 0 for the first "
                f"({_offset(first)}) or --fold 1 for the second ({_offset(second)}).",
                first,
                second,
            )
        return second if fold else first
    return local(shown.replace(tzinfo=zone), zone)


def parse_time(text: str, zone: ZoneInfo, now: datetime, fold: int | None = None) -> datetime:
    """Return the instant that a typed time means in the garden.

    Parameters
    ----------
    text : str
        `now`; an ISO date, or date and time, with or without seconds and offset; `today`, `yesterday`,
        `tomorrow` or a weekday, each alone (the start of that day) or with a time; a time alone is today's.
        A weekday is the most recent one.
    zone : ZoneInfo
        Zone of the garden, used where no offset is typed.
    now : datetime
        The present, with offset.
    fold : 0 or 1, optional
        Which of the two, for a local time that comes twice.

    Returns
    -------
    datetime
        With the offset of the garden's clock at that instant.

    Raises
    ------
    TimeError
        If it is not understood in full, or a clock change leaves it out.
    DoubledTime
        If it comes twice and `fold` is None.

    Examples
    --------
    >>> lisbon, now = ZoneInfo("Europe/Lisbon"), datetime(2026, 5, 6, 8, 0, tzinfo=UTC)
    >>> parse_time("monday 6:10", lisbon, now).isoformat()
    '2026-05-04T06:10:00+01:00'
    """
    words = " ".join(text.replace("\u00a0", " ").split())
    lowered = words.lower()
    if lowered == "now":
        return local(now, zone)
    if not words:
        raise TimeError(f"No time is given: {HOW_TO_SAY}.")
    day_text, _, clock_text = _parted(lowered)
    clock, offset, next_day = _clock(clock_text, text) if clock_text else (None, None, False)
    day = _day(day_text, zone, now, clock) if day_text else local_day(now, zone)
    if day is None:
        raise TimeError(f"The time {text.strip()!r} is not understood: {HOW_TO_SAY}.")
    _within_reach(day)
    if next_day:
        day += timedelta(days=1)
    if clock is None:
        return start_of_day(day, zone)
    if offset is not None:
        return local(datetime.combine(day, clock, tzinfo=offset), zone)
    return at_local(day, clock, zone, fold)


def parse_day(text: str, zone: ZoneInfo, now: datetime, ahead: bool = False) -> date:
    """Return the local day that is typed: an ISO date, `today`, `yesterday`, `tomorrow` or a weekday.

    Parameters
    ----------
    ahead : bool
        Whether a weekday means the coming one instead of the most recent one; today counts in both.

    Raises
    ------
    TimeError
        If it is not a day.
    """
    lowered = text.strip().lower()
    number = _weekday(lowered)
    if number is not None and ahead:
        today = local_day(now, zone)
        return today + timedelta(days=(number - today.weekday()) % 7)
    day = _day(lowered, zone, now, None)
    if day is None:
        raise TimeError(
            f"The day {text.strip()!r} is not understood: write it as 2026-05-04, today, yesterday or monday."
        )
    return _within_reach(day)


def day_words(day: date, today: date) -> str:
    """Return a day as people say it: `Mon` within the last week, else `3 Mar`, with another year named.

    Examples
    --------
    >>> day_words(date(2026, 5, 4), date(2026, 5, 6)), day_words(date(2025, 3, 3), date(2026, 5, 6))
    ('Mon', '3 Mar 2025')
    """
    if 0 <= (today - day).days < 7:
        return WEEKDAYS[day.weekday()][:3].title()
    return date_words(day, today)


def date_words(day: date, today: date) -> str:
    """Return a day by its date: `3 Mar`, with the year if it is another.

    Examples
    --------
    >>> date_words(date(2026, 5, 4), date(2026, 5, 6)), date_words(date(2025, 3, 3), date(2026, 5, 6))
    ('4 May', '3 Mar 2025')
    """
    return f"{day.day} {MONTHS[day.month - 1]}" + (f" {day.year}" if day.year != today.year else "")


def moment_words(at: datetime, zone: ZoneInfo, now: datetime) -> str:
    """Return an instant as people say it, such as `Mon 06:10`."""
    shown = local(at, zone)
    return f"{day_words(shown.date(), local_day(now, zone))} {shown:%H:%M}"


def _parted(words: str) -> tuple[str, str, str]:
    """Return the day's and the clock's part of a lowered text."""
    if re.match(r"\d{4}-\d{2}-\d{2}t", words):
        return words[:10], "t", words[11:]
    if re.match(r"\d{1,2}:", words):
        return "", "", words
    return words.partition(" ")


def _day(words: str, zone: ZoneInfo, now: datetime, clock: time | None) -> date | None:
    """Return the day meant by lowered words, None if they are no day; the most recent one for a weekday."""
    today = local_day(now, zone)
    near = {"today": 0, "yesterday": -1, "tomorrow": 1}
    if words in near:
        return today + timedelta(days=near[words])
    number = _weekday(words)
    if number is not None:
        back = (today.weekday() - number) % 7
        if back == 0 and clock is not None and clock > local(now, zone).time():
            back = 7
        return today - timedelta(days=back)
    match = _ISO_DAY.fullmatch(words)
    if match is None:
        return None
    try:
        return date(*map(int, match.groups()))
    except ValueError:
        raise TimeError(f"There is no day {words} in the calendar.") from None


def _within_reach(day: date) -> date:
    """Return the day if a journal can reach it."""
    from tankdash.journal.codec import FIRST_YEAR, LAST_YEAR

    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise TimeError(f"The year {day.year} is out of reach: give one from {FIRST_YEAR} to {LAST_YEAR}.")
    return day


def _weekday(words: str) -> int | None:
    """Return the number of a weekday written in full or by its first three letters."""
    for number, name in enumerate(WEEKDAYS):
        if words in (name, name[:3]):
            return number
    return None


def _clock(words: str, text: str) -> tuple[time, timezone | None, bool]:
    """Return the time of day, the offset typed with it, and whether it was 24:00: next day's 00:00."""
    match = _CLOCK.fullmatch(words.strip())
    if match is None:
        raise TimeError(f"The time {text.strip()!r} is not understood: {HOW_TO_SAY}.")
    hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
    micro = int((match[4] or "").ljust(6, "0"))
    half = (match[5] or "").lower()
    if half:
        if not 1 <= hour <= 12:
            raise TimeError(f"{words.strip()} is not a time of day: with am or pm, hours go from 1 to 12.")
        hour = hour % 12 + (12 if half == "pm" else 0)
    next_day = (hour, minute, second, micro) == (24, 0, 0, 0)
    if (hour > 23 and not next_day) or minute > 59 or second > 59:
        raise TimeError(f"{words.strip()} is not a time of day: it goes from 00:00 to 23:59.")
    offset = None
    if match[6]:
        shift = match[6].replace(":", "")
        hours, minutes, seconds = (
            (0, 0, 0) if shift.lower() == "z" else (int(shift[1:3]), int(shift[3:5]), int(shift[5:] or 0))
        )
        if hours > 23 or minutes > 59 or seconds > 59:
            raise TimeError(f"{match[6]} is not an offset from UTC: write it as +01:00.")
        offset = timezone(
            (-1 if shift[0] == "-" else 1) * timedelta(hours=hours, minutes=minutes, seconds=seconds)
        )
    return time(0 if next_day else hour, minute, second, micro), offset, next_day


def _full_day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _offset(at: datetime) -> str:
    return f"UTC{at:%z}"[:6] + ":" + f"{at:%z}"[3:]
