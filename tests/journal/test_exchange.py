"""What is exported comes back as it was, and no spreadsheet takes a cell of it for a formula."""

from __future__ import annotations

import csv
import stat
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankdash.journal.drafts import Draft, HistoryValue
from tankdash.journal.entries import Dips, Done, Entry, Imported, Note, Pour, Rain, TankDip, Use
from tankdash.journal.exchange import HISTORY_HEADING, JOURNAL_HEADING, export, is_export, plan_restore
from tankdash.journal.guard import guarded, unguarded
from tankdash.journal.lines import SheetError
from tankdash.journal.store import Journal

LISBON = ZoneInfo("Europe/Lisbon")
NOON = datetime(2026, 6, 1, 12, 0, tzinfo=LISBON)


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    """Return a journal with a bit of everything in it."""
    journal = Journal.open(tmp_path / "garden.journal.db")
    journal.add(Dips((TankDip("north", 0.6, 0.595, 0.605),)), NOON, "dip north 60cm", "=cmd|' /C calc'!A0")
    journal.add(Use(9.0, "tap"), NOON + timedelta(hours=1), "use 9 L")
    journal.add(Note(), NOON, 'note "quoted", two\nlines \\ and \x1b[2J \x00 \udcff', "-2+3")
    journal.undo(NOON)
    journal.add(Rain(140.0, None, NOON - timedelta(days=1), NOON, "gauge"), NOON, "rain >140mm")
    journal.add_many(
        [
            Draft(
                Rain(1.0, 1.0, NOON - timedelta(days=9), NOON - timedelta(days=8), day=date(2026, 5, 23)),
                NOON,
                "x",
            )
        ],
        NOON,
        batch=Imported("@rain.csv", "gauge", "gauge", 1),
    )
    journal.add_history(
        [
            HistoryValue("=EX1", date(2001, 2, 3), "tmin", -4.5, -4.5),
            HistoryValue("=EX1", date(2001, 2, 3), "rain", 0, 2),
        ],
        Imported("old.csv", "history", "=EX1", 1),
        NOON,
    )
    journal.add(Pour(None, "north", "melt"), NOON, "pour ? north")
    return journal


def everything(journal: Journal) -> tuple[list[Entry], list[tuple[HistoryValue, int]]]:
    return journal.entries(include_voided=True), journal.all_history()


def test_an_export_brought_into_an_empty_journal_is_the_same_journal(
    tmp_path: Path, journal: Journal
) -> None:
    export(journal, tmp_path / "out")
    assert is_export(tmp_path / "out")
    assert is_export(tmp_path / "out" / "journal.csv")
    with Journal.open(tmp_path / "other.journal.db") as other:
        plan = plan_restore(tmp_path / "out", other)
        assert (plan.new, plan.already, plan.doubtful) == (9, 0, 0)
        assert other.stamp() == 0
        assert plan.write(other, NOON) == 9
        assert everything(other) == everything(journal)
        export(other, tmp_path / "again")
    for path in (tmp_path / "out").iterdir():
        assert path.read_bytes() == (tmp_path / "again" / path.name).read_bytes()


def test_nothing_comes_back_twice_and_what_is_missing_comes_back(tmp_path: Path, journal: Journal) -> None:
    export(journal, tmp_path / "out")
    assert (plan_restore(tmp_path / "out", journal).new, plan_restore(tmp_path / "out", journal).already) == (
        0,
        9,
    )
    with Journal.open(tmp_path / "other.journal.db") as other:
        other.add(Done("own"), NOON, "done own")
        plan_restore(tmp_path / "out", other).write(other, NOON)
        assert len(other.entries(include_voided=True)) == 10
        assert [entry.words for entry in other.entries(include_voided=True) if entry.voided_by] == [
            entry.words for entry in journal.entries(include_voided=True) if entry.voided_by
        ]
        assert other.history() == journal.history()
        assert plan_restore(tmp_path / "out", other).new == 0


@given(st.text(max_size=60))
def test_a_guarded_cell_comes_back_and_is_no_formula(text: str) -> None:
    cell = guarded(text)
    assert unguarded(cell) == text
    assert not cell.lstrip().startswith(("=", "+", "-", "@", "|", "%"))
    assert all(character.isprintable() or character in " " or ord(character) >= 160 for character in cell)


