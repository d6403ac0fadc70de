"""The screen's hold on the garden: the site as last read without a problem, and its journal, kept open."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from tankdash.journal.entries import Entry
from tankdash.journal.store import Journal, default_journal_path
from tankdash.keeping.desk import Desk
from tankdash.site import load
from tankdash.tui.forms.understood import Understood
from tankdash.tui.state import Notice, Shown


class Keeper:
    """Where the garden is kept. Its methods may be called from any thread, one at a time."""

    def __init__(self, site_path: Path, journal_path: Path | None, clock: Callable[[], datetime]) -> None:
        self.site_path = site_path
        """The site file."""
        self.journal_path = journal_path or default_journal_path(site_path)
        """The journal."""
        self.clock = clock
        """Gives the time: the real one, or a pinned one for tests and pictures."""
        self._site_stamp = self._file_stamp()
        self._journal = Journal.open(self.journal_path)
        self._desk = Desk(load(site_path), self._journal)

    def load(self) -> Shown:
        """Return the state now; the site file is read again if it changed.

        Raises
        ------
        SiteError
            If the site file has problems; the last good site stays in use.
        JournalError
            If the journal cannot be read.
        """
        stamp = self._file_stamp()
        if stamp != self._site_stamp:
            self._site_stamp = stamp
            self._desk = Desk(load(self.site_path), self._journal)
        return self.shown()

    def shown(self, notice: Notice | None = None) -> Shown:
        """Return the state now, of the site as last read."""
        desk, now = self._desk, self.clock().astimezone(self._desk.site.zone)
        return Shown(
            site=desk.site,
            now=now,
            layout=desk.standing(now).layout,
            levels=desk.levels(now),
            chores=tuple(desk.chores(now)),
            entries=tuple(desk.entries()),
            notice=notice,
        )

    def write(self, understood: Understood) -> Entry:
        """Write one entry; it is on disk when this returns."""
        return self._desk.record(
            understood.record, understood.at, understood.words, understood.note, self.clock()
        )

    def undo(self) -> Entry | None:
        """Take the last entry back and return it; None when there is none."""
        return self._desk.undo(self.clock())

    def stamp(self) -> tuple[tuple[int, int], int]:
        """Return a value that changes when the site file or the journal does; cheap."""
        return self._file_stamp(), self._journal.stamp()

    def close(self) -> None:
        """Close the journal."""
        self._journal.close()

    def _file_stamp(self) -> tuple[int, int]:
        """Return time and size of the site file; zeros while it is away, as editors do between two writes."""
        try:
            found = self.site_path.stat()
        except OSError:
            return (0, 0)
        return (found.st_mtime_ns, found.st_size)
