"""Sentences of the screen: what an entry did, what was taken back, what the figures mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankdash.keeping.state.figures import needs_range
from tankdash.keeping.when import moment_words
from tankdash.units import Units, format_length, format_temperature, format_volume

if TYPE_CHECKING:
    from pathlib import Path

    from tankdash.journal.entries import Entry
    from tankdash.site.model import Site
    from tankdash.site.rewriting import Original
    from tankdash.tui.state import Shown


def volume(litres: float | None, units: Units) -> str:
    """Return litres in the site's units; `unknown` for None.

    Examples
    --------
    >>> volume(1410.0, "metric"), volume(None, "metric")
    ('1410 L', 'unknown')
    """
    return "unknown" if litres is None else format_volume(litres / 1000, units)


def volume_range(litres: float | None, low: float, high: float, full: float, units: Units) -> str:
    """Return a volume, or the range it lies in where it is known only roughly; `full` is what is held when full.

    Examples
    --------
    >>> volume_range(60.0, 60.0, 60.0, 200.0, "metric"), volume_range(None, 0.0, 80.0, 200.0, "metric")
    ('60 L', '0–80 L')
    >>> volume_range(60.0, 40.0, 80.0, 200.0, "metric")
    '40–80 L'
    """
    if litres is not None and not needs_range(low, high, full):
        return volume(litres, units)
    least, most = volume(low, units), volume(high, units)
    return most if least == most else f"{least.partition(' ')[0]}–{most}"


def change_words(before: float | None, after: float | None, units: Units) -> str:
    """Return how much more or less there is than before; nothing where that cannot be said.

    Parameters
    ----------
    before, after : float or None
        Volumes, [L].
    units : Units
        The site's.

    Examples
    --------
    >>> change_words(1000.0, 1210.0, "metric"), change_words(1000.0, 1000.2, "metric")
    ('210 L more than before', 'as much as before')
    """
    if before is None or after is None:
        return ""
    change = after - before
    if abs(change) < 0.5:
        return "as much as before"
    return f"{volume(abs(change), units)} {'more' if change > 0 else 'less'} than before"


def difference(before: float | None, after: float, units: Units) -> str:
    """Return how one volume stands to an earlier one, so that the earlier one can be named after it.

    Examples
    --------
    >>> difference(1000.0, 880.0, "metric"), difference(880.0, 1000.0, "metric"), difference(5.0, 5.1, "metric")
    ('120 L less than', '120 L more than', 'the same as')
    """
    if before is None:
        return "not comparable with"
    change = after - before
    if abs(change) < 0.5:
        return "the same as"
    return f"{volume(abs(change), units)} {'more' if change > 0 else 'less'} than"


def chore_label(site: Site, chore: str) -> str:
    """Return what people call a chore."""
    return site.chores[chore].label if chore in site.chores else chore


def entry_words(entry: Entry, site: Site) -> str:
    """Return what an entry was, as a person would call it."""
    from tankdash.journal.entries import Change, Done, Frost, Move, Pour, TapClosed, TapOpened, Use
    from tankdash.keeping.state.words import label

    record, units = entry.record, site.units
    match record:
        case Done():
            return f"done: {chore_label(site, record.chore)}"
        case Use():
            return f"used {volume(record.volume_l, units)}{_whence(site, record.outlet, record.bed)}"
        case TapOpened(source=str() as source, target=str() as target):
            return f"switched on the pump from {label(site, source)} to {label(site, target)}"
        case TapClosed(source=str() as source, target=str() as target):
            return f"switched off the pump from {label(site, source)} to {label(site, target)}"
        case TapOpened():
            named = label(site, record.outlet) if record.outlet else "a tap"
            return f"opened {named}{_whence(site, None, record.bed)}"
        case TapClosed():
            named = label(site, record.outlet) if record.outlet else "a tap"
            ran = "" if record.volume_l is None else f", {volume(record.volume_l, units)} ran"
            return f"closed {named}{ran}"
        case Move():
            source, target = label(site, record.source), label(site, record.target)
            return f"moved {volume(record.volume_l, units)} from {source} to {target}"
        case Pour():
            amount = "some water" if record.volume_l is None else volume(record.volume_l, units)
            return f"{amount} into {label(site, record.tank)}: {record.what}"
        case Change():
            height = "" if record.base_m is None else f" {format_length(record.base_m, units)}"
            item = "the garden" if record.item == "site" else label(site, record.item)
            return f"{item} set to {record.state}{height}"
        case Frost():
            return f"frost of {format_temperature(record.low_c, units)}, night of {record.night.isoformat()}"
        case _:
            typed = entry.words.strip()
            return typed if typed.startswith(entry.kind) else f"{entry.kind}: {typed}"


def _whence(site: Site, outlet: str | None, bed: str | None) -> str:
    """Return from where and for what water was drawn."""
    from tankdash.keeping.state.words import label

    said = f" from {label(site, outlet)}" if outlet else ""
    return said + (f" for {label(site, bed)}" if bed else "")


def written_words(entry: Entry | None, before: Shown | None, after: Shown) -> str:
    """Return what writing an entry did."""
    if entry is None:
        return "Nothing was written."
    if entry.kind == "done":
        ticked = entry_words(entry, after.site).removeprefix("done: ")
        return f"Ticked: {ticked}. z takes it back."
    said = f"Written down: {entry_words(entry, after.site)}."
    usable = after.levels.totals.usable_l
    earlier = None if before is None else before.levels.totals.usable_l
    change = change_words(earlier, usable, after.site.units)
    now = f" {volume(usable, after.site.units)} usable now" if usable is not None else ""
    return said + (f"{now}, {change}." if now and change else f"{now}." if now else "")


def altered_words(original: Original, kept: Path | None) -> str:
    """Return what changing the site file did."""
    if kept is None:
        return "Nothing was changed, so nothing was written."
    return f"Written to {original.path.name}. As it was before, it is kept in {kept.name} beside it."


def undone_words(entry: Entry | None, before: Shown | None, after: Shown) -> str:
    """Return what taking back the last entry did."""
    if entry is None:
        return "There is nothing to take back: the journal is empty."
    when = moment_words(entry.at, after.site.zone, after.now)
    return f"Taken back: {entry_words(entry, after.site)}, of {when}. The journal keeps both lines."
