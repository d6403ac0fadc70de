"""What a row of the journal's tables tells. One that a bad block of the disk has changed is noticed, not believed."""

from __future__ import annotations

from datetime import date, datetime
from itertools import product
from math import inf
from pathlib import Path
from typing import Any

from tankdash.journal.codec import FIRST_YEAR, LAST_YEAR, BadRecord, decode
from tankdash.journal.columns import EARLIEST_YEAR, LATEST_YEAR
from tankdash.journal.drafts import HistoryValue
from tankdash.journal.entries import Entry
from tankdash.journal.trouble import JournalError

_NONE = type(None)
_ENTRY = {
    (int, str, str, str, int, str, str, str, str, str, *rest) for rest in product((int, _NONE), repeat=2)
}
"""Sorts of the cells of an entry, in the order of `sql.entries_after`."""
_PAST_DAY = (str, str, str, float, float, int)
"""Sorts of the cells of a past day, in the order of `sql.all_history`."""
_ELEMENTS = ("rain", "tmin", "tmax")


def entry_of(row: tuple[Any, ...], path: Path) -> Entry:
    """Return the entry of a row of the journal at `path`.

    Raises
    ------
    JournalError
        If it is none.
    """
    number, uid, kind, at, _, zone, entered, record, words, note, _, batch = row
    try:
        if tuple(map(type, row)) not in _ENTRY:
            raise BadRecord("a cell of it is of another sort than its column")
        about, written = datetime.fromisoformat(at), datetime.fromisoformat(entered)
        if about.tzinfo is None or not FIRST_YEAR <= about.year <= LAST_YEAR or written.tzinfo is None:
            raise BadRecord("its time has no offset from UTC, or lies out of reach")
        return Entry(
            number=number,
            uid=uid,
            kind=kind,
            at=about,
            entered=written,
            record=decode(kind, record),
            words=words,
            note=note,
            zone=zone,
            batch=batch,
        )
    except (BadRecord, ValueError, TypeError) as problem:
        raise JournalError(
            f"{path}: entry {number} cannot be read: {problem}. If a newer tankdash wrote it, use that one;"
            " otherwise put back a copy of the journal."
        ) from problem


def past_day_of(row: tuple[Any, ...], path: Path) -> HistoryValue:
    """Return the figure of a row of past days in the journal at `path`.

    Raises
    ------
    JournalError
        If it is none.
    """
    station, text, element, low, high, _ = row
    try:
        if tuple(map(type, row)) != _PAST_DAY or element not in _ELEMENTS or not -inf < low <= high < inf:
            raise ValueError
        day = date.fromisoformat(text)
        if not EARLIEST_YEAR <= day.year <= LATEST_YEAR:
            raise ValueError
    except ValueError:
        raise JournalError(f"{path}: a past day in it cannot be read: put back a copy of it.") from None
    return HistoryValue(station, day, element, low, high)
