"""How the time to replay a journal grows with its length: twenty years against two, in one run."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import partial

from tankdash.journal.entries import Dips, Done, Entry, Rain, Record, TankDip, Use
from tankdash.keeping.checking.balance import balance_of
from tankdash.keeping.state.replay import replay
from tankdash.site import load_text

MOST_TIMES = 12.0
"""Ten times the entries may take this many times as long."""

SITE_TEXT = """\
site: Three totes
timezone: Europe/Lisbon
units: metric
datum: the slab
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
  shed: {area: 24 m2, runoff: 0.9, fills: north, first_flush: {holds: 12 L, empties: by hand}}
chores:
  pipe: {label: Empty the pipe, after_rain: {at_least: 0.5 mm}, empties: shed}
"""
SITE = load_text(SITE_TEXT)


def journal(years: int) -> list[Entry]:
    """Return 365 rains, 100 dips, 250 uses and 300 ticks a year, in order of time."""
    draw = random.Random(years)
    start = datetime(2006, 1, 1, 8, 0, tzinfo=UTC)
    happened: list[tuple[datetime, str, Record]] = []
    for day in range(years * 365):
        morning = start + timedelta(days=day)
        depth = draw.choice((0.0, 0.0, 0.0, draw.expovariate(0.2)))
        reading = Rain(depth, depth, morning - timedelta(days=1), morning)
        happened.append((morning, "rain", reading))
        if draw.random() < 100 / 365:
            depth_m = draw.uniform(0.1, 0.9)
            dip = Dips((TankDip("north", depth_m, depth_m, depth_m),))
            happened.append((morning + timedelta(hours=draw.uniform(0.1, 4.0)), "dip", dip))
        if draw.random() < 250 / 365:
            happened.append((morning + timedelta(hours=11), "use", Use(draw.uniform(10.0, 120.0), "tap")))
        if draw.random() < 300 / 365:
            happened.append((morning + timedelta(hours=12), "done", Done("pipe")))
    return [
        Entry(number, f"entry-{number}", kind, at, at, record, "")
        for number, (at, kind, record) in enumerate(happened, start=1)
    ]


def history_and_balance(entries: list[Entry], now: datetime) -> object:
    """Return the whole way with every finding on it."""
    return balance_of(SITE, replay(SITE, entries, now, whole=True))


def water_now(entries: list[Entry], now: datetime) -> object:
    """Return what `levels` rests on."""
    return replay(SITE, entries, now)


ASKED = {
    "the whole history with its balance": history_and_balance,
    "the water now": water_now,
}


def best_of(runs: int, work: Callable[[], object]) -> float:
    """Return the shortest of several runs, [s]."""
    times = []
    for _ in range(runs):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def main() -> None:
    """Print the times of both journals and their ratio."""
    short, long = journal(2), journal(20)
    now = long[-1].at
    print(f"entries: {len(short)} in 2 years, {len(long)} in 20")
    for name, work in ASKED.items():
        two, twenty = best_of(3, partial(work, short, now)), best_of(3, partial(work, long, now))
        print(f"{name}: 2 years {two:.3f} s, 20 years {twenty:.3f} s")
        print(f"{name}: 20 years / 2 years = {twenty / two:.1f}")
        print(f"  wanted at most {MOST_TIMES:g}")


if __name__ == "__main__":
    main()
