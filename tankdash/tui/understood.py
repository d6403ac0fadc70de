"""What a form's fields say; whoever reads fields, imagines their effect or writes them down speaks of this."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from tankdash.journal.entries import Record


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
