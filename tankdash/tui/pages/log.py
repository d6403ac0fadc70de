"""Everything written down, newest first; an entry can be looked for, taken back, or taken back and written anew."""

from __future__ import annotations

from textual import on, work
from textual.app import ComposeResult
from textual.message import Message

from tankdash.journal.entries import Entry
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.page import Page
from tankdash.tui.widgets.loglist import LogList


class LogPage(Page):
    """The journal."""

    HEADING = "Log"

    class JournalRead(Message):
        """The journal has been read, with what was taken back."""

        def __init__(self, entries: tuple[Entry, ...]) -> None:
            super().__init__()
            self.entries = entries
            """Newest first by the time they are about."""

    def compose_body(self) -> ComposeResult:
        """Yield the list."""
        yield LogList(id="log").data_bind(Page.shown)

    def on_mount(self) -> None:
        """Read the journal."""
        super().on_mount()
        self.read()

    def watch_shown(self) -> None:
        """Read the journal again when something was written."""
        super().watch_shown()
        if self.is_mounted:
            self.read()

    def read(self) -> None:
        """Read the journal, away from the keyboard's thread."""
        keeper = getattr(self.app, "keeper", None)
        if isinstance(keeper, Keeper):
            self._read(keeper)

    @work(thread=True, exclusive=True, group="log")
    def _read(self, keeper: Keeper) -> None:
        with keeper.desk() as desk:
            entries = desk.journal.entries(include_voided=True)
        kept = [entry for entry in entries if entry.kind != "void"]
        kept.sort(key=lambda entry: (entry.at, entry.number), reverse=True)
        self.post_message(self.JournalRead(tuple(kept)))

    @on(JournalRead)
    def _journal_read(self, event: JournalRead) -> None:
        event.stop()
        self.query_one(LogList).take(event.entries)

    def move_mark(self, step: int) -> bool:
        """Move the mark."""
        self.query_one(LogList).move(step)
        return True

    def entry_marked(self) -> Entry | None:
        """Return the entry under the mark."""
        return self.query_one(LogList).marked

    def searched(self) -> str | None:
        """Return the words looked for."""
        return self.query_one(LogList).wanted

    def search(self, words: str) -> None:
        """List only what holds these words."""
        self.query_one(LogList).search(words)

    def summary(self) -> str:
        """Return what is in sight as plain text."""
        return self.query_one(LogList).text
