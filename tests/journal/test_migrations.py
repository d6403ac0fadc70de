"""A journal of every version ever released opens, keeps its entries, and is brought up to date once."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tankdash.journal import sql
from tankdash.journal.entries import Imported, Use
from tankdash.journal.store import HistoryValue, Journal

NOON = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)


def make_old(path: Path, version: int) -> None:
    """Write a journal as the program of that version left it, with one entry in it."""
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA journal_mode = WAL")
    for step in sql.MIGRATIONS[:version]:
        connection.executescript(step)
    connection.execute(f"PRAGMA application_id = {sql.APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {version}")
    connection.execute(
        "INSERT INTO entry (uid, kind, at, instant, zone, entered, record, words, note) VALUES ('old', 'use',"
        " '2026-06-01T12:00:00+00:00', 1780315200000000, 'Europe/Lisbon', '2026-06-01T12:00:00+00:00',"
        """ '{"volume_l":9.0,"outlet":"tap","bed":null}', 'use 9 L', '')"""
    )
    connection.commit()
    connection.close()


@pytest.mark.parametrize("version", range(1, len(sql.MIGRATIONS) + 1))
def test_a_journal_of_each_version_opens_and_goes_on(tmp_path: Path, version: int) -> None:
    path = tmp_path / "old.journal.db"
    make_old(path, version)
    with Journal.open(path) as journal:
        (entry,) = journal.entries()
        assert entry.record == Use(9.0, "tap")
        assert (entry.uid, entry.words, entry.zone, entry.at) == ("old", "use 9 L", "Europe/Lisbon", NOON)
        journal.add(Use(1.0), NOON, "use 1 L")
        journal.add_history(
            [HistoryValue("EX1", date(2019, 1, 1), "rain", 1.0, 1.0)],
            Imported("a.csv", "history", "EX1", 1),
            NOON,
        )
    connection = sqlite3.connect(path)
    assert connection.execute("PRAGMA user_version").fetchone() == (len(sql.MIGRATIONS),)
    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()


def test_a_migrated_journal_has_the_tables_of_a_new_one(tmp_path: Path) -> None:
    tables = []
    for version in range(len(sql.MIGRATIONS) + 1):
        path = tmp_path / f"{version}.journal.db"
        if version:
            make_old(path, version)
        with Journal.open(path) as journal:
            journal.add(Use(1.0), NOON, "use 1 L")
        connection = sqlite3.connect(path)
        tables.append(
            connection.execute("SELECT type, name, sql FROM sqlite_schema ORDER BY name").fetchall()
        )
        connection.close()
    assert all(each == tables[0] for each in tables)


def test_a_migration_that_fails_leaves_the_old_journal_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "old.journal.db"
    make_old(path, 1)
    before = path.read_bytes()
    monkeypatch.setattr(
        sql,
        "MIGRATIONS",
        (sql.MIGRATIONS[0], "CREATE TABLE half (a TEXT) STRICT;\nCREATE TABLE half (b TEXT);"),
    )
    with pytest.raises(Exception, match="put back a copy"):
        Journal.open(path)
    connection = sqlite3.connect(path)
    assert connection.execute("PRAGMA user_version").fetchone() == (1,)
    assert connection.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'half'").fetchone() == (0,)
    connection.close()
    assert path.read_bytes() == before
