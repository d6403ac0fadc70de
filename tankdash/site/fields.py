"""How the text of one value becomes a number, a day or a word: the validators that the schema is written with.

Each refuses with a sentence; the units of the site come along as the validation context.
"""

from __future__ import annotations

import re
import unicodedata
from calendar import monthrange
from collections.abc import Callable
from datetime import date
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import BeforeValidator, ValidationInfo

from tankdash import units as quantities
from tankdash.site.model import Season
from tankdash.site.problems import nearest, printable
from tankdash.units import QuantityError, Units

LONGEST_WORDS = 120
_MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
_TURNING_SIGNS = set("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_NUMBER = re.compile(r"\d{1,6}(?:\.\d{1,9})?", re.ASCII)


def _system(info: ValidationInfo) -> Units:
    """Return the units of the site that is being read."""
    system: Units = info.context or "metric"
    return system


def _single(value: object) -> str:
    """Return a value that must be one piece of text, not nothing and not a list."""
    if value is None:
        raise ValueError("has no value; write one, or take the key out")
    if isinstance(value, list | dict):
        raise ValueError(f"must be one value, not a {'list' if isinstance(value, list) else 'group of keys'}")
    return str(value)


def _several(value: object, what: str) -> list[Any]:
    if not isinstance(value, list):
        raise ValueError(f"must be a list in square brackets: {what}")
    return value


def _read(read: Callable[[str, Units], object]) -> BeforeValidator:
    """Return a validator for one piece of text in the units of the site."""

    def validate(value: object, info: ValidationInfo) -> object:
        return read(_single(value), _system(info))

    return BeforeValidator(validate)


def _above_zero(number: float, sample: str) -> float:
    if number <= 0:
        raise ValueError(f"must be above zero: write {sample}")
    return number


def _plain_number(text: str, sample: str) -> float:
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"'{printable(text)[:40]}' is not a plain number: write {sample}")
    return float(text)


def _words(text: str) -> str:
    plain = " ".join(text.split())
    if not plain:
        raise ValueError("is blank; write a few words")
    if len(plain) > LONGEST_WORDS:
        raise ValueError(f"is longer than {LONGEST_WORDS} letters; shorten it")
    if any(
        unicodedata.category(sign) in ("Cc", "Cs", "Co", "Cn") or sign in _TURNING_SIGNS for sign in plain
    ):
        raise ValueError("holds a control character; take it out")
    return plain


def id_sentence(text: str) -> str | None:
    """Return what is wrong with an id, or None."""
    if re.fullmatch(r"[A-Za-z0-9-]{1,40}", text, re.ASCII) and not text.startswith("-"):
        return None
    return "is not a fit id; use letters, digits and hyphens, 40 at most, no hyphen first"


def _id(text: str) -> str:
    if fault := id_sentence(text):
        raise ValueError(f"'{printable(text)[:40]}' {fault}")
    return text


def _day(text: str) -> date:
    if re.fullmatch(r"\d{4}-\d\d-\d\d", text, re.ASCII):
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise ValueError(f"'{text}' is not a day of the calendar") from None
    raise ValueError(f"'{printable(text)[:40]}' is not a date: write year-month-day, such as 2026-03-01")


def _zone(text: str) -> str:
    try:
        ZoneInfo(text)
    except Exception:
        # Besides its own error it raises whatever the path of an odd name makes the system raise.
        from zoneinfo import available_timezones

        names = available_timezones()
        town = text.rpartition("/")[2].replace(" ", "_")
        close = nearest(text.replace(" ", "_"), names) or nearest(
            town, (name.rpartition("/")[2] for name in names)
        )
        if close and "/" not in close:
            place = close.split("`")[1]
            full = min(name for name in names if name.rpartition("/")[2] == place)
            close = close.replace(place, full)
        shown = printable(text)[:40]
        raise ValueError(f"'{shown}' is not a known IANA time zone, such as Europe/Lisbon{close}") from None
    return text


def _month_number(word: str) -> int | None:
    found = [
        number
        for number, name in enumerate(_MONTHS, start=1)
        if len(word) >= 3 and name.startswith(word.lower())
    ]
    return found[0] if len(found) == 1 else None


def _month_day(text: str) -> tuple[int, int]:
    match = re.fullmatch(
        r"(?P<day>\d{1,2})\.? (?P<month>[A-Za-z]+)\.?|(?P<month2>[A-Za-z]+)\.? (?P<day2>\d{1,2})",
        " ".join(text.split()),
        re.ASCII,
    )
    month = _month_number(match["month"] or match["month2"]) if match else None
    if match is None or month is None:
        raise ValueError(f"'{printable(text)[:40]}' is not a day of the year: write it such as 1 November")
    day = int(match["day"] or match["day2"])
    if not 1 <= day <= monthrange(2024, month)[1]:
        raise ValueError(f"{_MONTHS[month - 1].capitalize()} has no day {day}")
    return month, day


