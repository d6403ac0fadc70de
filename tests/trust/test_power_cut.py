"""What a power cut, a full disk or a careless copy leaves behind: torn, short, stale and missing files."""

from __future__ import annotations

import random
import resource
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from trusting import Count, keeps_its_promises, levels_are_sane, soundness, times, type_in

from tankdash import inplace
from tankdash.journal import exchange, sql
from tankdash.journal.entries import Use
from tankdash.journal.lines import SheetError
from tankdash.journal.store import Journal

NOW = ("--now", "2026-06-10T12:00")
NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)


def snapshot(path: Path) -> dict[str, bytes]:
    """Return the files of a journal that is open, as a disk would keep them at this moment."""
    return {
        end: file.read_bytes()
        for end in ("", "-wal", "-shm")
        if (file := path.with_name(path.name + end)).exists()
    }


def lay_down(path: Path, files: dict[str, bytes]) -> None:
    for end in ("", "-wal", "-shm"):
        file = path.with_name(path.name + end)
        file.unlink(missing_ok=True)
        if end in files:
            file.write_bytes(files[end])


@pytest.fixture
def cut(garden: Path) -> tuple[Path, dict[str, bytes]]:
    """Return the journal's path and its files in the middle of a day's work, the last entries still in the -wal."""
    path = garden.with_name("tankdash.journal.db")
    assert type_in(*NOW, "dip", "north", "60cm", "--at", "2026-06-01T08:00").code == 0
    with Journal.open(path) as journal:
        for number in range(25):
            journal.add(Use(1.0, "tap"), NOON, f"use {number}")
        files = snapshot(path)
    assert len(files["-wal"]) > 50_000
    return path, files


def still_works(path: Path) -> list[str]:
    """Look and write with the command line; return the words of what is there, or fail."""
    answer = type_in(*NOW, "levels", "--json")
    keeps_its_promises(answer)
    assert answer.code == 0, answer
    levels_are_sane(answer.json)
    log = type_in(*NOW, "log", "--json").json["entries"]
    answer = type_in(*NOW, "note", "after the cut")
    assert answer.code == 0, answer
    assert soundness(path) == "ok"
    return [entry["words"] for entry in log if entry["words"].startswith("use ")]


@pytest.mark.usefixtures("quick")
def test_a_write_ahead_file_torn_anywhere_loses_only_its_end(cut: tuple[Path, dict[str, bytes]]) -> None:
    """Cut short, overwritten with noise, or with zeros, at any byte: what stood before it stands."""
    path, files = cut
    dice = random.Random("torn")
    count = Count("write-ahead files torn")
    waiting = files["-wal"]
    for _ in range(times(25, 1500)):
        at = dice.randrange(len(waiting))
        rest = len(waiting) - at
        way = dice.choice(("cut short", "noise", "zeros", "one bit", "stale -shm"))
        torn = {
            "cut short": waiting[:at],
            "noise": waiting[:at] + dice.randbytes(rest),
            "zeros": waiting[:at] + bytes(rest),
            "one bit": waiting[:at] + bytes([waiting[at] ^ (1 << dice.randrange(8))]) + waiting[at + 1 :],
            "stale -shm": waiting[:at],
        }[way]
        lay_down(
            path, {"": files[""], "-wal": torn} | ({"-shm": files["-shm"]} if way == "stale -shm" else {})
        )
        words = still_works(path)
        assert words == [f"use {number}" for number in range(len(words))], (way, at)
        count(way)
    count.say()
    assert count.total >= times(25, 1500)


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize(
    "left",
    [
        {"": b""},
        {"": b"", "-wal": b""},
        {"": b"", "-wal": b"noise" * 100, "-shm": b"noise" * 8000},
        {"-wal": b"noise" * 100},
        {"-shm": bytes(32768)},
    ],
)
def test_nothing_but_empty_or_orphaned_files_is_a_journal_not_begun(
    garden: Path, left: dict[str, bytes]
) -> None:
    path = garden.with_name("tankdash.journal.db")
    lay_down(path, left)
    answer = type_in(*NOW, "levels", "--json")
    keeps_its_promises(answer)
    assert answer.json["basis"] == "none"
    assert type_in(*NOW, "dip", "north", "60cm").code == 0
    assert len(type_in(*NOW, "log", "--json").json["entries"]) == 1
    assert soundness(path) == "ok"


