"""Every chore with its state and reason, those that sleep too."""

from __future__ import annotations

from textual.app import ComposeResult

from tankdash.tui.pages.page import Page
from tankdash.tui.widgets.chorelist import ChoreList


class ChoresPage(Page):
    """The whole list."""

    HEADING = "Chores"

    def compose_body(self) -> ComposeResult:
        """Yield the list."""
        yield ChoreList(everything=True, id="chores-list").data_bind(Page.shown)

    def move_mark(self, step: int) -> bool:
        """Move the mark."""
        return self.query_one(ChoreList).move(step)

    def next_chore(self) -> bool:
        """Move the mark to the next chore that is due."""
        return self.query_one(ChoreList).move_to_pressing()

    def chore_marked(self) -> str | None:
        """Return the chore under the mark."""
        return self.query_one(ChoreList).marked

    def summary(self) -> str:
        """Return the list as plain text."""
        return self.query_one(ChoreList).text