def _season(text: str) -> Season:
    ends = [part.strip() for part in re.split(r"\bto\b|\buntil\b| [-–] ", text)]
    if len(ends) != 2 or not all(ends):
        raise ValueError(f"'{printable(text)[:40]}' is not a season: write it such as 1 April to 31 October")
    months = [_month_number(end) for end in ends]
    first = (months[0], 1) if months[0] else _month_day(ends[0])
    last = (months[1], monthrange(2024, months[1])[1]) if months[1] else _month_day(ends[1])
    return Season(first, last)


def _flag(text: str) -> bool:
    if text not in ("true", "false"):
        raise ValueError(f"'{printable(text)[:40]}' is neither true nor false: write one of them")
    return text == "true"


def _share(text: str, *, top: float, sample: str, includes_top: bool = True) -> float:
    number = quantities.parse_share(text)
    if not 0 < number <= top or (number == top and not includes_top):
        raise ValueError(
            f"must be above 0 and {'at most' if includes_top else 'below'} {top:g}: write {sample}"
        )
    return number


def _by_hand_or_time(text: str) -> float | None:
    if " ".join(text.lower().replace("-", " ").split()) == "by hand":
        return None
    try:
        return _above_zero(quantities.parse_hours(text) * 3600, "6 h, or by hand")
    except QuantityError as refused:
        raise ValueError(f"{refused}, or by hand") from None


def _span(text: str) -> quantities.Span:
    return quantities.parse_span(text)


def _rain(text: str, system: Units) -> float:
    depths = quantities.parse_rain(text, system)
    if depths.trace or depths.high_mm != depths.low_mm:
        raise ValueError("must be one depth, not a range: write 10 mm or 0.4 in")
    return depths.low_mm


def _count(text: str) -> int:
    if not re.fullmatch(r"[1-9]\d{0,3}", text, re.ASCII):
        raise ValueError(f"'{printable(text)[:40]}' is not a count: write a whole number such as 3")
    return int(text)


def _losses(text: str) -> float:
    number = _plain_number(text, "the sum of K, such as 2.5")
    if number > 1000:
        raise ValueError("is far too large for a sum of K; a hose with two bends has about 4")
    return number


def _accuracy(text: str, system: Units) -> float:
    metres = _above_zero(quantities.parse_length(text, system), "5 mm")
    if metres > 0.2:
        raise ValueError("is too coarse to tell anything; a stick is read to 5 mm or so")
    return metres


def _pairs(value: object, system: Units, read_second: Callable[[object, Units], float], what: str
           ) -> tuple[tuple[float, float], ...]:  # fmt: skip
    pairs = []
    for number, row in enumerate(_several(value, what), start=1):
        if not isinstance(row, list) or len(row) != 2:
            raise ValueError(f"row {number} must be a pair in square brackets: {what}")
        try:
            pairs.append(
                (quantities.parse_length(_single(row[0]), system), read_second(_single(row[1]), system))
            )
        except ValueError as fault:
            raise ValueError(f"row {number}: {fault}") from None
    return tuple(pairs)


def _rows(value: object, info: ValidationInfo) -> tuple[tuple[float, float], ...]:
    rows = _pairs(value, _system(info), quantities.parse_volume, "[[0, 0], [50 cm, 400 L], [100 cm, 1000 L]]")
    if len(rows) < 2:
        raise ValueError("needs two rows or more, the first [0, 0]")
    if rows[0] != (0.0, 0.0):
        raise ValueError("must begin with [0, 0]: an empty tank holds nothing")
    for number, ((lower, less), (upper, more)) in enumerate(pairwise(rows), start=2):
        if upper <= lower:
            raise ValueError(
                f"row {number} does not rise: its depth must be more than that of the row before"
            )
        if more < less:
            raise ValueError(f"row {number} falls: its volume must not be less than that of the row before")
    if rows[-1][1] <= 0:
        raise ValueError("holds nothing at the top; the last volume must be above zero")
    return rows


def _scale(value: object, info: ValidationInfo) -> tuple[tuple[float, float], ...]:
    marks = _pairs(
        value,
        _system(info),
        quantities.parse_length,
        "[[0 cm, 90 cm], [90 cm, 0]]",
    )
    if len(marks) != 2:
        raise ValueError("needs exactly two pairs [mark, depth]")
    (mark, depth), (other_mark, other_depth) = marks
    if mark == other_mark or depth == other_depth:
        raise ValueError("needs two different marks with two different depths, or it tells nothing")
    return marks


