"""Whatever lies where the journal should be is answered with a sentence, and is left as it was."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tankdash.journal import sql
from tankdash.journal.entries import Use
from tankdash.journal.store import Journal, JournalError

NOON = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "garden.journal.db"


def fill(path: Path, count: int = 3) -> None:
    with Journal.open(path) as journal:
        for number in range(count):
            journal.add(Use(float(number)), NOON, f"use {number} L")


def complaint(path: Path) -> str:
    """Return the sentence that reading and writing the file both end in."""
    sentences = []
    for work in (lambda j: j.entries(), lambda j: j.add(Use(1.0), NOON, "use 1 L")):
        with pytest.raises(JournalError) as problem, Journal.open(path, timeout=0.2) as journal:
            work(journal)
        sentences.append(str(problem.value))
    assert all(str(path) in sentence and "\n" not in sentence for sentence in sentences)
    return sentences[0]


def make_foreign(path: Path, application: int = 0) -> None:
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE recipes (name TEXT)")
    connection.execute(f"PRAGMA application_id = {application}")
    connection.commit()
    connection.close()


def test_a_folder(path: Path) -> None:
    path.mkdir()
    assert "is a folder" in complaint(path)


def test_a_pipe(path: Path) -> None:
    os.mkfifo(path)
    assert "not a plain file" in complaint(path)


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with Journal.open(tmp_path / "gone" / "a.journal.db") as journal:
        assert journal.entries() == []
        with pytest.raises(JournalError, match="make it first"):
            journal.add(Use(1.0), NOON, "use 1 L")


@pytest.mark.parametrize("content", [b"site: not a journal\n", b"\x00" * 5000, b"SQLite format 2\x00", b"x"])
def test_a_file_of_another_sort(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    assert "is not a journal" in complaint(path)
    assert path.read_bytes() == content


@pytest.mark.parametrize("application", [0, 0x0F055111])
def test_a_database_of_another_program(path: Path, application: int) -> None:
    make_foreign(path, application)
    before = path.read_bytes()
    assert "another program" in complaint(path)
    assert path.read_bytes() == before


def test_a_journal_of_a_newer_program(path: Path) -> None:
    fill(path)
    connection = sqlite3.connect(path)
    connection.execute(f"PRAGMA user_version = {len(sql.MIGRATIONS) + 1}")
    connection.close()
    before = path.read_bytes()
    assert "newer tankdash" in complaint(path)
    assert path.read_bytes() == before


def test_an_entry_of_a_newer_program(path: Path) -> None:
    fill(path)
    connection = sqlite3.connect(path)
    connection.execute(
        "INSERT INTO entry (uid, kind, at, instant, zone, entered, record, words, note)"
        " SELECT 'u', 'flood', at, instant, zone, entered, '{}', words, note FROM entry WHERE number = 1"
    )
    connection.commit()
    connection.close()
    with Journal.open(path) as journal, pytest.raises(JournalError, match="entry 4 cannot be read"):
        journal.entries()


def test_an_empty_file_is_a_journal_not_begun(path: Path) -> None:
    path.touch()
    with Journal.open(path) as journal:
        assert journal.entries() == []
    fill(path)
    with Journal.open(path) as journal:
        assert len(journal.entries()) == 3


@pytest.mark.parametrize("keep", [17, 100, 1024, 4096, 5000])
def test_a_file_cut_short(path: Path, keep: int) -> None:
    fill(path)
    content = path.read_bytes()[:keep]
    path.write_bytes(content)
    assert "put back a copy" in complaint(path)


def test_a_file_with_a_torn_page(path: Path) -> None:
    fill(path, 200)
    content = bytearray(path.read_bytes())
    content[4096:12288] = b"\xa5" * 8192
    path.write_bytes(content)
    assert "put back a copy" in complaint(path)


def test_a_file_another_program_holds(path: Path) -> None:
    fill(path)
    holder = sqlite3.connect(path)
    holder.execute("BEGIN IMMEDIATE")
    with Journal.open(path, timeout=0.2) as journal:
        assert len(journal.entries()) == 3, "reading goes on"
        with pytest.raises(JournalError, match="another program is writing"):
            journal.add(Use(9.0), NOON, "use 9 L")
        holder.rollback()
        holder.close()
        journal.add(Use(9.0), NOON, "use 9 L")
        assert len(journal.entries()) == 4


def test_a_full_disk_records_nothing_and_says_so(path: Path) -> None:
    fill(path)
    with Journal.open(path) as journal:
        assert journal._connection is not None
        (pages,) = journal._connection.execute("PRAGMA page_count").fetchone()
        journal._connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(JournalError, match="disk is full"):
            journal.add(Use(9.0), NOON, "use 9 L", note="n" * 10_000)
        assert len(journal.entries()) == 3
        journal._connection.execute("PRAGMA max_page_count = 1000000")
        journal.add(Use(9.0), NOON, "use 9 L")
        assert len(journal.entries()) == 4


def test_a_lost_shm_and_a_lost_tail_of_the_wal(path: Path, tmp_path: Path) -> None:
    """A power cut leaves the file, a -wal that may end anywhere, and perhaps no -shm: what was whole stands."""
    with Journal.open(path) as journal:
        for number in range(30):
            journal.add(Use(float(number)), NOON, f"use {number} L")
        whole = path.read_bytes()
        waiting = path.with_name(path.name + "-wal").read_bytes()
    assert len(waiting) > 10_000
    counts = []
    for part, keep in enumerate(range(0, len(waiting) + 1, max(1, len(waiting) // 40))):
        copy = tmp_path / f"cut{part}.journal.db"
        copy.write_bytes(whole)
        copy.with_name(copy.name + "-wal").write_bytes(waiting[:keep])
        with Journal.open(copy) as journal:
            volumes = [entry.record for entry in journal.entries()]
            assert volumes == [Use(float(number)) for number in range(len(volumes))]
            counts.append(len(volumes))
            journal.add(Use(99.0), NOON, "use 99 L")
            assert journal._connection is not None
            assert journal._connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert counts == sorted(counts)
    assert counts[0] == 0
    assert counts[-1] >= 28


@pytest.mark.parametrize("folder_mode", [0o755, 0o555])
def test_a_file_that_may_only_be_read(folder_mode: int) -> None:
    """Root ignores permissions, so the look is taken as nobody where that can be done."""
    folder = Path(tempfile.mkdtemp(prefix="tankdash-"))
    path = folder / "garden.journal.db"
    fill(path)
    path.chmod(0o444)
    folder.chmod(folder_mode)
    was_root = os.geteuid() == 0
    if was_root:
        os.seteuid(65534)
    try:
        with Journal.open(path) as journal:
            assert len(journal.entries()) == 3
            with pytest.raises(JournalError, match="may only be read"):
                journal.add(Use(1.0), NOON, "use 1 L")
    finally:
        if was_root:
            os.seteuid(0)
        folder.chmod(0o755)
        shutil.rmtree(folder)
