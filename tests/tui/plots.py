"""A garden for the tests of the screen: three joined totes, one first-flush pipe, rain and a dip, at a pinned time."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from textual.pilot import Pilot
from textual.worker import WorkerCancelled

from tankdash.keeping.desk import Desk, open_desk
from tankdash.keeping.entering.records import enter_dip, enter_rain
from tankdash.keeping.when import parse_time
from tankdash.tui.app import TankdashApp
from tankdash.tui.keeper import Keeper

ZONE = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 5, 6, 7, 30, tzinfo=ZONE)
"""A Wednesday morning."""

SITE = """\
site: Fig tree corner
timezone: Europe/Lisbon
units: metric
datum: the step by the kitchen door
tanks:
  north:
    label: North tote
    base: 20 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
    overflow: 95 cm
  middle:
    label: Middle tote
    base: 17 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
  south:
    label: South tote
    base: 23 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
links:
  north-middle: {join: [north, middle], ports: 8 cm, bore: 50 mm, run: 60 cm}
  middle-south: {join: [middle, south], ports: 8 cm, bore: 50 mm, run: 60 cm}
outlets:
  tap: {tank: south, at: 10 cm}
roofs:
  shed:
    area: 24 m2
    fills: north
    first_flush: {holds: 12 L, empties: by hand}
beds:
  tomatoes: {area: 12 m2, need: 25 mm/week, from: tap}
chores:
  drain-first-flush:
    label: Empty the first-flush pipe
    after_rain: {at_least: 0.5 mm}
    empties: shed
  wipe-screen: {label: Wipe the leaf screen, after_rain: {at_least: 10 mm}, every: 2 weeks}
  fittings: {label: Wrap the fittings, frost: 0 C}
"""


@dataclass
class Garden:
    """A site file with its journal, and the way to an app on it."""

    path: Path
    now: datetime = NOW

    def desk(self) -> Desk:
        """Return a desk of its own, as another program would open it."""
        return open_desk(self.path)

    def app(self, **options: object) -> TankdashApp:
        """Return the app, at the pinned time and in the dark colours unless told otherwise."""
        options.setdefault("theme", "dusk")
        options.setdefault("ascii_only", False)
        clock: Callable[[], datetime] = lambda: self.now  # noqa: E731
        return TankdashApp(Keeper(self.path, None, clock), clock, **options)  # type: ignore[arg-type]

    def dip(self, at: str = "monday 6:00", **readings: str) -> None:
        """Write a dip down."""
        with self.desk() as desk:
            when = parse_time(at, ZONE, self.now)
            words = "dip " + " ".join(f"{tank} {text}" for tank, text in readings.items())
            desk.record(enter_dip(desk.site, desk.layout(when), readings, when), when, words, "", self.now)

    def rain(self, depth: str, at: str) -> None:
        """Write a gauge reading down."""
        with self.desk() as desk:
            when = parse_time(at, ZONE, self.now)
            record = enter_rain(desk.site, depth, when, self.now, entries=desk.entries())
            desk.record(record, when, f"rain {depth}", "", self.now)


async def settle(pilot: Pilot[int]) -> None:
    """Wait until the screen is painted, workers have ended, and what they said has been heard and painted."""
    for _ in range(3):
        await pilot.pause()
        await painted(pilot)
        with suppress(WorkerCancelled):  # a newer one took the place of one that was waited for
            await pilot.app.workers.wait_for_complete()
    await pilot.pause()


async def painted(pilot: Pilot[int]) -> None:
    """Wait until what was asked to be painted is, and until what waits for that has been called."""
    seen = asyncio.Event()
    pilot.app.screen.call_after_refresh(seen.set)
    await seen.wait()


async def keys(pilot: Pilot[int], *pressed: str) -> None:
    """Press keys, one after the other, each with all that it sets going."""
    for key in pressed:
        await pilot.press({" ": "space", ".": "full_stop"}.get(key, key))
        await settle(pilot)
