"""A file that bears the mark of a journal and holds other things: it is refused, and nothing in it is run."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tankdash.journal import sql
from tankdash.journal.drafts import HistoryValue
from tankdash.journal.entries import Imported, Use
from tankdash.journal.store import Journal, JournalError

NOON = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)
ENDLESS = "WITH RECURSIVE count (number) AS (SELECT 1 UNION ALL SELECT number + 1 FROM count)"
COLUMNS = "number, uid, kind, at, instant, zone, entered, record, words, note, voids, batch"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return a journal with a few entries and a past day."""
    path = tmp_path / "garden.journal.db"
    with Journal.open(path) as journal:
        for number in range(3):
            journal.add(Use(float(number)), NOON, f"use {number} L")
        past = [HistoryValue("village", date(2019, 1, 1), "rain", 2.5, 2.5)]
        journal.add_history(past, Imported("old.csv", "history", "village", 1), NOON)
    return path


def change(path: Path, *statements: str) -> None:
    """Change the file behind the program's back, without its own guards."""
    for statement in statements:
        connection = sqlite3.connect(path, isolation_level=None)
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute(statement)
        connection.close()


def write(journal: Journal) -> object:
    return journal.add(Use(1.0), NOON, "use 1 L")


def look_at(path: Path, look: Callable[[Journal], object]) -> None:
    with Journal.open(path) as journal:
        look(journal)


LOOKS: tuple[Callable[[Journal], object], ...] = (
    lambda journal: journal.entries(include_voided=True),
    lambda journal: journal.stamp(),
    lambda journal: journal.history(),
    lambda journal: journal.undo(NOON),
    write,
)

OTHER: dict[str, tuple[str, ...]] = {
    "no tables": ("DELETE FROM sqlite_schema",),
    "a view without an end": (
        "DELETE FROM sqlite_schema WHERE tbl_name = 'entry'",
        f"CREATE VIEW entry AS {ENDLESS} SELECT number, 'u' || number AS uid, 'use' AS kind, '' AS at, 1 AS instant,"
        " '' AS zone, '' AS entered, '{}' AS record, '' AS words, '' AS note, NULL AS voids, NULL AS batch FROM count",
    ),
    "a view beside": ("CREATE VIEW more AS SELECT 1",),
    "a trigger without an end": (
        f"CREATE TRIGGER later AFTER INSERT ON entry BEGIN SELECT count(*) FROM ({ENDLESS} SELECT number FROM count);"
        " END",
    ),
    "no guard against change": ("DROP TRIGGER entry_is_not_changed",),
    "a guard that guards nothing": (
        "DROP TRIGGER entry_is_not_changed",
        "CREATE TRIGGER entry_is_not_changed BEFORE UPDATE ON entry BEGIN SELECT 1; END",
    ),
    "columns of any sort": (
        "DELETE FROM sqlite_schema WHERE tbl_name = 'entry'",
        f"CREATE TABLE entry ({COLUMNS})",
        "INSERT INTO entry VALUES (x'00', NULL, 'use', NULL, 'x', 3.5, NULL, '{}', NULL, NULL, NULL, NULL)",
    ),
    "a column worked out": ("ALTER TABLE history ADD COLUMN more TEXT AS (hex(station))",),
    "a table of another sort": (
        "DELETE FROM sqlite_schema WHERE tbl_name = 'history'",
        "CREATE TABLE history (station, day, element, low, high, batch)",
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", OTHER)
def test_other_tables_under_the_journals_mark_are_refused(kind: str, path: Path) -> None:
    """A view in the place of the entries once kept the program busy for ever."""
    change(path, *OTHER[kind])
    before = path.read_bytes()
    for look in LOOKS:
        with pytest.raises(JournalError, match="other tables than a journal") as problem:
            look_at(path, look)
        assert str(path) in str(problem.value)
    assert path.read_bytes() == before


def test_what_an_owner_adds_for_looking_does_no_harm(path: Path) -> None:
    """A table, an index and SQLite's own statistics are nothing the program runs."""
    change(path, "CREATE TABLE mine (thing TEXT)", "CREATE INDEX quick ON entry (kind, at)", "ANALYZE")
    with Journal.open(path) as journal:
        assert len(journal.history()) == 1
        for look in LOOKS:
            look(journal)


@pytest.mark.parametrize("version", range(1, len(sql.MIGRATIONS) + 1))
def test_an_older_format_is_held_to_its_own_tables(tmp_path: Path, version: int) -> None:
    path = tmp_path / "old.db"
    connection = sqlite3.connect(path, isolation_level=None)
    for step in sql.MIGRATIONS[:version]:
        connection.executescript(step)
    connection.execute(f"PRAGMA application_id = {sql.APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {version}")
    connection.close()
    with Journal.open(path) as journal:
        write(journal)
        assert journal.stamp() == 1
    change(path, "DROP TRIGGER entry_is_not_removed", f"PRAGMA user_version = {version}")
    with pytest.raises(JournalError, match="other tables"):
        Journal.open(path)


BAD_CELLS = (
    ("entry", "words", "7"), ("entry", "note", "x'00ff'"), ("entry", "instant", "'noon'"), ("entry", "instant", "NULL"),
    ("entry", "at", "5"), ("entry", "kind", "x'75'"), ("entry", "zone", "3.5"), ("entry", "uid", "1"),
    ("entry", "record", "x'7b7d'"), ("entry", "voids", "'x'"), ("entry", "batch", "2.5"), ("entry", "entered", "NULL"),
    ("history", "day", "'2019-13-01'"), ("history", "day", "7"), ("history", "station", "7"),
    ("history", "element", "'snow'"), ("history", "low", "'x'"), ("history", "low", "9e999"), ("history", "high", "-5"),
    ("history", "batch", "'x'"),
)  # fmt: skip


@pytest.mark.parametrize(("table", "column", "value"), BAD_CELLS)
def test_a_cell_of_another_sort_is_a_sentence(path: Path, table: str, column: str, value: str) -> None:
    """As a bad block of the disk may leave it, whatever the table promises."""
    connection = sqlite3.connect(path, isolation_level=None)
    guards = connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
    (whole,) = connection.execute("SELECT sql FROM sqlite_schema WHERE name = ?", (table,)).fetchone()
    connection.close()
    # Bare columns under the same keys, so that what is looked up by them is the bad cell, too.
    plain = {
        "entry": f"CREATE TABLE entry ({COLUMNS}, UNIQUE (uid), UNIQUE (voids))".replace(
            "(number,", "(number INTEGER PRIMARY KEY,"
        ),
        "history": "CREATE TABLE history"
        " (station, day, element, low, high, batch, PRIMARY KEY (station, day, element, batch))",
    }[table]
    change(
        path,
        *(f"DROP TRIGGER {name}" for name, _ in guards),
        f"UPDATE sqlite_schema SET sql = '{plain}' WHERE name = '{table}'",
        f"UPDATE {table} SET {column} = {value} WHERE rowid = (SELECT max(rowid) FROM {table})",
        *(words for _, words in guards),
        "UPDATE sqlite_schema SET sql = '{}' WHERE name = '{}'".format(whole.replace("'", "''"), table),
    )
    with Journal.open(path) as journal:
        for look in LOOKS[:1] if table == "entry" else (LOOKS[2], lambda journal: journal.all_history()):
            with pytest.raises(JournalError, match="put back a copy"):
                look(journal)
        for look in LOOKS:
            try:
                look(journal)
            except JournalError as problem:
                assert "\n" not in str(problem)
