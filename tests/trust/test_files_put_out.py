"""Files put out: only where told, for the owner alone, and never over anything that is not the program's own."""

from __future__ import annotations

import fcntl
import os
import stat
from pathlib import Path

import pytest
from trusting import keeps_its_promises, type_in

from tankdash import inplace
from tankdash.inplace import clear_away

NOW = ("--now", "2026-06-10T12:00")


@pytest.mark.parametrize("content", ["date,rain\n2026-01-01,3\n", "site: x\n", "\x00\x01"])
def test_overwriting_replaces_no_file_that_is_not_of_an_earlier_call(garden: Path, content: str) -> None:
    site = garden.read_bytes()
    folder = garden.parent
    assert type_in(*NOW, "dip", "north", "60cm").code == 0
    journal = (folder / "tankdash.journal.db").read_bytes()
    others = ("rain.csv", "dips.csv", "chores.ics", "page.html")
    for name in others:
        (folder / name).write_text(content)
    for words in (
        ("export", ".", "--overwrite"),
        ("calendar", "tankdash.yaml", "--overwrite"),
        ("calendar", "tankdash.journal.db", "--overwrite"),
        ("calendar", "chores.ics", "--overwrite"),
        ("calendar", "/dev/null", "--overwrite"),
        ("chores", "--html", "tankdash.journal.db", "--overwrite"),
        ("chores", "--html", "tankdash.yaml", "--overwrite"),
        ("chores", "--html", "nowhere/page.html"),
        ("stick", "north", "--html", "tankdash.journal.db", "--overwrite"),
        ("stick", "north", "--html", "page.html", "--overwrite"),
        ("stick", "north", "--html", ".", "--overwrite"),
    ):
        answer = type_in(*NOW, *words)
        keeps_its_promises(answer)
        assert answer.code == 2, answer
    assert garden.read_bytes() == site
    assert (folder / "tankdash.journal.db").read_bytes() == journal
    for name in others:
        assert (folder / name).read_text() == content
    assert not (folder / "journal.csv").exists(), "all of an export or nothing"


PUT_OUT = (
    ("calendar", "FILE"),
    ("chores", "--html", "FILE"),
    ("stick", "north", "--html", "FILE"),
    ("new", "FILE", "--plain"),
)


def is_no_more_than_a_journal(place: Path) -> bool:
    """Return whether nothing stands there, an empty file, or what SQLite begins a file with when it is opened."""
    return not place.exists() or place.read_bytes()[:16] in (b"", b"SQLite format 3\x00")


@pytest.mark.parametrize("words", PUT_OUT)
@pytest.mark.parametrize("end", ["", "-wal", "-shm", "-journal"])
@pytest.mark.parametrize("found", [None, b""])
def test_no_file_is_put_where_the_journal_has_its_place(
    garden: Path, words: tuple[str, ...], end: str, found: bytes | None
) -> None:
    """Not even where nothing stands yet, or an empty file: what SQLite is about to write would be lost."""
    place = garden.with_name("tankdash.journal.db" + end)
    if found is not None:
        place.write_bytes(found)
    (garden.parent / "way").symlink_to(garden.parent)
    for name in (place.name, f"way/{place.name}", f"../garden/{place.name}", str(place)):
        for more in ((), () if words[0] == "new" else ("--overwrite",)):
            answer = type_in(*NOW, *(name if word == "FILE" else word for word in words), *more)
            keeps_its_promises(answer)
            assert answer.code == 2, answer
            assert place.name in answer.err, answer
            assert is_no_more_than_a_journal(place)
    assert type_in(*NOW, "dip", "north", "60cm").code == 0
    assert len(type_in(*NOW, "log", "--json").json["entries"]) == 1


