"""Where a journal lies, for those who need not open it."""

from __future__ import annotations

import os
from pathlib import Path


def default_journal_path(site_path: Path) -> Path:
    """Return where the journal of a site file lies: `NAME.journal.db` beside it.

    Examples
    --------
    >>> default_journal_path(Path("garden/tankdash.yaml")).name
    'tankdash.journal.db'
    """
    return site_path.with_name(site_path.stem + ".journal.db")


def end_of_links(path: Path) -> Path:
    """Return where the journal itself lies: SQLite follows links, and keeps its own files there."""
    return Path(os.path.realpath(path))


def files_of_journal(path: Path) -> tuple[Path, ...]:
    """Return the journal's file and those SQLite keeps beside it, whether they are there now or not.

    Examples
    --------
    >>> [file.name for file in files_of_journal(Path("tankdash.journal.db"))]
    ['tankdash.journal.db', 'tankdash.journal.db-wal', 'tankdash.journal.db-shm', 'tankdash.journal.db-journal']
    """
    path = end_of_links(path)
    return tuple(path.with_name(path.name + end) for end in ("", "-wal", "-shm", "-journal"))


def waiting_file(path: Path) -> Path:
    """Return the file beside a journal in which SQLite keeps what it has not yet brought into it."""
    path = end_of_links(path)
    return path.with_name(path.name + "-wal")
