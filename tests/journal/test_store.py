"""The journal keeps what it is given, in order, and lets nothing be changed."""

from __future__ import annotations

import sqlite3
import stat
import threading
import time
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from tankdash.journal import sql
from tankdash.journal.entries import Dips, Done, Imported, Note, Rain, TankDip, Use
from tankdash.journal.store import Draft, HistoryValue, Journal, JournalError, default_journal_path

LISBON = ZoneInfo("Europe/Lisbon")
NOON = datetime(2026, 6, 1, 12, 0, tzinfo=LISBON)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "garden.journal.db"


def test_the_journal_lies_beside_the_site_file() -> None:
    assert default_journal_path(Path("a/hill.garden.yaml")) == Path("a/hill.garden.journal.db")


def test_looking_makes_no_file(path: Path) -> None:
    with Journal.open(path) as journal:
        assert journal.entries() == []
        assert journal.stamp() == 0
        assert journal.history() == []
        assert journal.undo(NOON) is None
        assert journal.take_back(1, NOON, "undo 1") is None
    assert not path.exists()


def test_an_entry_keeps_words_note_time_and_offset(path: Path) -> None:
    with Journal.open(path) as journal:
        written = journal.add(
            Dips((TankDip("north", 0.6, 0.6, 0.6),)),
            NOON,
            "dip north 60cm",
            "windy",
            NOON + timedelta(minutes=3),
        )
    with Journal.open(path) as journal:
        (entry,) = journal.entries()
    assert entry == written
    assert (entry.number, entry.kind, entry.words, entry.note) == (1, "dip", "dip north 60cm", "windy")
    assert entry.at.isoformat() == "2026-06-01T12:00:00+01:00"
    assert entry.entered - entry.at == timedelta(minutes=3)
    assert entry.zone == "Europe/Lisbon"
    assert len(entry.uid) == 32


def test_both_halves_of_a_doubled_hour_are_told_apart(path: Path) -> None:
    """Clocks in Lisbon go back from 02:00 to 01:00 on 25 October 2026: 01:30 comes twice."""
    first = datetime(2026, 10, 25, 1, 30, tzinfo=LISBON, fold=0)
    second = datetime(2026, 10, 25, 1, 30, tzinfo=LISBON, fold=1)
    with Journal.open(path) as journal:
        journal.add(Use(2.0), second, "use 2 L")
        journal.add(Use(1.0), first, "use 1 L")
        entries = journal.entries()
    assert [entry.record for entry in entries] == [Use(1.0), Use(2.0)]
    assert entries[1].at - entries[0].at == timedelta(hours=1)


def test_entries_come_by_the_time_they_are_about_then_by_number(path: Path) -> None:
    with Journal.open(path) as journal:
        for hours, chore in ((2, "late"), (0, "early"), (2, "late-too"), (1, "middle")):
            journal.add(Done(chore), NOON + timedelta(hours=hours), chore)
            order = [entry.words for entry in journal.entries()]
    assert order == ["early", "middle", "late", "late-too"]


def test_a_time_without_offset_is_a_fault_of_the_program(path: Path) -> None:
    with Journal.open(path) as journal, pytest.raises(ValueError, match="offset"):
        journal.add(Done("x"), datetime(2026, 6, 1), "x")  # noqa: DTZ001


def test_undo_voids_the_latest_standing_entry_and_then_the_one_before(path: Path) -> None:
    with Journal.open(path) as journal:
        journal.add(Use(1.0), NOON + timedelta(days=1), "use 1 L")
        journal.add(Use(2.0), NOON, "use 2 L")
        taken = journal.undo(NOON)
        assert taken is not None
        assert (taken.words, taken.voided_by) == ("use 2 L", 3)
        assert [entry.words for entry in journal.entries()] == ["use 1 L"]
        journal.add(Use(3.0), NOON, "use 3 L")
        assert [taken.words for taken in (journal.undo(NOON), journal.undo(NOON)) if taken] == [
            "use 3 L",
            "use 1 L",
        ]
        assert journal.undo(NOON) is None
        assert journal.entries() == []
        everything = journal.entries(include_voided=True)
    assert [(entry.kind, entry.voided_by) for entry in sorted(everything, key=lambda e: e.number)] == [
        ("use", 6),
        ("use", 3),
        ("void", None),
        ("use", 5),
        ("void", None),
        ("void", None),
    ]


