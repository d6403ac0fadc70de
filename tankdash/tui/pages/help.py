"""What every key does, from the one registry; and the words of the trade the screen uses."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tankdash.drawing.canvas import Row, Span
from tankdash.tui.actions import by_group
from tankdash.tui.pages.page import Page
from tankdash.tui.widgets.picture import Picture, paragraph

WORDS: tuple[tuple[str, str], ...] = (
    ("dip", "a reading of a tank: the wet length of a stick, or the dry gap below the brim"),
    ("surface", "how high the water stands above the datum, the one mark all heights are measured from"),
    ("lip", "where a tank spills: its overflow or its brim, whichever comes first"),
    ("usable", "water that can still reach an outlet"),
    ("below outlet", "water in the tank that no outlet can draw"),
    ("cut off", "water that stands below the lowest link on its way to the outlet"),
    ("headroom", "room left before the first lip spills"),
    (
        "first flush",
        "the pipe that takes the first dirty water of each rain; it must be empty when the next one starts",
    ),
)
"""Words of the trade and what they mean here."""


class HelpWords(Picture):
    """All keys and words."""

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the keys under their headings, then the words."""
        rows: list[Row] = []
        for group, actions in by_group():
            if rows:
                rows.append([])
            rows.append([Span(group, "strong")])
            for action in actions:
                head = f"  {action.keys_shown:<12} {action.name:<13} "
                lines = paragraph(action.does, max(16, width - len(head)), "plain")
                rows.append([Span(head[:15], "key"), Span(head[15:], "strong"), *lines[0]])
                rows += [[Span(" " * len(head), "plain"), *line] for line in lines[1:]]
        rows += [[], [Span("In a form", "strong")]]
        rows += paragraph(
            "  Enter saves. Esc leaves and keeps what was typed. Tab or the arrows go to the next field. F1 "
            "explains the form.",
            width,
            indent=2,
        )
        rows += [[], [Span("Words", "strong")]]
        for word, meaning in WORDS:
            rows += paragraph(f"  {word}: {meaning}", width, indent=4)
        return rows


class HelpPage(Page):
    """The page of help."""

    HEADING = "Help"

    def compose_body(self) -> ComposeResult:
        """Yield the words."""
        with VerticalScroll(classes="page-body", can_focus=False):
            yield HelpWords()

    def move_mark(self, step: int) -> bool:
        """Scroll."""
        self.query_one(".page-body").scroll_relative(y=step, animate=False)
        return True

    def summary(self) -> str:
        """Return the help as plain text."""
        return self.query_one(HelpWords).text
