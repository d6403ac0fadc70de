"""The whole journal as CSV files in a folder, and back in without loss.

`journal.csv` and `history.csv` carry everything; `rain.csv`, `dips.csv` and `use.csv` are for a spreadsheet.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from tankdash.journal.codec import FIRST_YEAR, LAST_YEAR, BadRecord, encode, from_plain, prove
from tankdash.journal.columns import EARLIEST_YEAR, LATEST_YEAR
from tankdash.journal.drafts import HistoryValue, Restored, RestoredDay
from tankdash.journal.entries import Dips, Entry, Rain, Use, Void
from tankdash.journal.guard import guarded, unguarded
from tankdash.journal.lines import Doubt, Doubts, SheetError, opened, rows, shown, text_lines
from tankdash.journal.place import files_of_journal
from tankdash.journal.placing import apart_from, begins_with, put_in_place
from tankdash.journal.store import Journal

JOURNAL_HEADING = (
    "number",
    "uid",
    "kind",
    "at",
    "zone",
    "entered",
    "words",
    "note",
    "import",
    "voids",
    "record",
)
"""Columns of `journal.csv`; `import` and `voids` name other entries by uid."""
HISTORY_HEADING = ("station", "day", "element", "low", "high", "import")
"""Columns of `history.csv`."""
_UID = re.compile(r"[0-9A-Za-z-]{1,64}")


def export(
    journal: Journal, folder: Path, *, overwrite: bool = False, own: Iterable[Path] = ()
) -> list[Path]:
    """Write everything into CSV files in `folder`, each put in place whole; return them.

    Raises
    ------
    SheetError
        If one of them is there already and `overwrite` is not given, would stand in the place of one of the garden's
        `own` files, or the disk complains.
    """
    tables = _tables(journal)
    paths = [folder / name for name in tables]
    own = (*own, *files_of_journal(journal.path))
    try:
        if folder.exists() and not folder.is_dir():
            raise SheetError(f"{folder} is a file: name a folder to write into.")
        for path in paths:
            apart_from(path, own)
        there = [path for path in paths if path.exists()]
        if there and not overwrite:
            raise SheetError(f"{there[0]} is there already: name another folder, or say --overwrite.")
        for path in there:
            # The owner's own rain.csv is not ours to replace, whatever is said.
            if not begins_with(path, tables[path.name].partition("\r\n")[0].encode()):
                raise SheetError(f"{path} is no file of an earlier export: name another folder.")
        folder.mkdir(parents=True, exist_ok=True)
        for path, text in zip(paths, tables.values(), strict=True):
            put_in_place(path, text, overwrite=overwrite)
    except OSError as problem:
        raise SheetError(f"{folder} cannot be written ({problem.strerror or problem}).") from problem
    return paths


def _csv(heading: Sequence[str], lines: Iterable[Sequence[object]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text, quoting=csv.QUOTE_MINIMAL, lineterminator="\r\n")
    writer.writerow(heading)
    for line in lines:
        writer.writerow([guarded(cell) if isinstance(cell, str) else _figure(cell) for cell in line])
    return text.getvalue()


def _figure(cell: object) -> str:
    return "" if cell is None else repr(cell) if isinstance(cell, float) else str(cell)


def _tables(journal: Journal) -> dict[str, str]:
    """Return the text of each file by its name."""
    everything = sorted(journal.entries(include_voided=True), key=lambda entry: entry.number)
    standing = journal.entries()
    uids = {entry.number: entry.uid for entry in everything}
    return {
        "journal.csv": _csv(JOURNAL_HEADING, (_journal_row(entry, uids) for entry in everything)),
        "history.csv": _csv(
            HISTORY_HEADING,
            (
                (value.station, value.day.isoformat(), value.element, value.low, value.high, uids[batch])
                for value, batch in journal.all_history()
            ),
        ),
        "rain.csv": _csv(
            ("start", "end", "low mm", "high mm", "gauge", "trace", "words", "note"),
            (
                (
                    rain.start.isoformat(),
                    rain.end.isoformat(),
                    rain.low_mm,
                    rain.high_mm,
                    rain.gauge,
                    "yes" if rain.trace else "",
                    entry.words,
                    entry.note,
                )
                for entry in standing
                if isinstance(rain := entry.record, Rain)
            ),
        ),
        "dips.csv": _csv(
            ("at", "tank", "depth m", "low m", "high m", "words", "note"),
            (
                (entry.at.isoformat(), dip.tank, dip.depth_m, dip.low_m, dip.high_m, entry.words, entry.note)
                for entry in standing
                if isinstance(entry.record, Dips)
                for dip in entry.record.tanks
            ),
        ),
        "use.csv": _csv(
            ("at", "volume L", "outlet", "bed", "words", "note"),
            (
                (entry.at.isoformat(), use.volume_l, use.outlet, use.bed, entry.words, entry.note)
                for entry in standing
                if isinstance(use := entry.record, Use)
            ),
        ),
    }


def _journal_row(entry: Entry, uids: dict[int, str]) -> tuple[object, ...]:
    voids = uids[entry.record.number] if isinstance(entry.record, Void) else ""
    return (
        entry.number,
        entry.uid,
        entry.kind,
        entry.at.isoformat(),
        entry.zone,
        entry.entered.isoformat(),
        entry.words,
        entry.note,
        "" if entry.batch is None else uids[entry.batch],
        voids,
        encode(entry.record),
    )


@dataclass(frozen=True)
class RestorePlan:
    """What bringing an export back in would write."""

    source: str
    rows_read: int
    already: int
    """Entries that stand in the journal under the same uid."""
    doubtful: int
    doubts: tuple[Doubt, ...]
    entries: tuple[Restored, ...]
    days: tuple[RestoredDay, ...]

    @property
    def new(self) -> int:
        """Return how many entries would be written; days of history follow their import."""
        return len(self.entries)

    def write(self, journal: Journal, entered: datetime) -> int:
        """Write all of it or nothing; the entries keep the time they were first written."""
        return journal.restore(self.entries, self.days)


def is_export(path: Path) -> bool:
    """Return whether the file is a `journal.csv` of `export`, or the folder holds one."""
    if path.is_dir():
        path = path / "journal.csv"
        if not path.exists():
            raise SheetError(f"{path.parent} is a folder without a journal.csv: name the file to bring in.")
    with opened(path, limit=None) as file:
        for line in text_lines(file, path, limit=None):
            return line.strip() == ",".join(JOURNAL_HEADING)
    return False


def plan_restore(path: Path, journal: Journal) -> RestorePlan:
    """Return what bringing an export back in would write; nothing comes in twice."""
    path = path / "journal.csv" if path.is_dir() else path
    present = {entry.uid: entry for entry in journal.entries(include_voided=True)}
    voided = {present_by.uid for present_by in present.values() if present_by.voided_by is not None}
    doubts = Doubts()
    fresh: dict[str, Restored] = {}
    kinds = {uid: entry.kind for uid, entry in present.items()}
    already = read = 0
    with opened(path) as file:
        table = rows(file, path, ",")
        next(table, None)
        for line, row in table:
            read += 1
            try:
                entry = _restored(row)
                if entry.uid in present:
                    if encode(present[entry.uid].record) != encode(entry.record) and not entry.voids_uid:
                        raise BadRecord("the journal holds another entry under its uid")
                    already += 1
                    continue
                if entry.uid in fresh:
                    raise BadRecord("its uid stands in the file twice")
                if entry.batch_uid and kinds.get(entry.batch_uid) != "import":
                    raise BadRecord("the import it came with is not there before it")
                if entry.voids_uid:
                    if kinds.get(entry.voids_uid, "void") == "void":
                        raise BadRecord("the entry it takes back is not there before it")
                    if entry.voids_uid in voided:
                        raise BadRecord("the entry it takes back is taken back already")
                    voided.add(entry.voids_uid)
            except BadRecord as problem:
                doubts.add(line, str(problem))
                continue
            fresh[entry.uid] = entry
            kinds[entry.uid] = entry.kind
    if not read:
        raise SheetError(f"{path} holds a heading but no row: is it the right file?")
    days = _restored_days(path.with_name("history.csv"), fresh, doubts)
    return RestorePlan(
        source=path.name,
        rows_read=read,
        already=already,
        doubtful=doubts.count,
        doubts=tuple(sorted(doubts.kept, key=lambda doubt: doubt.line)),
        entries=tuple(fresh.values()),
        days=tuple(days),
    )


def _instant(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise BadRecord(f"{shown(text)} is no time") from None
    if moment.tzinfo is None or not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise BadRecord(f"{shown(text)} has no offset from UTC, or a year out of reach")
    return moment


def _restored(row: list[str]) -> Restored:
    if len(row) != len(JOURNAL_HEADING):
        raise BadRecord(f"it has {len(row)} columns instead of {len(JOURNAL_HEADING)}")
    _, uid, kind, at, zone, entered, words, note, batch, voids, record = (unguarded(cell) for cell in row)
    if not _UID.fullmatch(uid):
        raise BadRecord(f"{shown(uid)} is no uid")
    try:
        plain = json.loads(record)
    except (ValueError, RecursionError):
        raise BadRecord("its record is not JSON") from None
    if not isinstance(plain, dict):
        raise BadRecord("its record is not JSON with names")
    understood = prove(from_plain(kind, plain))
    if isinstance(understood, Void) != bool(voids):
        raise BadRecord("it does not say which entry it takes back")
    return Restored(
        uid=uid,
        kind=kind,
        record=understood,
        at=_instant(at),
        zone=zone,
        entered=_instant(entered),
        words=words,
        note=note,
        batch_uid=batch,
        voids_uid=voids,
    )


def _restored_days(path: Path, fresh: dict[str, Restored], doubts: Doubts) -> list[RestoredDay]:
    """Return the past days of the imports that come back; those of imports already there are there too."""
    imports = {uid for uid, entry in fresh.items() if entry.kind == "import"}
    if not imports or not path.exists():
        return []
    days = []
    with opened(path) as file:
        table = rows(file, path, ",")
        next(table, None)
        for line, row in table:
            try:
                station, day, element, low, high, batch = (unguarded(cell) for cell in row)
                value = HistoryValue(station, date.fromisoformat(day), element, float(low), float(high))
            except ValueError:
                doubts.add(line, f"the row of {path.name} cannot be read")
                continue
            if batch not in imports:
                continue
            if element not in ("rain", "tmin", "tmax") or not (
                -1e4 < value.low <= value.high < 1e4 and EARLIEST_YEAR <= value.day.year <= LATEST_YEAR
            ):
                doubts.add(line, f"the row of {path.name} holds no believable figure")
                continue
            days.append(RestoredDay(value, batch))
    return days
