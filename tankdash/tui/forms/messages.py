"""What a form hands on when it is saved or left; light, so that the app need not load the forms to hear it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from textual.message import Message

if TYPE_CHECKING:
    from tankdash.site.rewriting import Original
    from tankdash.tui.forms.asking import Asking
    from tankdash.tui.understood import Understood


class FormSaved(Message):
    """A form was saved: its record waits to be written down."""

    def __init__(self, form: Asking, understood: Understood) -> None:
        super().__init__()
        self.form = form
        """The form, which stays open until the entry is on disk."""
        self.understood = understood
        """What to write."""


class FormLeft(Message):
    """A form was left; what was typed is kept for the next time."""

    def __init__(self, form: Asking, draft: dict[str, str]) -> None:
        super().__init__()
        self.form = form
        """The form."""
        self.draft = draft
        """What was typed, by field; empty when nothing was."""


class SiteAltered(Message):
    """The garden was changed: here is its file as it was read, and what is to stand in it."""

    def __init__(self, form: Asking, original: Original, text: str) -> None:
        super().__init__()
        self.form = form
        """The form, which stays open until the file is replaced."""
        self.original = original
        """The file as it was read."""
        self.text = text
        """What is to stand in it."""


class SiteDescribed(Message):
    """The guided setup is finished: here is the file."""

    def __init__(self, path: Path, text: str) -> None:
        super().__init__()
        self.path = path
        """Where it goes."""
        self.text = text
        """What stands in it."""
