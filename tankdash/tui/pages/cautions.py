"""The page of cautions, one key away from everywhere."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tankdash.drawing.canvas import Row
from tankdash.tui.cautionwords import CAUTIONS
from tankdash.tui.pages.page import Page
from tankdash.tui.widgets.picture import Picture, paragraph


class CautionWords(Picture):
    """All cautions, one under the other."""

    def draw(self, width: int, height: int) -> list[Row]:
        """Return headings and words."""
        rows: list[Row] = paragraph(
            "This program only does sums. It knows nothing of your ground, your fittings or your law: "
            "local codes and licensed practice come first.",
            width,
            "plain",
        )
        for _, heading, words in CAUTIONS:
            rows += [[], *paragraph(f"! {heading}", width, "warn"), *paragraph(words, width)]
        return rows


class CautionsPage(Page):
    """The page of cautions."""

    HEADING = "Cautions"

    def compose_body(self) -> ComposeResult:
        """Yield the words."""
        with VerticalScroll(classes="page-body", can_focus=False):
            yield CautionWords()

    def move_mark(self, step: int) -> bool:
        """Scroll."""
        self.query_one(".page-body").scroll_relative(y=step, animate=False)
        return True

    def summary(self) -> str:
        """Return the cautions as plain text."""
        return self.query_one(CautionWords).text
