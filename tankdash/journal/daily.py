"""A sheet of daily rain as somebody kept it: which column is what, in which unit, and which rows can be trusted."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

from tankdash.journal.columns import (
    Ambiguous,
    Cell,
    DateOrder,
    Dates,
    DecimalMark,
    decide_decimal,
    read_dates,
    with_points,
)
from tankdash.journal.lines import (
    MAX_CELLS,
    MAX_ROWS,
    Doubts,
    SheetError,
    Undecided,
    opened,
    rows,
    shown,
    text_lines,
)
from tankdash.units import Depths, QuantityError, Units, parse_rain

MAX_DAY_MM = 2000.0
"""More than ever fell in a day; a larger figure is a wrong unit or a wrong decimal mark."""
_GAPS = {"", "-", "--", "n/a", "na", "nan", "null", "none", "missing", "m", "?", "x"}
"""Cells that say nothing was read: gaps, never dry days."""
_DATE_NAMES = re.compile(r"\b(date|day|datum|fecha|data|tag|jour|dia)\b", re.IGNORECASE)
_RAIN_NAMES = re.compile(
    r"rain|precip|prcp|gauge|\bmm\b|\binch(es)?\b|\bin\b|regen|lluvia|chuva|pluie|pioggia", re.IGNORECASE
)
_UNIT_NAMES: tuple[tuple[str, str], ...] = (
    (r"millimet(er|re)s?|(?<![a-z])mm(?![a-z])", "mm"),
    (r"centimet(er|re)s?|(?<![a-z])cm(?![a-z])", "cm"),
    (r"inch(es)?|(?<![a-z])in(?![a-z])|\"", "in"),
)

Row = tuple[int, list[str]]
"""Line and cells."""


@dataclass(frozen=True)
class SheetRules:
    """What the owner says about a sheet, where the sheet does not say it."""

    zone: ZoneInfo
    """The garden's zone, in which days are counted."""
    units: Units
    """The garden's units."""
    date_order: DateOrder | None = None
    decimal: DecimalMark | None = None
    unit: str | None = None
    """`mm`, `cm` or `in`."""
    date_column: str | None = None
    rain_column: str | None = None
    read_at: time | None = None
    """When the gauge was read on the day of each row; None: the row is that day's own rain, midnight to midnight."""
    booked: Literal["previous day", "same day"] = "previous day"
    """Which day a reading at `read_at` belongs to."""


@dataclass(frozen=True)
class DayRain:
    """One row of a daily sheet."""

    line: int
    day: date
    depths: Depths
    words: str


@dataclass(frozen=True)
class Sheet:
    """A daily sheet as understood."""

    source: str
    rows_read: int
    skipped: int
    days: tuple[DayRain, ...]
    doubts: Doubts
    read_as: tuple[str, ...]


def read_sheet(path: Path, rules: SheetRules) -> Sheet:
    """Read a comma, semicolon or tab separated sheet of daily rain.

    Raises
    ------
    Undecided
        If dates, decimal marks, columns or the unit can be read in two ways; it names the option that decides.
    SheetError
        If the file cannot be read at all, or holds no row.
    """
    delimiter = _delimiter(path)
    with opened(path) as file:
        table = _held(rows(file, path, delimiter), path)
    if not table:
        raise SheetError(f"{path} holds no row: is it the right file?")
    heading, body = _split_heading(table)
    if not body:
        raise SheetError(f"{path} holds a heading but no row: is it the right file?")
    date_column = _date_column(path, heading, body, rules)
    rain_column = _rain_column(path, heading, body, date_column, rules)
    doubts = Doubts()
    filled: list[tuple[int, str, str]] = []
    skipped = 0
    for line, row in body:
        when = row[date_column].strip() if date_column < len(row) else ""
        depth = row[rain_column].strip() if rain_column < len(row) else ""
        if depth.lower() in _GAPS:
            skipped += 1
        elif len(row) <= max(date_column, rain_column):
            doubts.add(line, "the row is shorter than its heading")
        else:
            filled.append((line, when, depth))
    dates, order_words = _dates(path, [(line, when) for line, when, _ in filled], rules)
    mark, mark_words = _decimal(path, [(line, depth) for line, _, depth in filled], delimiter, rules)
    unit = _unit(path, heading[rain_column], [(line, depth) for line, _, depth in filled], rules)
    days: list[DayRain] = []
    for line, when, depth in filled:
        if line in dates.bad:
            doubts.add(line, f"{shown(when)} {dates.bad[line]}")
            continue
        try:
            depths = _depths(depth, mark, unit, rules.units)
        except (SheetError, QuantityError) as problem:
            doubts.add(line, str(problem))
            continue
        days.append(DayRain(line, dates.days[line], depths, f"{when} {depth}"))
    words = (
        f"date from column {shown(heading[date_column])}{order_words}",
        f"rain from column {shown(heading[rain_column])}, {unit or 'each with its unit'}{mark_words}",
    )
    if not days:
        why = f" Line {doubts.kept[0].line}: {doubts.kept[0].sentence}." if doubts.kept else ""
        raise SheetError(f"{path}: not one of its {len(body)} rows could be read.{why}")
    return Sheet(path.name, len(body), skipped, tuple(_without_repeats(days, doubts)), doubts, words)


