"""The screen's hold on the garden: the desk with site and journal, lent to one thread at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from threading import RLock

from tankdash.journal.entries import Entry
from tankdash.keeping.desk import Desk, open_desk
from tankdash.tui.state import Notice, Shown
from tankdash.tui.understood import Understood


class Keeper:
    """Where the garden is kept. Its methods may be called from any thread."""

    def __init__(self, site_path: Path, journal_path: Path | None, clock: Callable[[], datetime]) -> None:
        self.site_path = site_path
        """The site file."""
        self.clock = clock
        """Gives the time: the real one, or a pinned one for tests and pictures."""
        self._desk = open_desk(site_path, journal_path)
        self._lock = RLock()

    @contextmanager
    def desk(self) -> Iterator[Desk]:
        """Lend the desk to the thread that asks, alone."""
        with self._lock:
            yield self._desk

    def now(self) -> datetime:
        """Return the time in the garden's zone."""
        return self.clock().astimezone(self._desk.site.zone)

    def shown(self, notice: Notice | None = None) -> Shown:
        """Return the state now, of the site as last read without a problem."""
        with self.desk() as desk:
            now = self.now()
            levels = desk.levels(now)
            return Shown(
                site=desk.site,
                now=now,
                layout=levels.standing.layout,
                levels=levels,
                chores=tuple(desk.chores(now)),
                entries=tuple(desk.entries()),
                notice=notice,
            )

    def has_changed(self) -> bool:
        """Return whether the site file or the journal was changed by somebody else since last asked; cheap."""
        with self.desk() as desk:
            return desk.changed_on_disk()

    def read_again(self) -> Shown:
        """Read the site file again and return the state.

        Raises
        ------
        SiteError
            If the site file has problems; the last good site stays in use.
        JournalError
            If the journal cannot be read.
        """
        with self.desk() as desk:
            desk.reload_site()
            return self.shown()

    def write(self, understood: Understood) -> Entry:
        """Write one entry; it is on disk when this returns."""
        with self.desk() as desk:
            return desk.record(
                understood.record, understood.at, understood.words, understood.note, self.now()
            )

    def tick(self, chore: str) -> Entry:
        """Note a chore as done now.

        Raises
        ------
        EntryError
            If it cannot have been done now.
        """
        with self.desk() as desk:
            now = self.now()
            return desk.tick(chore, now, now)

    def take_back(self, number: int) -> Entry | None:
        """Take one entry back and return it; None when it was taken back already."""
        with self.desk() as desk:
            return desk.journal.take_back(number, self.now(), f"take back {number}")

    def undo(self) -> Entry | None:
        """Take the last entry back and return it; None when there is none."""
        with self.desk() as desk:
            return desk.undo(self.now())

    def close(self) -> None:
        """Close the journal."""
        with self.desk() as desk:
            desk.close()
