"""What can go wrong with a journal, said as a sentence that says what to do."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tankdash.journal.codec import BadRecord


class JournalError(Exception):
    """The journal cannot be read or written; the message is a sentence that says what to do."""


_SENTENCES: tuple[tuple[str, str], ...] = (
    ("SQLITE_BUSY", "another program is writing to it; try again in a moment. Nothing was recorded."),
    ("SQLITE_LOCKED", "another program is writing to it; try again in a moment. Nothing was recorded."),
    ("SQLITE_FULL", "the disk is full; make room and try again. Nothing was recorded."),
    (
        "SQLITE_IOERR_SHMSIZE",
        "the disk is full: make room, then look in the log whether the last entry is there.",
    ),
    ("SQLITE_READONLY", "the file may only be read: change its permissions. Nothing was recorded."),
    ("SQLITE_PERM", "the file may only be read: change its permissions. Nothing was recorded."),
    ("SQLITE_CANTOPEN", "it cannot be opened: look at the permissions of the file and its folder."),
    ("SQLITE_NOTADB", "it is not a journal, or it is damaged: put back a copy of it."),
    ("SQLITE_CORRUPT", "it is damaged: put back a copy of it."),
    ("SQLITE_IOERR", "the disk gave an error: look at the disk. The last entry may not be recorded."),
    ("SQLITE_CONSTRAINT", "the entry does not fit the journal. Nothing was recorded."),
    ("SQLITE_TOOBIG", "the entry is too long. Nothing was recorded."),
)


def code_of(problem: sqlite3.Error) -> str:
    """Return SQLite's name for the error, such as `SQLITE_BUSY`; empty when it gives none."""
    return getattr(problem, "sqlite_errorname", "")


def sentence_for(problem: sqlite3.Error) -> str:
    """Return what to do about an error of the database."""
    code = code_of(problem)
    for start, sentence in _SENTENCES:
        if code.startswith(start):
            return sentence
    return f"it cannot be read as a journal ({problem}): put back a copy of it."


@contextmanager
def speaking_of(path: Path) -> Iterator[None]:
    """Turn what the database and the disk complain of into a `JournalError`."""
    try:
        yield
    except sqlite3.Error as problem:
        raise JournalError(f"{path}: {sentence_for(problem)}") from problem
    except UnicodeDecodeError as problem:
        # Where the damage is in the tables' own description, SQLite quotes it and Python cannot read the quote.
        raise JournalError(f"{path}: it is damaged: put back a copy of it.") from problem
    except BadRecord as problem:
        raise JournalError(f"{path}: it was not recorded: {problem}.") from problem
    except OSError as problem:
        reason = problem.strerror or str(problem)
        raise JournalError(f"{path}: the journal cannot be opened ({reason}).") from problem
