"""Files in and out: counted first, written when told, nothing twice, and everything back without loss."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

SHEET = "date;rain mm\n13/02/2026;3,5\n14/02/2026;0\n15/02/2026;\n31/02/2026;1\n"


def write(folder: Path, text: str, name: str = "rain.csv") -> str:
    (folder / name).write_text(text)
    return name


def test_an_import_is_counted_first_and_written_when_told(garden: Path, types: Any) -> None:
    name = write(garden.parent, SHEET)
    first = types("import", name)
    assert (first.code, first.err) == (0, "")
    assert "2 new days, 0 rows there already, 1 rows without a reading, 1 doubtful" in first.out
    assert "line 5: '31/02/2026' is no day of the calendar" in first.out
    assert "day first, decimal comma" not in first.out.split("read as")[0]
    assert "Nothing is written yet" in first.out
    assert not garden.with_name("tankdash.journal.db").exists()
    assert "Written: 2" in types("import", name, "--yes").out
    assert types("rainfall", "--json").json["months"][0]["mm"] == pytest.approx(3.5)
    again = types("import", name, "--yes", "--json").json
    assert (again["new"], again["already"], again["written"]) == (0, 2, 0)
    assert types("undo").code == 0
    assert types("rainfall", "--json").json["months"] == []


def test_the_json_of_an_import(garden: Path, types: Any) -> None:
    answer = types("import", write(garden.parent, SHEET), "--json").json
    assert set(answer) == {
        "schema", "source", "into", "name", "rows", "new", "already", "skipped", "doubtful", "doubts", "first",
        "last", "rain_mm", "read_as", "written",
    }  # fmt: skip
    assert answer["doubts"] == [
        {"line": 5, "text": "'31/02/2026' is no day of the calendar when read day-first"}
    ]
    assert (answer["into"], answer["name"], answer["rows"], answer["written"]) == ("gauge", "gauge", 4, 0)


def test_history_stays_apart_from_the_own_gauge(garden: Path, types: Any) -> None:
    name = write(garden.parent, SHEET)
    types("import", name, "--history", "--station", "village", "--yes")
    assert types("rainfall", "--json").json["months"] == []
    assert types("import", name, "--history", "--station", "village", "--json").json["already"] == 2


def test_open_data_is_read_by_station(garden: Path, types: Any) -> None:
    """The first row is the one of the readme of GHCN-Daily, R6d (P); the second is invented."""
    name = write(garden.parent, "AE000041196,20190101,TMIN,140,,,S,\nAE000041196,20190101,PRCP,254,,,S,\n")
    answer = types("import", name, "--yes", "--json").json
    assert (answer["into"], answer["name"], answer["written"]) == ("history", "AE000041196", 1)
    assert answer["rain_mm"] == pytest.approx(25.4)


@pytest.mark.parametrize(
    ("text", "options", "sentence"),
    [
        ("date,mm\n01/02/2026,1\n", (), "--dates day-first or --dates month-first"),
        ("date,rain\n2026-02-01,1\n", (), "--unit mm or --unit in"),
        ("date;mm\n2026-02-01;1,234\n", (), "--decimal comma or --decimal point"),
        ("date,mm\n", (), "no row"),
        ("date,mm\n2026-02-01,1\n", ("--history", "--gauge", "far"), "either --history or --gauge"),
        ("date,mm\n2026-02-01,1\n", ("--station", "far"), "--station goes with --history"),
        ("date,mm\n2026-02-01,1\n", ("--read-at", "nine"), "--read-at 9:00"),
        ("date,mm\n2026-02-01,1\n", ("--unit", "miles"), "invalid choice"),
    ],
)
def test_what_cannot_be_read_is_one_sentence(
    garden: Path, types: Any, text: str, options: tuple[str, ...], sentence: str
) -> None:
    answer = types("import", write(garden.parent, text), "--yes", *options)
    assert (answer.code, answer.out) == (2, "")
    assert answer.err.count("\n") == 1
    assert sentence in answer.err
    assert not garden.with_name("tankdash.journal.db").exists()


def test_a_file_that_is_not_there(garden: Path, types: Any) -> None:
    answer = types("import", "gone.csv")
    assert (answer.code, answer.out) == (2, "")
    assert "gone.csv is not there" in answer.err


def test_an_export_comes_back_into_an_empty_journal(garden: Path, types: Any) -> None:
    types("dip", "north", "60cm", "--note", "=1+1")
    types("rain", "12mm")
    types("undo")
    types("use", "9L")
    answer = types("export", "out", "--json").json
    assert [Path(name).name for name in answer["files"]] == [
        "journal.csv", "history.csv", "rain.csv", "dips.csv", "use.csv",
    ]  # fmt: skip
    counted = types("import", "out", "--journal", "other.db")
    assert "4 new entries" in counted.out
    assert not (garden.parent / "other.db").exists()
    assert types("import", "out", "--journal", "other.db", "--yes", "--json").json["written"] == 4
    mine, other = (types("log", "--all", "--json", *more).json for more in ((), ("--journal", "other.db")))
    assert mine == other
    levels = (types("levels", "--json", *more).out for more in ((), ("--journal", "other.db")))
    assert len(set(levels)) == 1
    assert types("import", "out", "--yes", "--json").json["written"] == 0


def test_an_export_overwrites_only_when_told(garden: Path, types: Any) -> None:
    types("dip", "north", "60cm")
    assert types("export", "out").code == 0
    refused = types("export", "out")
    assert (refused.code, refused.out) == (2, "")
    assert "--overwrite" in refused.err
    assert types("export", "out", "--overwrite").code == 0


def test_an_export_takes_no_reading_options(garden: Path, types: Any) -> None:
    types("dip", "north", "60cm")
    types("export", "out")
    assert types("import", "out", "--unit", "mm").code == 2


def test_the_chores_as_a_calendar_are_read_back_by_icalendar(garden: Path, types: Any) -> None:
    from icalendar import Calendar

    types("rain", "12mm")
    answer = types("calendar", "chores.ics", "--json")
    assert (answer.code, answer.err) == (0, "")
    events = Calendar.from_ical((garden.parent / "chores.ics").read_bytes()).walk("VEVENT")
    assert answer.json["events"] == len(events) > 0
    assert any("Empty the first-flush pipe" in str(event["summary"]) for event in events)
    before = {str(event["uid"]) for event in events}
    refused = types("calendar", "chores.ics")
    assert (refused.code, refused.out) == (2, "")
    assert types("calendar", "chores.ics", "--overwrite").code == 0
    again = Calendar.from_ical((garden.parent / "chores.ics").read_bytes()).walk("VEVENT")
    assert {str(event["uid"]) for event in again} == before
