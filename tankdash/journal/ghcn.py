"""Past days from the open GHCN-Daily files: station, day, element and value in tenths, each with its quality mark.

Read as a stream, since one year of all stations is larger than a memory should be asked to hold.
Source of the layout: NOAA National Centers for Environmental Information, GHCN-Daily by-year readme.
"""

from __future__ import annotations

import re
from collections import Counter
from datetime import date, datetime
from pathlib import Path

from tankdash.journal.columns import past_day
from tankdash.journal.drafts import HistoryValue
from tankdash.journal.lines import Doubts, SheetError, Undecided, opened, shown, text_lines
from tankdash.journal.sheets import ImportPlan
from tankdash.journal.store import Journal

_ELEMENTS = {"PRCP": "rain", "TMIN": "tmin", "TMAX": "tmax"}
_MISSING = "-9999"
_ROW = re.compile(r"[A-Z0-9]{11},[0-9]{8},[A-Z0-9]{4},-?[0-9]+,")
_DAY = re.compile(r"([0-9]{4})([0-9]{2})([0-9]{2})")
_TENTHS = re.compile(r"-?[0-9]{1,6}")
_BOUNDS = {"rain": (0.0, 2000.0), "tmin": (-95.0, 65.0), "tmax": (-95.0, 65.0)}
"""What no station ever exceeded, rain [mm] and temperature [C]."""


def is_ghcn(path: Path) -> bool:
    """Return whether the file begins as GHCN-Daily does, with or without its heading."""
    with opened(path, limit=None) as file:
        for line in text_lines(file, path, limit=None):
            return _ROW.match(line) is not None or line.upper().startswith("ID,DATE,ELEMENT,")
    return False


def plan_ghcn(path: Path, station: str | None, journal: Journal | None, now: datetime) -> ImportPlan:
    """Return what bringing one station's days in for planning would write.

    Parameters
    ----------
    path : Path
        A by-year or by-station file, plain or gzipped.
    station : str, optional
        Which one; may be left out when the file holds a single one.
    journal : Journal, optional
        Where days already stand; without it the plan holds every day of the file.
    now : datetime
        Days after it are doubtful.

    Raises
    ------
    Undecided
        If there are several stations and none is named.
    SheetError
        If the file cannot be read or holds no day of the station.

    Notes
    -----
    A value whose quality mark is not blank is rejected; -9999 is missing. Measurement mark T is a trace: a wet day that
    adds nothing; P is presumed zero.
    """
    wanted = station
    values: dict[tuple[date, str], tuple[int, float]] = {}
    doubts = Doubts()
    tally: Counter[str] = Counter()
    others: dict[str, int] = {}
    read = 0
    with opened(path, limit=None) as file:
        for number, line in enumerate(text_lines(file, path, limit=None), start=1):
            name, _, rest = line.partition(",")
            if not rest or (number == 1 and name.upper() == "ID"):
                continue
            if wanted is None:
                wanted = name
            if name != wanted:
                if len(others) < 5:
                    others.setdefault(name, number)
                continue
            read += 1
            _take(number, line.rstrip("\r\n").split(","), values, doubts, tally)
    if station is None and others and wanted is not None:
        some = ", ".join(shown(name) for name in [wanted, *others])
        raise Undecided(f"{path} holds several stations ({some} ...): say which with --station.", "--station")
    if not read or wanted is None:
        named = "" if station is None else f" of station {shown(station)}"
        raise SheetError(f"{path} holds no day{named}: look at the file and the station's name.")
    return _plan(path, wanted, read, values, doubts, tally, journal, now)


def _take(
    number: int,
    cells: list[str],
    values: dict[tuple[date, str], tuple[int, float]],
    doubts: Doubts,
    tally: Counter[str],
) -> None:
    """Take in one row of the station."""
    if len(cells) < 7:
        doubts.add(number, "the row is shorter than 7 columns")
        return
    _, day_text, code, value_text, _, quality, *_ = (cell.strip() for cell in cells)
    element = _ELEMENTS.get(code)
    if element is None:
        tally["other"] += 1
        return
    if value_text == _MISSING:
        tally["missing"] += 1
        return
    if quality:
        doubts.add(number, f"{code} of {shown(day_text)} failed the quality check {shown(quality)}")
        return
    day = past_day(*map(int, found.groups())) if (found := _DAY.fullmatch(day_text)) else None
    if day is None or not _TENTHS.fullmatch(value_text):
        doubts.add(number, f"{shown(day_text)} {shown(value_text)} is no day with a value in tenths")
        return
    value = int(value_text) / 10.0
    low, high = _BOUNDS[element]
    if not low <= value <= high:
        doubts.add(number, f"{code} {value:g} on {day} was never measured anywhere")
        return
    if (day, element) in values:
        doubts.add(
            number, f"{code} of {day} stands in line {values[day, element][0]} already: that one counts"
        )
        return
    values[day, element] = (number, value)


def _plan(
    path: Path,
    station: str,
    read: int,
    values: dict[tuple[date, str], tuple[int, float]],
    doubts: Doubts,
    tally: Counter[str],
    journal: Journal | None,
    now: datetime,
) -> ImportPlan:
    """Return the plan after holding the values against the journal."""
    if not values:
        why = f" Line {doubts.kept[0].line}: {doubts.kept[0].sentence}." if doubts.kept else ""
        raise SheetError(f"{path}: not one of the {read} rows of {shown(station)} could be used.{why}")
    known = [] if journal is None else journal.history(station)
    before = {(value.day, value.element): value.low for value in known}
    already = 0
    fresh: list[HistoryValue] = []
    for (day, element), (line, value) in values.items():
        if day > now.date():
            doubts.add(line, f"{day} is not over yet")
        elif (day, element) in before:
            if abs(before[day, element] - value) < 1e-9:
                already += 1
            else:
                doubts.add(line, f"{element} of {day} stands in the journal with another value")
        else:
            fresh.append(HistoryValue(station, day, element, value, value))
    return ImportPlan(
        source=path.name,
        what="history",
        name=station,
        rows_read=read,
        already=already,
        skipped=tally["missing"] + tally["other"],
        doubtful=doubts.count,
        doubts=tuple(sorted(doubts.kept, key=lambda doubt: doubt.line)),
        first=min((value.day for value in fresh), default=None),
        last=max((value.day for value in fresh), default=None),
        rain_mm=sum(value.low for value in fresh if value.element == "rain"),
        read_as=(f"GHCN-Daily, station {station}",),
        values=tuple(fresh),
    )
