"""Whether a chore may be ticked as done at a time, which may lie back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from tankdash.journal.entries import Done, Entry
from tankdash.keeping.chores.history import history
from tankdash.keeping.chores.turns import ChoreHistory
from tankdash.keeping.rain.events import RainEvent, events
from tankdash.keeping.when import instant, moment_words
from tankdash.site.model import Site


class ChoreError(ValueError):
    """A chore cannot be ticked so; the message is a sentence that says why."""


def check_done(
    site: Site,
    entries: Sequence[Entry],
    chore_id: str,
    at: datetime,
    now: datetime,
    rains: Sequence[RainEvent] | None = None,
) -> None:
    """Raise if ticking the chore at `at` would be wrong; a completion may be dated back, within limits.

    Raises
    ------
    ChoreError
        If there is no such chore, if `at` is still to come, if the chore would stay open because what opened it
        came after (one cannot have emptied a pipe before the rain that filled it), or if it was neither due then
        nor left undone since.
    """
    chore = site.chores.get(chore_id)
    if chore is None:
        raise ChoreError(f"There is no chore {chore_id!r} in the site file.")
    if instant(at) > instant(now):
        raise ChoreError("A chore can be ticked when it is done, not before: give a time that has passed.")
    rains = events(entries, site.rain, site.zone) if rains is None else rains
    past = history(site, chore, entries, rains, now)
    before = past.open_turn
    if before is None:
        if past.last_done is not None and instant(at) < instant(past.last_done) and not _was_open(past, at):
            then, done = (moment_words(moment, site.zone, now) for moment in (at, past.last_done))
            raise ChoreError(
                f"{chore.label!r} was not due on {then} and has been done since, on {done}: "
                "there is nothing that a tick so far back would close."
            )
        return
    number = max((entry.number for entry in entries), default=0) + 1
    tick = Entry(number, "", "done", at, now, Done(chore_id), "")
    ticked = sorted([*entries, tick], key=lambda entry: (instant(entry.at), entry.number))
    after = history(site, chore, ticked, rains, now).open_turn
    if after is not None and instant(after.since) <= instant(before.since):
        opened, done = (moment_words(moment, site.zone, now) for moment in (before.since, at))
        raise ChoreError(
            f"{chore.label!r} came due on {opened}, after {done}: "
            "tick it with the time it was done since, or undo the entry that brought it on."
        )


def _was_open(past: ChoreHistory, at: datetime) -> bool:
    """Return whether a turn was open at `at`."""
    ends = ((turn, turn.closed or turn.dropped) for turn in past.turns)
    return any(instant(turn.since) <= instant(at) and (end is None or at <= end) for turn, end in ends)