def test_one_entry_can_be_taken_back_by_its_number_once(path: Path) -> None:
    with Journal.open(path) as journal:
        journal.add(Use(1.0), NOON, "use 1 L")
        journal.add(Use(2.0), NOON, "use 2 L")
        taken = journal.take_back(1, NOON, "undo 1")
        assert taken is not None
        assert taken.words == "use 1 L"
        assert journal.take_back(1, NOON, "undo 1") is None
        assert journal.take_back(3, NOON, "undo 3") is None, "a void is not voided"
        assert journal.take_back(99, NOON, "undo 99") is None
        assert [entry.words for entry in journal.entries()] == ["use 2 L"]


def test_undo_of_an_import_takes_back_all_that_came_with_it(path: Path) -> None:
    rain = [
        Draft(
            Rain(1.0, 1.0, NOON, NOON + timedelta(days=1), "old sheet"), NOON + timedelta(days=n), f"row {n}"
        )
        for n in range(5)
    ]
    with Journal.open(path) as journal:
        journal.add(Use(1.0), NOON, "use 1 L")
        written = journal.add_many(rain, NOON, batch=Imported("rain.csv", "gauge", "old sheet", 5))
        assert [entry.batch for entry in written] == [2] * 5
        assert len(journal.entries()) == 7
        taken = journal.undo(NOON)
        assert taken is not None
        assert taken.kind == "import"
        assert [entry.words for entry in journal.entries()] == ["use 1 L"]
        assert {e.voided_by for e in journal.entries(include_voided=True) if e.batch} == {8}


def test_past_days_stand_until_their_import_is_taken_back(path: Path) -> None:
    day = date(2019, 1, 1)
    values = [HistoryValue("EX1", day, "tmin", 14.0, 14.0), HistoryValue("EX1", day, "rain", 0.0, 0.3)]
    with Journal.open(path) as journal:
        journal.add_history(values, Imported("2019.csv", "history", "EX1", 2), NOON)
        assert journal.history("EX1") == sorted(values, key=lambda value: value.element)
        assert journal.history("EX2") == []
        with pytest.raises(JournalError, match="again"):
            journal.add_history(values[:1], Imported("2019.csv", "history", "EX1", 1), NOON)
        assert journal.stamp() == 1, "a refused import leaves nothing behind"
        journal.undo(NOON)
        assert journal.history() == []
        journal.add_history(values, Imported("2019.csv", "history", "EX1", 2), NOON)
        assert len(journal.history()) == 2


def test_several_entries_are_written_all_or_none(path: Path) -> None:
    drafts = [Draft(Use(1.0), NOON, "a"), Draft(Use(float("nan")), NOON, "b")]
    with Journal.open(path) as journal:
        with pytest.raises(JournalError, match="not recorded"):
            journal.add_many(drafts, NOON)
        assert journal.entries() == []


@pytest.mark.parametrize(
    "attack",
    [
        "UPDATE entry SET words = 'other'",
        "DELETE FROM entry",
        "INSERT OR REPLACE INTO entry SELECT number, uid, kind, at, instant, zone, entered, record, 'other',"
        " note, voids, batch FROM entry WHERE number = 1",
        "INSERT OR REPLACE INTO entry SELECT 77, uid, kind, at, instant, zone, entered, record, 'other',"
        " note, voids, batch FROM entry WHERE number = 1",
        "UPDATE history SET low = 0",
        "DELETE FROM history",
        "INSERT OR REPLACE INTO history SELECT station, day, element, 0.0, 9.0, batch FROM history",
    ],
)
def test_the_file_itself_refuses_to_change_what_stands(path: Path, attack: str) -> None:
    with Journal.open(path) as journal:
        journal.add(Use(1.0), NOON, "use 1 L")
        journal.add_history(
            [HistoryValue("EX1", date(2019, 1, 1), "rain", 1.0, 1.0)],
            Imported("a", "history", "EX1", 1),
            NOON,
        )
    connection = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match="only added"):
        connection.execute(attack)
    connection.close()


