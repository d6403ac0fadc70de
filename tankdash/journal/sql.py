"""All SQL of the journal: its tables, how they came to be, opening the file, and each statement by name."""

from __future__ import annotations

import os
import sqlite3
import stat
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

from tankdash.journal.place import end_of_links, waiting_file
from tankdash.journal.trouble import JournalError, code_of

APPLICATION_ID = 0x54444A4C
"""Marks a SQLite file as a journal of this program ("TDJL")."""
_NO_ROOM = ("SQLITE_FULL", "SQLITE_CANTOPEN", "SQLITE_IOERR_SHM")
"""What SQLite says when there is no room for its own files, on a full disk for one."""
_AS_EFFECTIVE = os.access in os.supports_effective_ids

_ENTRIES = """
CREATE TABLE entry (
    number  INTEGER PRIMARY KEY,
    uid     TEXT    NOT NULL UNIQUE CHECK (length(uid) BETWEEN 1 AND 64),
    kind    TEXT    NOT NULL,
    at      TEXT    NOT NULL,
    instant INTEGER NOT NULL,
    zone    TEXT    NOT NULL,
    entered TEXT    NOT NULL,
    record  TEXT    NOT NULL CHECK (record GLOB '{*}'),
    words   TEXT    NOT NULL,
    note    TEXT    NOT NULL,
    voids   INTEGER UNIQUE REFERENCES entry (number),
    CHECK ((voids IS NULL) = (kind <> 'void'))
) STRICT;
CREATE TRIGGER entry_is_not_changed BEFORE UPDATE ON entry
    BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;
CREATE TRIGGER entry_is_not_removed BEFORE DELETE ON entry
    BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;
CREATE TRIGGER entry_is_not_replaced BEFORE INSERT ON entry
    WHEN EXISTS (SELECT 1 FROM entry WHERE number = NEW.number OR uid = NEW.uid)
    BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;
"""

_IMPORTS = """
ALTER TABLE entry ADD COLUMN batch INTEGER REFERENCES entry (number);
CREATE TABLE history (
    station TEXT    NOT NULL,
    day     TEXT    NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    element TEXT    NOT NULL CHECK (element IN ('rain', 'tmin', 'tmax')),
    low     REAL    NOT NULL,
    high    REAL    NOT NULL CHECK (low <= high),
    batch   INTEGER NOT NULL REFERENCES entry (number),
    PRIMARY KEY (station, day, element, batch)
) STRICT;
CREATE TRIGGER history_is_not_changed BEFORE UPDATE ON history
    BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;
CREATE TRIGGER history_is_not_removed BEFORE DELETE ON history
    BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;
CREATE TRIGGER history_is_not_replaced BEFORE INSERT ON history
    WHEN EXISTS (SELECT 1 FROM history WHERE station = NEW.station AND day = NEW.day
                 AND element = NEW.element AND batch = NEW.batch)
    BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;
"""

MIGRATIONS: tuple[str, ...] = (_ENTRIES, _IMPORTS)
"""What brings a journal from each version to the next; the number of those done stands in `user_version`."""

Connection = sqlite3.Connection


class OneLook(sqlite3.Connection):
    """A journal that could be opened no better: what it shows is one moment, and the next look opens it anew."""