@pytest.mark.usefixtures("quick")
def test_a_journal_with_noise_in_it_is_a_sentence_or_an_answer(cut: tuple[Path, dict[str, bytes]]) -> None:
    """Bytes of the file itself go bad: whatever is said is a sentence, and nothing is written over it."""
    path, files = cut
    lay_down(path, files)
    soundness(path)  # brings all of it into one file
    whole = path.read_bytes()
    dice = random.Random("noise")
    count = Count("damaged journals")
    for _ in range(times(40, 3000)):
        damaged = bytearray(whole)
        for _ in range(dice.choice((1, 1, 3, 40))):
            at = dice.randrange(len(damaged))
            damaged[at : at + dice.choice((1, 4, 200))] = dice.randbytes(dice.choice((1, 4, 200)))
        if dice.random() < 0.2:
            damaged = damaged[: dice.randrange(len(damaged))]
        lay_down(path, {"": bytes(damaged)})
        for words in (
            ("levels", "--json"),
            ("log",),
            ("note", "x"),
            ("undo",),
            ("export", "out", "--overwrite"),
        ):
            answer = type_in(*NOW, *words)
            keeps_its_promises(answer)
            count("answers" if answer.code == 0 else "sentences")
    count.say()
    assert count["sentences"] > 10
    assert count["answers"] > 10


def put_export(garden: Path) -> tuple[Path, tuple[str, ...]]:
    return garden.parent / "out" / "journal.csv", ("export", "out", "--overwrite")


def put_calendar(garden: Path) -> tuple[Path, tuple[str, ...]]:
    return garden.parent / "chores.ics", ("calendar", "chores.ics", "--overwrite")