@pytest.mark.parametrize(
    "columns",
    ["'u', 'use', 'x', 'soon', '', 'x', '{}', '', '', NULL", "'u', 'use', 'x', 1, '', 'x', '{}', '', '', 1"],
)
def test_the_table_is_strict(path: Path, columns: str) -> None:
    with Journal.open(path) as journal:
        journal.add(Use(1.0), NOON, "use 1 L")
    connection = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError):
        connection.execute(
            "INSERT INTO entry (uid, kind, at, instant, zone, entered, record, words, note, voids)"
            f" VALUES ({columns})"
        )
    connection.close()


def test_each_write_waits_for_the_disk(path: Path) -> None:
    with Journal.open(path) as journal:
        journal.add(Use(1.0), NOON, "use 1 L")
        connection = journal._connection
        assert connection is not None
        assert connection.execute("PRAGMA synchronous").fetchone() == (2,)
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert connection.execute("PRAGMA application_id").fetchone() == (sql.APPLICATION_ID,)


def test_only_the_owner_may_read_the_journal(path: Path) -> None:
    with Journal.open(path) as journal:
        journal.add(Use(1.0), NOON, "use 1 L")
        modes = {stat.S_IMODE(file.stat().st_mode) for file in path.parent.iterdir()}
    assert modes == {0o600}


def test_one_reader_follows_what_another_writes(path: Path) -> None:
    with Journal.open(path) as reader, Journal.open(path) as writer:
        assert reader.stamp() == 0
        writer.add(Use(1.0), NOON, "use 1 L")
        assert reader.stamp() == 1
        assert len(reader.entries()) == 1
        writer.undo(NOON)
        assert reader.stamp() == 2
        assert reader.entries() == []


def test_threads_may_share_one_journal(path: Path) -> None:
    with Journal.open(path) as journal:
        workers = [
            threading.Thread(
                target=lambda: [
                    journal.add(Use(1.0), NOON, "use 1 L") and journal.entries() for _ in range(10)
                ]
            )
            for _ in range(4)
        ]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()
        assert len(journal.entries()) == 40


def test_words_that_are_no_text_are_kept_readable(path: Path) -> None:
    """A shell hands over undecodable bytes as lone surrogates, which no database takes."""
    with Journal.open(path) as journal:
        journal.add(Note(), NOON, "note \udcff\x00\x1b[2J", "n" * 20_000)
    with Journal.open(path) as journal:
        (entry,) = journal.entries()
    assert entry.words == "note \\udcff\x00\x1b[2J"
    assert len(entry.note) == 10_000


def test_twenty_years_are_read_in_well_under_a_second(path: Path) -> None:
    """About 0.25 s where this was written; the bound leaves room for a slow machine under load."""
    drafts = [
        Draft(Rain(3.2, 3.2, NOON, NOON + timedelta(days=1)), NOON + timedelta(hours=8 * n), "rain 3.2 mm")
        for n in range(20_000)
    ]
    with Journal.open(path) as journal:
        journal.add_many(drafts, NOON)
    with Journal.open(path) as journal:
        start = time.perf_counter()
        assert len(journal.entries()) == 20_000
        first = time.perf_counter() - start
        start = time.perf_counter()
        journal.stamp()
        journal.entries()
        again = time.perf_counter() - start
    assert first < 3.0
    assert again < first / 5
