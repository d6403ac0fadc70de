"""The app: holds the one state, writes what forms hand on, and moves between pages.

Everything that touches a file runs in a thread and ends in a message; the keyboard never waits for a disk.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import SystemCommand
from textual.binding import BindingType
from textual.message import Message
from textual.reactive import reactive
from textual.screen import Screen

from tankdash.tui import registry
from tankdash.tui.actions import ACTIONS, key_bindings
from tankdash.tui.frame import FramedApp
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.page import Page
from tankdash.tui.state import Notice, Shown
from tankdash.tui.widgets.chorelist import ChoreList
from tankdash.tui.widgets.keybar import KeyBar

if TYPE_CHECKING:
    from tankdash.tui.forms.base import Form
    from tankdash.tui.forms.understood import Understood

LOOK_EVERY = 2.0
"""Seconds between two looks at whether the site file or the journal changed."""


class TankdashApp(FramedApp):
    """The screen of one garden."""

    TITLE = "tankdash"
    BINDINGS: ClassVar[list[BindingType]] = [*key_bindings()]

    shown: reactive[Shown | None] = reactive(None, init=False)
    """The state of the garden; None until there is a site."""

    class Loaded(Message):
        """The state was read or worked out anew."""

        def __init__(self, shown: Shown) -> None:
            super().__init__()
            self.shown = shown
            """The new state."""

    class Written(Message):
        """An entry is on disk."""

        def __init__(self, shown: Shown, form: Form | None) -> None:
            super().__init__()
            self.shown = shown
            """The state after it."""
            self.form = form
            """The form it came from, if it came from one."""

    class Failed(Message):
        """Something could not be read or written; the last good state stays."""

        def __init__(self, sentence: str, form: Form | None = None) -> None:
            super().__init__()
            self.sentence = sentence
            """What to do about it."""
            self.form = form
            """The form whose entry it was."""

    def __init__(
        self,
        keeper: Keeper | None,
        clock: Callable[[], datetime],
        *,
        ascii_only: bool | None = None,
        theme: str | None = None,
    ) -> None:
        super().__init__(theme=theme, ascii_only=ascii_only)
        self.keeper = keeper
        """Site and journal; None on the first start."""
        self.clock = clock
        """Gives the time."""
        self.drafts: dict[str, dict[str, str]] = {}
        """What was typed into forms that were left, by form."""
        self._seen: object = None
        if keeper is not None:
            self.set_reactive(TankdashApp.shown, keeper.load())
            self._seen = self._mark_of_change()

    def get_default_screen(self) -> Screen[None]:
        """Return the home page, or the first start when there is no site yet."""
        return self._page("home" if self.keeper is not None else "welcome")

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Return every action of the registry for the palette."""
        for action in ACTIONS:
            if action.id == "find":
                continue
            title = f"{action.group}: {action.name}"
            yield SystemCommand(title, f"{action.does} ({action.keys_shown})", self._doer(action.run))

    def _doer(self, run: str) -> Callable[[], None]:
        return lambda: self.call_later(self.run_action, run)

    def on_mount(self) -> None:
        """Begin to look for changes."""
        self.set_interval(LOOK_EVERY, self.look)

    # The state.

    def watch_shown(self, shown: Shown | None) -> None:
        """Hand the state to what is on the screen."""
        for screen in self.screen_stack:
            if isinstance(screen, Page):
                screen.shown = shown
            elif shown is not None and hasattr(screen, "refreshed"):
                screen.refreshed(shown)

    def tell(self, words: str, *, is_trouble: bool = False) -> None:
        """Tell something once."""
        if self.shown is not None:
            self.shown = replace(self.shown, notice=Notice(words, is_trouble))

    def hush(self) -> None:
        """Take the notice away."""
        if self.shown is not None and self.shown.notice is not None:
            self.shown = replace(self.shown, notice=None)

    def _mark_of_change(self) -> object:
        """Return a value that differs when the state has to be worked out again."""
        if self.keeper is None:
            return None
        return self.keeper.stamp(), self.clock().replace(second=0, microsecond=0)

    def look(self) -> None:
        """Look whether the file, the journal or the minute changed."""
        if self.keeper is not None:
            self._look()

    @work(thread=True, exclusive=True, group="look")
    def _look(self) -> None:
        from tankdash.tui.trouble import sentence_of, speakable

        try:
            mark = self._mark_of_change()
            if mark != self._seen:
                self._seen = mark
                self._load()
        except speakable() as error:
            self.post_message(self.Failed(sentence_of(error)))

    def _load(self) -> None:
        assert self.keeper is not None
        self.post_message(self.Loaded(self.keeper.load()))

    @on(Loaded)
    def _loaded(self, event: Loaded) -> None:
        notice = self.shown.notice if self.shown is not None else None
        self.shown = replace(event.shown, notice=event.shown.notice or notice)

    @on(Failed)
    def _failed(self, event: Failed) -> None:
        if event.form is not None and event.form in self.screen_stack:
            event.form.trouble(event.sentence)
        else:
            self.tell(event.sentence, is_trouble=True)

    # Writing.

    def write(self, understood: Understood, form: Form | None = None) -> None:
        """Write an entry down, away from the keyboard's thread."""
        self._write(understood, form, self.shown)

    @work(thread=True, group="write")
    def _write(self, understood: Understood, form: Form | None, before: Shown | None) -> None:
        from tankdash.tui.trouble import sentence_of, speakable
        from tankdash.tui.words import written_words

        assert self.keeper is not None
        try:
            entry = self.keeper.write(understood)
            after = self.keeper.shown()
            self._seen = self._mark_of_change()
        except speakable() as error:
            self.post_message(self.Failed(sentence_of(error), form))
            return
        self.post_message(
            self.Written(replace(after, notice=Notice(written_words(entry, before, after))), form)
        )

    @on(Written)
    def _written(self, event: Written) -> None:
        if event.form is not None:
            self.drafts.pop(event.form.NAME, None)
            if self.screen is event.form:
                self.pop_screen()
        self.shown = event.shown

    def action_undo(self) -> None:
        """Take the last entry back."""
        if self.keeper is not None:
            self._undo()

    @work(thread=True, group="write")
    def _undo(self) -> None:
        from tankdash.tui.trouble import sentence_of, speakable
        from tankdash.tui.words import undone_words

        assert self.keeper is not None
        try:
            entry = self.keeper.undo()
            after = self.keeper.shown()
            self._seen = self._mark_of_change()
        except speakable() as error:
            self.post_message(self.Failed(sentence_of(error)))
            return
        self.post_message(self.Written(replace(after, notice=Notice(undone_words(entry, after))), None))

    def action_tick(self) -> None:
        """Tick the chore under the mark."""
        chore = self.screen.chore_marked() if isinstance(self.screen, Page) else None
        if chore is None:
            self.tell(
                "There is no chore under the mark here: go home with 1, or to the chores with 4.",
                is_trouble=True,
            )
            return
        self.tick(chore)

    def tick(self, chore: str) -> None:
        """Write down that a chore was done now."""
        from tankdash.keeping.entering import EntryError, enter_done
        from tankdash.tui.forms.understood import Understood

        if self.shown is None:
            return
        now = self.clock().astimezone(self.shown.site.zone)
        try:
            record = enter_done(self.shown.site, chore, now)
        except EntryError as error:
            self.tell(error.sentence, is_trouble=True)
            return
        self.write(Understood(record, f"done {chore}", now))

    @on(ChoreList.ChoreChosen)
    def _chore_chosen(self, event: ChoreList.ChoreChosen) -> None:
        self.tick(event.chore)

    # Forms.

    def action_form(self, name: str) -> None:
        """Open a form."""
        if self.shown is None:
            return
        self.hush()
        form = registry.form_class(name)(self.shown, self.drafts.get(name))
        self.push_screen(form)

    def form_saved(self, form: Form, understood: Understood) -> None:
        """Write down what a form hands on."""
        self.write(understood, form)

    def form_left(self, form: Form, draft: dict[str, str]) -> None:
        """Close a form and keep what was typed."""
        if draft:
            self.drafts[form.NAME] = draft
        else:
            self.drafts.pop(form.NAME, None)
        if self.screen is form:
            self.pop_screen()

    # Pages.

    def _page(self, name: str) -> Screen[None]:
        page = registry.page_class(name)()
        if isinstance(page, Page):
            page.set_reactive(Page.shown, self.shown)
        return page

    def action_page(self, name: str) -> None:
        """Go to a page."""
        if self.shown is None:
            return
        self.hush()
        if not isinstance(self.screen, registry.page_class(name)):
            self.switch_screen(self._page(name))

    def action_help(self) -> None:
        """Show what every key does."""
        self.action_page("help")

    def action_cautions(self) -> None:
        """Show where stored water can hurt someone."""
        self.action_page("cautions")

    def action_mark(self, step: int) -> None:
        """Move the mark or scroll."""
        if isinstance(self.screen, Page):
            self.screen.move_mark(step)

    def action_next_chore(self) -> None:
        """Move the mark to the next chore that is due."""
        if not isinstance(self.screen, Page):
            return
        if not self.screen.next_chore():
            self.tell("No chore is due now.")

    def action_shift(self, step: int) -> None:
        """Move the timeline."""
        if isinstance(self.screen, Page):
            self.screen.shift_days(step)

    def action_zoom(self, step: int) -> None:
        """Show more or fewer days."""
        if isinstance(self.screen, Page):
            self.screen.zoom_days(step)

    def action_copy(self) -> None:
        """Copy the page as plain text."""
        if isinstance(self.screen, Page):
            self.copy_to_clipboard(self.screen.summary())
            self.tell("Copied this page as plain text.")

    def action_reload(self) -> None:
        """Read file and journal again now."""
        self._seen = None
        self.look()

    @on(KeyBar.Chosen)
    async def _key_clicked(self, event: KeyBar.Chosen) -> None:
        await self.run_action(event.run)


def run_screen(site_path: Path | None, journal_path: Path | None, now: datetime | None = None) -> int:
    """Open the screen and return the exit status when it is left.

    Parameters
    ----------
    site_path : Path or None
        The site file; None offers the demo or a guided start.
    journal_path : Path or None
        The journal; None for the one beside the site file.
    now : datetime, optional
        A pinned time; the real one when left out.

    Returns
    -------
    int
        0, or 2 when the site file or the journal cannot be read.
    """
    clock = (lambda: now) if now is not None else (lambda: datetime.now(UTC))
    keeper = None
    if site_path is not None:
        from tankdash.tui.trouble import sentence_of, speakable

        try:
            keeper = Keeper(site_path, journal_path, clock)
            app = TankdashApp(keeper, clock)
        except speakable() as error:
            print(sentence_of(error, all_of_it=True), file=sys.stderr)
            return 2
    else:
        app = TankdashApp(None, clock)
    status = app.run()
    if app.keeper is not None:
        app.keeper.close()
    return status or app.return_code or 0