@pytest.mark.parametrize("put", [put_export, put_calendar])
def test_a_file_is_replaced_whole_or_not_at_all(
    put: Callable[[Path], tuple[Path, tuple[str, ...]]], garden: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk fails at each step of writing in turn: the old file stands, and no half-written one beside it."""
    path, words = put(garden)
    assert type_in(*NOW, "note", "the first").code == 0
    assert type_in(*NOW, *words).code == 0
    before = path.read_bytes()
    assert type_in(*NOW, "note", "the second").code == 0
    for name in ("fsync", "fdopen"):
        with monkeypatch.context() as broken:
            broken.setattr(inplace.os, name, _no_room)
            answer = type_in(*NOW, *words)
        keeps_its_promises(answer)
        assert answer.code == 2, answer
        assert path.read_bytes() == before
        assert not [file for file in path.parent.iterdir() if file.name.startswith(".")]


def _no_room(*_: object, **__: object) -> None:
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize(
    ("first", "again"),
    [(("export", "out"), None), (("calendar", "c.ics"), None), (("new", "n.yaml", "--plain"), "new"),
     (("demo", "--folder", "play"), "demo")],
)  # fmt: skip
def test_nothing_is_overwritten_without_being_told(
    garden: Path, first: tuple[str, ...], again: str | None
) -> None:
    assert type_in(*NOW, *first).code == 0
    made = {file: file.read_bytes() for file in garden.parent.rglob("*") if file.is_file()}
    answer = type_in(*NOW, *first)
    keeps_its_promises(answer)
    assert answer.code == 2, (answer, again)
    assert {file: file.read_bytes() for file in garden.parent.rglob("*") if file.is_file()} == made


@pytest.mark.parametrize("room", times([0, 30_000], [0, 1000, 30_000, 60_000]))
def test_a_full_disk_is_a_sentence_and_leaves_the_journal_whole(garden: Path, room: int) -> None:
    """No file may grow beyond a size: the nearest thing to a full disk that needs no disk of its own."""
    path = garden.with_name("tankdash.journal.db")
    begin = [sys.executable, "-m", "tankdash", *NOW]
    subprocess.run([*begin, "dip", "north", "60cm"], check=True, capture_output=True)
    kept = len(type_in(*NOW, "log", "--json").json["entries"])

    def narrow() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))

    refused = 0
    for number in range(14):
        if number % 4 == 3:
            words = ("export", f"out{number}")
        else:
            words = ("note", f"note {number} " + "long words " * 800)
        done = subprocess.run([*begin, *words], capture_output=True, text=True, preexec_fn=narrow)
        assert done.returncode in (0, 2), done
        assert "Traceback" not in done.stderr
        assert "went wrong inside" not in done.stderr
        assert len(done.stderr.splitlines()) == (1 if done.returncode else 0), done
        refused += done.returncode == 2
        kept += done.returncode == 0 and words[0] == "note"
        assert soundness(path) == "ok"
        if refused > times(1, 3):
            break
    assert refused > 0
    assert len(type_in(*NOW, "log", "--json").json["entries"]) == kept
    assert type_in(*NOW, "note", "there is room again").code == 0


@pytest.mark.usefixtures("quick")
def test_a_journal_without_room_for_another_page_says_the_disk_is_full(
    garden: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite is given so many pages and no more, whoever runs this: it then speaks as of a disk that is full."""
    connect = sql.connect

    def narrow(path: Path, timeout: float, *, create: bool) -> sqlite3.Connection | None:
        connection = connect(path, timeout, create=create)
        if connection is not None:
            connection.execute("PRAGMA max_page_count = 30")
        return connection

    kept = refused = 0
    with monkeypatch.context() as full:
        full.setattr(sql, "connect", narrow)
        for number in range(30):
            answer = type_in(*NOW, "note", f"note {number} " + "long words " * (800 if number < 20 else 1))
            keeps_its_promises(answer)
            kept += answer.code == 0
            if answer.code:
                assert "the disk is full" in answer.err, answer
                refused += 1
        answer = type_in(*NOW, "import", str(_a_long_sheet(garden.parent)), "--yes")
        keeps_its_promises(answer)
        assert "the disk is full" in answer.err, "all of an import or nothing"
        assert len(type_in(*NOW, "log", "--json").json["entries"]) == kept
        assert type_in(*NOW, "export", "out").code == 0
    assert refused > 1
    assert kept > 3
    assert soundness(garden.with_name("tankdash.journal.db")) == "ok"
    assert type_in(*NOW, "note", "there is room again").code == 0
    assert len(type_in(*NOW, "log", "--json").json["entries"]) == kept + 1


def _a_long_sheet(folder: Path) -> Path:
    sheet = folder / "long.csv"
    sheet.write_text(
        "date,rain mm\n"
        + "".join(f"{2000 + n // 300}-{1 + n % 12:02}-{1 + n % 25:02},1\n" for n in range(3000))
    )
    return sheet


def test_sheets_say_when_the_disk_complains(garden: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Journal.open(garden.with_name("tankdash.journal.db")) as journal:
        journal.add(Use(1.0), NOON, "use 1 L")
        monkeypatch.setattr(inplace, "_begun", _no_room)
        with pytest.raises(SheetError, match="No space left"):
            exchange.export(journal, garden.parent / "out")


def test_a_journal_another_program_holds_is_a_sentence_and_reading_goes_on(garden: Path) -> None:
    path = garden.with_name("tankdash.journal.db")
    assert type_in(*NOW, "dip", "north", "60cm").code == 0
    holder = sqlite3.connect(path)
    holder.execute("BEGIN EXCLUSIVE")
    answer = type_in(*NOW, "levels", "--json")
    assert answer.json["basis"] == "dip"
    holder.rollback()
    holder.close()
    assert type_in(*NOW, "note", "free again").code == 0
