"""How a record becomes the words of one journal row and back: kind names and plain JSON values.

Readers of the journal meet twenty years of rows at once, so decoding is one table look-up and one constructor
per row.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Hashable, Mapping
from datetime import date, datetime
from functools import cache
from typing import Any, Literal, get_args, get_origin, get_type_hints

from tankdash.journal import entries as e
from tankdash.journal.entries import Record

Plain = dict[str, Any]
"""A record as JSON values."""


class BadRecord(ValueError):
    """Words that are no record; the message is a sentence."""


_PLAIN_KINDS: dict[str, type[Any]] = {
    "use": e.Use,
    "tap-opened": e.TapOpened,
    "tap-closed": e.TapClosed,
    "move": e.Move,
    "pour": e.Pour,
    "set": e.Change,
    "done": e.Done,
    "note": e.Note,
    "void": e.Void,
    "import": e.Imported,
}
"""Kinds whose fields are JSON values already."""


def _dips(data: Plain) -> e.Dips:
    return e.Dips(tuple(e.TankDip(**tank) for tank in data["tanks"]))


def _rain(data: Plain) -> e.Rain:
    day = data.get("day")
    return e.Rain(
        low_mm=data["low_mm"],
        high_mm=data["high_mm"],
        start=datetime.fromisoformat(data["start"]),
        end=datetime.fromisoformat(data["end"]),
        gauge=data["gauge"],
        trace=data["trace"],
        left_in=data["left_in"],
        day=None if day is None else date.fromisoformat(day),
    )


def _frost(data: Plain) -> e.Frost:
    return e.Frost(low_c=data["low_c"], night=date.fromisoformat(data["night"]))


def _maker(record: type[Any]) -> Callable[[Plain], Any]:
    return lambda data: record(**data)


_DECODERS: dict[str, Callable[[Plain], Record]] = {
    "dip": _dips,
    "rain": _rain,
    "frost": _frost,
    **{kind: _maker(record) for kind, record in _PLAIN_KINDS.items()},
}
_KINDS: dict[type[Any], str] = {
    e.Dips: "dip",
    e.Rain: "rain",
    e.Frost: "frost",
    **{record: kind for kind, record in _PLAIN_KINDS.items()},
}
KINDS = tuple(_DECODERS)
"""Every kind name the journal knows."""


def kind_of(record: Record) -> str:
    """Return the kind name of a record.

    Examples
    --------
    >>> from tankdash.journal.entries import Use
    >>> kind_of(Use(9.0))
    'use'
    """
    return _KINDS[type(record)]


def to_plain(record: Record) -> Plain:
    """Return the record as JSON values, every field named."""
    if isinstance(record, e.Dips):
        return {"tanks": [dict(vars(tank)) for tank in record.tanks]}
    plain = dict(vars(record))
    for key, value in plain.items():
        if isinstance(value, date):  # and datetime, which is one
            plain[key] = value.isoformat()
    return plain


def from_plain(kind: str, data: Plain) -> Record:
    """Return the record written as JSON values.

    Raises
    ------
    BadRecord
        If the kind is unknown or a field is missing, unknown or unreadable.
    """
    maker = _DECODERS.get(kind)
    if maker is None:
        raise BadRecord(f"it is of a kind this tankdash does not know ({kind!r})")
    try:
        return maker(data)
    except (TypeError, KeyError, ValueError, AttributeError) as problem:
        raise BadRecord(f"its {kind} fields cannot be read ({problem})") from problem


def encode(record: Record) -> str:
    """Return the record as one line of JSON; a number that is not finite is refused.

    Examples
    --------
    >>> from tankdash.journal.entries import Done
    >>> encode(Done("wipe-screen"))
    '{"chore":"wipe-screen"}'
    """
    try:
        return json.dumps(to_plain(record), allow_nan=False, separators=(",", ":"))
    except ValueError as problem:
        raise BadRecord("a figure in it is not a finite number") from problem


def decode(kind: str, text: str) -> Record:
    """Return the record that one line of JSON holds."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as problem:
        raise BadRecord("its fields are not JSON") from problem
    return from_plain(kind, data)


@cache
def _hints(part: Hashable) -> Mapping[str, Any]:
    return get_type_hints(part)


def prove(record: Record) -> Record:
    """Return the record after looking at the sort of each field, for words that come from outside.

    Raises
    ------
    BadRecord
        If a field holds the wrong sort of value, or a figure that is not finite or not below 1e12.
    """
    parts: list[Any] = list(record.tanks) if isinstance(record, e.Dips) else [record]
    for part in parts:
        sort: Any = type(part)
        for name, value in vars(part).items():
            _prove_field(name, value, _hints(sort)[name])
    return record


def _prove_field(name: str, value: Any, hint: Any) -> None:
    if get_origin(hint) is Literal:
        if value not in get_args(hint):
            raise BadRecord(f"{name} may not be {value!r}")
        return
    allowed = get_args(hint) or (hint,)
    if float in allowed:
        allowed = (*allowed, int)
    # A bool is an int and a datetime is a date to isinstance; neither is to the journal.
    is_wrong_bool = isinstance(value, bool) and bool not in allowed
    is_wrong_date = isinstance(value, datetime) and datetime not in allowed
    if not isinstance(value, allowed) or is_wrong_bool or is_wrong_date:
        raise BadRecord(f"{name} may not be {value!r}")
    if isinstance(value, datetime) and value.tzinfo is None:
        raise BadRecord(f"{name} has no offset from UTC")
    if isinstance(value, float | int) and not (math.isfinite(value) and abs(value) < 1e12):
        raise BadRecord(f"{name} is not a believable figure")
