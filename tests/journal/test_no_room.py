"""Where SQLite has no room for the files it keeps beside a journal, the journal is read all the same."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tankdash.journal.entries import Use
from tankdash.journal.store import Journal, JournalError

NOON = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)
KEPT = Path(__file__).parent / "kept"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "garden.journal.db"


def no_room_beside(path: Path) -> Path:
    """Lead the place where SQLite shares its memory to nowhere: it cannot be made, as on a disk without room."""
    in_the_way = path.with_name(path.name + "-shm")
    in_the_way.symlink_to("nowhere/at-all")
    return in_the_way


def fill(path: Path, waiting: Path | None = None) -> None:
    """Write thirty entries; leave them in the -wal file when another place is given for the files."""
    with Journal.open(path) as journal:
        for number in range(30):
            journal.add(Use(float(number)), NOON, f"use {number} L")
        if waiting is not None:
            for end in ("", "-wal"):
                shutil.copy(path.with_name(path.name + end), waiting.with_name(waiting.name + end))


def numbers(journal: Journal) -> list[float]:
    return [entry.record.volume_l for entry in journal.entries() if isinstance(entry.record, Use)]


def test_what_waits_beside_the_file_is_read_too(path: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.journal.db"
    fill(path, other)
    assert other.with_name(other.name + "-wal").stat().st_size > 10_000
    no_room_beside(other)
    with Journal.open(other) as journal:
        assert numbers(journal) == [float(number) for number in range(30)]
        assert journal.stamp() == 30
        assert journal.history() == []


def test_nothing_can_be_written_and_a_sentence_says_so(path: Path) -> None:
    fill(path)
    no_room_beside(path)
    with Journal.open(path) as journal:
        with pytest.raises(JournalError, match="cannot be opened"):
            journal.add(Use(99.0), NOON, "use 99 L")
        assert len(numbers(journal)) == 30


def test_a_screen_left_open_sees_what_others_write_once_there_is_room(path: Path) -> None:
    """What was read without room is one moment: no later look may take it for the present."""
    fill(path)
    in_the_way = no_room_beside(path)
    with Journal.open(path) as screen:
        assert len(numbers(screen)) == 30
        in_the_way.unlink()
        with Journal.open(path) as other:
            other.add(Use(30.0), NOON, "use 30 L")
        assert len(numbers(screen)) == 31
        screen.add(Use(31.0), NOON, "use 31 L")
        assert screen.stamp() == 32


def test_an_older_format_is_read_and_left_as_it_is(path: Path) -> None:
    shutil.copyfile(KEPT / "format-1.db", path)
    no_room_beside(path)
    with Journal.open(path) as journal:
        assert len(journal.entries(include_voided=True)) > 20
    connection = sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)
    assert connection.execute("PRAGMA user_version").fetchone() == (1,)
    connection.close()


@pytest.mark.parametrize("has_room", [True, False])
def test_looking_at_an_empty_file_begins_nothing(path: Path, has_room: bool) -> None:
    path.touch()
    if not has_room:
        no_room_beside(path)
    with Journal.open(path) as journal:
        assert journal.entries() == []
        assert journal.stamp() == 0
    assert path.stat().st_size == 0


def test_a_journal_another_program_holds_to_itself_is_not_read_behind_its_back(path: Path) -> None:
    fill(path)
    no_room_beside(path)
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("PRAGMA locking_mode = EXCLUSIVE")
    holder.execute("BEGIN IMMEDIATE")
    with pytest.raises(JournalError):
        Journal.open(path, timeout=0.1)
    holder.execute("ROLLBACK")
    holder.close()
    with Journal.open(path) as journal:
        assert len(numbers(journal)) == 30
