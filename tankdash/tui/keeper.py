"""The screen's hold on the garden: the desk with site and journal, lent to one thread at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from threading import RLock
from typing import TYPE_CHECKING

from tankdash.glance import glance_of, keep_glance, kept_glance
from tankdash.journal.place import default_journal_path
from tankdash.tui.state import Shown
from tankdash.tui.trouble import speakable

if TYPE_CHECKING:
    from tankdash.glance import Glance
    from tankdash.journal.entries import Entry
    from tankdash.keeping.desk import Desk
    from tankdash.tui.state import Notice
    from tankdash.tui.understood import Understood


class Keeper:
    """Where the garden is kept. Its methods may be called from any thread.

    Parameters
    ----------
    site_path, journal_path : Path
        The files; None for the journal beside the site file.
    clock : callable
        Gives the time: the real one, or a pinned one for tests and pictures.
    opens : bool, optional
        Whether to read the site file at once; otherwise when it is first asked for.

    Raises
    ------
    SiteError, JournalError
        If a file cannot be read.
    """

    def __init__(
        self,
        site_path: Path,
        journal_path: Path | None,
        clock: Callable[[], datetime],
        *,
        opens: bool = True,
    ) -> None:
        self.site_path = site_path
        """The site file."""
        self.clock = clock
        """Gives the time."""
        self.journal_path = journal_path if journal_path is not None else default_journal_path(site_path)
        """The journal."""
        self._desk: Desk | None = None
        self._shown_last: tuple[int, Shown] | None = None
        self._was_kept = False
        self._kept_for: tuple[int, bytes | None] | None = None
        self._lock = RLock()
        if opens:
            with self.desk():
                pass

    @contextmanager
    def desk(self) -> Iterator[Desk]:
        """Lend the desk to the thread that asks, alone."""
        with self._lock:
            if self._desk is None:
                from tankdash.keeping.desk import open_desk

                self._desk = open_desk(self.site_path, self.journal_path)
            yield self._desk

    def now(self) -> datetime:
        """Return the time in the garden's zone."""
        desk = self._desk
        if desk is None:
            with self.desk() as opened:
                desk = opened
        return self.clock().astimezone(desk.site.zone)

    def glance(self) -> Glance:
        """Return the tanks now, before all else is worked out: as they were kept, if no file has changed since."""
        # Only while the journal is not open here: opening and closing its file beside SQLite gives up SQLite's locks.
        known = None if self._desk else kept_glance(self.site_path, self.journal_path, self.clock())
        if known is not None:
            self._was_kept = True
            return known
        with self.desk() as desk:
            return glance_of(desk.site, desk.levels(self.now()))

    def shown(self, notice: Notice | None = None) -> Shown:
        """Return the state now, of the site as last read without a problem."""
        with self.desk() as desk:
            now = self.now()
            levels = desk.levels(now)
            shown = Shown(
                site=desk.site,
                now=now,
                layout=levels.standing.layout,
                levels=levels,
                chores=tuple(desk.chores(now)),
                entries=tuple(desk.entries()),
                notice=notice,
            )
            self._shown_last = (desk.journal.stamp(), shown)
            if self._was_kept:
                self._kept_for = (self._shown_last[0], desk.site.fingerprint)
                self._was_kept = False
            return shown

    def keep_glance(self) -> None:
        """Keep the tanks as they were shown last for the next start, if they are what the files tell now."""
        with self.desk() as desk:
            if self._shown_last is None:
                return
            stamp, shown = self._shown_last
            told_by = (stamp, desk.site.fingerprint)
            if self._kept_for != told_by and keep_glance(desk, shown.levels, stamp):
                self._kept_for = told_by

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
            self._shown_last = None
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
        with self._lock:
            if self._desk is not None:
                with suppress(*speakable()):
                    self.keep_glance()
                self._desk.close()
