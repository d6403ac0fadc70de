"""A tap left open or a pump left on is a chore of its own: it is due until somebody closes it (F34, F49)."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, time, timedelta

from tankdash.journal.entries import Entry, TapClosed
from tankdash.keeping.chores.state import ChoreState
from tankdash.keeping.state.replay import open_taps
from tankdash.keeping.state.standing import OpenTap
from tankdash.keeping.state.words import elapsed_words, label, span_in_words
from tankdash.keeping.when import instant, local, local_day, moment_words
from tankdash.site.model import Site
from tankdash.units import format_volume
from tankdash.water.sills import banks


def running_chores(site: Site, entries: Sequence[Entry], now: datetime) -> list[ChoreState]:
    """Return one chore for each tap and pump that runs at `now`.

    A tap is late once the day on which it was opened is over; a pump of known rate once it would have filled what it
    fills from empty, because from then on it is water poured away.
    """
    return [
        _chore(site, name, tap, now) for name, tap in _by_name(site, open_taps(site, entries, now)).items()
    ]


def closing(site: Site, entries: Sequence[Entry], chore: str, at: datetime) -> TapClosed | None:
    """Return the record that ticking such a chore writes; None where `chore` is not one that runs at `at`."""
    tap = _by_name(site, open_taps(site, entries, at)).get(chore.strip())
    return None if tap is None else TapClosed(tap.outlet, None, tap.source, tap.target)


def _by_name(site: Site, taps: Sequence[OpenTap]) -> dict[str, OpenTap]:
    """Return what runs by the id of its chore, none of which is that of a chore of the site file."""
    named: dict[str, OpenTap] = {}
    for tap in taps:
        name = f"stop-{tap.source}-{tap.target}" if tap.is_pump else f"close-{tap.outlet or 'tap'}"
        while name in named or name in site.chores:
            name += "-again"
        named[name] = tap
    return named


def _chore(site: Site, name: str, tap: OpenTap, now: datetime) -> ChoreState:
    since = local(tap.since, site.zone)
    filled = _fills_in(site, tap)
    due = datetime.combine(local_day(tap.since, site.zone), time(23, 59, 59), tzinfo=site.zone)
    if filled is not None:
        due = local(instant(tap.since) + filled, site.zone)
    seconds = (instant(now) - instant(tap.since)).total_seconds()
    reasons = [f"{'on' if _is_pump(site, tap) else 'open'} since {moment_words(tap.since, site.zone, now)}"]
    if seconds >= 60.0:
        reasons[0] += f" ({elapsed_words(seconds)})"
        if tap.rate:
            reasons.append(
                f"{format_volume(tap.rate * seconds, site.units)} by now, if it ran so all the time"
            )
    if filled is not None:
        span = span_in_words(filled.total_seconds())
        reasons.append(f"fills {label(site, tap.target or '')} from empty in {span}")
    return ChoreState(
        id=name,
        label=_label(site, tap),
        state="late" if instant(now) > instant(due) else "due",
        since=since,
        due=due,
        missed=0,
        reason="; ".join(reasons),
        pressure=0,
    )


def _label(site: Site, tap: OpenTap) -> str:
    """Return what is to be done."""
    if tap.is_pump:
        source, target = label(site, tap.source or ""), label(site, tap.target or "")
        return f"Switch off the pump from {source} to {target}"
    if tap.outlet is None:
        return "Close the open tap"
    return f"{'Switch off' if _is_pump(site, tap) else 'Close'} {label(site, tap.outlet)}"


def _is_pump(site: Site, tap: OpenTap) -> bool:
    """Return whether what runs is a pump, between two tanks or at an outlet."""
    placed = site.outlets.get(tap.outlet or "")
    return tap.is_pump or (placed is not None and placed.thing.kind == "pump")


def _fills_in(site: Site, tap: OpenTap) -> timedelta | None:
    """Return how long a pump of known rate needs to fill what it fills from empty; None where that is not known."""
    layout = site.layout(local_day(tap.since, site.zone))
    if not tap.rate or tap.target is None or tap.target not in layout.tanks:
        return None
    bank = next((bank for bank in banks(layout) if tap.target in bank), (tap.target,))
    room = sum(layout.tanks[key].lip_volume for key in bank)
    return timedelta(seconds=min(room / tap.rate, 1e9))
