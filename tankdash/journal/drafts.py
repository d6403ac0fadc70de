"""What is handed to the journal to be written: new entries, past days, and the rows of an export coming back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from tankdash.journal.entries import Record


@dataclass(frozen=True)
class Draft:
    """An entry ready to be written."""

    record: Record
    at: datetime
    words: str
    note: str = ""
    uid: str = ""
    """Kept from an export; empty for a new one."""
    zone: str = ""
    """Kept from an export; empty takes it from `at`."""
    entered: datetime | None = None
    """Kept from an export; None for now."""


@dataclass(frozen=True)
class HistoryValue:
    """One figure of one past day at a station, as a range: rain [mm] or a temperature [C]."""

    station: str
    day: date
    element: str
    """`rain`, `tmin` or `tmax`."""
    low: float
    high: float


@dataclass(frozen=True)
class Restored:
    """An entry of an export, with other entries named by uid."""

    uid: str
    kind: str
    record: Record
    at: datetime
    zone: str
    entered: datetime
    words: str
    note: str
    batch_uid: str = ""
    """The import it came with; empty for none."""
    voids_uid: str = ""
    """The entry it takes back, for a void."""


@dataclass(frozen=True)
class RestoredDay:
    """A past day of an export."""

    value: HistoryValue
    batch_uid: str