def _months(value: object) -> frozenset[int]:
    months = set()
    for item in _several(value, "[4, 5, 6, 7, 8, 9]"):
        text = _single(item)
        number = int(text) if re.fullmatch(r"\d{1,2}", text, re.ASCII) else _month_number(text) or 0
        if not 1 <= number <= 12:
            raise ValueError(f"'{printable(text)[:40]}' is not a month: write numbers 1 to 12")
        if number in months:
            raise ValueError(f"names month {number} twice; once is enough")
        months.add(number)
    if not months:
        raise ValueError("is an empty season; name the months, or take the key out to water all year")
    return frozenset(months)


def _latitude(text: str) -> float:
    match = re.fullmatch(
        r"(-?)(\d{1,2}(?:\.\d{1,6})?) ?°? ?([NnSs]?)", text.strip().replace("−", "-"), re.ASCII
    )
    degrees = float(match[2]) if match else 91.0
    if match is None or degrees > 90.0 or (match[1] and match[3]):
        raise ValueError(
            f"'{printable(text)[:40]}' is not a latitude: write degrees such as 41.2, or -33.9 in the south"
        )
    return -degrees if match[1] or match[3] in ("S", "s") else degrees


def _twelve_temperatures(value: object) -> tuple[float, ...]:
    items = _several(value, "[2 C, 3 C, ... for twelve months]")
    if len(items) != 12:
        raise ValueError(f"holds {len(items)} values; write one for each of the twelve months, January first")
    temperatures = tuple(quantities.parse_temperature(_single(item)) for item in items)
    if not all(-60.0 <= one <= 60.0 for one in temperatures):
        raise ValueError("holds a temperature that is no mean of any month")
    return temperatures


def _names(value: object) -> tuple[str, ...]:
    return tuple(_id(_single(item)) for item in _several(value, "[north, south]"))


def _ports(value: object, info: ValidationInfo) -> float | tuple[float, ...]:
    if not isinstance(value, list):
        return quantities.parse_length(_single(value), _system(info))
    return tuple(quantities.parse_length(_single(item), _system(info)) for item in value)


def choice(*words: str) -> BeforeValidator:
    """Return a validator for one of a few words."""

    def validate(value: object) -> str:
        text = " ".join(_single(value).split())
        if text not in words:
            offered = f"{', '.join(words[:-1])} or {words[-1]}"
            raise ValueError(
                f"'{printable(text)[:40]}' is not known here: write {offered}{nearest(text, words)}"
            )
        return text

    return BeforeValidator(validate)


length = _read(
    lambda text, system: _above_zero(quantities.parse_length(text, system), "a length such as 84 cm")
)
height = _read(lambda text, system: quantities.parse_length(text, system))
height_of_any_sign = _read(lambda text, system: quantities.parse_length(text, system, negative=True))
volume = _read(
    lambda text, system: _above_zero(quantities.parse_volume(text, system), "a volume such as 1000 L")
)
area = _read(lambda text, system: _above_zero(quantities.parse_area(text, system), "an area such as 24 m2"))
mass = _read(lambda text, _: quantities.parse_mass(text))
head = _read(quantities.parse_head)
some_head = _read(
    lambda text, system: _above_zero(quantities.parse_head(text, system), "a head such as 10 m")
)
flow = _read(lambda text, system: _above_zero(quantities.parse_flow(text, system), "a flow such as 4 L/h"))
latitude = _read(lambda text, _: _latitude(text))
need = _read(quantities.parse_need)
words = _read(lambda text, _: _words(text))
name = _read(lambda text, _: _id(text))
day = _read(lambda text, _: _day(text))
zone = _read(lambda text, _: _zone(text))
flag = _read(lambda text, _: _flag(text))
span = _read(lambda text, _: _span(text))
hours = _read(lambda text, _: _above_zero(quantities.parse_hours(text), "6 h"))
month_day = _read(lambda text, _: _month_day(text))
season = _read(lambda text, _: _season(text))
temperature = _read(lambda text, _: quantities.parse_temperature(text))
rain_depth = _read(_rain)
count = _read(lambda text, _: _count(text))
losses = _read(lambda text, _: _losses(text))
accuracy = _read(_accuracy)
runoff = _read(lambda text, _: _share(text, top=1.5, sample="0.9"))
share_up_to_one = _read(lambda text, _: _share(text, top=1.0, sample="0.95"))
share_below_one = _read(lambda text, _: _share(text, top=1.0, sample="30 %", includes_top=False))
by_hand_or_time = _read(lambda text, _: _by_hand_or_time(text))
rows = BeforeValidator(_rows)
scale = BeforeValidator(_scale)
months = BeforeValidator(_months)
twelve_temperatures = BeforeValidator(_twelve_temperatures)
names = BeforeValidator(_names)
ports = BeforeValidator(_ports)
