"""Old rain sheets brought into the journal: counted first against what stands there, written when told to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

from tankdash.journal.codec import FIRST_YEAR, LAST_YEAR
from tankdash.journal.daily import DayRain, Sheet, SheetRules, read_sheet
from tankdash.journal.drafts import Draft, HistoryValue
from tankdash.journal.entries import Entry, Imported, Rain
from tankdash.journal.lines import Doubt, shown
from tankdash.journal.store import Journal


@dataclass(frozen=True)
class ImportPlan:
    """What an import would write, counted before anything is written."""

    source: str
    """Name of the file."""
    what: Literal["gauge", "history", "journal"]
    name: str
    """Gauge or station."""
    rows_read: int
    """Rows with content, the heading left out."""
    already: int
    """Rows that stand in the journal already, with the same figures."""
    skipped: int
    """Rows that say nothing was read."""
    doubtful: int
    """Rows that are left out because they cannot be trusted."""
    doubts: tuple[Doubt, ...]
    """The doubtful rows, the first of them if there are very many."""
    first: date | None
    last: date | None
    """First and last day that would be written."""
    rain_mm: float
    """Sum of the rain that would be written, lower bounds, to compare with the sheet's own total."""
    read_as: tuple[str, ...] = ()
    """How the sheet was understood, in words."""
    drafts: tuple[Draft, ...] = ()
    values: tuple[HistoryValue, ...] = ()

    @property
    def new(self) -> int:
        """Return how many readings or days would be written."""
        return len(self.drafts) or len({(value.station, value.day) for value in self.values})

    def write(self, journal: Journal, entered: datetime) -> int:
        """Write it as one import that one undo takes back; return how many readings or days were written."""
        if not self.new:
            return 0
        kind: Literal["gauge", "history"] = "gauge" if self.what == "gauge" else "history"
        batch = Imported(self.source, kind, self.name, self.new)
        if self.values:
            journal.add_history(self.values, batch, entered)
        else:
            journal.add_many(self.drafts, entered, batch=batch)
        return self.new


def plan_gauge(path: Path, rules: SheetRules, gauge: str, journal: Journal, now: datetime) -> ImportPlan:
    """Return what bringing the sheet in as readings of the owner's own gauge would write."""
    sheet = read_sheet(path, rules)
    spans = _spans_of(gauge, journal.entries())
    already = 0
    drafts: list[Draft] = []
    written: list[DayRain] = []
    for row in sheet.days:
        if not FIRST_YEAR < row.day.year < LAST_YEAR:
            sheet.doubts.add(row.line, f"{row.day} is out of reach of a gauge: bring it in with --history")
            continue
        record, at = _rain_record(row, rules, gauge)
        if at > now:
            sheet.doubts.add(row.line, f"{row.day} is not over yet")
            continue
        clashing = _clashing(spans, record)
        if any(_says_the_same(other, record) for other, _ in clashing):
            already += 1
        elif clashing:
            sheet.doubts.add(
                row.line,
                f"{row.day}: entry {clashing[0][1]} of the journal tells of the same time with another depth",
            )
        else:
            drafts.append(Draft(record, at, f"rain {row.words}", zone=rules.zone.key))
            written.append(row)
    return _plan(sheet, "gauge", gauge, already, written, drafts=tuple(drafts))


def plan_history(path: Path, rules: SheetRules, station: str, journal: Journal, now: datetime) -> ImportPlan:
    """Return what bringing the sheet in as past days for planning would write."""
    sheet = read_sheet(path, rules)
    before = {value.day: value for value in journal.history(station) if value.element == "rain"}
    already = 0
    values: list[HistoryValue] = []
    written: list[DayRain] = []
    for row in sheet.days:
        day = row.day - timedelta(days=1) if _books_back(rules) else row.day
        if row.depths.high_mm is None:
            sheet.doubts.add(row.line, f"{row.day}: {shown(row.words)} has no upper bound")
            continue
        value = HistoryValue(station, day, "rain", row.depths.low_mm, row.depths.high_mm)
        if day > now.astimezone(rules.zone).date():
            sheet.doubts.add(row.line, f"{row.day} is not over yet")
        elif day in before and not _is_near(before[day], value):
            sheet.doubts.add(row.line, f"{day} stands in the journal with another depth")
        elif day in before:
            already += 1
        else:
            values.append(value)
            written.append(row)
    return _plan(sheet, "history", station, already, written, values=tuple(values))


