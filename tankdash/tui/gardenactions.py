"""What the app does with the garden itself: open what stands there to be changed, and put the changed file in place."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import replace
from typing import TYPE_CHECKING

from textual import work

from tankdash.tui.pageactions import PageActions
from tankdash.tui.state import Notice, Shown
from tankdash.tui.trouble import sentence_of, speakable
from tankdash.tui.words import altered_words

if TYPE_CHECKING:
    from tankdash.tui.forms.asking import Asking
    from tankdash.tui.forms.messages import SiteAltered


class GardenActions(PageActions):
    """An app that can change the site file."""

    @abstractmethod
    def rewritten(self, shown: Shown, form: Asking | None) -> None:
        """Take the state after the site file was replaced."""

    @abstractmethod
    def failed(self, sentence: str, form: Asking | None) -> None:
        """Tell that it was not."""

    def action_garden(self) -> None:
        """Open what stands in the garden, to be changed."""
        if self.shown is None or self.keeper is None:
            return
        from tankdash.site.rewriting import read_original
        from tankdash.tui.forms.alter import AlterForm

        self.hush()
        try:
            form = AlterForm(read_original(self.keeper.site_path), self.shown)
        except speakable() as error:
            self.tell(sentence_of(error), is_trouble=True)
        else:
            self.push_screen(form)

    @work(thread=True, group="write", description="rewrite")
    def rewrite(self, event: SiteAltered) -> None:
        """Replace the site file, away from the keyboard's thread."""
        from tankdash.site.rewriting import rewrite

        assert self.keeper is not None
        try:
            kept = rewrite(event.original, event.text)
            after = self.keeper.read_again()
        except speakable() as error:
            self.failed(sentence_of(error), event.form)
            return
        self.rewritten(replace(after, notice=Notice(altered_words(event.original, kept))), event.form)