@pytest.mark.parametrize(
    "start", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1", "'=1", "%0A=1"]
)
def test_what_starts_like_a_formula_is_put_behind_an_apostrophe(start: str) -> None:
    cell = guarded(start)
    assert cell.startswith("'") or cell.startswith("\\")
    assert unguarded(cell) == start


def test_no_cell_of_an_export_is_a_formula(tmp_path: Path, journal: Journal) -> None:
    for path in export(journal, tmp_path / "out"):
        with path.open(newline="", encoding="utf-8") as file:
            for row in csv.reader(file):
                for cell in row:
                    is_number = cell.removeprefix("-").replace(".", "", 1).replace("e-", "").isdigit()
                    assert is_number or not cell.startswith(("=", "+", "-", "@", "\t", "\r")), (
                        path.name,
                        cell,
                    )


def test_an_export_is_the_owners_alone_and_overwrites_only_when_told(
    tmp_path: Path, journal: Journal
) -> None:
    paths = export(journal, tmp_path / "out")
    assert {stat.S_IMODE(path.stat().st_mode) for path in paths} == {0o600}
    paths[1].write_text("mine")
    with pytest.raises(SheetError, match="is there already"):
        export(journal, tmp_path / "out")
    assert paths[1].read_text() == "mine"
    with pytest.raises(SheetError, match="no file of an earlier export"):
        export(journal, tmp_path / "out", overwrite=True)
    assert paths[1].read_text() == "mine"
    paths[1].write_text(",".join(HISTORY_HEADING) + "\r\nof an earlier export\r\n")
    export(journal, tmp_path / "out", overwrite=True)
    assert paths[1].read_text() != "mine"
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(path.name for path in paths)
    with pytest.raises(SheetError, match="is a file"):
        export(journal, paths[0])


def test_twenty_years_of_chores_stay_within_the_bounds_of_reading(tmp_path: Path) -> None:
    with Journal.open(tmp_path / "long.journal.db") as journal:
        drafts = [
            Draft(Done("wipe-screen"), NOON + timedelta(days=n), "done wipe-screen") for n in range(7300)
        ]
        journal.add_many(drafts, NOON)
        export(journal, tmp_path / "out")
    with Journal.open(tmp_path / "other.journal.db") as other:
        assert plan_restore(tmp_path / "out", other).new == 7300


GOOD = (
    "1,u1,use,2026-06-01T12:00:00+01:00,Europe/Lisbon,2026-06-01T12:00:00+01:00,use 9 L,,,,"
    '"{""volume_l"":9.0,""outlet"":null,""bed"":null}"'
)


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (GOOD.replace("u1", "u 1"), "no uid"),
        (GOOD.replace("use,2026", "flood,2026"), "kind"),
        (GOOD.replace("+01:00,Europe", ",Europe"), "offset"),
        (GOOD.replace("2026-06-01T12:00:00+01:00,Europe", "soon,Europe"), "no time"),
        (GOOD.replace("9.0", "NaN"), "believable"),
        (GOOD.replace("9.0", "[1]"), "may not be"),
        (GOOD.replace("{", "("), "not JSON"),
        (GOOD.replace(",,,,", ",,,zz,"), "takes back"),
        (GOOD.replace(",,,,", ",,zz,,"), "import it came with"),
        (
            GOOD.replace("use,2026", "void,2026")
            .replace('""volume_l"":9.0,""outlet"":null,""bed"":null', '""number"":1')
            .replace(",,,,", ",,,zz,"),
            "not there before it",
        ),
        (GOOD + ",more", "columns"),
        (GOOD + "\n" + GOOD, "twice"),
    ],
)
def test_a_row_that_cannot_be_trusted_is_left_out_with_its_line(
    tmp_path: Path, row: str, sentence: str
) -> None:
    path = tmp_path / "journal.csv"
    other = GOOD.replace("1,u1", "2,u2")
    path.write_text(",".join(JOURNAL_HEADING) + f"\n{row}\n{other}\n")
    with Journal.open(tmp_path / "garden.journal.db") as journal:
        plan = plan_restore(path, journal)
        assert [doubt.line for doubt in plan.doubts] == [3 if "twice" in sentence else 2]
        assert sentence in plan.doubts[0].sentence
        plan.write(journal, NOON)
        assert Use(9.0) in [entry.record for entry in journal.entries()]
