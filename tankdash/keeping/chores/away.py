"""Going away: which chores to do before, and which wait for the return. Rain and levels meanwhile are not guessed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from tankdash.journal.entries import Entry
from tankdash.keeping.chores.due import chores_at
from tankdash.keeping.chores.history import history
from tankdash.keeping.chores.recurring import calendar_days, counts_ahead, is_by_calendar
from tankdash.keeping.chores.turns import ChoreHistory
from tankdash.keeping.rain.events import events
from tankdash.keeping.when import date_words, day_after, local_day
from tankdash.site.model import Site


@dataclass(frozen=True)
class AwayChore:
    """A chore to do before leaving, or one that waits."""

    id: str
    label: str
    day: date | None
    """Day it comes round while away; None when it is open now, or hangs on the weather."""
    reason: str

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON."""
        day = self.day.isoformat() if self.day is not None else None
        return {"id": self.id, "label": self.label, "day": day, "reason": self.reason}


@dataclass(frozen=True)
class AwayPlan:
    """The chores around an absence, each at most once in either list."""

    leave: date
    back: date
    """Day of the return."""
    before: tuple[AwayChore, ...]
    """To do before leaving: what is open, and what may be done ahead."""
    on_return: tuple[AwayChore, ...]
    """To look at on return: what comes round and cannot be done ahead, and what the rain may have brought."""

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON."""
        return {
            "leave": self.leave.isoformat(),
            "back": self.back.isoformat(),
            "before": [chore.as_json() for chore in self.before],
            "on_return": [chore.as_json() for chore in self.on_return],
        }


def away_plan(
    site: Site, entries: Sequence[Entry], now: datetime, days: int, usable_share: float | None = None
) -> AwayPlan:
    """Return what to do before leaving at `now` for so many days, and what waits for the return.

    Parameters
    ----------
    site, entries : Site, sequence of Entry
        The garden and its journal, void entries left out.
    now : datetime
        When the garden is left.
    days : int
        How many days it is left alone, >= 1.
    usable_share : float, optional
        Usable water over usable when full, for chores of the level.

    Raises
    ------
    ValueError
        If `days` is less than one.
    """
    if days < 1:
        raise ValueError("Being away takes at least one day: give the days as a whole number from 1.")
    leave = local_day(now, site.zone)
    back = leave + timedelta(days=days)
    rains = events(entries, site.rain, site.zone)
    before: list[AwayChore] = []
    waiting: list[AwayChore] = []
    open_now = {state.id: state for state in chores_at(site, entries, now, usable_share) if state.is_open}
    # What runs is no chore of the site file, and nobody leaves a tap open behind him.
    for state in open_now.values():
        if state.id not in site.chores:
            before.append(AwayChore(state.id, state.label, None, state.reason))
    for chore in site.chores.values():
        past = history(site, chore, entries, rains, now)
        if past.asleep == "winter":
            continue
        is_open = chore.id in open_now
        if is_open:
            before.append(AwayChore(chore.id, chore.label, None, open_now[chore.id].reason))
        ahead, later = _turns_away(past, leave, back, is_done_now=is_open, site=site)
        if ahead is not None and not is_open:
            words = f"comes round {date_words(ahead, leave)}; may be done ahead"
            before.append(AwayChore(chore.id, chore.label, ahead, words))
        may_rain = chore.after_rain is not None and _is_awake_in(past, leave, back)
        if later is not None:
            words = f"comes round {date_words(later, leave)}" + (", or with the rain" if may_rain else "")
            waiting.append(AwayChore(chore.id, chore.label, later, words))
        elif may_rain:
            waiting.append(AwayChore(chore.id, chore.label, None, "if it has rained: read the gauge first"))
    waiting.sort(key=lambda one: (one.day is None, one.day or back))
    return AwayPlan(leave, back, tuple(before), tuple(waiting))


def _turns_away(
    past: ChoreHistory, leave: date, back: date, *, is_done_now: bool, site: Site
) -> tuple[date | None, date | None]:
    """Return the first turn in the absence that doing it now takes care of, and the first that it does not."""
    chore = past.chore
    first = leave + timedelta(days=1)
    by_calendar = [
        day
        for day in calendar_days(chore, first, back)
        if not (chore.by == day and past.done) and (past.next_turn is None or day >= _day(past, site))
    ]
    ahead = [day for day in by_calendar if not is_done_now and counts_ahead(chore, leave, day)][:1]
    later = [day for day in by_calendar if day not in ahead and not (is_done_now and chore.by == day)]
    if chore.every is not None and not is_by_calendar(chore):
        if past.next_turn is not None and not is_done_now and first <= _day(past, site) <= back:
            ahead.append(_day(past, site))
        again = day_after(leave, chore.every) if chore.every.seconds == 0 else leave
        is_awake = chore.season is None or chore.season.holds(again)
        if (ahead or is_done_now) and first <= again <= back and is_awake:
            later.append(again)
    return min(ahead, default=None), min(later, default=None)


def _day(past: ChoreHistory, site: Site) -> date:
    """Return the local day of the next turn; there must be one."""
    assert past.next_turn is not None
    return local_day(past.next_turn, site.zone)


def _is_awake_in(past: ChoreHistory, leave: date, back: date) -> bool:
    """Return whether the chore is in season on any day of the absence."""
    season = past.chore.season
    if season is None:
        return True
    return any(season.holds(leave + timedelta(days=count)) for count in range((back - leave).days + 1))
