"""What a form hands on when it is saved or left; light, so that the app need not load the forms to hear it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from textual.message import Message

from tankdash.journal.entries import Record

if TYPE_CHECKING:
    from tankdash.tui.forms.base import Form


@dataclass(frozen=True)
class Understood:
    """What a form's fields say, ready for the journal."""

    record: Record
    """The record."""
    words: str
    """The words typed."""
    at: datetime
    """The time it is about."""
    note: str = ""
    """The note that goes with it."""


class FormSaved(Message):
    """A form was saved: its record waits to be written down."""

    def __init__(self, form: Form, understood: Understood) -> None:
        super().__init__()
        self.form = form
        """The form, which stays open until the entry is on disk."""
        self.understood = understood
        """What to write."""


class FormLeft(Message):
    """A form was left; what was typed is kept for the next time."""

    def __init__(self, form: Form, draft: dict[str, str]) -> None:
        super().__init__()
        self.form = form
        """The form."""
        self.draft = draft
        """What was typed, by field; empty when nothing was."""


class FirstChoice(Message):
    """Somebody without a site chose how to begin."""

    def __init__(self, what: str) -> None:
        super().__init__()
        self.what = what
        """`demo` or `setup`."""


class SiteDescribed(Message):
    """The guided setup is finished: here is the file."""

    def __init__(self, path: Path, text: str) -> None:
        super().__init__()
        self.path = path
        """Where it goes."""
        self.text = text
        """What stands in it."""
