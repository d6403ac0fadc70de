"""How a record becomes the words of one journal row and back: kind names and plain JSON values.

Readers of the journal meet twenty years of rows at once, so decoding is one table look-up and one constructor
per row.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any, Literal, get_args, get_origin, get_type_hints

from tankdash.journal import entries as e
from tankdash.journal.entries import Record

FIRST_YEAR, LAST_YEAR = 1900, 2200
"""Years a journal reaches; beyond them calendars end, and clocks had no zones."""
LONGEST_PERIOD = timedelta(days=367)
"""Of one gauge reading."""
MOST = 1e12
"""No figure of a garden is larger, in any unit."""
A_HAIR = 1e-6
"""What is never negative may be this much below nothing by rounding."""
_MAY_BE_NEGATIVE = frozenset({"base_m", "low_c"})

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
    """Return the record that one line of JSON holds, looked over field by field."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as problem:
        raise BadRecord("its fields are not JSON") from problem
    return prove(from_plain(kind, data))


@dataclass(frozen=True)
class _Rule:
    """What a field of a record may hold."""

    name: str
    sorts: frozenset[type]
    choices: tuple[object, ...] | None
    """The only values there are, for a field of fixed words."""
    least: float
    """Lowest figure."""


@cache
def _rules(sort: Hashable) -> tuple[_Rule, ...]:
    """Return what each field of a record may hold, read off its declaration."""
    rules = []
    for name, hint in get_type_hints(sort).items():
        choices = get_args(hint) if get_origin(hint) is Literal else None
        sorts = {str} if choices else set(get_args(hint) or (hint,))
        if float in sorts:
            sorts.add(int)
        least = -MOST if name in _MAY_BE_NEGATIVE else -A_HAIR
        rules.append(_Rule(name, frozenset(sorts), choices, least))
    return tuple(rules)


def prove(record: Record) -> Record:
    """Return the record after looking at every field, for words that come from a file.

    Raises
    ------
    BadRecord
        If a field holds the wrong sort of value, or a figure or time no garden has.
    """
    if type(record) is e.Dips:
        for dip in record.tanks:
            _prove_fields(dip)
            if not dip.low_m - A_HAIR <= dip.depth_m <= dip.high_m + A_HAIR:
                raise BadRecord("its depth lies outside its own range")
        return record
    _prove_fields(record)
    if type(record) is e.Rain:
        if record.high_mm is not None and record.low_mm > record.high_mm:
            raise BadRecord("its range is upside down")
        if not timedelta() <= record.end - record.start <= LONGEST_PERIOD:
            raise BadRecord("its period ends before it begins, or is longer than a year")
    return record


def _prove_fields(part: object) -> None:
    values = vars(part)
    record: Any = type(part)  # a class can be hashed, which its type does not say
    for rule in _rules(record):
        value = values[rule.name]
        sort = type(value)
        if sort not in rule.sorts or (rule.choices is not None and value not in rule.choices):
            raise BadRecord(f"{rule.name} may not be {str(value)[:80]!r}")
        if sort is float or sort is int:
            if not rule.least <= value <= MOST:
                raise BadRecord(f"{rule.name} is not a believable figure")
        elif sort is datetime or sort is date:
            if not FIRST_YEAR <= value.year <= LAST_YEAR:
                raise BadRecord(f"{rule.name} is out of reach")
            if sort is datetime and value.tzinfo is None:
                raise BadRecord(f"{rule.name} has no offset from UTC")