def _held(sheet: Iterable[Row], path: Path) -> list[Row]:
    """Return all rows of a sheet, if they are no more than a sheet of days can have."""
    table: list[Row] = []
    cells = 0
    for line, row in sheet:
        cells += len(row)
        if len(table) == MAX_ROWS or cells > MAX_CELLS:
            raise SheetError(f"{path}:{line}: no sheet with one row a day is so large: is it the right file?")
        table.append((line, row))
    return table


# Understanding the table


def _delimiter(path: Path) -> str:
    """Return what parts the columns: the mark that stands in most of the first lines."""
    with opened(path) as file:
        first = []
        for line in text_lines(file, path):
            if line.strip():
                first.append(line)
            if len(first) == 20:
                break
    bare = [re.sub(r'"[^"]*"', "", line) for line in first]
    # In a sheet with semicolons the commas are decimal marks, so a tie is theirs.
    best = max((";", "\t", ","), key=lambda mark: sum(mark in line for line in bare))
    if not any(best in line for line in bare):
        raise SheetError(
            f"{path}: its columns are parted by no comma, semicolon or tab: is it the right file?"
        )
    return best


def _split_heading(table: list[Row]) -> tuple[list[str], list[Row]]:
    """Return the heading, made up when there is none, and the rows below it."""
    width = max(len(row) for _, row in table)
    first = [cell.strip() for cell in table[0][1]]
    has_date = any(_looks_like_date(cell) for cell in first)
    if not has_date:
        return first + [f"{n}" for n in range(len(first) + 1, width + 1)], table[1:]
    return [f"{n}" for n in range(1, width + 1)], table


def _looks_like_date(cell: str) -> bool:
    dates = read_dates([(1, cell)], "day-first").days or read_dates([(1, cell)], "month-first").days
    return bool(dates)


def _named(path: Path, heading: Sequence[str], name: str, option: str) -> int:
    for number, title in enumerate(heading):
        if title.lower() == name.strip().lower():
            return number
    there = ", ".join(shown(title) for title in heading[:12])
    raise SheetError(f"{path} has no column {shown(name)} for {option}; it has {there}.")


def _column(body: Sequence[Row], number: int) -> list[Cell]:
    return [(line, row[number]) for line, row in body if number < len(row) and row[number].strip()]


def _date_column(path: Path, heading: Sequence[str], body: Sequence[Row], rules: SheetRules) -> int:
    if rules.date_column is not None:
        return _named(path, heading, rules.date_column, "--date-column")
    sample = body[:200]

    def share(number: int) -> float:
        cells = _column(sample, number)
        return sum(_looks_like_date(cell) for _, cell in cells) / len(sample)

    fitting = [number for number in range(len(heading)) if share(number) >= 0.5]
    named = [number for number in fitting if _DATE_NAMES.search(heading[number])]
    choice = named if len(named) == 1 else fitting
    if len(choice) == 1:
        return choice[0]
    if not choice:
        raise SheetError(
            f"{path} has no column of dates: write them as 2026-05-04, or name it with --date-column."
        )
    raise Undecided(
        f"{path} has several columns of dates ({', '.join(shown(heading[n]) for n in choice)}): say which with"
        " --date-column.",
        "--date-column",
    )


