"""Sheets, open data and exports spoilt in every way: counted or told in a sentence, in bounds, and nothing twice."""

from __future__ import annotations

import csv
import gzip
import io
import json
import random
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from sheets import KINDS, ODD, disturbed, spoil, written
from trusting import Answer, Count, keeps_its_promises, soundness, times, type_in

pytestmark = pytest.mark.usefixtures("quick")

NOW = ("--now", "2026-06-10T12:00")
OPTIONS = (
    (),
    (),
    ("--history",),
    ("--history", "--read-at", "9:00"),
    ("--read-at", "9:00"),
    ("--gauge", "far"),
    ("--dates", "day-first", "--decimal", "comma", "--unit", "mm"),
    ("--dates", "month-first", "--decimal", "point", "--unit", "in"),
    ("--date-column", "date", "--rain-column", "2"),
)


LOOKS = (
    ("levels", "--json"),
    ("log", "--all"),
    ("rainfall",),
    ("chores", "--all"),
    ("supply",),
    ("balance",),
)


def figures(answer: Answer) -> tuple[int, int, int, int, int]:
    counted = answer.json
    return tuple(counted[name] for name in ("rows", "new", "already", "skipped", "doubtful"))  # type: ignore[return-value]


def bring_in(name: str, options: tuple[str, ...], how: object, count: Count) -> bool:
    """Count a file, write it, count it again and take it back; hold each step to what it promises."""
    counted = type_in(*NOW, "import", name, *options, "--json")
    keeps_its_promises(counted)
    if counted.code:
        count("refused")
        told = counted.err
        assert name in told or "--" in told, (how, told)
        return False
    rows, new, already, skipped, doubtful = figures(counted)
    if counted.json["read_as"][0].startswith("date"):
        assert rows == new + already + skipped + doubtful, (how, counted.out)
    assert all(doubt["line"] >= 1 for doubt in counted.json["doubts"]), how
    brought = type_in(*NOW, "import", name, *options, "--json", "--yes")
    keeps_its_promises(brought)
    assert brought.code == 0, (how, brought)
    assert brought.json["written"] == new, how
    if not new:
        count("nothing new")
        return False
    again = type_in(*NOW, "import", name, *options, "--json", "--yes")
    keeps_its_promises(again)
    assert figures(again)[1] == 0, (how, again.out)
    count("written")
    return True


def begin_anew(garden: Path) -> None:
    """Look that the journal is sound, and take another: what was undone stays in it, and would slow each round."""
    path = garden.with_name("tankdash.journal.db")
    assert not path.exists() or soundness(path) == "ok"
    for file in path.parent.glob(path.name + "*"):
        file.unlink()


def the_rain_is_sane() -> None:
    """Look at what is in the journal now."""
    for words in (("rainfall", "--json"), ("log", "--json"), ("levels", "--json"), ("supply", "--json")):
        answer = type_in(*NOW, *words)
        keeps_its_promises(answer)
        assert answer.code == 0, answer
        if words[0] == "log":
            for entry in answer.json["entries"]:
                if entry["kind"] == "rain":
                    low, high = entry["record"]["low_mm"], entry["record"]["high_mm"]
                    assert 0.0 <= low <= (2000.0 if high is None else high) <= 2000.0, entry


@pytest.mark.parametrize("kind", KINDS)
def test_a_spoilt_file_is_counted_row_by_row_or_told_in_a_sentence(kind: str, garden: Path) -> None:
    """No row is dropped without being counted, and what was brought in comes out again by one undo."""
    dice = random.Random(f"sheets {kind}")
    make, parted_by = KINDS[kind]
    count = Count(f"spoilt files of {kind} rain")
    before = type_in(*NOW, "rainfall", "--json").out
    for number in range(times(18, 3000)):
        if number % 100 == 99:
            begin_anew(garden)
        table = make(dice)
        how = [spoil(table, dice) for _ in range(dice.choice((0, 1, 1, 2, 4)))]
        content = written(table, parted_by, dice)
        if dice.random() < 0.4:
            content = disturbed(content, dice)
            how.append("bytes")
        Path("rain.csv").write_bytes(content)
        options = dice.choice(OPTIONS if kind != "open" else (*OPTIONS[:3], ("--station", "EXA00000001")))
        try:
            if bring_in("rain.csv", options, how, count):
                if number % 5 == 0:
                    the_rain_is_sane()
                assert type_in(*NOW, "undo").code == 0
                if number % 5 == 0:
                    assert type_in(*NOW, "rainfall", "--json").out == before, how
        except AssertionError as broken:
            raise AssertionError(f"{number}: {how} {options}: {broken}") from broken
    count.say()
    assert count["written"] >= 3
    assert count["refused"] >= 2
    begin_anew(garden)


