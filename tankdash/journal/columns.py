"""What a column of a sheet means, decided by the column and never by the cell: dates and decimal marks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

DateOrder = Literal["day-first", "month-first"]
DecimalMark = Literal["comma", "point"]
Cell = tuple[int, str]
"""Line and text."""

EARLIEST_YEAR, LATEST_YEAR = 1700, 2200
"""Years a past day may have: no record of rain is older."""
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]\d{1,2}:\d{2}(?::\d{2})?)?|(\d{4})(\d{2})(\d{2})")
_YEAR_FIRST = re.compile(r"(\d{4})[/.](\d{1,2})[/.](\d{1,2})")
_YEAR_LAST = re.compile(r"(\d{1,2})[/. -](\d{1,2})[/. -](\d{4})(?: \d{1,2}:\d{2}(?::\d{2})?)?")
_NUMBER = re.compile(r"\d[\d.,]*|[.,]\d+")


class Ambiguous(Exception):
    """A column that can be read in two ways; the message says by which lines."""


@dataclass(frozen=True)
class Dates:
    """The days of a column, and the lines that are none."""

    days: dict[int, date]
    """By line."""
    bad: dict[int, str]
    """Why, by line."""
    order: DateOrder | None
    """The order of those written with slashes or dots; None when all are year first."""


def past_day(year: int, month: int, day: int) -> date | None:
    """Return that day; None where the calendar has none, or no record of rain reaches it."""
    try:
        return date(year, month, day) if EARLIEST_YEAR <= year <= LATEST_YEAR else None
    except ValueError:
        return None


def _day(year: str, month: str, day: str) -> date | None:
    return past_day(int(year), int(month), int(day))


def read_dates(cells: Sequence[Cell], order: DateOrder | None = None) -> Dates:
    """Return the days of a column.

    Parameters
    ----------
    cells : sequence of (line, text)
        The column, without its heading.
    order : {"day-first", "month-first"}, optional
        What the owner says; None lets the column decide.

    Raises
    ------
    Ambiguous
        If the column fits both orders with different days, or neither.

    Examples
    --------
    >>> read_dates([(2, "13/02/2021"), (3, "03/04/2021")]).days[3].isoformat()
    '2021-04-03'
    """
    days: dict[int, date] = {}
    bad: dict[int, str] = {}
    swung: dict[int, tuple[date | None, date | None]] = {}
    for line, text in cells:
        plain = text.strip()
        whole = _ISO.fullmatch(plain) or _YEAR_FIRST.fullmatch(plain)
        if whole:
            found = _day(*(part for part in whole.groups() if part is not None))
            if found is None:
                bad[line] = f"is no day of the calendar from {EARLIEST_YEAR} to {LATEST_YEAR}"
            else:
                days[line] = found
            continue
        parts = _YEAR_LAST.fullmatch(plain)
        if parts is None:
            bad[line] = "is no date: write it as 2026-05-04"
            continue
        first, second, year = parts.groups()
        swung[line] = (_day(year, second, first), _day(year, first, second))
    chosen = order if order is not None else _decide(swung)
    for line, (day_first, month_first) in swung.items():
        found = day_first if chosen == "day-first" else month_first
        if found is None:
            bad[line] = f"is no day of the calendar when read {chosen}"
        else:
            days[line] = found
    return Dates(days, bad, chosen if swung else None)


def _decide(swung: dict[int, tuple[date | None, date | None]]) -> DateOrder:
    only_day_first = [line for line, (one, other) in swung.items() if one is not None and other is None]
    only_month_first = [line for line, (one, other) in swung.items() if one is None and other is not None]
    if only_day_first and only_month_first:
        raise Ambiguous(
            f"line {only_day_first[0]} can only be day first and line {only_month_first[0]} only month first"
        )
    if only_month_first:
        return "month-first"
    if not only_day_first:
        for line, (one, other) in swung.items():
            if one != other:
                raise Ambiguous(f"line {line} and all others can be read day first or month first")
    return "day-first"


def decide_decimal(cells: Sequence[Cell], delimiter: str) -> DecimalMark:
    """Return the decimal mark of a column of figures.

    Parameters
    ----------
    cells : sequence of (line, text)
        The column, without its heading; anything around the figures is passed over.
    delimiter : str
        What parts the columns; it makes nothing certain, since cells may be quoted.

    Raises
    ------
    Ambiguous
        If all that speaks is of the sort `1,234`, or two cells speak for different marks.

    Examples
    --------
    >>> decide_decimal([(2, "1,234"), (3, "3,5")], ";")
    'comma'
    """
    speaks: dict[DecimalMark, int] = {}
    unclear: int | None = None
    for line, text in cells:
        for figure in _NUMBER.findall(text):
            mark = _mark_of(figure)
            if mark == "unclear":
                unclear = line if unclear is None else unclear
            elif mark is not None:
                speaks.setdefault(mark, line)
    if len(speaks) == 2:
        raise Ambiguous(
            f"line {speaks['comma']} has a decimal comma and line {speaks['point']} a decimal point"
        )
    if speaks:
        return next(iter(speaks))
    if unclear is not None:
        raise Ambiguous(f"the comma of line {unclear} may be a decimal mark or part thousands")
    return "point"


def _mark_of(figure: str) -> Literal["comma", "point", "unclear"] | None:
    """Return which decimal mark one figure speaks for."""
    figure = figure.rstrip(".,")
    comma, point = figure.rfind(","), figure.rfind(".")
    if comma < 0 and point < 0:
        return None
    if comma >= 0 and point >= 0:
        return "comma" if comma > point else "point"
    if figure.count(",") > 1:  # 1,234,567
        return "point"
    if figure.count(".") > 1:  # 1.234.567
        return "comma"
    if point >= 0:
        # A point with three figures behind it may part thousands only where commas are decimal marks, and
        # then other cells say so.
        return None if re.fullmatch(r"[1-9]\d{0,2}\.\d{3}", figure) else "point"
    return "unclear" if re.fullmatch(r"[1-9]\d{0,2},\d{3}", figure) else "comma"


def with_points(text: str, mark: DecimalMark) -> str | None:
    """Return the text with its figures written with a decimal point and no thousands; None when one does not fit.

    Examples
    --------
    >>> with_points("1.234,5 mm", "comma"), with_points("3.5", "comma")
    ('1234.5 mm', None)
    """
    decimal, thousands = (",", ".") if mark == "comma" else (".", ",")
    whole = re.compile(rf"(?:\d+|\d{{1,3}}(?:{re.escape(thousands)}\d{{3}})+)?(?:{re.escape(decimal)}\d+)?")
    fits = True

    def plain(match: re.Match[str]) -> str:
        nonlocal fits
        figure = match.group()
        if not whole.fullmatch(figure):
            fits = False
        return figure.replace(thousands, "").replace(decimal, ".")

    result = _NUMBER.sub(plain, text)
    return result if fits else None
