"""The journal: a list of entries to which entries are only ever added, kept in one file beside the site.

An entry that `add` returns is on disk; several programs may write to one journal at once.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self, TypeVar
from uuid import uuid4
from zoneinfo import ZoneInfo

from tankdash.journal import sql
from tankdash.journal.codec import encode, kind_of, prove
from tankdash.journal.drafts import Draft, HistoryValue, Restored, RestoredDay
from tankdash.journal.entries import Entry, Imported, Record, Void
from tankdash.journal.place import default_journal_path
from tankdash.journal.rows import entry_of, past_day_of
from tankdash.journal.trouble import JournalError, speaking_of
from tankdash.kept import digest_of_content

__all__ = ["Draft", "HistoryValue", "Journal", "JournalError", "default_journal_path"]

T = TypeVar("T")

MAX_WORDS = 10_000
"""Longest words or note of one entry, in characters."""
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def _clean(text: str) -> str:
    """Return the text with bytes that were no text (lone surrogates) written out, bounded in length."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8")[:MAX_WORDS]


def _zone_of(moment: datetime) -> str:
    return moment.tzinfo.key if isinstance(moment.tzinfo, ZoneInfo) else ""


def _instant(moment: datetime) -> int:
    """Return microseconds since 1970, exactly."""
    passed = moment - _EPOCH
    return (passed.days * 86_400 + passed.seconds) * 1_000_000 + passed.microseconds


