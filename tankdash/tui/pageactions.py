"""What keys ask of the page on the screen, and of what its mark stands on."""

from __future__ import annotations

from abc import abstractmethod
from pathlib import Path
from typing import TYPE_CHECKING

from textual import work

from tankdash.tui.frame import FramedApp
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.page import Page
from tankdash.tui.state import Shown

if TYPE_CHECKING:
    from tankdash.journal.entries import Entry


LINES_KEPT = 4
"""Of a screen: the line at the top and that at the foot, and two that were there before."""


class PageActions(FramedApp):
    """The part of the app that passes keys on to the page."""

    shown: Shown | None
    keeper: Keeper | None
    drafts: dict[str, dict[str, str]]
    asked_to_replace: Path | None = None
    """Page to print that stands there already: the key pressed once more replaces it."""

    # What the app itself does.

    @abstractmethod
    def tell(self, words: str, *, is_trouble: bool = False) -> None:
        """Tell something once."""

    def tell_trouble(self, sentence: str) -> None:
        """Tell of trouble with a file, on the form if one is open."""
        told = getattr(self.screen, "trouble", None)
        if told is not None:
            told(sentence)
        else:
            self.tell(sentence, is_trouble=True)

    @abstractmethod
    def action_form(self, name: str) -> None:
        """Open a form."""

    @abstractmethod
    def tick(self, chore: str) -> object:
        """Write down that a chore was done now."""

    @abstractmethod
    def take_back(self, number: int | None = None, then: str | None = None) -> object:
        """Take an entry back and open a form after it."""

    # What the keys do.

    @work(thread=True, group="print")
    def write_page(self, path: Path, html: str, replaces: bool) -> None:
        """Write a page to print, away from the keyboard's thread; over an earlier one only when asked twice."""
        from tankdash.tui.printing import place

        told = place(path, html, replaces=replaces)
        self.asked_to_replace = path if told.is_there_already else None
        self.call_from_thread(self.tell, told.words, is_trouble=told.is_trouble)

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

    def _entry_marked(self) -> Entry | None:
        entry = self.screen.entry_marked() if isinstance(self.screen, Page) else None
        if entry is None:
            self.tell("Go to the log with 7 and put the mark on an entry first.", is_trouble=True)
        elif entry.voided_by is not None:
            self.tell("That entry was taken back already.", is_trouble=True)
            return None
        return entry

    def action_take_back_marked(self) -> None:
        """Take the entry under the mark back."""
        entry = self._entry_marked()
        if entry is not None:
            self.take_back(entry.number)

    def action_correct(self) -> None:
        """Take the entry under the mark back and open its form with what it said."""
        from tankdash.tui.forms.again import form_and_draft

        entry = self._entry_marked()
        if entry is None or self.shown is None or self.keeper is None:
            return
        again = form_and_draft(entry, self.shown.site)
        if again is None:
            self.tell("No form writes such an entry: take it back, or tick the chore again.", is_trouble=True)
            return
        name, draft = again
        self.drafts[name] = draft
        self.take_back(entry.number, name)

    def action_accept_base(self) -> None:
        """Open the form that takes a surveyed base as true, filled in; nothing is written before Enter."""
        base = self.screen.base_to_accept() if isinstance(self.screen, Page) else None
        if base is None or base.base_m is None or self.shown is None:
            self.tell("No base has moved: the survey, page 6, says when one has.", is_trouble=True)
            return
        from tankdash.units import format_length

        height = format_length(base.base_m, self.shown.site.units)
        self.drafts["set"] = {"item": base.item, "state": base.state, "base": height, "note": "by the survey"}
        self.action_form("set")

    def action_print_page(self) -> None:
        """Write the page to print that belongs to what is on the screen, beside the site file."""
        from tankdash.tui.printing import chore_sheet

        if self.shown is None or self.keeper is None or not isinstance(self.screen, Page):
            return
        page = self.screen.page_to_print() or chore_sheet(self.shown)
        path = self.keeper.site_path.parent / page.name
        replaces = self.asked_to_replace == path
        self.asked_to_replace = None
        self.write_page(path, page.html, replaces)

    def action_search(self) -> None:
        """Ask what to look for in the log."""
        from tankdash.tui.forms.search import SearchForm

        page = self.screen
        words = page.searched() if isinstance(page, Page) else None
        if words is None or not isinstance(page, Page):
            self.tell("Only the log can be looked through: it is page 7.", is_trouble=True)
        else:
            self.push_screen(SearchForm(words, page.search))

    def action_mark(self, step: int) -> None:
        """Move the mark or scroll."""
        if isinstance(self.screen, Page):
            self.screen.move_mark(step)

    def action_screenful(self, step: int) -> None:
        """Move the mark or scroll by screens of lines."""
        if isinstance(self.screen, Page):
            self.screen.move_mark(step * max(1, self.size.height - LINES_KEPT))

    def action_tanks(self, step: int) -> None:
        """Show tanks further left or right."""
        if isinstance(self.screen, Page):
            self.screen.scroll_tanks(step)

    def action_next_chore(self) -> None:
        """Move the mark to the next chore that is due."""
        if not isinstance(self.screen, Page):
            return
        if not self.screen.next_chore():
            self.tell("No chore is due now.")

    def action_point(self, step: int) -> None:
        """Point at another day of the timeline."""
        if isinstance(self.screen, Page):
            self.screen.point_at_day(step)

    def action_shift(self, step: int) -> None:
        """Move the timeline."""
        if isinstance(self.screen, Page):
            self.screen.shift_days(step)

    def action_zoom(self, step: int) -> None:
        """Show more or fewer days."""
        if isinstance(self.screen, Page):
            self.screen.zoom_days(step)