@pytest.mark.parametrize("words", PUT_OUT[:3])
def test_no_file_is_put_where_the_site_file_has_its_place(garden: Path, words: tuple[str, ...]) -> None:
    """Also where that is a link to a file kept elsewhere."""
    kept = garden.rename(garden.with_name("kept.yaml"))
    garden.symlink_to(kept)
    good = kept.read_bytes()
    for name in ("tankdash.yaml", "kept.yaml"):
        answer = type_in(*NOW, *(name if word == "FILE" else word for word in words), "--overwrite")
        keeps_its_promises(answer)
        assert answer.code == 2, answer
    assert garden.is_symlink()
    assert kept.read_bytes() == good


def test_an_export_is_not_put_over_a_journal_of_that_name(garden: Path) -> None:
    journal = garden.parent / "out" / "journal.csv"
    journal.parent.mkdir()
    for more in ((), ("--overwrite",)):
        answer = type_in(*NOW, "--journal", "out/journal.csv", "export", "out", *more)
        keeps_its_promises(answer)
        assert answer.code == 2, answer
        assert not journal.exists()
        journal.touch()
        answer = type_in(*NOW, "--journal", "out/journal.csv", "export", "out", *more)
        assert answer.code == 2, answer
        assert is_no_more_than_a_journal(journal)
        journal.unlink()
    assert list(journal.parent.iterdir()) == [], "all of an export or nothing"


def test_overwriting_replaces_what_an_earlier_call_wrote_and_what_is_empty(garden: Path) -> None:
    assert type_in(*NOW, "note", "one").code == 0
    (garden.parent / "empty.ics").touch()
    written = (
        ("export", "out"),
        ("calendar", "chores.ics"),
        ("chores", "--html", "chores.html"),
        ("stick", "north", "--html", "stick.html"),
    )
    for words in written:
        assert type_in(*NOW, *words).code == 0
    assert type_in(*NOW, "note", "two").code == 0
    for words in (*written, ("calendar", "empty.ics")):
        assert type_in(*NOW, *words, "--overwrite").code == 0
    assert "two" in (garden.parent / "out" / "journal.csv").read_text()