def connect(path: Path, timeout: float, *, create: bool) -> Connection | None:
    """Return a connection to the journal at `path`, brought to the version of this program.

    Parameters
    ----------
    path : Path
        The journal's file.
    timeout : float
        How long to wait for another program that is writing, [s].
    create : bool
        Whether it is to be written, and made when it is not there. Otherwise None stands for a journal not begun,
        and one that can only be read is: for one look.

    Raises
    ------
    JournalError
        If what lies at `path` is no journal, or one of a newer program.
    """
    is_there = _is_there(path)
    if not create and not (is_there and _size(path)):
        return None  # looking begins nothing
    if not is_there:
        _make_file(path)
    connection = sqlite3.connect(path, timeout=timeout, isolation_level=None, check_same_thread=False)
    try:
        _prepare(connection, path, timeout)
    except sqlite3.OperationalError as problem:
        connection.close()
        if _is_locked_away(path):
            # A folder that may only be read has no room for SQLite's own files, and nobody else writes there.
            place = f"file:{quote(str(path))}?mode=ro&immutable=1"
        elif code_of(problem).startswith("SQLITE_READONLY"):
            place = f"file:{quote(str(path))}?mode=ro"
        elif not create and code_of(problem).startswith(_NO_ROOM):
            return _read_without_room(path, problem)
        else:
            raise
        connection = _to_be_read(place, path)
    except BaseException:
        connection.close()
        raise
    return connection


def _to_be_read(place: str, path: Path) -> Connection:
    """Return a connection that only reads; an older journal is brought up to date in a copy in memory."""
    connection = sqlite3.connect(
        place, uri=True, isolation_level=None, check_same_thread=False, factory=OneLook
    )
    try:
        version = _version(connection, path)
        if version == len(MIGRATIONS):
            return connection
        copy = _in_memory(connection, version)
    except BaseException:
        connection.close()
        raise
    connection.close()
    return copy


def _read_without_room(path: Path, problem: sqlite3.OperationalError) -> Connection:
    """Return a copy in memory of a journal beside which SQLite can lay down no file of its own, as on a full disk.

    SQLite shares no memory with others while it has the file to itself. Who else has it open has laid those files
    down; then it is not had, and what was wrong at first is raised.
    """
    connection = sqlite3.connect(path, timeout=0.0, isolation_level=None)
    try:
        connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        return _in_memory(connection, _version(connection, path))
    except sqlite3.Error:
        raise problem from None
    finally:
        connection.close()


def _in_memory(connection: Connection, version: int) -> Connection:
    """Return a copy of a journal of that version, brought to this program's, that only reads."""
    copy = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False, factory=OneLook)
    try:
        connection.backup(copy)
        _migrate(copy, version)
        copy.execute("PRAGMA query_only = ON")
    except BaseException:
        copy.close()
        raise
    return copy


def _prepare(connection: Connection, path: Path, timeout: float) -> None:
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    if _version(connection, path) == len(MIGRATIONS):
        return
    _until_free(lambda: connection.execute("PRAGMA journal_mode = WAL").fetchone(), timeout)
    with connection:
        connection.execute("BEGIN IMMEDIATE")
        # Another program may have brought it up to date while this one waited.
        _migrate(connection, _version(connection, path))


def _migrate(connection: Connection, version: int) -> None:
    """Take the steps from that version to this program's."""
    for step in MIGRATIONS[version:]:
        for statement in _statements(step):
            connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")


def _version(connection: Connection, path: Path) -> int:
    """Return the version of the file after making sure that it is a journal."""
    size = _size(path)  # looked at first: another program may make the file just now
    with _one_moment(connection):
        application, version, objects, pages = (
            int(connection.execute(question).fetchone()[0])
            for question in (
                "PRAGMA application_id",
                "PRAGMA user_version",
                "SELECT count(*) FROM sqlite_schema",
                "PRAGMA page_count",
            )
        )
        is_known = application == APPLICATION_ID and 0 < version <= len(MIGRATIONS)
        has_its_tables = not is_known or _has_its_tables(connection, version)
    if size and not pages and _size(path):
        # Shorter than a page: SQLite would take it for a database not begun, and write over it.
        raise JournalError(f"{path} is not a journal: give another file with --journal.")
    if application != APPLICATION_ID and (application, version, objects) != (0, 0, 0):
        raise JournalError(f"{path} is a database of another program: give another file with --journal.")
    if version > len(MIGRATIONS):
        raise JournalError(
            f"{path} was written by a newer tankdash (format {version}, this one knows {len(MIGRATIONS)}):"
            " update tankdash. Nothing was changed."
        )
    if not has_its_tables or (application == APPLICATION_ID and not is_known):
        raise JournalError(f"{path} holds other tables than a journal: put back a copy of it.")
    return version