class Journal:
    """An open journal. Its file is made by the first entry, not by looking.

    Use it as a context manager, or `close` it. Methods may be called from any thread.
    """

    def __init__(self, path: Path, timeout: float = 15.0) -> None:
        self.path = path
        self.timeout = timeout
        """How long to wait for another program that is writing, [s]."""
        self._connection: sqlite3.Connection | None = None
        self._lock = threading.RLock()
        self._last = 0
        self._rows: list[tuple[int, int, Entry]] = []
        """What was read so far, as (instant, number, entry): only newer rows are read again."""
        self._is_sorted = True
        self._voided_by: dict[int, int] = {}

    @classmethod
    def open(cls, path: Path | str, timeout: float = 15.0) -> Self:
        """Return the journal at `path`, brought to the version of this program.

        Raises
        ------
        JournalError
            If there is something at `path` that is not a journal this program can read.
        """
        journal = cls(Path(path), timeout)
        with speaking_of(journal.path):
            journal._connect(create=False)
        return journal

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; what was added is on disk already."""
        with self._lock:
            if self._connection is not None:
                with suppress(sqlite3.Error):
                    self._connection.close()
                self._connection = None

    # Writing

    def add(
        self, record: Record, at: datetime, words: str, note: str = "", entered: datetime | None = None
    ) -> Entry:
        """Write one entry and return it once it is on disk.

        Parameters
        ----------
        record : Record
            What was understood.
        at : datetime
            The time it is about, with its zone.
        words : str
            As typed.
        note : str
            The owner's own words beside it.
        entered : datetime, optional
            When it was written; the caller's `now`. None takes `at`.
        """
        return self.add_many([Draft(record, at, words, note)], entered if entered is not None else at)[0]

    def add_many(
        self, drafts: Iterable[Draft], entered: datetime, *, batch: Imported | None = None
    ) -> list[Entry]:
        """Write several entries in one transaction: all of them or none.

        Parameters
        ----------
        drafts : iterable of Draft
            The entries, in the order they are numbered.
        entered : datetime
            When they were written.
        batch : Imported, optional
            The import they came with: written first, and taking it back takes them back.

        Returns
        -------
        list of Entry
            The entries of `drafts`, without that of the batch.
        """
        prepared = list(drafts)

        def write(connection: sqlite3.Connection) -> list[Entry]:
            number = (
                None if batch is None else self._insert(connection, _batch_draft(batch, entered), entered)
            )
            return [
                self._entry_at(connection, self._insert(connection, draft, entered, number))
                for draft in prepared
            ]

        return self._write(write)

    def add_history(self, values: Sequence[HistoryValue], batch: Imported, entered: datetime) -> int:
        """Write past days for planning, as one import that `undo` takes back; return its number.

        Raises
        ------
        JournalError
            If a figure for the same station, day and element stands in the journal already.
        """

        def write(connection: sqlite3.Connection) -> int:
            number = self._insert(connection, _batch_draft(batch, entered), entered)
            before = {row[:3] for row in sql.standing_history(connection)}
            for value in values:
                if (value.station, value.day.isoformat(), value.element) in before:
                    raise JournalError(
                        f"{self.path}: {value.day} at {value.station} was brought in meanwhile; run the"
                        " import again."
                    )
            sql.insert_history(connection, [_history_row(value, number) for value in values])
            return number

        return self._write(write)

    def restore(self, entries: Sequence[Restored], days: Sequence[RestoredDay]) -> int:
        """Write the entries of an export as they were, with their uids, all or none; return how many.

        Numbers follow the order of writing here; what names another entry is turned to its number here.
        """

        def write(connection: sqlite3.Connection) -> int:
            numbers = sql.numbers_by_uid(connection)
            for entry in entries:
                record = Void(numbers[entry.voids_uid]) if entry.voids_uid else entry.record
                draft = Draft(record, entry.at, entry.words, entry.note, entry.uid, entry.zone, entry.entered)
                batch = numbers[entry.batch_uid] if entry.batch_uid else None
                numbers[entry.uid] = self._insert(connection, draft, entry.entered, batch)
            sql.insert_history(connection, [_history_row(day.value, numbers[day.batch_uid]) for day in days])
            return len(entries)

        return self._write(write)

    def undo(self, entered: datetime, words: str = "undo") -> Entry | None:
        """Void the latest entry that stands and return it; None when none stands.

        An import counts as one entry with all it brought in.
        """
        if not self.stamp():
            return None

        def write(connection: sqlite3.Connection) -> Entry | None:
            number = sql.latest_standing(connection)
            return None if number is None else self._void(connection, number, entered, words)

        return self._write(write)

    def take_back(self, number: int, entered: datetime, words: str) -> Entry | None:
        """Void the entry of that number and return it; None when there is none that stands."""
        if not 1 <= number <= self.stamp():
            return None

        def write(connection: sqlite3.Connection) -> Entry | None:
            if not sql.stands(connection, number):
                return None
            return self._void(connection, number, entered, words)

        return self._write(write)

    # Reading

    def entries(self, include_voided: bool = False) -> list[Entry]:
        """Return the entries ordered by the time they are about, then by number.

        Parameters
        ----------
        include_voided : bool
            Whether those taken back, and the entries that took them back, are there too.
        """
        with self._lock, speaking_of(self.path):
            self._refresh()
            if include_voided:
                return [self._with_void(entry) for _, _, entry in self._rows]
            voided = self._voided_by
            return [
                entry
                for _, number, entry in self._rows
                if number not in voided and entry.batch not in voided and entry.kind != "void"
            ]

    def stamp(self) -> int:
        """Return the number of the newest entry, 0 when there is none: a cheap sign of change."""
        with self._lock, speaking_of(self.path):
            connection = self._connect(create=False)
            return 0 if connection is None else sql.newest_number(connection)

    def fingerprint(self) -> bytes | None:
        """Return what stands for every byte of the journal; None while another program is at it.

        What SQLite had not yet brought into the file is brought there first, so that closing the journal does not
        change the file any more.
        """
        with self._lock, speaking_of(self.path):
            connection = self._connect(create=False)
            if connection is None:
                return None
            before = sql.state_seen(connection)
            if not sql.bring_in_waiting(connection):
                return None
            # By SQLite itself: opening and closing the file beside it would give up the locks of this program.
            content = connection.serialize()
            return digest_of_content(content) if sql.state_seen(connection) == before else None

    def history(self, station: str | None = None) -> list[HistoryValue]:
        """Return the past days brought in for planning, by station, day and element."""
        with self._lock, speaking_of(self.path):
            connection = self._connect(create=False)
            if connection is None:
                return []
            return [
                past_day_of(row, self.path)
                for row in sql.standing_history(connection)
                if station is None or row[0] == station
            ]

    def all_history(self) -> list[tuple[HistoryValue, int]]:
        """Return the past days of every import, those taken back included, each with its import's number."""
        with self._lock, speaking_of(self.path):
            connection = self._connect(create=False)
            if connection is None:
                return []
            return [(past_day_of(row, self.path), row[-1]) for row in sql.all_history(connection)]

    # Inside

    def _refresh(self) -> None:
        """Read the rows added since the last look."""
        connection = self._connect(create=False)
        if connection is None:
            return
        for row in sql.entries_after(connection, self._last):
            entry = entry_of(row, self.path)
            if self._is_sorted and self._rows and self._rows[-1][0] > row[4]:
                self._is_sorted = False
            self._rows.append((row[4], entry.number, entry))
            self._last = entry.number
            if row[10] is not None:
                self._voided_by[row[10]] = entry.number
        if not self._is_sorted:
            self._rows.sort(key=lambda row: row[:2])
            self._is_sorted = True

    def _with_void(self, entry: Entry) -> Entry:
        by = self._voided_by.get(entry.number)
        if by is None and entry.batch is not None:
            by = self._voided_by.get(entry.batch)
        return entry if by is None else replace(entry, voided_by=by)

    def _entry_at(self, connection: sqlite3.Connection, number: int) -> Entry:
        return entry_of(next(iter(sql.entries_after(connection, number - 1))), self.path)

    def _insert(
        self, connection: sqlite3.Connection, draft: Draft, entered: datetime, batch: int | None = None
    ) -> int:
        written = draft.entered if draft.entered is not None else entered
        if draft.at.tzinfo is None or written.tzinfo is None:
            raise ValueError("a time in the journal needs its offset")
        record = draft.record
        return sql.insert_entry(
            connection,
            (
                draft.uid or uuid4().hex,
                kind_of(record),
                draft.at.isoformat(),
                _instant(draft.at),
                draft.zone or _zone_of(draft.at),
                written.isoformat(),
                encode(prove(record)),
                _clean(draft.words),
                _clean(draft.note),
                record.number if isinstance(record, Void) else None,
                batch,
            ),
        )

    def _void(self, connection: sqlite3.Connection, number: int, entered: datetime, words: str) -> Entry:
        by = self._insert(connection, Draft(Void(number), entered, words), entered)
        return replace(self._entry_at(connection, number), voided_by=by)

    def _write(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Do the work in one transaction: all of it is on disk when this returns, or nothing is."""
        with self._lock, speaking_of(self.path):
            connection = self._connect(create=True)
            assert connection is not None
            with connection:
                sql.begin(connection)
                return work(connection)

    def _connect(self, *, create: bool) -> sqlite3.Connection | None:
        if isinstance(self._connection, sql.OneLook):
            self.close()
        if self._connection is None:
            self._connection = sql.connect(self.path, self.timeout, create=create)
        return self._connection


def _batch_draft(batch: Imported, entered: datetime) -> Draft:
    return Draft(batch, entered, f"import {batch.source}")


def _history_row(value: HistoryValue, batch: int) -> tuple[str, str, str, float, float, int]:
    return (
        _clean(value.station),
        value.day.isoformat(),
        value.element,
        float(value.low),
        float(value.high),
        batch,
    )
