"""Chores of the garden at one moment: due, late, coming, done or asleep, each with its reason.

Everything follows from the site file and the journal, so taking back an entry restores what was due before it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from tankdash.journal.entries import Dips, Entry
from tankdash.keeping.chores.history import histories
from tankdash.keeping.chores.reasons import asleep_reason, open_reason, unflushed_words, waiting_reason
from tankdash.keeping.chores.recurring import calendar_days
from tankdash.keeping.chores.running import running_chores
from tankdash.keeping.chores.state import STATES, ChoreState, State
from tankdash.keeping.chores.turns import Cause, ChoreHistory, Turn, deadline
from tankdash.keeping.rain.flush import Fallen, RoofFlush, fallen_by
from tankdash.keeping.when import date_words, instant, local, local_day, start_of_day
from tankdash.site.model import Chore, Site

COMING = timedelta(days=7)
"""A chore that was done is shown as coming again within this time of its next turn, or half its interval."""


def chores_at(
    site: Site,
    entries: Sequence[Entry],
    now: datetime,
    usable_share: float | None = None,
    *,
    fallen: Fallen | None = None,
    pasts: Sequence[ChoreHistory] | None = None,
) -> list[ChoreState]:
    """Return every chore at `now`, the most pressing first.

    Parameters
    ----------
    site : Site
        The garden.
    entries : sequence of Entry
        The journal in order, void entries left out.
    now : datetime
        Nothing later is looked at.
    usable_share : float, optional
        Usable water over usable when full, for chores of the level; None when it is not known.
    fallen : Fallen, optional
        The rain of these entries by `now`, where the caller has it already.
    pasts : sequence of ChoreHistory, optional
        How every chore fared by `now`, where the caller has it already.

    Returns
    -------
    list of ChoreState
        With one for each tap or pump left running. What is open comes first, and of it what waiting makes worse, such
        as that or a full pipe before rain, then what the weather brought on, then what the calendar asks; then coming,
        done, asleep. Within each, late before due, and what was due first.
    """
    fallen = fallen_by(site, entries, now) if fallen is None else fallen
    pasts = histories(site, entries, fallen.rains, now) if pasts is None else pasts
    states = [
        _state(site, _with_level(site, past, entries, now, usable_share), fallen.pipes, now) for past in pasts
    ]
    return _sorted([*running_chores(site, entries, now), *states])


def chores_until(
    site: Site, entries: Sequence[Entry], now: datetime, until: date, usable_share: float | None = None
) -> list[ChoreState]:
    """Return the chores that are open, and every turn that time brings up to `until`, in the order they are due.

    A chore counted from when it is done has one turn to come at most: the ones after it hang on when it is done.
    """
    today = local_day(now, site.zone)
    listed = [
        state if state.state in ("late", "due", "asleep") else replace(state, state="coming")
        for state in chores_at(site, entries, now, usable_share)
        if state.is_open or (state.due is not None and local_day(state.due, site.zone) <= until)
    ]
    for past in histories(site, entries, [], now):
        chore = past.chore
        if past.asleep == "winter":
            continue
        known = local_day(past.next_turn, site.zone) if past.next_turn is not None else today
        for day in calendar_days(chore, known + timedelta(days=1), until):
            if day != chore.by:
                due = deadline(site, chore, Cause("calendar", start_of_day(day, site.zone), day=day))
                words = f"next on {date_words(day, today)}"
                listed.append(ChoreState(chore.id, chore.label, "coming", None, due, 0, words))
    return sorted(listed, key=lambda state: (not state.is_open, _when(state.due), state.id))


def _with_level(
    site: Site, past: ChoreHistory, entries: Sequence[Entry], now: datetime, usable_share: float | None
) -> ChoreHistory:
    """Return the history with a turn opened by a low level, told by the last dip and not ticked since."""
    below = past.chore.level_below
    if below is None or usable_share is None or usable_share >= below or past.open_turn or past.asleep:
        return past
    dips = (entry.at for entry in reversed(entries) if isinstance(entry.record, Dips))
    told = next((at for at in dips if instant(at) <= instant(now)), now)
    if past.last_done is not None and instant(past.last_done) >= instant(told):
        return past
    cause = Cause("level", told, share=usable_share)
    return replace(past, turns=(*past.turns, Turn(told, deadline(site, past.chore, cause), cause)))


def _state(site: Site, past: ChoreHistory, flushes: Mapping[str, RoofFlush], now: datetime) -> ChoreState:
    """Return the state that follows from a history."""
    chore, turn = past.chore, past.open_turn
    unflushed = _unflushed(past, turn, flushes)
    if past.asleep:
        state: State = "asleep"
        reason = asleep_reason(site, past, now)
        unflushed = 0
    elif turn is not None:
        state = "late" if turn.is_late(now) else "due"
        words = ""
        if unflushed:
            words = unflushed_words(unflushed, are_later=_are_later(past, turn, flushes))
        reason = open_reason(site, past, turn, words, now)
    else:
        state = _resting_state(past, now)
        reason = waiting_reason(site, past, now)
        if unflushed:
            reason += "; " + unflushed_words(unflushed, are_later=False)
    due = past.next_due if turn is None else turn.due
    return ChoreState(
        id=chore.id,
        label=chore.label,
        state=state,
        since=local(turn.since, site.zone) if turn is not None and not past.asleep else None,
        due=local(due, site.zone) if due is not None else None,
        missed=turn.missed if turn is not None else 0,
        reason=reason,
        rains_unflushed=unflushed,
        done_at=local(past.last_done, site.zone) if past.last_done is not None else None,
        pressure=_pressure(chore, turn),
    )


def _pressure(chore: Chore, turn: Turn | None) -> int:
    """Return how little a chore can wait: a full pipe for the next rain, fittings for the night, a survey for long."""
    if turn is None:
        return 2
    kind = turn.cause.kind
    is_wet = turn.cause.is_rain or turn.later_rains > 0
    if kind == "frost" or (is_wet and chore.empties is not None):
        return 0
    return 1 if is_wet or kind == "level" else 2


def _unflushed(past: ChoreHistory, turn: Turn | None, flushes: Mapping[str, RoofFlush]) -> int:
    """Return how many rains met the pipe full that this chore empties, since it was last empty."""
    roof = past.chore.empties
    if roof is None:
        return 0
    flush = flushes.get(roof)
    if flush is None:
        # Without a pipe in the site file its room is not known: every later rain finds it as the first one left it.
        return turn.later_rains if turn is not None else 0
    return flush.unflushed


def _are_later(past: ChoreHistory, turn: Turn, flushes: Mapping[str, RoofFlush]) -> bool:
    """Return whether all rains that met the pipe full came after the one that opened the turn."""
    flush = flushes.get(past.chore.empties or "")
    if flush is None:
        return True
    unflushed = [met.event.end for met in flush.met if met.is_unflushed]
    return all(end > instant(turn.since) for end in unflushed[len(unflushed) - flush.unflushed :])


def _resting_state(past: ChoreHistory, now: datetime) -> State:
    """Return whether a chore that is not open is shown as done, or as coming again."""
    if past.last_done is None:
        return "coming"
    if past.next_turn is None:
        return "done"
    interval = instant(past.next_turn) - instant(past.last_done)
    return "coming" if instant(past.next_turn) - instant(now) <= min(COMING, interval / 2) else "done"


def _sorted(states: list[ChoreState]) -> list[ChoreState]:
    def place(state: ChoreState) -> tuple[int, int, int, float]:
        number = STATES.index(state.state)
        return (
            0 if state.is_open else number,
            state.pressure if state.is_open else 0,
            number,
            _when(state.due),
        )

    return sorted(states, key=place)


def _when(at: datetime | None) -> float:
    return at.timestamp() if at is not None else float("inf")