def _has_its_tables(connection: Connection, version: int) -> bool:
    """Return whether a journal of that version holds its tables and guards, and nothing else that would be run.

    A view in the place of a table, or one more trigger, could keep the program busy for ever. What else an owner may
    have laid into the file, an index or a table, runs nothing.
    """
    wanted, found = _tables_of(version), _tables(connection)
    is_run = {name for name, (sort, _) in found.items() if sort != "table"}
    return is_run <= wanted.keys() and all(found.get(name) == table for name, table in wanted.items())


@cache
def _tables_of(version: int) -> dict[str, tuple[str, object]]:
    """Return what `_tables` finds in a journal of that version."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        for step in MIGRATIONS[:version]:
            for statement in _statements(step):
                connection.execute(statement)
        return _tables(connection)


def _tables(connection: Connection) -> dict[str, tuple[str, object]]:
    """Return each table with its sort and columns, and each trigger and view with its words."""
    found: dict[str, tuple[str, object]] = {}
    for sort, name, words in connection.execute("SELECT type, name, sql FROM sqlite_schema").fetchall():
        if sort == "table":
            of_what_sort = connection.execute(
                "SELECT type, strict FROM pragma_table_list WHERE schema = 'main' AND name = ?", (name,)
            ).fetchall()
            columns = connection.execute(
                'SELECT name, type, "notnull", dflt_value, pk, hidden FROM pragma_table_xinfo(?)', (name,)
            ).fetchall()
            found[name] = (sort, (of_what_sort, columns))
        elif sort != "index":
            found[name] = (sort, " ".join(str(words).split()))
    return found


@contextmanager
def _one_moment(connection: Connection) -> Iterator[None]:
    """Look at one state of the file: another program may bring it up to date just now."""
    begins = not connection.in_transaction
    if begins:
        connection.execute("BEGIN")
    try:
        yield
    finally:
        if begins:
            connection.execute("ROLLBACK")


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


def _statements(script: str) -> Iterator[str]:
    """Return the statements of a script one by one; `executescript` would end the transaction."""
    statement = ""
    for line in script.strip().splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""


def _until_free(work: Callable[[], object], timeout: float) -> None:
    """Repeat what SQLite does not wait for by itself until no other program is in the way."""
    give_up = time.monotonic() + timeout
    while True:
        try:
            work()
            return
        except sqlite3.OperationalError as problem:
            if code_of(problem) not in ("SQLITE_BUSY", "SQLITE_LOCKED") or time.monotonic() > give_up:
                raise
            time.sleep(0.01)


def _is_there(path: Path) -> bool:
    """Return whether a file lies at `path` that could be a journal; raise a sentence for what cannot."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return False
    if stat.S_ISDIR(mode):
        raise JournalError(f"{path} is a folder: give the journal's file with --journal.")
    if not stat.S_ISREG(mode):
        raise JournalError(f"{path} is not a plain file: give the journal's file with --journal.")
    # The file is opened by SQLite alone: closing it once more in this process would give up the locks it holds.
    return True


def _is_locked_away(path: Path) -> bool:
    """Return whether neither the file nor its folder can be written and no entries wait in a -wal file."""
    path, waiting = end_of_links(path), waiting_file(path)
    return (
        not os.access(path, os.W_OK, effective_ids=_AS_EFFECTIVE)
        and not os.access(path.parent, os.W_OK, effective_ids=_AS_EFFECTIVE)
        and not (waiting.exists() and waiting.stat().st_size)
    )


def _make_file(path: Path) -> None:
    """Make an empty file that only its owner may read; another program making it first is no error."""
    path = end_of_links(path)
    if not path.parent.is_dir():
        raise JournalError(f"{path.parent} is no folder: make it first, or give another file with --journal.")
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except FileExistsError:
        return
    if hasattr(os, "O_DIRECTORY"):  # so that the new name survives a power cut
        folder = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


