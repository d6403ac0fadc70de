"""From which dips the walk through the journal may start, so that nothing before them matters (R14).

Tanks that no link and no overflow joins know nothing of each other: each group of them is decided by a dip of its own,
unless water was moved from one group to another meanwhile.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from tankdash.journal.entries import Change, Dips, Entry, Move, TapClosed, TapOpened
from tankdash.keeping.state.arrangement import Arrangement, Layouts
from tankdash.keeping.state.dipped import dip_tracks, dipped_depths
from tankdash.keeping.state.settling import LONGEST_LOOK_BACK
from tankdash.keeping.when import instant
from tankdash.site.model import Site
from tankdash.water.model import Layout

MOST_TRIES = 12
"""Starts tried before the walk starts at the first entry instead."""
MOST_TRIES_BY_GROUP = 4
"""The same where each group has a dip of its own: the walks to try are longer."""


@dataclass(frozen=True)
class _Candidate:
    """A dip before which the garden had stood unchanged for long enough."""

    entry: Entry
    layout: Layout
    void_shapes: frozenset[str]

    def decided(self, site: Site) -> frozenset[str]:
        """Return the tanks whose water it tells by itself."""
        assert isinstance(self.entry.record, Dips)
        depths = dipped_depths(self.layout, self.entry.record, self.void_shapes)
        if not depths.mid:
            return frozenset()
        return dip_tracks(self.layout, depths, None, frozenset(), site.accuracy).anchored


def deciding_dips(site: Site, layouts: Layouts, known: Sequence[Entry]) -> Iterator[tuple[Entry, ...]]:
    """Yield, latest first, dips that decide every tank together, in the order of time; the walk starts at the first.

    A crest keeps or loses its prime by everything that went before, and a garden that has just been changed may
    still be levelling: both ask for a longer walk.
    """
    if any(placed.thing.crest is not None for placed in site.links.values()):
        return
    groups = _groups(site)
    candidates = _candidates(site, layouts, known)
    if len(groups) > 1:
        yield from _by_group(site, groups, candidates, known)
        return
    tried = 0
    for candidate in reversed(candidates):
        if candidate.decided(site) == candidate.layout.tanks.keys():
            yield (candidate.entry,)
            tried += 1
        if tried >= MOST_TRIES:
            return


def _candidates(site: Site, layouts: Layouts, known: Sequence[Entry]) -> list[_Candidate]:
    arrangement = Arrangement()
    changed: datetime | None = None
    candidates: list[_Candidate] = []
    marks = list(layouts.marks)
    for entry in known:
        if isinstance(entry.record, Change):
            arrangement, changed = arrangement.after(entry.record, entry.at), instant(entry.at)
        elif isinstance(entry.record, Dips):
            day = entry.at.astimezone(site.zone).date()
            oldest = day - LONGEST_LOOK_BACK - timedelta(days=1)
            is_new = bisect_left(marks, oldest) != bisect_right(marks, day)
            if not is_new and (changed is None or instant(entry.at) - changed > LONGEST_LOOK_BACK):
                candidates.append(_Candidate(entry, layouts.on(day, arrangement), arrangement.void_shapes))
    return candidates


def _groups(site: Site) -> list[frozenset[str]]:
    """Return the tanks that any link, open or closed, or any overflow of the site file joins, on whatever day."""
    joined = [set(placed.thing.joins) for placed in site.links.values()]
    joined += [{key, tank.thing.overflow_to} for key, tank in site.tanks.items() if tank.thing.overflow_to]
    groups = [{key} for key in site.tanks]
    for ends in joined:
        together = set(ends).union(*(group for group in groups if not group.isdisjoint(ends)))
        groups = [group for group in groups if group.isdisjoint(ends)] + [together]
    return [frozenset(group) for group in groups]


def _by_group(
    site: Site, groups: list[frozenset[str]], candidates: list[_Candidate], known: Sequence[Entry]
) -> Iterator[tuple[Entry, ...]]:
    """Yield dips of each group that decide it, where no water went from group to group between the first and last."""
    found: list[list[Entry]] = [[] for _ in groups]
    for candidate in reversed(candidates):
        if all(len(dips) >= MOST_TRIES_BY_GROUP for dips in found):
            break
        decided = candidate.decided(site)
        for group, dips in zip(groups, found, strict=True):
            standing = group & candidate.layout.tanks.keys()
            if standing and standing <= decided and len(dips) < MOST_TRIES_BY_GROUP:
                dips.append(candidate.entry)
    crossings = _crossings(groups, known)
    for dips_together in zip(*found, strict=False):
        ordered = tuple(sorted(set(dips_together), key=_place))
        first, last = instant(ordered[0].at), instant(ordered[-1].at)
        if all(end < first or begin > last for begin, end in crossings):
            yield ordered


def _place(entry: Entry) -> tuple[datetime, int]:
    return instant(entry.at), entry.number


def _crossings(groups: list[frozenset[str]], known: Sequence[Entry]) -> list[tuple[datetime, datetime]]:
    """Return the times from when to when water was moved from one group to another."""
    group_of = {tank: number for number, group in enumerate(groups) for tank in group}

    def crosses(source: str | None, target: str | None) -> bool:
        return source is not None and group_of.get(source) != group_of.get(target or "")

    crossings: list[tuple[datetime, datetime]] = []
    running: dict[tuple[str | None, str | None], datetime] = {}
    for entry in known:
        record = entry.record
        if isinstance(record, Move) and crosses(record.source, record.target):
            crossings.append((instant(entry.at), instant(entry.at)))
        elif isinstance(record, TapOpened) and crosses(record.source, record.target):
            running.setdefault((record.source, record.target), instant(entry.at))
        elif isinstance(record, TapClosed) and crosses(record.source, record.target):
            began = running.pop((record.source, record.target), instant(entry.at))
            crossings.append((began, instant(entry.at)))
    crossings += [(began, instant(known[-1].at)) for began in running.values()]
    return crossings