def _rain_column(
    path: Path, heading: Sequence[str], body: Sequence[Row], date_column: int, rules: SheetRules
) -> int:
    if rules.rain_column is not None:
        return _named(path, heading, rules.rain_column, "--rain-column")
    others = [number for number in range(len(heading)) if number != date_column]
    named = [number for number in others if _RAIN_NAMES.search(heading[number])]
    choice = named or [
        number
        for number in others
        if any(re.match(r"[<>≥]?=?\s*[\d.,]", cell.strip()) for _, cell in _column(body[:200], number))
    ]
    if len(choice) == 1:
        return choice[0]
    if not choice:
        raise SheetError(f"{path} has no column of rain depths: name it with --rain-column.")
    raise Undecided(
        f"{path} has several columns that may be rain ({', '.join(shown(heading[n]) for n in choice[:12])}):"
        " say which with --rain-column.",
        "--rain-column",
    )


def _dates(path: Path, cells: list[Cell], rules: SheetRules) -> tuple[Dates, str]:
    try:
        dates = read_dates(cells, rules.date_order)
    except Ambiguous as problem:
        raise Undecided(
            f"{path}: the dates can be read in two ways ({problem}): say which with --dates day-first or --dates"
            " month-first.",
            "--dates",
        ) from problem
    return dates, "" if dates.order is None else f", {dates.order.replace('-', ' ')}"


def _decimal(path: Path, cells: list[Cell], delimiter: str, rules: SheetRules) -> tuple[DecimalMark, str]:
    if rules.decimal is not None:
        return rules.decimal, f", decimal {rules.decimal}"
    try:
        mark = decide_decimal(cells, delimiter)
    except Ambiguous as problem:
        raise Undecided(
            f"{path}: the depths can be read in two ways ({problem}): say which with --decimal comma or"
            " --decimal point.",
            "--decimal",
        ) from problem
    return mark, f", decimal {mark}" if mark == "comma" else ""


def _unit(path: Path, title: str, cells: Iterable[Cell], rules: SheetRules) -> str | None:
    """Return the unit of bare figures; None when every cell carries its own."""
    if rules.unit is not None:
        return rules.unit
    named = {
        unit for pattern, unit in _UNIT_NAMES if re.search(pattern, title.replace("_", " "), re.IGNORECASE)
    }
    if len(named) == 1:
        return named.pop()
    for _, cell in cells:
        if not re.search(r"[^\W\d_]|\"", cell) and not re.fullmatch(r"0+([.,]0+)?", cell.strip()):
            raise Undecided(
                f"{path}: the column {shown(title)} does not say its unit: say it with --unit mm or --unit in.",
                "--unit",
            )
    return None


def _depths(cell: str, mark: DecimalMark, unit: str | None, units: Units) -> Depths:
    plain = with_points(cell, mark)
    if plain is None:
        raise SheetError(f"{shown(cell)} does not fit a decimal {mark}")
    if plain.lstrip().startswith(("-", "−")):
        raise SheetError(f"{shown(cell)} is negative rain")
    has_own = re.search(r"[^\W\d_]|\"", plain) is not None
    text = plain if has_own or unit is None else f"{plain} {unit}"
    depths = parse_rain(text, units)
    if max(depths.low_mm, depths.high_mm or 0.0) > MAX_DAY_MM:
        raise SheetError(
            f"{shown(cell)} is more than ever fell in a day: look at the unit and the decimal mark"
        )
    return depths


def _without_repeats(days: Sequence[DayRain], doubts: Doubts) -> list[DayRain]:
    """Return the rows whose day stands once; a repeated day is a conflict, not a sum."""
    by_day: dict[date, list[DayRain]] = {}
    for row in days:
        by_day.setdefault(row.day, []).append(row)
    kept = []
    for day, same in by_day.items():
        if len(same) == 1:
            kept.append(same[0])
            continue
        lines = ", ".join(str(row.line) for row in same)
        for row in same:
            doubts.add(row.line, f"{day} stands in the sheet {len(same)} times (lines {lines}): keep one")
    return kept