# Statements


def begin(connection: Connection) -> None:
    """Start a transaction that has the journal to itself from its first read."""
    connection.execute("BEGIN IMMEDIATE")


def insert_entry(connection: Connection, values: tuple[Any, ...]) -> int:
    """Add one entry and return its number.

    `values` are uid, kind, at, instant, zone, entered, record, words, note, voids, batch.
    """
    cursor = connection.execute(
        "INSERT INTO entry (uid, kind, at, instant, zone, entered, record, words, note, voids, batch)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        values,
    )
    return int(cursor.lastrowid or 0)


def entries_after(connection: Connection, number: int) -> Iterable[tuple[Any, ...]]:
    """Return the later rows: number and the values of `insert_entry`, by number."""
    return connection.execute(
        "SELECT number, uid, kind, at, instant, zone, entered, record, words, note, voids, batch"
        " FROM entry WHERE number > ? ORDER BY number",
        (number,),
    )


def newest_number(connection: Connection) -> int:
    """Return the number of the newest entry, 0 when there is none."""
    return int(connection.execute("SELECT max(number) FROM entry").fetchone()[0] or 0)


def state_seen(connection: Connection) -> tuple[int, int]:
    """Return what changes as soon as this connection or another program writes: the newest number, SQLite's count."""
    return newest_number(connection), int(connection.execute("PRAGMA data_version").fetchone()[0])


def bring_in_waiting(connection: Connection) -> bool:
    """Bring what waits in the -wal file into the journal's own; False when not all could be, nobody is waited for."""
    try:
        busy, waiting, brought_in = connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
    except sqlite3.OperationalError as problem:
        if code_of(problem) in ("SQLITE_BUSY", "SQLITE_LOCKED"):
            return False
        raise
    return not busy and waiting == brought_in


def latest_standing(connection: Connection) -> int | None:
    """Return the newest entry that is not taken back, no void, and did not come with an import."""
    number: int | None = connection.execute(
        "SELECT max(number) FROM entry AS e WHERE kind <> 'void' AND batch IS NULL"
        " AND NOT EXISTS (SELECT 1 FROM entry WHERE voids = e.number)"
    ).fetchone()[0]
    return number


def stands(connection: Connection, number: int) -> bool:
    """Return whether the entry is there, is no void, and neither it nor its import is taken back."""
    return (
        connection.execute(
            "SELECT 1 FROM entry AS e WHERE number = ? AND kind <> 'void'"
            " AND NOT EXISTS (SELECT 1 FROM entry WHERE voids = e.number OR voids = e.batch)",
            (number,),
        ).fetchone()
        is not None
    )


def numbers_by_uid(connection: Connection) -> dict[str, int]:
    """Return the number of each uid."""
    return dict(connection.execute("SELECT uid, number FROM entry"))


def insert_history(connection: Connection, rows: Iterable[tuple[str, str, str, float, float, int]]) -> None:
    """Add past days: station, day, element, low, high, batch."""
    connection.executemany(
        "INSERT INTO history (station, day, element, low, high, batch) VALUES (?, ?, ?, ?, ?, ?)", rows
    )


def standing_history(connection: Connection) -> Iterable[tuple[str, str, str, float, float, int]]:
    """Return the past days of the imports not taken back: station, day, element, low, high, batch."""
    return connection.execute(
        "SELECT station, day, element, low, high, batch FROM history AS h"
        " WHERE NOT EXISTS (SELECT 1 FROM entry WHERE voids = h.batch) ORDER BY station, day, element"
    )


def all_history(connection: Connection) -> Iterable[tuple[str, str, str, float, float, int]]:
    """Return the past days of every import, those taken back included."""
    return connection.execute(
        "SELECT station, day, element, low, high, batch FROM history ORDER BY station, day, element, batch"
    )
