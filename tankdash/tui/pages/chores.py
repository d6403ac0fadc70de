"""Every chore with its state and reason, those that sleep too."""

from __future__ import annotations

from textual.app import ComposeResult

from tankdash.tui.pages.holding import HoldsChores
from tankdash.tui.pages.page import Page
from tankdash.tui.widgets.chorelist import ChoreList


class ChoresPage(HoldsChores):
    """The whole list."""

    HEADING = "Chores"

    def compose_body(self) -> ComposeResult:
        """Yield the list."""
        yield ChoreList(everything=True, id="chores-list").data_bind(Page.shown)

    def summary(self) -> str:
        """Return the list as plain text."""
        return self.query_one(ChoreList).text
