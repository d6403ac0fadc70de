"""Chores as a calendar file (RFC 5545) for a phone: one entry each, by a name that stays, so a new import updates.

A recurrence stands in the file only where the chore truly has one: on its day of the year, or counted from the
calendar. What hangs on when it is done, or on rain, is the one next turn. There are no alarms.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import NAMESPACE_DNS, uuid5

from tankdash.journal.entries import Entry
from tankdash.keeping.chores.due import chores_at
from tankdash.keeping.chores.reasons import interval_words
from tankdash.keeping.chores.recurring import calendar_days, is_by_calendar, last_turn_day
from tankdash.keeping.chores.state import ChoreState
from tankdash.keeping.when import instant, local_day
from tankdash.site.model import Chore, Site

if TYPE_CHECKING:
    from icalendar import Event

LISTED_DAYS = 366
"""Turns that no rule can express are written out one by one for so many days ahead."""

RuleValue = str | int | list[int]


def calendar_file(
    site: Site, entries: Sequence[Entry], now: datetime, usable_share: float | None = None
) -> bytes:
    """Return the chores of a garden as the bytes of a calendar file.

    Parameters
    ----------
    site, entries : Site, sequence of Entry
        The garden and its journal, void entries left out.
    now : datetime
        When it is written.
    usable_share : float, optional
        Usable water over usable when full, for chores of the level.

    Returns
    -------
    bytes
        UTF-8 with the line ends of RFC 5545. The same garden and journal give the same names, and a longer journal
        a higher sequence number, so that a calendar takes the new file as an update of the old.
    """
    from icalendar import Calendar

    book = Calendar()
    book.add("prodid", "-//tankdash//chores//EN")
    book.add("version", "2.0")
    book.add("calscale", "GREGORIAN")
    book.add("method", "PUBLISH")
    book.add("x-wr-calname", f"{site.name}: chores")
    states = {state.id: state for state in chores_at(site, entries, now, usable_share)}
    sequence = max((entry.number for entry in entries), default=0)
    for chore in site.chores.values():
        for event in _events(site, chore, states[chore.id], now):
            event.add("sequence", sequence)
            book.add_component(event)
    text: bytes = book.to_ical()
    return text


def uid_of(site: Site, chore: str, part: str = "") -> str:
    """Return the name of a calendar entry, which depends on the garden's name and the chore's id alone.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> site = Site("Hill", ZoneInfo("UTC"), "metric", "slab", 0.005, tanks={})
    >>> uid_of(site, "desludge") == uid_of(site, "desludge"), uid_of(site, "desludge").split("-")[-1]
    (True, 'desludge@tankdash')
    """
    garden = uuid5(NAMESPACE_DNS, f"tankdash {site.name}").hex[:12]
    name = re.sub(r"[^A-Za-z0-9-]", "-", chore)
    return f"{garden}-{part + '-' if part else ''}{name}@tankdash"


def rule_of(chore: Chore) -> dict[str, RuleValue] | None:
    """Return the recurrence rule of a chore, None where no rule says the same as the chore.

    A rule for the 31st would skip short months, where the chore takes their last day; so a rule names the days from
    the 28th on and takes the last there is.

    Examples
    --------
    >>> rule_of(Chore("walk", "Walk the line", on=(2, 29)))
    {'freq': 'yearly', 'bymonth': 2, 'bymonthday': -1}
    """
    if chore.season is not None or chore.by is not None or chore.after_rain is not None:
        return None
    if chore.on is not None:
        month, day = chore.on
        if chore.every is not None:
            return None
        return {"freq": "yearly", "bymonth": month, "bymonthday": -1 if (month, day) == (2, 29) else day}
    every, anchor = chore.every, chore.starting
    if every is None or anchor is None or not is_by_calendar(chore) or (every.months and every.days):
        return None
    if every.days:
        return {"freq": "daily", "interval": every.days}
    rule: dict[str, RuleValue] = {"freq": "monthly", "interval": every.months}
    if anchor.day > 28:
        rule |= {"bymonthday": list(range(28, anchor.day + 1)), "bysetpos": -1}
    return rule


def _events(site: Site, chore: Chore, state: ChoreState, now: datetime) -> Iterator[Event]:
    """Yield the calendar entries of one chore: what is open or comes next, and its turns by the calendar.

    A turn of the calendar is named by its day, anything else by the chore alone, so that no day is told twice when
    the next file is brought in.
    """
    if state.state == "asleep" and state.due is None:
        return
    today = local_day(now, site.zone)
    rule = rule_of(chore)
    if rule is not None:
        event = _event(site, chore, "", _first_turn(chore, today), now)
        event.add("description", interval_words(chore) or "every year")
        event.add("rrule", rule)
        yield event
    told: set[date] = set()
    if state.is_open and state.since is not None and state.due is not None:
        opened = local_day(state.since, site.zone)
        by_day = rule is None and opened in calendar_days(chore, opened, opened)
        part = opened.isoformat() if by_day else "open" if rule is not None else ""
        event = _event(site, chore, part, max(local_day(state.due, site.zone), today), now)
        event.add("description", state.reason)
        told.add(opened)
        yield event
    elif rule is not None and state.done_at is not None:
        yield _cancelled(site, chore, "open", local_day(state.done_at, site.zone), now)
    if rule is not None:
        return
    coming = calendar_days(chore, today, today + timedelta(days=LISTED_DAYS))
    if not state.is_open and state.due is not None:
        day = local_day(state.due, site.zone)
        if day not in coming:
            event = _event(site, chore, "", day, now)
            event.add("description", state.reason)
            yield event
        # A turn that was done ahead is left out: nothing comes before the next one.
        coming = [turn for turn in coming if turn >= day]
    elif not state.is_open and state.done_at is not None and not coming:
        yield _cancelled(site, chore, "", local_day(state.done_at, site.zone), now)
    for turn in coming:
        if turn not in told and not (turn == chore.by and state.done_at is not None):
            yield _event(site, chore, turn.isoformat(), turn, now)


def _first_turn(chore: Chore, today: date) -> date:
    """Return the day a recurrence starts on: the turn that runs now, or the first one."""
    if chore.on is not None:
        return calendar_days(chore, today - timedelta(days=366), today)[-1]
    assert chore.every is not None and chore.starting is not None
    return last_turn_day(chore.starting, chore.every, today) or chore.starting


def _cancelled(site: Site, chore: Chore, part: str, day: date, now: datetime) -> Event:
    """Return the entry that takes what was done off the calendar again."""
    event = _event(site, chore, part, day, now)
    event.add("status", "CANCELLED")
    return event


def _event(site: Site, chore: Chore, part: str, day: date, now: datetime) -> Event:
    """Return a whole day's entry."""
    from icalendar import Event

    event = Event()
    event.add("uid", uid_of(site, chore.id, part))
    event.add("dtstamp", instant(now))
    event.add("summary", f"{chore.label} ({site.name})")
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("transp", "TRANSPARENT")
    return event
