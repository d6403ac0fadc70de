"""The first start: there is no site yet, so offer the demo, or a guided setup of one's own garden."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from tankdash.drawing.canvas import Row, Span
from tankdash.tui.cautionwords import SHORT
from tankdash.tui.pages.firstchoice import FirstChoice
from tankdash.tui.widgets.keybar import Foot, KeyBar
from tankdash.tui.widgets.picture import Picture, paragraph


class WelcomeWords(Picture):
    """What this is, and the two ways to begin."""

    def __init__(self) -> None:
        super().__init__()
        self.trouble_words = ""
        """What went wrong with a choice."""

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the words."""
        room = min(width, 76)
        rows: list[Row] = [[], [Span("No garden is set up yet.", "title")], []]
        rows += paragraph(
            "tankdash tells you how much rain water your joined tanks really hold, how long it lasts, and "
            "what is due after the rain. You need a stick, a tape measure and a rain gauge.",
            room,
        )
        for key, words in (
            ("1", "Look around in a garden of our invention, with a season of history. Nothing of yours is touched."),
            ("2", "Set up your own: how many tanks, which kind, how high each stands, where the links and the tap "
                  "are. It takes a few minutes and can be changed later."),
        ):  # fmt: skip
            lines = paragraph(words, room - 4)
            rows += [[], [Span(f" {key}  ", "key"), *lines[0]]]
            rows += [[Span("    ", "plain"), *line] for line in lines[1:]]
        rows += [[], *paragraph(f"! {SHORT['edible']}", room, "warn", indent=2)]
        if self.trouble_words:
            rows += [[], *paragraph(f"! {self.trouble_words}", room, "warn", indent=2)]
        return rows


class WelcomePage(Screen[None]):
    """The page of the first start."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("1", "begin('demo')", "demo", show=False, id="welcome-demo"),
        Binding("2,enter", "begin('setup')", "set up", show=False, id="welcome-setup"),
    ]

    def compose(self) -> ComposeResult:
        """Yield the words and the keys."""
        yield Picture([[Span(" tankdash", "title")]], classes="form-title")
        with VerticalScroll(classes="page-body", can_focus=False):
            yield WelcomeWords()
        yield KeyBar(
            [
                Foot("1", "look at the demo", "screen.begin('demo')"),
                Foot("2", "set up my garden", "screen.begin('setup')"),
                Foot("q", "leave", "app.quit"),
            ]
        )

    def action_begin(self, what: str) -> None:
        """Hand the choice on."""
        self.app.post_message(FirstChoice(what))

    def trouble(self, sentence: str) -> None:
        """Say what went wrong."""
        words = self.query_one(WelcomeWords)
        words.trouble_words = sentence
        words.refresh(layout=True)
        words.redraw()
