"""A page that asks the desk a question in a thread and writes the answer on a sheet."""

from __future__ import annotations

from abc import abstractmethod
from typing import Generic, TypeVar

from textual import on, work
from textual.app import ComposeResult
from textual.message import Message

from tankdash.drawing.canvas import Row, Span
from tankdash.keeping.desk import Desk
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.page import Page
from tankdash.tui.state import Shown
from tankdash.tui.widgets.sheet import Sheet

T = TypeVar("T")


class Answered(Message):
    """The desk has answered."""

    def __init__(self, shown: Shown, answer: object) -> None:
        super().__init__()
        self.shown = shown
        """The state it was asked for."""
        self.answer = answer
        """What it said."""


class SheetPage(Page, Generic[T]):
    """A page of words and tables."""

    _answer: T | None = None
    """What the desk said last."""

    @abstractmethod
    def ask(self, desk: Desk, shown: Shown) -> T:
        """Return what the page shows; runs in a thread and touches no widget."""

    @abstractmethod
    def write(self, shown: Shown, answer: T, width: int) -> list[Row]:
        """Return the rows of the page."""

    def compose_body(self) -> ComposeResult:
        """Yield the sheet."""
        yield Sheet(self._rows, id="sheet")

    def on_mount(self) -> None:
        """Ask for the first time."""
        super().on_mount()
        self.ask_again()

    def watch_shown(self) -> None:
        """Ask again when the state changed, not for a notice alone."""
        super().watch_shown()
        if self.is_mounted:
            self.ask_again()

    def ask_again(self) -> None:
        """Ask the desk, away from the keyboard's thread."""
        keeper = getattr(self.app, "keeper", None)
        if self.shown is not None and isinstance(keeper, Keeper):
            self._ask(keeper, self.shown)

    @work(thread=True, exclusive=True, group="ask")
    def _ask(self, keeper: Keeper, shown: Shown) -> None:
        with keeper.desk() as desk:
            answer = self.ask(desk, shown)
        self.post_message(Answered(shown, answer))

    @on(Answered)
    def _answered(self, event: Answered) -> None:
        event.stop()
        self._answer = event.answer  # type: ignore[assignment]
        self.answered()
        self.query_one("#sheet", Sheet).redraw()

    def answered(self) -> None:
        """Do what has to be done when the desk has answered, before the sheet is written."""

    def _rows(self, width: int) -> list[Row]:
        if self.shown is None or self._answer is None:
            return [[Span("Reading the journal ...", "dim")]]
        return self.write(self.shown, self._answer, width)

    def move_mark(self, step: int) -> bool:
        """Read on, or back."""
        self.query_one("#sheet", Sheet).scroll_rows(step)
        return True

    def summary(self) -> str:
        """Return the sheet as plain text."""
        return self.query_one("#sheet", Sheet).whole_text
