"""The home page: the tanks from the side, the words, what is due and the rain, on one page without scrolling."""

from __future__ import annotations

from textual import on, work
from textual.app import App, ComposeResult
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.reactive import reactive

from tankdash.drawing.canvas import Row, Span
from tankdash.tui.frame import FramedApp
from tankdash.tui.homewords import home_words
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.holding import HoldsChores, HoldsTimeline
from tankdash.tui.pages.page import Page
from tankdash.tui.pressing import pressing_words
from tankdash.tui.state import Seen, Shown
from tankdash.tui.widgets.chorelist import ChoreList
from tankdash.tui.widgets.picture import Picture, row_width
from tankdash.tui.widgets.sideview import SideView, scene_of, tank_keys
from tankdash.tui.widgets.timeline import TimelineView, TimelineWords


class HomeWords(Picture):
    """The words beside the picture."""

    class LastingKnown(Message):
        """It has been worked out how long the water lasts."""

        def __init__(self, words: str | None) -> None:
            super().__init__()
            self.words = words
            """Days and date; None where nobody can know."""

    shown: reactive[Seen | None] = reactive(None, init=False)
    """The state."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._lasting: str | None = None
        self._asked_for: tuple[object, ...] = ()

    def watch_shown(self) -> None:
        """Draw again, and ask how long the water lasts if it changed or the day did."""
        self.draw_again()
        shown, keeper = self.shown, getattr(self.app, "keeper", None)
        if not isinstance(shown, Shown) or not isinstance(keeper, Keeper):
            return
        wanted = (shown.entries, shown.site, shown.now.date())
        if wanted != self._asked_for:
            self._asked_for = wanted
            self.call_after_refresh(self._ask, keeper, shown)

    @work(thread=True, exclusive=True, group="lasting")
    def _ask(self, keeper: Keeper, shown: Shown) -> None:
        from tankdash.planning.outlook import outlook
        from tankdash.tui.lasting import lasting_words

        with keeper.desk() as desk:
            found = outlook(desk, shown.now, with_years=False) if shown.site.beds else None
        known = None if found is None else found.supply
        words = (
            None
            if found is None or known is None
            else lasting_words(known.together, shown.now.date(), at_least=found.is_low_end)
        )
        self.post_message(self.LastingKnown(words))

    @on(LastingKnown)
    def _lasting_known(self, event: LastingKnown) -> None:
        event.stop()
        self._lasting = event.words
        self.draw_again()

    def draw_again(self) -> None:
        """Draw again; the number of lines may change."""
        self.refresh(layout=True)
        self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the words, without those that stand above the picture."""
        if self.shown is None or width <= 0:
            return []
        rows = words_at(self.app, self.shown, width, self._lasting)
        return rows[FIRST_ROWS:] if is_stacked(self.app) and self.shown.levels.basis != "none" else rows


class HomeFirst(Picture):
    """The usable water and its bar, above the picture where the words lie below it: it is what one looks for first."""

    shown: reactive[Seen | None] = reactive(None, init=False)
    """The state."""

    def watch_shown(self) -> None:
        """Draw again; there may be nothing to say."""
        self.refresh(layout=True)
        self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the first rows of the words."""
        shown, app = self.shown, self.app
        if shown is None or width <= 0 or not is_stacked(app) or shown.levels.basis == "none":
            return []
        return words_at(app, shown, width, None)[:FIRST_ROWS]


FIRST_ROWS = 2
"""The figure, and the bar under it."""


def is_stacked(app: App[object]) -> bool:
    """Return whether the words lie below the picture."""
    return 60 <= app.size.width < 80 and app.size.height >= 18


def words_at(app: App[object], shown: Seen, width: int, lasting: str | None) -> list[Row]:
    """Return the words of the home page for the screen as it is."""
    columns, lines = app.size
    return home_words(
        shown,
        scene_of(shown),
        width,
        lasting=lasting,
        large=columns >= 80 and lines >= 22,
        short=lines < 30 or columns < 80,
        terse=lines < 22 or 60 <= columns < 80,
        heights=columns < 60 or lines < (22 if columns >= 80 else 18),
        ascii_only=isinstance(app, FramedApp) and app.ascii_only,
        ink=app.no_color,
    )


class Heading(Picture):
    """A heading with a rule after it."""

    shown: reactive[Shown | None] = reactive(None, init=False)
    """The state."""

    def watch_shown(self) -> None:
        """Draw again."""
        self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return how many chores want something now, and the rule."""
        chores = () if self.shown is None else self.shown.chores
        late = sum(chore.state == "late" for chore in chores)
        words = pressing_words(chores) or "Chores"
        row: Row = [Span(words, "late" if late else "strong"), Span(" ", "plain")]
        dash = "-" if isinstance(self.app, FramedApp) and self.app.ascii_only else "─"
        return [[*row, Span(dash * max(0, width - row_width(row)), "rule")]]


class HomePage(HoldsTimeline, HoldsChores):
    """Everything at a glance."""

    def compose_body(self) -> ComposeResult:
        """Yield picture and rain on the left, words and chores on the right."""
        app = self.app
        ascii_only = isinstance(app, FramedApp) and app.ascii_only
        with Horizontal(id="home-body"):
            yield HomeFirst(id="home-first").data_bind(shown=Page.seen)
            with Vertical(id="home-left"):
                yield SideView(
                    ascii_only=ascii_only, ink=app.no_color, keys=tank_keys(), id="home-side"
                ).data_bind(shown=Page.seen)
                yield TimelineWords(ascii_only=ascii_only, id="home-timeline-words")
                yield TimelineView(ascii_only=ascii_only, ink=app.no_color, id="home-timeline").data_bind(
                    Page.shown
                )
            with Vertical(id="home-right"):
                yield HomeWords(id="home-words").data_bind(shown=Page.seen)
                yield Heading(id="home-heading").data_bind(Page.shown)
                yield ChoreList(id="home-chores").data_bind(Page.shown)

    def scroll_tanks(self, step: int) -> bool:
        """Show tanks further left or right, where not all fit."""
        self.query_one(SideView).scroll_tanks(step)
        return True

    def summary(self) -> str:
        """Return words, tanks and chores as plain text."""
        parts = [
            self.query_one(HomeWords).text,
            self.query_one(SideView).text,
            self.query_one(ChoreList).text,
        ]
        return "\n\n".join(part for part in parts if part)
