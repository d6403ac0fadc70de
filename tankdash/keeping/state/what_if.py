"""Levels after something that has not happened: dips, settings, rain, water poured in and drawn, nothing written."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Literal

from tankdash.journal.entries import Entry, Record, TapClosed
from tankdash.keeping.rain.flush import flush_states
from tankdash.keeping.state.catching import OPEN_END_MM, Fall
from tankdash.keeping.state.figures import Caution
from tankdash.keeping.state.levels import Levels, levels_of
from tankdash.keeping.state.replay import in_force, walk_to
from tankdash.keeping.state.tracks import Three, alike
from tankdash.keeping.state.walk import Walk
from tankdash.keeping.when import instant
from tankdash.site.model import Site
from tankdash.units import Depths

Flush = Literal["full", "empty"]

BEYOND = 1_000_000_000
"""Entry numbers of what has not happened start here, behind any of the journal's."""


def what_if(
    site: Site,
    entries: Iterable[Entry],
    now: datetime,
    records: Sequence[Record] = (),
    rain: Depths | None = None,
    flush: Flush | None = None,
    extra: Iterable[Caution] = (),
    walk: Walk | None = None,
) -> Levels:
    """Return the levels if `records` and `rain` happened now, in the order dips, settings, rain, the rest.

    Parameters
    ----------
    site, entries, now
        The garden, its journal and the present.
    records : sequence of Record
        Dips, settings, pours, moves and draws.
    rain : Depths, optional
        A rain event of its own that falls now.
    flush : {"full", "empty"}, optional
        What to take the first-flush pipes for; as the journal leaves them unless told otherwise.
    extra : iterable of Caution, optional
        Warnings that others have found.
    walk : Walk, optional
        The journal walked to now, if somebody has it; it stays where it is.
    """
    known = list(entries)
    # What ends a run tells how fast it ran all the while, so that the walk to now is another one.
    endings = [
        imagined(record, now, now, place) for place, record in enumerate(records) if _ends_a_run(record)
    ]
    records = [record for record in records if not _ends_a_run(record)]
    walk = walk_to(site, [*known, *endings], now) if walk is None or endings else walk.branch()
    kinds = {"Dips": 0, "Change": 1, "Pour": 3, "Move": 4, "Use": 5}
    order = sorted(
        ((kinds.get(type(record).__name__, 6), place, record) for place, record in enumerate(records)),
        key=lambda step: step[:2],
    )
    for rank, place, record in order:
        if rank < 2:
            walk.take(imagined(record, now, now, place))
    if rain is not None:
        walk.fall_at_once(_shower(site, in_force(known, now), now, rain, flush))
    for rank, place, record in order:
        if rank > 2:
            walk.take(imagined(record, now, now, place))
    return levels_of(site, walk.standing(now), extra=extra, is_what_if=True)


def _ends_a_run(record: Record) -> bool:
    return isinstance(record, TapClosed)


def imagined(record: Record, at: datetime, now: datetime, place: int = 0) -> Entry:
    """Return an entry that the journal does not have, behind all it has; `place` keeps several in order."""
    return Entry(BEYOND + place, f"what-if-{place}", "what-if", at, now, record, "")


def _shower(site: Site, known: Sequence[Entry], now: datetime, rain: Depths, flush: Flush | None) -> Fall:
    """Return the rain as an event of its own, with the room it finds in the first-flush pipes."""
    rooms: dict[str, Three[float]] = {}
    for roof, state in flush_states(site, known, now).items():
        holds = state.pipe.holds
        low, high = state.pipe.low, state.pipe.high
        if flush is not None:
            low = high = holds if flush == "empty" else 0.0
        rooms[roof] = Three(low, (low + high) / 2.0, high)
    high_mm = OPEN_END_MM if rain.high_mm is None else rain.high_mm
    middle = rain.low_mm if rain.high_mm is None else (rain.low_mm + rain.high_mm) / 2.0
    depth = alike(0.0) if rain.trace else Three(rain.low_mm, middle, high_mm)
    return Fall(instant(now), instant(now), depth, BEYOND, BEYOND, rooms)
