"""What every page has in common: top line, body, notice, keys, and what happens when the state changes."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import events
from textual.app import ComposeResult
from textual.reactive import reactive
from textual.screen import Screen

from tankdash.tui.actions import Action, footer_actions, page_actions
from tankdash.tui.frame import FramedApp
from tankdash.tui.state import Notice, Seen, Shown
from tankdash.tui.widgets.keybar import Foot, KeyBar
from tankdash.tui.widgets.masthead import Masthead
from tankdash.tui.widgets.notice import NoticeLine

if TYPE_CHECKING:
    from tankdash.journal.entries import Change, Entry


class PrintedPage(NamedTuple):
    """A page to print, to be written beside the site file."""

    name: str
    """Of the file."""
    html: str


class Page(Screen[None]):
    """A page; it is given the state and shows it."""

    HEADING: ClassVar[str] = ""
    """Its name in the top line."""

    shown: reactive[Shown | None] = reactive(None, init=False)
    """The state of the garden."""
    seen: reactive[Seen | None] = reactive(None, init=False)
    """The same; until all of it has been read, the tanks alone."""

    def compose(self) -> ComposeResult:
        """Yield the frame and the body between."""
        yield Masthead(self.HEADING).data_bind(shown=Page.seen)
        yield from self.compose_body()
        yield NoticeLine()
        yield KeyBar(
            [_foot(action) for action in footer_actions()],
            [_foot(action) for action in page_actions()],
            here=self.HEADING.lower() or "home",
        )

    def compose_body(self) -> ComposeResult:
        """Yield what is between the top line and the keys."""
        return iter(())

    def on_mount(self) -> None:
        """Tell the notice that came with the state."""
        self.tell()

    def on_key(self, event: events.Key) -> None:
        """Take the notice away: it has been read. What the key does may bring another."""
        if isinstance(self.app, FramedApp):
            self.app.hush()

    def watch_shown(self) -> None:
        """Tell what there is to tell."""
        self.seen = self.shown
        if self.is_mounted:
            self.tell()

    def tell(self) -> None:
        """Show the notice of the state, or take the last one away."""
        self.say(None if self.shown is None else self.shown.notice)

    def say(self, notice: Notice | None) -> None:
        """Show a notice, or take the last one away."""
        self.query_one(NoticeLine).notice = notice

    # What keys ask of a page; those that have the thing override these and return True.

    def move_mark(self, step: int) -> bool:
        """Move the mark or scroll by `step` lines."""
        return False

    def scroll_tanks(self, step: int) -> bool:
        """Show tanks further left or right in the picture."""
        return False

    def next_chore(self) -> bool:
        """Move the mark to the next chore that is due."""
        return False

    def chore_marked(self) -> str | None:
        """Return the chore under the mark."""
        return None

    def entry_marked(self) -> Entry | None:
        """Return the journal's entry under the mark."""
        return None

    def base_to_accept(self) -> Change | None:
        """Return the base the water tells of a tank that has moved; None where none has."""
        return None

    def searched(self) -> str | None:
        """Return the words looked for; None where nothing can be looked for."""
        return None

    def search(self, words: str) -> None:
        """List only what holds these words."""

    def shift_days(self, step: int) -> bool:
        """Move the timeline."""
        return False

    def point_at_day(self, step: int) -> bool:
        """Point at another day of the timeline."""
        return False

    def page_to_print(self) -> PrintedPage | None:
        """Return what this page has to be printed; None where it has nothing."""
        return None

    def step_back(self) -> bool:
        """Give up what the page points at; return whether there was anything to give up."""
        return False

    def zoom_days(self, step: int) -> bool:
        """Show more or fewer days on the timeline."""
        return False

    def summary(self) -> str:
        """Return the page as plain text."""
        return ""


def _foot(action: Action) -> Foot:
    """Return the place of an action in the line of keys."""
    return Foot(action.key_shown, action.name, f"app.{action.run}")
