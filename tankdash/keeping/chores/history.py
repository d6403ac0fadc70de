"""One chore walked through the journal: what opened it, when it was late, what closed it, what passed meanwhile.

One turn is open at most; what would open another while it is counted as missed, or as a later rain.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Literal

from tankdash.journal.entries import Change, Done, Entry, Frost
from tankdash.keeping.chores.recurring import (
    calendar_days,
    counts_ahead,
    is_by_calendar,
    last_turn_day,
    season_edges,
    season_start,
)
from tankdash.keeping.chores.turns import Cause, ChoreHistory, Turn, deadline, open_of, sleeps_in_winter
from tankdash.keeping.rain.events import RainEvent
from tankdash.keeping.rain.gauges import Reading, journal_begins
from tankdash.keeping.when import day_after, instant, local_day, moment_after, start_of_day
from tankdash.site.model import Chore, Site
from tankdash.units import Span

FRESH_DAYS = 31
"""A yearly day this long before the journal began still opens; older ones belong to a time nobody wrote down."""

LOOK_AHEAD_YEARS = (1, 9, 99)
"""How far the next turn is looked for, in steps, so that a daily one is found without listing a century."""

DEPTH_SLACK = 1e-9
"""Depths closer than this are equal, [mm]: inches make thresholds that are no round number."""

_What = Done | Change | Frost | tuple[RainEvent, Reading] | Cause | bool
_Step = tuple[datetime, int, _What]


@dataclass
class _Counters:
    """Rain since the chore was last done."""

    event: datetime | None = None
    event_mm: float = 0.0
    is_counted: bool = False
    has_opened: bool = False
    rains: int = 0
    total_mm: float = 0.0


def history(
    site: Site, chore: Chore, entries: Sequence[Entry], rains: Iterable[RainEvent], now: datetime
) -> ChoreHistory:
    """Return how a chore fared from the first entry to `now`.

    Parameters
    ----------
    site, chore : Site, Chore
        The garden and one of its chores.
    entries : sequence of Entry
        The journal in order, void entries left out.
    rains : iterable of RainEvent
        Its rain events.
    now : datetime
        Nothing later is looked at.
    """
    known = [entry for entry in entries if instant(entry.at) <= instant(now)]
    begins = journal_begins(known, now)
    steps = _steps(site, chore, known, rains, begins, now)
    walk = _Walk(site, chore, begins)
    if chore.season is not None:
        first = min(begins, steps[0][0]) if steps else begins
        walk.is_off_season = not chore.season.holds(local_day(first, site.zone))
    for at, _, what in steps:
        walk.take(at, what)
    return walk.result(now)


def histories(
    site: Site, entries: Sequence[Entry], rains: Sequence[RainEvent], now: datetime
) -> list[ChoreHistory]:
    """Return how every chore fared up to `now`, in the order of the site file."""
    return [history(site, chore, entries, rains, now) for chore in site.chores.values()]


def _steps(
    site: Site,
    chore: Chore,
    entries: Iterable[Entry],
    rains: Iterable[RainEvent],
    begins: datetime,
    now: datetime,
) -> list[_Step]:
    """Return in order all that bears on the chore, but for the turns counted from when it was done."""
    steps: list[_Step] = []
    for entry in entries:
        record = entry.record
        if (
            (isinstance(record, Done) and record.chore == chore.id)
            or (isinstance(record, Change) and record.item == "site")
            or (isinstance(record, Frost) and chore.frost_c is not None and record.low_c <= chore.frost_c)
        ):
            steps.append((instant(entry.at), entry.number, record))
    if chore.after_rain is not None:
        for event in rains:
            steps.extend(
                (instant(reading.end), reading.number, (event, reading))
                for reading in event.readings
                if begins <= instant(reading.end) <= instant(now)
            )
    today = local_day(now, site.zone)
    for cause in _calendar_causes(site, chore, local_day(begins, site.zone), today):
        steps.append((instant(cause.at), 0, cause))
    if chore.season is not None:
        first = min([local_day(begins, site.zone), *(local_day(step[0], site.zone) for step in steps)])
        for day, wakes in season_edges(chore.season, first, today):
            steps.append((instant(start_of_day(day, site.zone)), -1, wakes))
    steps.sort(key=lambda step: step[:2])
    return steps


def _calendar_causes(site: Site, chore: Chore, begins: date, today: date) -> list[Cause]:
    """Return the turns up to today that the calendar brings, from the one that ran when the journal began."""
    first = begins
    if chore.every is not None and chore.starting is not None and is_by_calendar(chore):
        first = last_turn_day(chore.starting, chore.every, begins) or begins
    if chore.on is not None:
        first = min(first, begins - timedelta(days=FRESH_DAYS))
    if chore.by is not None:
        first = min(first, chore.by)
    return [
        Cause(_calendar_kind(chore, day), start_of_day(day, site.zone), day=day)
        for day in calendar_days(chore, first, today)
    ]


def _calendar_kind(chore: Chore, day: date) -> Literal["calendar", "on", "by"]:
    if chore.by == day:
        return "by"
    if chore.on is not None and chore.every is None:
        return "on"
    return "calendar"


@dataclass
class _Walk:
    """One chore on its way through the journal."""

    site: Site
    chore: Chore
    begins: datetime
    turns: list[Turn] = field(default_factory=list)
    done: list[datetime] = field(default_factory=list)
    count: _Counters = field(default_factory=_Counters)
    is_winter: bool = False
    is_off_season: bool = False
    anchor: datetime | None = None
    """From when its interval is counted: when it was last done, or woke due."""
    passed: int = 0
    """Turns of the interval since then that are behind."""
    ahead: datetime | None = None
    """When it was done while nothing was open."""
    night: date | None = None
    """Latest night of a frost typed in."""
    safe_night: date | None = None
    """Latest night that had been typed in when it was done."""

    @property
    def open_turn(self) -> Turn | None:
        return open_of(self.turns)

    @property
    def is_asleep(self) -> bool:
        return self.is_off_season or (self.is_winter and sleeps_in_winter(self.chore))

    def take(self, at: datetime, what: _What) -> None:
        """Take one step in the order of time."""
        self._run_interval(at - timedelta(microseconds=1) if what is False else at)
        if isinstance(what, Done):
            self._do(at)
        elif isinstance(what, bool):
            self._sleep(at, what is False, self.is_winter)
        elif isinstance(what, Change):
            if what.state in ("winter", "in-use"):
                self._sleep(at, self.is_off_season, what.state == "winter")
        elif self.is_asleep:
            return
        elif isinstance(what, Cause):
            self._calendar(what)
        elif isinstance(what, Frost):
            self._frost(at, what)
        else:
            self._rain(at, *what)

    def result(self, now: datetime) -> ChoreHistory:
        """Return the history once everything up to `now` is taken."""
        self._run_interval(instant(now))
        coming = self._next(now)
        return ChoreHistory(
            chore=self.chore,
            turns=tuple(self.turns),
            done=tuple(self.done),
            asleep="season" if self.is_off_season else "winter" if self.is_asleep else "",
            next_turn=coming.at if coming else None,
            next_due=deadline(self.site, self.chore, coming) if coming else None,
            rains=self.count.rains,
            total_mm=self.count.total_mm,
        )

    def _open(self, cause: Cause) -> None:
        """Open a turn, or count it if one is open already."""
        if self.open_turn is None:
            self.turns.append(Turn(cause.at, deadline(self.site, self.chore, cause), cause))
        elif cause.is_time:
            self.turns[-1] = replace(self.turns[-1], missed=self.turns[-1].missed + 1)

    def _do(self, at: datetime) -> None:
        """The chore is done: whatever was open is closed, and every count starts anew."""
        if self.open_turn is not None:
            self.turns[-1] = replace(self.turns[-1], closed=at)
            self.ahead = None
        else:
            self.ahead = at
        self.done.append(at)
        self.anchor = at
        self.count = _Counters(event=self.count.event)
        self.passed = 0
        self.safe_night = self.night

    def _sleep(self, at: datetime, is_off_season: bool, is_winter: bool) -> None:
        """Fall asleep, wake, or neither."""
        was_asleep = self.is_asleep
        self.is_off_season, self.is_winter = is_off_season, is_winter
        if self.is_asleep and not was_asleep and self.open_turn is not None:
            self.turns[-1] = replace(self.turns[-1], dropped=at)
        if was_asleep and not self.is_asleep:
            self.count = _Counters(event=self.count.event, has_opened=True, is_counted=True)
            cause = self._interval_turn()
            if cause is not None and instant(cause.at) <= at:
                # What came round in its sleep is due now, once, and nobody missed it.
                self._open(replace(cause, at=at, day=local_day(at, self.site.zone)))
                self.anchor, self.passed = at, 0

    def _calendar(self, cause: Cause) -> None:
        """A day of the calendar has come, unless it was done shortly before."""
        if cause.kind == "by" and self.done:
            return
        if cause.day is not None and self.open_turn is None and self._is_done_ahead(cause.day):
            self.ahead = None
            return
        self._open(cause)

    def _frost(self, at: datetime, frost: Frost) -> None:
        """A low is typed in; a night that was prepared for already opens nothing."""
        if self.safe_night is None or frost.night > self.safe_night:
            self._open(Cause("frost", at, day=frost.night, low_c=frost.low_c))
        self.night = frost.night if self.night is None else max(self.night, frost.night)

    def _rain(self, at: datetime, event: RainEvent, reading: Reading) -> None:
        """A reading makes its event known, or deeper."""
        trigger, count = self.chore.after_rain, self.count
        assert trigger is not None
        if count.event != event.end:
            count.event, count.event_mm, count.is_counted, count.has_opened = event.end, 0.0, False, False
        count.event_mm += reading.depth_mm
        count.total_mm += reading.depth_mm
        if not count.is_counted and count.event_mm >= self.site.rain.wet_mm - DEPTH_SLACK:
            count.is_counted = True
            count.rains += 1
        turn = self.open_turn
        if count.has_opened and turn is not None and turn.cause.kind == "rain" and turn.later_rains == 0:
            self.turns[-1] = replace(turn, cause=replace(turn.cause, depth_mm=count.event_mm))
        cause = None
        if trigger.at_least_mm is not None:
            if not count.has_opened and 0.0 < trigger.at_least_mm - DEPTH_SLACK <= count.event_mm:
                cause = Cause("rain", at, count.event_mm)
        elif count.has_opened or (turn is not None and not count.is_counted):
            return
        elif trigger.rains is not None and count.is_counted and count.rains >= trigger.rains:
            cause = Cause("rains", at, count.total_mm)
        elif trigger.total_mm is not None and count.total_mm >= trigger.total_mm - DEPTH_SLACK:
            cause = Cause("total", at, count.total_mm)
        if cause is None:
            return
        count.has_opened = True
        if turn is not None:
            self.turns[-1] = replace(self.turns[-1], later_rains=turn.later_rains + 1)
        else:
            self._open(cause)

    def _interval_turn(self) -> Cause | None:
        """Return the next turn of an interval that is counted from when the chore was last done."""
        every, zone = self.chore.every, self.site.zone
        if every is None or is_by_calendar(self.chore):
            return None
        if every.seconds > 0:
            start = self.anchor or self.begins
            if self.anchor is None and self.chore.starting is not None:
                start = start_of_day(self.chore.starting, zone)
            turn = self.passed + 1
            span = Span(every.months * turn, every.days * turn, every.seconds * turn)
            return Cause("every", moment_after(start, span, zone))
        if every.months <= 0 and every.days <= 0:
            return None
        turn, anchor = self.passed + 1, local_day(self.anchor or self.begins, zone)
        if self.anchor is None and self.chore.starting is not None:
            turn, anchor = self.passed, self.chore.starting
        day = day_after(anchor, every, turn)
        return Cause("every", start_of_day(day, zone), day=day)

    def _run_interval(self, until: datetime) -> None:
        """Let the turns of the interval come that lie at or before `until`; asleep, they wait."""
        if self.is_asleep:
            return
        cause = self._interval_turn()
        while cause is not None and instant(cause.at) <= until:
            self._open(cause)
            self.passed += 1
            cause = self._interval_turn()

    def _next(self, now: datetime) -> Cause | None:
        """Return the next turn that time alone will bring; in winter nobody can tell when the garden wakes."""
        if self.is_winter and self.is_asleep:
            return None
        zone, today = self.site.zone, local_day(now, self.site.zone)
        coming: list[Cause] = []
        interval = self._interval_turn()
        if interval is not None:
            day = local_day(interval.at, zone)
            day = max(day, today) if self.is_asleep else day
            woken = day if self.chore.season is None else season_start(self.chore.season, day)
            late = woken > local_day(interval.at, zone)
            coming.append(Cause("every", start_of_day(woken, zone), day=woken) if late else interval)
        by_calendar = self._next_calendar_day(today)
        if by_calendar is not None:
            kind = _calendar_kind(self.chore, by_calendar)
            coming.append(Cause(kind, start_of_day(by_calendar, zone), day=by_calendar))
        return min(coming, key=lambda cause: instant(cause.at), default=None)

    def _next_calendar_day(self, today: date) -> date | None:
        """Return the next day after today that the calendar brings and that was not done ahead."""
        for years in LOOK_AHEAD_YEARS:
            horizon = today.replace(year=min(today.year + years, date.max.year), day=min(today.day, 28))
            for day in calendar_days(self.chore, today + timedelta(days=1), horizon):
                if not (self._is_done_ahead(day) or (self.chore.by == day and self.done)):
                    return day
        return None

    def _is_done_ahead(self, day: date) -> bool:
        """Return whether it was done shortly before the calendar turn of `day`, while nothing was open."""
        return self.ahead is not None and counts_ahead(self.chore, local_day(self.ahead, self.site.zone), day)