def spoilt_export(files: dict[str, bytes], dice: random.Random) -> tuple[dict[str, bytes], list[str]]:
    """Return the files of an export with cells, records and bytes changed."""
    spoilt, how = dict(files), []
    name = dice.choice(("journal.csv", "journal.csv", "journal.csv", "history.csv"))
    table = list(csv.reader(io.StringIO(files[name].decode("utf-8"), newline="")))
    for _ in range(dice.choice((1, 1, 3))):
        if dice.random() < 0.5 and name == "journal.csv":
            row = table[dice.randrange(1, len(table))]
            if len(row) == 11:
                row[10] = spoilt_record(row[10], dice)
                how.append(f"record {row[10][:60]}")
        else:
            how.append(spoil(table, dice))
    text = io.StringIO(newline="")
    csv.writer(text).writerows(table)
    spoilt[name] = text.getvalue().encode("utf-8")
    if dice.random() < 0.25:
        spoilt[name] = disturbed(spoilt[name], dice)
        how.append("bytes")
    return spoilt, how


def spoilt_record(text: str, dice: random.Random) -> str:
    try:
        record: dict[str, Any] = json.loads(text)
        key = dice.choice([*record, "more"])
        record[key] = dice.choice(
            (None, True, -1, 1e308, 1e12, [], {}, "", "north", "\x1b[2J", 10**400, *dice.sample(ODD, 3))
        )
        return json.dumps(record)
    except (ValueError, TypeError, AttributeError):
        return dice.choice(ODD)


def test_a_spoilt_export_comes_back_as_far_as_it_can_be_trusted(garden: Path) -> None:
    """Entries that come from a file are looked over: whatever came in can be asked about and put out again."""
    dice = random.Random("exports")
    Path("r.csv").write_text("date,rain mm\n2026-05-01,3\n2026-05-02,4\n")
    for words in (
        ("dip", "north", "60cm", "middle", "50cm"), ("rain", "12mm"), ("use", "9L", "--outlet", "tap"), ("undo",),
        ("use", "--start", "--outlet", "tap"), ("use", "--stop", "--outlet", "tap"), ("move", "5L", "north", "middle"),
        ("pour", "5L", "north"), ("set", "north", "base", "12 cm"), ("frost", "-1C"), ("done", "low"), ("note", "=x"),
        ("import", "r.csv", "--yes"), ("import", "r.csv", "--history", "--yes"),
    ):  # fmt: skip
        assert type_in(*NOW, *words).code == 0, words
    assert type_in(*NOW, "export", "out").code == 0
    files = {file.name: file.read_bytes() for file in Path("out").iterdir()}
    count = Count("spoilt exports")
    Path("back").mkdir()
    for number in range(times(16, 4000)):
        spoilt, how = spoilt_export(files, dice)
        for name, content in spoilt.items():
            (Path("back") / name).write_bytes(content)
        for file in Path().glob("other.db*"):
            file.unlink()
        try:
            answer = type_in(*NOW, "--journal", "other.db", "import", "back", "--yes", "--json")
            keeps_its_promises(answer)
            count(("came back", "", "refused")[answer.code])
            if answer.code:
                continue
            counted = answer.json
            assert counted["written"] == counted["new"], counted
            assert counted["doubtful"] + counted["new"] + counted["already"] >= counted["rows"], counted
            for words in dice.sample(LOOKS, 2):
                looked = type_in(*NOW, "--journal", "other.db", *words)
                keeps_its_promises(looked)
                assert looked.code in (0, 1), looked
            if number % 10 == 0:
                assert type_in(*NOW, "--journal", "other.db", "export", "again", "--overwrite").code == 0
        except AssertionError as broken:
            raise AssertionError(f"{number}: {how}: {broken}") from broken
    count.say()
    assert count["came back"] >= 10
    assert count["refused"] >= 1


IN_A_CHILD = """
import resource, sys
from tankdash.cli.main import main
soft = 600_000_000
resource.setrlimit(resource.RLIMIT_AS, (soft, soft))
code = main(["--now", "2026-06-10T12:00", "import", sys.argv[1], *sys.argv[2:]])
try:
    # Where it is told, the peak of this program alone: the other figure begins with that of who started it.
    peak = next(line for line in open("/proc/self/status") if line.startswith("VmHWM")).split()[1]
except (OSError, StopIteration):
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print("RSS", int(peak) // 1024, "MB", code)
"""
"""Brings a file in where no more memory is to be had, and says how much it took."""


def memory_taken(name: str, *options: str) -> tuple[int, int, str]:
    """Return the megabytes and the exit code of an import in a process of its own, and what it said."""
    done = subprocess.run(
        [sys.executable, "-c", IN_A_CHILD, name, *options], capture_output=True, text=True, timeout=300
    )
    found = re.search(r"RSS (\d+) MB (\d)", done.stdout)
    assert found is not None, done
    assert "Traceback" not in done.stderr
    return int(found[1]), int(found[2]), done.stderr