def _plan(
    sheet: Sheet,
    what: Literal["gauge", "history"],
    name: str,
    already: int,
    written: Sequence[DayRain],
    drafts: tuple[Draft, ...] = (),
    values: tuple[HistoryValue, ...] = (),
) -> ImportPlan:
    return ImportPlan(
        source=sheet.source,
        what=what,
        name=name,
        rows_read=sheet.rows_read,
        already=already,
        skipped=sheet.skipped,
        doubtful=sheet.doubts.count,
        doubts=tuple(sorted(sheet.doubts.kept, key=lambda doubt: doubt.line)),
        first=min((row.day for row in written), default=None),
        last=max((row.day for row in written), default=None),
        rain_mm=sum(row.depths.low_mm for row in written),
        read_as=sheet.read_as,
        drafts=drafts,
        values=values,
    )


def _books_back(rules: SheetRules) -> bool:
    return rules.read_at is not None and rules.booked == "previous day"


def _start_of(day: date, clock: time, zone: ZoneInfo) -> datetime:
    """Return that local time as an instant with a fixed offset; one that a clock change skips moves on."""
    local = datetime.combine(day, clock, zone).astimezone(UTC).astimezone(zone)
    return datetime.fromisoformat(local.isoformat())


def _rain_record(row: DayRain, rules: SheetRules, gauge: str) -> tuple[Rain, datetime]:
    if rules.read_at is None:
        start = _start_of(row.day, time(), rules.zone)
        end = _start_of(row.day + timedelta(days=1), time(), rules.zone)
        booked = row.day
    else:
        start = _start_of(row.day - timedelta(days=1), rules.read_at, rules.zone)
        end = _start_of(row.day, rules.read_at, rules.zone)
        booked = row.day - timedelta(days=1) if _books_back(rules) else row.day
    depths = row.depths
    record = Rain(
        low_mm=depths.low_mm,
        high_mm=depths.high_mm,
        start=start,
        end=end,
        gauge=gauge,
        trace=depths.trace,
        day=booked,
    )
    return record, end


Spans = Mapping[date, Sequence[tuple[Rain, int]]]


def _spans_of(gauge: str, entries: Iterable[Entry]) -> Spans:
    """Return the readings of one gauge with their numbers, under each UTC day they touch."""
    spans: dict[date, list[tuple[Rain, int]]] = {}
    for entry in entries:
        record = entry.record
        if isinstance(record, Rain) and record.gauge == gauge:
            day, last = record.start.astimezone(UTC).date(), record.end.astimezone(UTC).date()
            for _ in range(400):
                spans.setdefault(day, []).append((record, entry.number))
                if day >= last:
                    break
                day += timedelta(days=1)
    return spans


def _clashing(spans: Spans, record: Rain) -> list[tuple[Rain, int]]:
    day, last = record.start.astimezone(UTC).date(), record.end.astimezone(UTC).date()
    clashing: dict[int, Rain] = {}
    while day <= last:
        for other, number in spans.get(day, ()):
            if other.start < record.end and record.start < other.end:
                clashing[number] = other
        day += timedelta(days=1)
    return [(other, number) for number, other in clashing.items()]


def _says_the_same(one: Rain, other: Rain) -> bool:
    return (one.start, one.end, one.trace) == (other.start, other.end, other.trace) and (
        abs(one.low_mm - other.low_mm) < 1e-9
        and (one.high_mm is None) == (other.high_mm is None)
        and abs((one.high_mm or 0.0) - (other.high_mm or 0.0)) < 1e-9
    )


def _is_near(one: HistoryValue, other: HistoryValue) -> bool:
    return abs(one.low - other.low) < 1e-9 and abs(one.high - other.high) < 1e-9
