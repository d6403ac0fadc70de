"""Help: the page it was asked on, what every key does, what every field wants, and the words of the trade."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tankdash.drawing.canvas import Row, Span
from tankdash.tui.actions import Action, by_group
from tankdash.tui.pages.about import ABOUT, About
from tankdash.tui.pages.page import Page
from tankdash.tui.wants import TITLES, WANTS, Want
from tankdash.tui.widgets.picture import Picture, paragraph
from tankdash.units import Units

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
    """All of it, beginning with the page it was asked on."""

    def __init__(self, heading: str, about: About | None, units: Units) -> None:
        super().__init__()
        self.heading = heading
        """Of the page it was asked on."""
        self.about = about
        """What that page tells; None when there is nothing to say of it."""
        self.units = units
        """Of the garden, for the examples."""

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the page asked about, the keys under their headings, the forms with their fields, the words."""
        rows: list[Row] = []
        if self.about is not None:
            rows.append([Span(f"This page: {self.heading}", "strong")])
            for sentence in self.about.says:
                rows += paragraph(f"  {sentence}", width, indent=2)
            rows += [line for action in self.about.actions for line in key_rows(action, width)]
        for group, actions in by_group():
            if rows:
                rows.append([])
            rows.append([Span(group, "strong")])
            rows += [line for action in actions for line in key_rows(action, width)]
        rows += [[], [Span("In a form", "strong")]]
        rows += paragraph(
            "  Enter saves. Esc leaves and keeps what was typed. Tab or the arrows go to the next field. F1, or a "
            "question mark where none can be meant, tells what the field with the cursor wants.",
            width,
            indent=2,
        )
        shared = shared_wants()
        for want in shared:
            rows += want_rows(want, self.units, width)
        for name, title in TITLES.items():
            rows += [[], [Span(f"Form: {title}", "strong")]]
            for want in WANTS[name].values():
                if want not in shared:
                    rows += want_rows(want, self.units, width)
        rows += [[], [Span("Words", "strong")]]
        for word, meaning in WORDS:
            rows += paragraph(f"  {word}: {meaning}", width, indent=4)
        return rows


def shared_wants() -> list[Want]:
    """Return the fields that several forms have, each once."""
    asked = [want for name in TITLES for want in WANTS[name].values()]
    return [want for place, want in enumerate(asked) if asked.index(want) == place and asked.count(want) > 1]


def key_rows(action: Action, width: int) -> list[Row]:
    """Return an action with its keys."""
    head = f"  {action.keys_shown:<16} {action.name:<13} "
    lines = paragraph(action.does, max(16, width - len(head)), "plain")
    rows: list[Row] = [[Span(head[:19], "key"), Span(head[19:], "strong"), *lines[0]]]
    return rows + [[Span(" " * len(head), "plain"), *line] for line in lines[1:]]


def want_rows(want: Want, units: Units, width: int) -> list[Row]:
    """Return a field of a form: what it wants, what may be typed, what it means to leave it empty."""
    said = f"  {want.label}: {want.says}"
    examples = want.typed(units)
    if examples:
        said += f" Such as {', '.join(examples)}."
    if want.empty:
        said += f" Left empty: {want.empty}."
    rows = paragraph(said, width, indent=4)
    for answer, meaning in want.choices.values():
        rows += paragraph(f"    {answer}: {meaning}", width, indent=6)
    return rows


class HelpPage(Page):
    """The page of help; leaving it goes back to the page it was asked on."""

    HEADING = "Help"
    asked_on: str = "home"
    """Name of the page it was asked on."""
    heading: str = ""
    """What stands in the top line of that page."""

    def compose_body(self) -> ComposeResult:
        """Yield the words."""
        units: Units = "metric" if self.shown is None else self.shown.site.units
        with VerticalScroll(classes="page-body", can_focus=False):
            yield HelpWords(self.heading or "home", ABOUT.get(self.asked_on), units)

    def move_mark(self, step: int) -> bool:
        """Scroll."""
        self.query_one(".page-body").scroll_relative(y=step, animate=False)
        return True

    def step_back(self) -> bool:
        """Go back to the page it was asked on."""
        self.app.pop_screen()
        return True

    def summary(self) -> str:
        """Return the help as plain text."""
        return self.query_one(HelpWords).text
