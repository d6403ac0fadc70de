"""What to look for in the log."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from tankdash.tui.forms.asking import Asking
from tankdash.tui.forms.fields import asked
from tankdash.tui.widgets.field import Field
from tankdash.tui.widgets.keybar import Foot


class SearchForm(Asking):
    """Words an entry must hold; the list follows while they are typed."""

    TITLE_WORDS: ClassVar[str] = "Look for"
    HELP_WORDS: ClassVar[str] = (
        "Entries that hold all of these words are listed: in what was typed, in its meaning, in its note "
        "or in its date. Nothing typed lists everything."
    )
    FEET: ClassVar[tuple[Foot, ...]] = (
        Foot("Enter", "list these", "screen.save"),
        Foot("Esc", "list everything", "screen.back"),
        Foot("F1", "help", "screen.explain"),
    )

    def __init__(self, words: str, search: Callable[[str], None]) -> None:
        super().__init__()
        self.words = words
        """What was looked for before."""
        self.search = search
        """Lists what holds the words."""

    def asked(self) -> Sequence[Field]:
        """Return the one field."""
        return (asked("search", "words", "metric", value=self.words),)

    def preview(self) -> None:
        """Say what Enter will do."""
        words = self.values["words"].strip()
        self.say((f"Enter lists what holds '{words}'." if words else "Enter lists everything.",))

    def action_save(self) -> None:
        """List what holds the words."""
        words = self.values["words"].strip()
        self.app.pop_screen()
        self.search(words)

    def action_leave(self) -> None:
        """List everything again."""
        self.app.pop_screen()
        self.search("")