def mode_of(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.parametrize("mask", [0o000, 0o022, 0o077])
def test_what_holds_the_journal_is_the_owners_alone_whatever_the_mask(garden: Path, mask: int) -> None:
    from tankdash.journal.entries import Use
    from tankdash.journal.store import Journal

    path = garden.with_name("tankdash.journal.db")
    before = os.umask(mask)
    try:
        assert type_in(*NOW, "dip", "north", "60cm").code == 0
        with Journal.open(path) as journal:
            from datetime import UTC, datetime

            journal.add(Use(1.0), datetime(2026, 6, 1, tzinfo=UTC), "use 1 L")
            for end in ("", "-wal", "-shm"):
                assert mode_of(path.with_name(path.name + end)) == 0o600, end
        for words in (
            ("export", "out"),
            ("calendar", "chores.ics"),
            ("chores", "--html", "chores.html"),
            ("new", "new.yaml", "--plain"),
        ):
            assert type_in(*NOW, *words).code == 0
        assert type_in("demo", "--folder", "play", "--json").code == 0
    finally:
        os.umask(before)
    for file in (
        *(garden.parent / "out").iterdir(),
        garden.parent / "chores.ics",
        garden.parent / "chores.html",
        garden.parent / "play" / "tankdash.journal.db",
    ):
        assert mode_of(file) == 0o600, file
    left = [file for file in garden.parent.rglob(".*") if file.is_file()]
    assert left == [], "no temporary file stays"


def test_what_a_killed_program_left_is_cleared_away_and_nothing_else(garden: Path) -> None:
    """A part that nobody holds is stale; everything else that looks like one stays."""
    folder = garden.parent
    name = ".tankdash-{:016x}.part".format
    stale = folder / name(1)
    stale.write_text("half of a")
    held = folder / name(2)
    held.write_text("being written by another program")
    pointed_at = folder / "other.txt"
    pointed_at.write_text("somebody else's")
    (folder / name(3)).symlink_to(pointed_at)
    (folder / name(4)).mkdir()
    os.mkfifo(folder / name(5))
    for near in (".tankdash-1.part", "tankdash-0000000000000001.part", ".rain.csv.part", name(6) + "~"):
        (folder / near).write_text("the owner's")
    before = {file.name for file in folder.iterdir()}
    with held.open() as writing:
        fcntl.flock(writing, fcntl.LOCK_EX)
        assert type_in(*NOW, "calendar", "chores.ics").code == 0
    assert {file.name for file in folder.iterdir()} == before - {stale.name} | {"chores.ics"}
    assert pointed_at.read_text() == "somebody else's"


def test_the_part_of_another_owner_is_left_alone(garden: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    part = garden.parent / ".tankdash-0123456789abcdef.part"
    part.write_text("half of a")
    me = os.geteuid()
    monkeypatch.setattr(os, "geteuid", lambda: me + 1)
    assert clear_away(garden.parent) == 0
    monkeypatch.undo()
    assert clear_away(garden.parent) == 1


def test_a_file_that_comes_just_then_is_not_written_over(
    garden: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the look and the writing another program may put its own file there."""
    path = garden.parent / "chores.ics"

    def come(*_: object) -> int:
        path.write_text("somebody else's")
        return 0

    monkeypatch.setattr(inplace, "clear_away", come)
    for link in (os.link, None):
        if link is None:
            monkeypatch.setattr(inplace.os, "link", _no_second_names)
        answer = type_in(*NOW, "calendar", "chores.ics")
        keeps_its_promises(answer)
        assert answer.code == 2
        assert "there already" in answer.err
        assert path.read_text() == "somebody else's"
        path.unlink()
    monkeypatch.setattr(inplace, "clear_away", lambda *_: 0)
    assert type_in(*NOW, "calendar", "chores.ics").code == 0
    assert not list(garden.parent.glob(".tankdash-*"))


def _no_second_names(*_: object) -> None:
    raise OSError(1, "Operation not permitted")


def test_a_link_in_the_way_is_replaced_and_not_followed(garden: Path) -> None:
    """What a link points to is somebody else's file."""
    other = garden.parent / "other.txt"
    other.write_text("somebody else's")
    assert type_in(*NOW, "note", "one").code == 0
    (garden.parent / "c.ics").symlink_to(other)
    (garden.parent / "gone.ics").symlink_to(garden.parent / "nowhere.ics")
    for name in ("c.ics", "gone.ics"):
        keeps_its_promises(type_in(*NOW, "calendar", name))
        keeps_its_promises(type_in(*NOW, "calendar", name, "--overwrite"))
    assert other.read_text() == "somebody else's"
    assert not (garden.parent / "nowhere.ics").exists()


@pytest.mark.parametrize(
    "name", ["../../up", "/abs", "a/b", "..", "con\x1b[2J", "\u202ecsv", "x" * 300, "a\nb", "-rf", "~root"]
)
def test_no_name_in_the_journal_leads_out_of_the_folder(garden: Path, name: str) -> None:
    """Gauges, stations and sheets may be called anything; the files of an export are called what they are."""
    sheet = garden.parent / "s.csv"
    sheet.write_text("date,rain mm\n" + "".join(f"2026-01-{day:02},1\n" for day in range(1, 20)))
    for words in (
        ("import", "s.csv", "--gauge", name, "--yes"),
        ("import", "s.csv", "--history", "--station", name, "--yes"),
        ("rain", "3mm", "--gauge", name),
        ("note", name),
        ("pour", "3L", "north", "--what", name),
    ):
        keeps_its_promises(type_in(*NOW, *words))
    before = set(garden.parent.parent.rglob("*"))
    answer = type_in(*NOW, "export", "out")
    keeps_its_promises(answer)
    assert answer.code == 0
    made = set(garden.parent.parent.rglob("*")) - before
    assert {file.relative_to(garden.parent).as_posix() for file in made} == {
        "out", "out/journal.csv", "out/history.csv", "out/rain.csv", "out/dips.csv", "out/use.csv",
    }  # fmt: skip
    for file in (garden.parent / "out").iterdir():
        for line in file.read_text(encoding="utf-8").splitlines():
            assert "\x1b" not in line
            assert not line.startswith(("=", "+", "-", "@"))
