"""Gardens and journals that many tests of the keeping floor share: site files in words, entries in one line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta

from tankdash.journal.entries import (
    Change,
    Dips,
    Done,
    Entry,
    Move,
    Note,
    Pour,
    Rain,
    Record,
    TankDip,
    TapClosed,
    TapOpened,
    Use,
)
from tankdash.site import load_text
from tankdash.site.model import Site

START = datetime(2026, 5, 4, 8, 0, tzinfo=UTC)
"""A Monday morning in spring."""

HUMP = """
site: Over a hump
timezone: UTC
units: metric
datum: the pad
tanks:
  a: {base: 0, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  b: {base: 0, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
links:
  hose: {join: [a, b], ports: 5 cm, crest: 55 cm}
outlets:
  tap: {tank: b, at: 5 cm}
"""
"""Two tanks and a hose over a crest that nobody has looked at."""

THREE_TOTES = """
site: Three totes
timezone: UTC
units: metric
datum: top of the paving slab
tanks:
  north: {base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm, overflow: 95 cm}
  middle: {base: 17 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm}
  south: {base: 23 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm}
links:
  north-middle: {join: [north, middle], ports: 8 cm, bore: 50 mm, run: 60 cm, losses: 2.5}
  middle-south: {join: [middle, south], ports: 8 cm, bore: 50 mm, run: 60 cm, losses: 2.5}
outlets:
  tap: {tank: south, at: 10 cm}
roofs:
  shed: {area: 24 m2, runoff: 0.9, fills: north}
"""
"""The worked example: three totes on uneven bases, one overflow, a tap on the last."""


def site(text: str = THREE_TOTES) -> Site:
    """Return a garden from the words of its file."""
    return load_text(text)


def at(days: float = 0.0, hours: float = 0.0) -> datetime:
    """Return the time so many days and hours after the first Monday."""
    return START + timedelta(days=days, hours=hours)


def journal(*happened: tuple[datetime, Record]) -> list[Entry]:
    """Return entries in the order given, numbered from 1, each entered when it happened."""
    return [
        Entry(number, f"entry-{number}", _KINDS[type(record)], moment, moment, record, "")
        for number, (moment, record) in enumerate(happened, start=1)
    ]


_KINDS: dict[type, str] = {
    Dips: "dip",
    Rain: "rain",
    Use: "use",
    TapOpened: "tap-opened",
    TapClosed: "tap-closed",
    Move: "move",
    Pour: "pour",
    Change: "set",
    Done: "done",
    Note: "note",
}


def dip(**depths_m: float) -> Dips:
    """Return plain dips by tank; an underscore in a name stands for a hyphen."""
    return Dips(
        tuple(TankDip(name.replace("_", "-"), depth, depth, depth) for name, depth in depths_m.items())
    )


def rain(
    depth_mm: float, end: datetime, hours: float = 1.0, high_mm: float | None = None, **more: object
) -> Rain:
    """Return a gauge reading over the hours before `end`."""
    high = depth_mm if high_mm is None else high_mm
    return Rain(depth_mm, high, end - timedelta(hours=hours), end, **more)  # type: ignore[arg-type]


def total(contents: object, tanks: Iterable[str] | None = None) -> float:
    """Return litres in all, or in `tanks`."""
    assert hasattr(contents, "items")
    return 1000.0 * sum(volume for tank, volume in contents.items() if tanks is None or tank in tanks)


def codes(warnings: Sequence[object]) -> list[str]:
    """Return the codes of warnings."""
    return [getattr(warning, "code", "") for warning in warnings]
