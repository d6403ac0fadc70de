"""The app: holds the one state, writes what forms hand on, and moves between pages.

Everything that touches a file runs in a thread and ends in a message; the keyboard never waits for a disk.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message
from textual.reactive import reactive
from textual.screen import Screen

from tankdash.tui import registry
from tankdash.tui.actions import key_bindings
from tankdash.tui.early import EarlyApp
from tankdash.tui.forms.messages import FormLeft, FormSaved, SiteAltered, SiteDescribed
from tankdash.tui.gardenactions import GardenActions
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.firstchoice import FirstChoice
from tankdash.tui.pages.page import Page
from tankdash.tui.state import Notice, Shown
from tankdash.tui.trouble import sentence_of, speakable
from tankdash.tui.widgets.chorelist import ChoreList
from tankdash.tui.widgets.keybar import KeyBar
from tankdash.tui.words import undone_words, written_words

if TYPE_CHECKING:
    from textual.command import Provider

    from tankdash.glance import Glance
    from tankdash.journal.entries import Entry
    from tankdash.tui.forms.asking import Asking
    from tankdash.tui.understood import Understood

LOOK_EVERY = 2.0
"""Seconds between two looks at whether the site file or the journal changed."""


def _finder() -> type[Provider]:
    """Return what the palette finds by; it is imported when somebody looks for something."""
    from tankdash.tui.finding import Finder

    return Finder


class TankdashApp(EarlyApp, GardenActions):
    """The screen of one garden."""

    TITLE = "tankdash"
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {_finder}
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

        def __init__(self, shown: Shown, form: Asking | None) -> None:
            super().__init__()
            self.shown = shown
            """The state after it."""
            self.form = form
            """The form it came from, if it came from one."""

    class Failed(Message):
        """Something could not be read or written; the last good state stays."""

        def __init__(self, sentence: str, form: Asking | None = None) -> None:
            super().__init__()
            self.sentence = sentence
            """What to do about it."""
            self.form = form
            """The form whose entry it was."""

    class Begun(Message):
        """There is a garden where there was none."""

        def __init__(self, keeper: Keeper, shown: Shown) -> None:
            super().__init__()
            self.keeper = keeper
            """Its site and journal."""
            self.shown = shown
            """Its first state."""

    def __init__(
        self,
        keeper: Keeper | None,
        clock: Callable[[], datetime],
        *,
        glance: Glance | None = None,
        ascii_only: bool | None = None,
        theme: str | None = None,
    ) -> None:
        super().__init__(theme=theme, ascii_only=ascii_only)
        self.glance = glance
        """The tanks for the first frame; all else follows it. None: everything is worked out before it."""
        self.keeper = keeper
        """Site and journal; None on the first start."""
        self.clock = clock
        """Gives the time."""
        self.drafts: dict[str, dict[str, str]] = {}
        """What was typed into forms that were left, by form."""
        self._minute = clock().replace(second=0, microsecond=0)
        if keeper is not None and glance is None:
            self.set_reactive(TankdashApp.shown, keeper.shown())
        elif keeper is not None:
            self.reading_begins()

    def get_default_screen(self) -> Screen[None]:
        """Return the home page, or the first start when there is no site yet."""
        return self._page("home" if self.keeper is not None else "welcome")

    def action_command_palette(self) -> None:
        """Ask for what is looked for, in the words of whoever looks."""
        from textual.command import CommandPalette

        if not isinstance(self.screen, CommandPalette):
            self.push_screen(
                CommandPalette(placeholder="What do you want to do? A word or two, such as: frost")
            )

    def on_mount(self) -> None:
        """Begin to look for changes, at once if not everything has been read."""
        self.set_interval(LOOK_EVERY, self.look)
        self.set_interval(LOOK_EVERY, self.leave_if_alone)
        self.call_after_refresh(self.look if self.shown is None and self.keeper else self.reading_ends)

    def leave_if_alone(self) -> None:
        """Leave once the terminal is gone: told to outlive it, as by nohup, it would wait for keys for ever.

        At once, because the toolkit's own way out writes to the terminal.
        """
        if self.has_lost_terminal():
            if self.keeper is not None:
                self.keeper.close()
            os._exit(1)

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
        notice = Notice(words, is_trouble)
        if self.shown is not None:
            self.shown = replace(self.shown, notice=notice)
        elif isinstance(self.screen, Page):
            self.screen.say(notice)

    def hush(self) -> None:
        """Take the notice away."""
        if self.shown is not None and self.shown.notice is not None:
            self.shown = replace(self.shown, notice=None)

    def look(self, *, again: bool = False) -> None:
        """Look whether the site file, the journal or the minute changed; `again` reads them in any case."""
        is_looking = any(worker.group == "look" and not worker.is_finished for worker in self.workers)
        if self.keeper is not None and (again or not is_looking):
            self._look(again)

    @work(thread=True, exclusive=True, group="look")
    def _look(self, again: bool) -> None:
        assert self.keeper is not None
        minute = self.clock().replace(second=0, microsecond=0)
        try:
            if again or self.keeper.has_changed():
                self.post_message(self.Loaded(self.keeper.read_again()))
            elif self.shown is None or minute != self._minute:
                is_first = self.shown is None
                self.post_message(self.Loaded(self.keeper.shown()))
                if is_first:
                    self.keeper.keep_glance()
        except speakable() as error:
            self.post_message(self.Failed(sentence_of(error)))
        self._minute = minute

    @on(Loaded)
    def _loaded(self, event: Loaded) -> None:
        notice = self.shown.notice if self.shown is not None else None
        self.shown = replace(event.shown, notice=event.shown.notice or notice)
        self.reading_ends()

    @on(Failed)
    def _failed(self, event: Failed) -> None:
        if event.form is not None and event.form in self.screen_stack:
            event.form.trouble(event.sentence)
        elif self.shown is None and hasattr(self.screen, "trouble"):
            self.screen.trouble(event.sentence)
        else:
            self.tell(event.sentence, is_trouble=True)
        self.reading_ends()

    # Writing.

    @work(thread=True, group="write")
    def write(self, understood: Understood, form: Asking | None = None) -> None:
        """Write an entry down, away from the keyboard's thread."""
        keeper = self.keeper
        assert keeper is not None
        self._enter(lambda: keeper.write(understood), written_words, form)

    @work(thread=True, group="write")
    def tick(self, chore: str) -> None:
        """Write down that a chore was done now."""
        keeper = self.keeper
        assert keeper is not None
        self._enter(lambda: keeper.tick(chore), written_words, None)

    @work(thread=True, group="write")
    def take_back(self, number: int | None = None, then: str | None = None) -> None:
        """Take an entry back, the last one unless numbered; `then` names a form to open after it."""
        keeper = self.keeper
        assert keeper is not None
        taken = keeper.undo if number is None else partial(keeper.take_back, number)
        self._enter(taken, undone_words, None)
        if then is not None:
            self.call_from_thread(self.action_form, then)

    def _enter(
        self,
        enter: Callable[[], Entry | None],
        say: Callable[[Entry | None, Shown | None, Shown], str],
        form: Asking | None,
    ) -> None:
        """Do what changes the journal, in a worker's thread, and tell what it did."""
        assert self.keeper is not None
        before = self.shown
        try:
            entry = enter()
            after = self.keeper.shown()
        except speakable() as error:
            self.post_message(self.Failed(sentence_of(error), form))
            return
        notice = Notice(say(entry, before, after))
        self.post_message(self.Written(replace(after, notice=notice), form))

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
            self.take_back()

    @on(ChoreList.ChoreChosen)
    def _chore_chosen(self, event: ChoreList.ChoreChosen) -> None:
        self.tick(event.chore)

    # Forms.

    def action_form(self, name: str) -> None:
        """Open a form."""
        if self.shown is None or self.keeper is None:
            return
        self.hush()
        self.push_screen(registry.form_class(name)(self.keeper, self.shown, self.drafts.get(name)))

    @on(FormSaved)
    def _form_saved(self, event: FormSaved) -> None:
        self.write(event.understood, event.form)

    @on(FormLeft)
    def _form_left(self, event: FormLeft) -> None:
        """Close a form and keep what was typed."""
        if event.draft:
            self.drafts[event.form.NAME] = event.draft
        else:
            self.drafts.pop(event.form.NAME, None)
        if self.screen is event.form:
            self.pop_screen()

    @on(SiteAltered)
    def _site_altered(self, event: SiteAltered) -> None:
        self.rewrite(event)

    def rewritten(self, shown: Shown, form: Asking | None) -> None:
        """Take the state after the site file was replaced."""
        self.post_message(self.Written(shown, form))

    def failed(self, sentence: str, form: Asking | None) -> None:
        """Tell that it was not."""
        self.post_message(self.Failed(sentence, form))

    # The first start.

    @on(FirstChoice)
    def _first_choice(self, event: FirstChoice) -> None:
        """Lay the demo out, or ask about the garden."""
        from tankdash.tui import beginning

        if event.what == "demo":
            from tankdash.keeping.demo import demo_folder

            self._begin(lambda: beginning.begin_demo(demo_folder(), self.clock))
            return
        from tankdash.tui.forms.setup import SetupForm

        path, zone, units = beginning.site_file(), beginning.zone_here(), beginning.units_here()
        self.push_screen(SetupForm(path, zone, units, self.clock()))

    @on(SiteDescribed)
    def _site_described(self, event: SiteDescribed) -> None:
        """Write the site file that the setup hands on."""
        from tankdash.tui import beginning

        self._begin(lambda: beginning.begin_site(event.path, event.text, self.clock))

    @work(thread=True, group="write")
    def _begin(self, begin: Callable[[], Keeper]) -> None:
        try:
            keeper = begin()
            where = f"The site file is {keeper.site_path}. ? tells what every key does."
            self.post_message(self.Begun(keeper, keeper.shown(Notice(where))))
        except speakable() as error:
            self.post_message(self.Failed(sentence_of(error)))

    @on(Begun)
    def _begun(self, event: Begun) -> None:
        """Go home to the new garden."""
        self.keeper = event.keeper
        self.shown = event.shown
        while len(self.screen_stack) > 1:
            self.pop_screen()
        self.push_screen(self._page("home"))

    # Pages.

    def _page(self, name: str) -> Screen[None]:
        page = registry.page_class(name)()
        if isinstance(page, Page):
            page.set_reactive(Page.shown, self.shown)
            page.set_reactive(Page.seen, self.shown or self.glance)
        return page

    def action_page(self, name: str) -> None:
        """Go to a page."""
        if self.shown is None:
            return
        self.hush()
        if name == "home" and isinstance(self.screen, Page) and self.screen.step_back():
            return
        if isinstance(self.screen, registry.page_class(name)):
            return
        # Home is always at the bottom, with its timeline where it was left; one other page may lie on it.
        while len(self.screen_stack) > 1 and not isinstance(self.screen, registry.page_class("home")):
            self.pop_screen()
        if name != "home":
            self.push_screen(self._page(name))

    def action_help(self) -> None:
        """Show what the page at hand tells and what every key does; asked again, go back to that page."""
        name = registry.page_name(self.screen)
        if name == "help":
            self.pop_screen()
        elif self.shown is not None and name:
            self.hush()
            page = self._page("help")
            page.asked_on, page.heading = name, getattr(self.screen, "HEADING", "")  # type: ignore[attr-defined]
            self.push_screen(page)

    def action_cautions(self) -> None:
        """Show where stored water can hurt someone."""
        self.action_page("cautions")

    def action_copy(self) -> None:
        """Copy the page as plain text."""
        if isinstance(self.screen, Page):
            self.copy_to_clipboard(self.screen.summary())
            self.tell("Copied this page as plain text.")

    def action_reload(self) -> None:
        """Read file and journal again now."""
        self.look(again=True)

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
    gc.disable()
    if site_path is not None:
        try:
            keeper = Keeper(site_path, journal_path, clock, opens=False)
            app = TankdashApp(keeper, clock, glance=keeper.glance())
        except speakable() as error:
            print(sentence_of(error, all_of_it=True), file=sys.stderr)
            return 2
    else:
        app = TankdashApp(None, clock)
    status = app.run()
    if app.keeper is not None:
        app.keeper.close()
    return status or app.return_code or 0
