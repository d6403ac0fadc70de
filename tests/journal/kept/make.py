"""Makes the kept journals: one file for each format ever released, with every kind of entry in it.

Run it once for a new format, `python tests/journal/kept/make.py 3`, and keep the file it makes for ever. A file that
is kept is never made anew: that it was written by the program of its day is what it is kept for.
"""

from __future__ import annotations

import sqlite3
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from tankdash.journal import sql
from tankdash.journal.codec import encode, kind_of
from tankdash.journal.entries import (
    Change,
    Dips,
    Done,
    Frost,
    Imported,
    Move,
    Note,
    Pour,
    Rain,
    Record,
    TankDip,
    TapClosed,
    TapOpened,
    Use,
    Void,
)

HERE = Path(__file__).parent
NOON = datetime(2026, 5, 1, 12, tzinfo=UTC)
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def dip(**depths: float) -> Dips:
    return Dips(tuple(TankDip(tank, depth, depth, depth) for tank, depth in depths.items()))


def rain(low: float, high: float | None, of_may: int, **more: object) -> Rain:
    start = NOON.replace(day=of_may, hour=6)
    return Rain(low, high, start, start + timedelta(days=1), **more)  # type: ignore[arg-type]


RECORDS: tuple[tuple[Record, str, str], ...] = (
    (dip(north=0.5, middle=0.53, south=0.47), "dip north 50 cm middle 53 cm south 47 cm", "the first survey"),
    (rain(12.0, 12.0, 2), "rain 12 mm", ""),
    (
        rain(60.0, 90.0, 3, gauge="village", day=date(2026, 5, 3)),
        "rain 60-90 mm --gauge village",
        "a cloudburst",
    ),
    (rain(140.0, None, 4, left_in=True), "rain >140 mm --left-in", "ran over"),
    (rain(0.0, 0.2, 5, trace=True), "rain trace", ""),
    (Done("drain-first-flush"), "done drain-first-flush", ""),
    (Use(9.0), "use 9 L", "two cans"),
    (Use(40.0, "tap", "tomatoes"), "use 40 L --bed tomatoes", ""),
    (TapOpened("tap"), "use --start", ""),
    (TapClosed("tap", 0.1), "use --stop --rate 6 L/min", ""),
    (Move(30.0, "south", "north"), "move 30 L south north", ""),
    (Pour(20.0, "middle", "melt"), "pour 20 L middle --what melt", ""),
    (Pour(None, "middle", "hose"), "pour ? middle", "only noticed"),
    (Change("north-middle", "closed"), "set north-middle closed", ""),
    (Change("north-middle", "open"), "set north-middle open", ""),
    (Change("south", "base", 0.23), "set south base 23 cm", ""),
    (Frost(-1.0, date(2026, 5, 9)), "frost -1 C", ""),
    (Note("overflow seen"), "note overflow seen", "=1+1 \u202e \x1b[31m 桶"),
    (Note(), "note anything", ""),
    (Use(500.0), "use 500 L", "a slip of the key"),
    (Void(20), "undo", ""),
    (dip(north=0.6), "dip north 60 cm", "the last dip"),
    (Use(30.0, "tap"), "use 30 L", "after it"),
)
"""Every kind of entry there was from the first format on, in the order of writing."""


def add(
    connection: sqlite3.Connection, number: int, record: Record, words: str, note: str, batch: int | None
) -> None:
    at = NOON + timedelta(hours=12 * number)
    values = [
        f"kept-{number}", kind_of(record), at.isoformat(), (at - EPOCH) // timedelta(microseconds=1), "Europe/Lisbon",
        (at + timedelta(minutes=1)).isoformat(), encode(record), words, note,
        record.number if isinstance(record, Void) else None,
    ]  # fmt: skip
    names = "uid, kind, at, instant, zone, entered, record, words, note, voids"
    if batch is not None:
        names, values = f"{names}, batch", [*values, batch]
    marks = ", ".join("?" * len(values))
    connection.execute(f"INSERT INTO entry ({names}) VALUES ({marks})", values)


def make(version: int, path: Path) -> None:
    """Write a journal of that format."""
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA journal_mode = WAL")
    for step in sql.MIGRATIONS[:version]:
        connection.executescript(step)
    connection.execute(f"PRAGMA application_id = {sql.APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {version}")
    for number, (record, words, note) in enumerate(RECORDS, start=1):
        add(connection, number, record, words, note, None)
    if version >= 2:
        number = len(RECORDS) + 1
        add(connection, number, Imported("old.csv", "gauge", "gauge", 1), "import old.csv", "", None)
        # The reading of an import tells of a time before the first dip, so it moves no water of now.
        before = rain(3.0, 3.0, 1)
        before = Rain(3.0, 3.0, before.start - timedelta(days=30), before.end - timedelta(days=30))
        add(connection, number + 1, before, "rain 2026-04-01 3", "", number)
        add(connection, number + 2, Imported("far.csv", "history", "village", 2), "import far.csv", "", None)
        connection.executemany(
            "INSERT INTO history (station, day, element, low, high, batch) VALUES (?, ?, ?, ?, ?, ?)",
            [
                ("village", "2019-01-01", "rain", 25.4, 25.4, number + 2),
                ("village", "2019-01-01", "tmin", -3.5, -3.5, number + 2),
            ],
        )
    connection.commit()
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()


if __name__ == "__main__":
    wanted = int(sys.argv[1])
    kept = HERE / f"format-{wanted}.db"
    if kept.exists():
        sys.exit(f"{kept} is kept: it is never made anew")
    make(wanted, kept)
