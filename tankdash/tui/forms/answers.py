"""Answers that several forms offer: tanks, outlets, beds, links and roofs that stand today, by their labels."""

from __future__ import annotations

import re
from collections.abc import Iterable

from tankdash.drawing.cells import printable
from tankdash.journal.entries import Dips, Entry, Rain, Use
from tankdash.tui.state import Shown
from tankdash.tui.widgets.field import Choice

_LENGTH = re.compile(r"(?<![a-z])(mm|cm|m|in|ft)\b", re.IGNORECASE)
_DEPTH = re.compile(r"(?<![a-z])(mm|in)\b", re.IGNORECASE)


def _last_unit(entries: Iterable[Entry], kind: type, pattern: re.Pattern[str]) -> str | None:
    for entry in sorted(entries, key=lambda entry: entry.number, reverse=True):
        if isinstance(entry.record, kind):
            found = pattern.findall(entry.words)
            return found[-1].lower() if found else None
    return None


def dip_unit(shown: Shown) -> str:
    """Return the unit a bare dip takes: the one of the last dip, else the usual one of the site's units."""
    return _last_unit(shown.entries, Dips, _LENGTH) or ("cm" if shown.site.units == "metric" else "in")


def rain_unit(shown: Shown) -> str:
    """Return the unit a bare gauge reading takes: the one of the last reading, else the site's."""
    return _last_unit(shown.entries, Rain, _DEPTH) or ("mm" if shown.site.units == "metric" else "in")


def volume_unit(shown: Shown) -> str:
    """Return the unit a bare volume takes, the gallon named."""
    return {"metric": "L", "us": "US gal", "imperial": "imp gal"}[shown.site.units]


def length_unit(shown: Shown) -> str:
    """Return the unit a bare height takes."""
    return "cm" if shown.site.units == "metric" else "in"


def temperature_unit(shown: Shown) -> str:
    """Return the unit a bare temperature takes."""
    return "F" if shown.site.units == "us" else "C"


def usual_tank(shown: Shown) -> str:
    """Return the tank dipped most recently that still stands, else the first one with an outlet, else the first."""
    for entry in reversed(shown.entries):
        if isinstance(entry.record, Dips):
            for dip in entry.record.tanks:
                if dip.tank in shown.layout.tanks:
                    return dip.tank
    with_outlet = [outlet.tank for outlet in shown.layout.outlets.values()]
    return (with_outlet or list(shown.layout.tanks))[0]


def tank_label(shown: Shown, tank: str) -> str:
    """Return what people call a tank."""
    return printable(shown.site.tanks[tank].label)


def tank_choices(shown: Shown) -> tuple[Choice, ...]:
    """Return the tanks that stand today."""
    return tuple(Choice(tank, tank_label(shown, tank)) for tank in shown.layout.tanks)


def outlet_choices(shown: Shown) -> tuple[Choice, ...]:
    """Return the outlets, the unsaid one last."""
    named = [Choice(key, printable(shown.site.outlets[key].label)) for key in shown.layout.outlets]
    return (*named, Choice("", "not said"))


def usual_outlet(shown: Shown) -> str:
    """Return the outlet drawn from last that still stands, else the first one."""
    for entry in reversed(shown.entries):
        if isinstance(entry.record, Use) and entry.record.outlet in shown.layout.outlets:
            return entry.record.outlet or ""
    return next(iter(shown.layout.outlets), "")


def bed_choices(shown: Shown) -> tuple[Choice, ...]:
    """Return the beds, the unsaid one first."""
    return (
        Choice("", "not said"),
        *(Choice(key, printable(bed.label)) for key, bed in shown.site.beds.items()),
    )
