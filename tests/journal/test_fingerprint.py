"""What stands for the bytes of a journal: the same as long as nobody writes, before and after it is closed."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from tankdash.journal.entries import Note
from tankdash.journal.place import waiting_file
from tankdash.journal.store import Journal
from tankdash.kept import digest_of_file

NOW = datetime(2026, 5, 4, 8, tzinfo=UTC)


def test_closing_a_journal_does_not_change_what_stands_for_it(tmp_path: Path) -> None:
    path = tmp_path / "garden.journal.db"
    with Journal.open(path) as journal:
        journal.add(Note(), NOW, "note one")
        found = journal.fingerprint()
        assert found is not None
    assert digest_of_file(path) == found
    assert not waiting_file(path).exists()
    with Journal.open(path) as journal:
        journal.entries()
        assert journal.fingerprint() == found
    assert digest_of_file(path) == found


def test_each_entry_changes_it(tmp_path: Path) -> None:
    path = tmp_path / "garden.journal.db"
    with Journal.open(path) as journal:
        seen = set()
        for number in range(3):
            journal.add(Note(), NOW, f"note {number}")
            seen.add(journal.fingerprint())
        journal.undo(NOW)
        seen.add(journal.fingerprint())
    assert len(seen) == 4 and None not in seen


def test_an_entry_of_another_program_changes_it(tmp_path: Path) -> None:
    path = tmp_path / "garden.journal.db"
    with Journal.open(path) as one, Journal.open(path) as other:
        one.add(Note(), NOW, "note one")
        before = other.fingerprint()
        one.add(Note(), NOW, "note two")
        assert other.fingerprint() != before


def test_a_journal_that_somebody_reads_meanwhile_is_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "garden.journal.db"
    with Journal.open(path) as one, Journal.open(path) as other:
        one.add(Note(), NOW, "note one")
        connection = other._connect(create=False)
        assert connection is not None
        connection.execute("BEGIN")
        connection.execute("SELECT * FROM entry").fetchone()
        one.add(Note(), NOW, "note two")
        assert one.fingerprint() is None
        connection.execute("ROLLBACK")
        assert one.fingerprint() is not None


def test_there_is_none_without_a_file(tmp_path: Path) -> None:
    with Journal.open(tmp_path / "garden.journal.db") as journal:
        assert journal.fingerprint() is None