def big(name: str) -> None:
    """Write a file that takes much memory if it is read at once."""
    path = Path(name)
    match name:
        case "line.csv":
            path.write_bytes(b"x" * 100_000_000)
        case "line.csv.gz":
            path.write_bytes(gzip.compress(b"x" * 100_000_000, 1))
        case "quote.csv":
            path.write_bytes(b'date,rain mm\n2026-01-01,"' + b"3\n" * 15_000_000)
        case "rows.csv.gz":
            path.write_bytes(gzip.compress(b"date,rain mm\n" + b"2026-01-01,3\n" * 8_000_000, 1))
        case "station.csv.gz":
            path.write_bytes(
                gzip.compress(b"EXA00000001,20190101,PRCP,25,,,S,\n" * times(300_000, 3_000_000), 1)
            )
        case "columns.csv":
            path.write_bytes(
                b"date,rain mm" + b",x" * 150_000 + b"\n" + (b"2026-01-01,3" + b"," * 150_000 + b"\n") * 100
            )
        case "export.csv":
            heading = b"number,uid,kind,at,zone,entered,words,note,import,voids,record\n"
            path.write_bytes(
                heading + b"1,a,use,2026-01-01T00:00+00:00,,2026-01-01T00:00+00:00,,,,," + b"[" * 390_000
            )


@pytest.mark.parametrize(
    "name",
    times(
        ("line.csv", "line.csv.gz", "quote.csv", "columns.csv", "export.csv"),
        (
            "line.csv",
            "line.csv.gz",
            "quote.csv",
            "rows.csv.gz",
            "station.csv.gz",
            "columns.csv",
            "export.csv",
        ),
    ),
)
def test_a_file_made_to_fill_the_memory_is_told_in_bounds(garden: Path, name: str) -> None:
    big(name)
    megabytes, code, said = memory_taken(name)
    assert megabytes < 350, (name, megabytes)
    if name != "station.csv.gz":
        assert code == 2 or name == "export.csv", said
        assert len(said.splitlines()) == (1 if code else 0)


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_of_every_sort_of_computer_are_read(garden: Path, end: str) -> None:
    Path("rain.csv").write_bytes(
        f"date,rain mm{end}2026-01-01,1{end}2026-13-02,2{end}2026-01-03,3{end}".encode()
    )
    counted = type_in(*NOW, "import", "rain.csv", "--json").json
    assert (counted["rows"], counted["new"], counted["doubtful"]) == (3, 2, 1)
    assert counted["doubts"][0]["line"] == 3


@pytest.mark.parametrize("year", ["0000", "0001", "1699", "2201", "9999"])
@pytest.mark.parametrize("options", OPTIONS[:5])
def test_a_day_no_record_reaches_is_a_doubtful_line(
    garden: Path, year: str, options: tuple[str, ...]
) -> None:
    Path("rain.csv").write_text(
        f"date,rain mm\n{year}-01-01,3\n{year}-12-31,3\n2026-01-03,1\n2026-01-04,1\n2026-01-05,1\n"
    )
    counted = type_in(*NOW, "import", "rain.csv", *options, "--yes", "--json")
    keeps_its_promises(counted)
    assert (counted.json["written"], counted.json["doubtful"]) == (3, 2)
    assert [doubt["line"] for doubt in counted.json["doubts"]] == [2, 3]


def test_a_day_too_old_for_a_gauge_is_offered_as_history(garden: Path) -> None:
    Path("rain.csv").write_text("date,rain mm\n1880-01-01,3\n2026-01-03,1\n")
    counted = type_in(*NOW, "import", "rain.csv", "--json").json
    assert "--history" in counted["doubts"][0]["text"]
    assert type_in(*NOW, "import", "rain.csv", "--history", "--json").json["new"] == 2


@pytest.mark.parametrize("value", ["1_0", "+3", "３", "٣", "3.0", "1e2", "99999999", "0x1"])
def test_a_figure_of_open_data_is_read_strictly(garden: Path, value: str) -> None:
    Path("open.csv").write_text(f"EXA00000001,20190101,PRCP,5,,,S,\nEXA00000001,20190102,PRCP,{value},,,S,\n")
    counted = type_in(*NOW, "import", "open.csv", "--json").json
    assert (counted["new"], counted["doubtful"]) == (1, 1)


def test_what_says_how_a_sheet_is_read_is_refused_for_open_data(garden: Path) -> None:
    Path("open.csv").write_text("EXA00000001,20190101,PRCP,5,,,S,\n")
    for option in (("--unit", "in"), ("--dates", "day-first"), ("--read-at", "9:00")):
        answer = type_in(*NOW, "import", "open.csv", *option)
        keeps_its_promises(answer)
        assert answer.code == 2
