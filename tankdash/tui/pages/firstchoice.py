"""What the page of the first start says; light, so that the app need not load the page to hear it."""

from __future__ import annotations

from textual.message import Message


class FirstChoice(Message):
    """Somebody without a site chose how to begin."""

    def __init__(self, what: str) -> None:
        super().__init__()
        self.what = what
        """`demo` or `setup`."""
