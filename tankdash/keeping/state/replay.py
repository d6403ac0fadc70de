"""Truth from the journal: the happenings put in order and walked from a dip to now (R14)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from tankdash.journal.entries import Change, Dips, Entry, Rain, TapClosed, TapOpened, Void
from tankdash.keeping.rain.flush import Fallen, fallen_by
from tankdash.keeping.state.arrangement import Arrangement, Layouts
from tankdash.keeping.state.catching import Fall, falls_of
from tankdash.keeping.state.deciding import deciding_dips
from tankdash.keeping.state.happenings import in_order
from tankdash.keeping.state.outlets import outlet_for
from tankdash.keeping.state.settling import LONGEST_LOOK_BACK
from tankdash.keeping.state.standing import OpenTap, Standing
from tankdash.keeping.state.taps import Run, opened_tap, run_of, tap_to_close
from tankdash.keeping.state.trail import Trail
from tankdash.keeping.state.walk import Walk
from tankdash.keeping.when import instant
from tankdash.site.model import Site


def replay(
    site: Site,
    entries: Iterable[Entry],
    now: datetime,
    *,
    whole: bool = False,
    fallen: Fallen | None = None,
    trail: Trail | None = None,
) -> Standing:
    """Return the water at `now` as the journal tells it (R14); see `walk_to`."""
    return walk_to(site, entries, now, whole=whole, fallen=fallen, trail=trail).standing(now)


def walk_to(
    site: Site,
    entries: Iterable[Entry],
    now: datetime,
    *,
    whole: bool = False,
    fallen: Fallen | None = None,
    trail: Trail | None = None,
) -> Walk:
    """Return the journal walked to `now`, ready to be walked on with what might happen next (R14).

    Parameters
    ----------
    site : Site
        The garden as its file describes it.
    entries : iterable of Entry
        The journal; entries taken back are left out here.
    now : datetime
        Nothing later is taken into account.
    whole : bool, optional
        Walk from the first entry, for the history and the balance. Otherwise the walk starts at the last dip that
        decides everything by itself; the water at `now` is the same.
    fallen : Fallen, optional
        The rain of these entries by `now`, where the caller has it already.
    trail : Trail, optional
        Where a whole walk through this garden has been before: as far as nothing has changed it is not walked again.

    Returns
    -------
    Walk
        Its standing has the basis `none`, and everything unknown between empty and full, before the first dip.
    """
    known = in_force(entries, now)
    layouts = Layouts(site)
    falls = falls_of(fallen_by(site, known, now) if fallen is None else fallen)
    runs = _tap_runs(site, layouts, known)
    if not whole:
        for deciding in deciding_dips(site, layouts, known):
            walk = _walk(site, layouts, known, falls, runs, now, deciding)
            if walk is not None:
                return walk
    walk = _walk(site, layouts, known, falls, runs, now, (), trail if whole else None)
    assert walk is not None
    return walk


def in_force(entries: Iterable[Entry], now: datetime) -> list[Entry]:
    """Return what counts at `now`, in the order of the times it is about; entries taken back are left out."""
    counting = [
        entry
        for entry in entries
        if entry.voided_by is None and not isinstance(entry.record, Void) and entry.at <= now
    ]
    return sorted(counting, key=lambda entry: (instant(entry.at), entry.number))


def _walk(
    site: Site,
    layouts: Layouts,
    known: Sequence[Entry],
    falls: Sequence[Fall],
    runs: Mapping[int, Run],
    now: datetime,
    deciding: Sequence[Entry],
    trail: Trail | None = None,
) -> Walk | None:
    """Return the walk from the first of the `deciding` dips, or from the first entry; None if they do not decide."""
    start = deciding[0] if deciding else None
    begin = None if start is None else instant(start.at) - LONGEST_LOOK_BACK
    arrangement, taps = Arrangement(), list[OpenTap]()
    taken: list[Entry] = []
    for entry in known:
        if isinstance(entry.record, Rain):
            continue
        if begin is not None and instant(entry.at) < begin:
            arrangement = _before_the_walk(site, layouts, entry, arrangement, taps)
        elif start is None or not _is_before(entry, start) or not isinstance(entry.record, Dips):
            taken.append(entry)
    first_event = next((fall.event for fall in falls if begin is None or fall.end >= begin), None)
    felt = [fall for fall in falls if first_event is not None and fall.event >= first_event]
    happenings = in_order(site, layouts, taken, felt, runs, now)
    first = happenings[0].at if happenings else instant(now)

    def begun() -> Walk:
        return Walk(site, layouts, arrangement, first, runs, taps)

    if not deciding:
        return (Trail() if trail is None else trail).follow(happenings, begun)
    walk = begun()
    undecided, is_single = {entry.number for entry in deciding}, len(deciding) == 1
    for happening in happenings:
        walk.step(happening)
        if undecided and happening.entry is not None and isinstance(happening.entry.record, Dips):
            if walk.unsettled > 0.0 or not (is_single or walk.is_still()):
                return None
            undecided.discard(happening.entry.number)
    return walk


def _is_before(entry: Entry, start: Entry) -> bool:
    return (instant(entry.at), entry.number) < (instant(start.at), start.number)


def _before_the_walk(
    site: Site, layouts: Layouts, entry: Entry, arrangement: Arrangement, taps: list[OpenTap]
) -> Arrangement:
    """Return the arrangement after an entry that is only looked at for what it set; keep `taps` with it."""
    match entry.record:
        case Change() as change:
            return arrangement.after(change, entry.at)
        case TapOpened() as opened:
            taps.append(_opened(site, layouts, entry, opened, arrangement))
        case TapClosed() as closed:
            place = tap_to_close(taps, closed)
            if place is not None:
                del taps[place]
    return arrangement


def _opened(
    site: Site, layouts: Layouts, entry: Entry, opened: TapOpened, arrangement: Arrangement
) -> OpenTap:
    outlet = None
    if opened.source is None:
        outlet = outlet_for(site, layouts.at(entry.at, arrangement), opened.outlet, opened.bed)
    return opened_tap(entry, opened, outlet)


def open_taps(site: Site, entries: Iterable[Entry], now: datetime) -> list[OpenTap]:
    """Return the taps and pumps that the journal leaves running at `now`, the longest first."""
    known = in_force(entries, now)
    taps: list[OpenTap] = []
    if any(isinstance(entry.record, TapOpened) for entry in known):
        layouts, arrangement = Layouts(site), Arrangement()
        for entry in known:
            arrangement = _before_the_walk(site, layouts, entry, arrangement, taps)
    return taps


def _tap_runs(site: Site, layouts: Layouts, known: Sequence[Entry]) -> dict[int, Run]:
    """Return how each tap and pump that was closed again ran, by the number of the entry that opened it."""
    runs: dict[int, Run] = {}
    taps: list[OpenTap] = []
    arrangement = Arrangement()
    for entry in known:
        if isinstance(entry.record, TapClosed):
            place = tap_to_close(taps, entry.record)
            if place is not None:
                runs[taps[place].entry] = run_of(taps[place], entry, entry.record)
        arrangement = _before_the_walk(site, layouts, entry, arrangement, taps)
    return runs
