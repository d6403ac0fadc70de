"""What happened to the chores day by day, as the timeline marks it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from tankdash.journal.entries import Entry
from tankdash.keeping.chores.history import histories
from tankdash.keeping.chores.turns import ChoreHistory, Turn
from tankdash.keeping.rain.flush import Fallen, fallen_by
from tankdash.keeping.when import local, local_day, start_of_day
from tankdash.site.model import Site


@dataclass(frozen=True)
class ChoreMark:
    """What happened to a chore on one local day, for the timeline."""

    chore: str
    kind: Literal["done", "late", "missed", "unflushed"]
    """Done; late on that day; its time ran out undone; a rain ran in over a full pipe."""
    at: datetime


def chore_marks(
    site: Site,
    entries: Sequence[Entry],
    start: date,
    end: date,
    now: datetime,
    *,
    fallen: Fallen | None = None,
    pasts: Sequence[ChoreHistory] | None = None,
) -> dict[date, tuple[ChoreMark, ...]]:
    """Return what happened to the chores on each local day from `start` to `end`, both inclusive.

    `missed` stands on the day its time ran out and `late` on each day after until it was done, at most up to `now`.
    For `fallen` and `pasts` see `chores_at` in `tankdash.keeping.chores.due`.
    """
    fallen = fallen_by(site, entries, now) if fallen is None else fallen
    pasts = histories(site, entries, fallen.rains, now) if pasts is None else pasts
    marks: dict[date, list[ChoreMark]] = {}

    def put(chore: str, kind: Literal["done", "late", "missed", "unflushed"], at: datetime) -> None:
        day = local_day(at, site.zone)
        if start <= day <= end:
            marks.setdefault(day, []).append(ChoreMark(chore, kind, at))

    for past in pasts:
        name = past.chore.id
        for done in past.done:
            put(name, "done", done)
        for turn in past.turns:
            if turn.is_late(now):
                put(name, "missed", turn.due)
                for day in _late_days(turn, start, end, site.zone, now):
                    put(name, "late", start_of_day(day, site.zone))
        flush = fallen.pipes.get(past.chore.empties or "")
        for met in flush.met if flush is not None else ():
            if met.is_unflushed:
                put(name, "unflushed", local(met.event.end, site.zone))
    return {day: tuple(marks[day]) for day in sorted(marks)}


def _late_days(turn: Turn, start: date, end: date, zone: ZoneInfo, now: datetime) -> list[date]:
    """Return the local days after the deadline on which the turn was still open, within `start` to `end`."""
    last = local_day(turn.closed or turn.dropped or now, zone)
    first = max(start, local_day(turn.due, zone) + timedelta(days=1))
    return [first + timedelta(days=count) for count in range((min(last, end) - first).days + 1)]
