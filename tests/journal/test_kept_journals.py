"""A journal of every format ever released opens for ever: what stands in it, and the water it tells of."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import tempfile
from datetime import UTC, datetime
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import pytest

from tankdash.cli.main import main
from tankdash.journal import sql
from tankdash.journal.codec import KINDS
from tankdash.journal.entries import Imported, Use
from tankdash.journal.store import Journal, JournalError
from tankdash.keeping.desk import Desk
from tankdash.site import load

KEPT = Path(__file__).parent / "kept"
FILES = sorted(KEPT.glob("format-*.db"))
NOW = datetime(2026, 5, 20, 12, tzinfo=UTC)


def made() -> Any:
    """Return the script that made the kept files."""
    spec = spec_from_file_location("make", KEPT / "make.py")
    assert spec is not None and spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(params=FILES, ids=lambda file: file.stem)
def kept(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return a copy of a kept journal."""
    return Path(shutil.copy(request.param, tmp_path / "kept.db"))


def format_of(path: Path) -> int:
    connection = sqlite3.connect(path)
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    connection.close()
    return int(version)


def test_there_is_a_kept_journal_of_every_format(tmp_path: Path) -> None:
    numbers = [int(re.sub(r"\D", "", file.stem)) for file in FILES]
    assert numbers == list(range(1, len(sql.MIGRATIONS) + 1)), (
        "make the missing one with tests/journal/kept/make.py"
    )
    assert [format_of(Path(shutil.copy(file, tmp_path))) for file in FILES] == numbers


def test_every_kind_of_entry_is_kept(tmp_path: Path) -> None:
    with Journal.open(Path(shutil.copy(FILES[-1], tmp_path))) as journal:
        assert {entry.kind for entry in journal.entries(include_voided=True)} == set(KINDS)


def test_every_entry_is_listed_as_it_was_written(kept: Path) -> None:
    wanted = made().RECORDS
    with Journal.open(kept) as journal:
        entries = sorted(journal.entries(include_voided=True), key=lambda entry: entry.number)
    assert [(entry.record, entry.words, entry.note) for entry in entries[: len(wanted)]] == list(wanted)
    assert [entry.uid for entry in entries] == [f"kept-{number}" for number in range(1, len(entries) + 1)]
    assert entries[19].voided_by == 21, "what was taken back stays taken back"
    assert entries[0].at == datetime(2026, 5, 2, 0, tzinfo=UTC)
    assert entries[0].zone == "Europe/Lisbon"
    if format_of(FILES[-1]) == 2 and len(entries) > len(wanted):
        assert isinstance(entries[-1].record, Imported)
        with Journal.open(kept) as journal:
            assert [(day.element, day.low) for day in journal.history("village")] == [
                ("rain", 25.4),
                ("tmin", -3.5),
            ]


def test_the_water_it_tells_of_is_what_it_was(kept: Path) -> None:
    """The last dip is that of the worked example, 600, 630 and 570 L; 30 L drawn after it take 10 from each tote."""
    with Journal.open(kept) as journal:
        levels = Desk(load(KEPT / "garden.yaml"), journal).levels(NOW)
    volumes = {name: round(tank["volume_l"], 3) for name, tank in levels.as_json()["tanks"].items()}
    assert volumes == {"north": 590.0, "middle": 620.0, "south": 560.0}


def test_it_takes_another_entry_and_loses_none(kept: Path) -> None:
    with Journal.open(kept) as journal:
        count = len(journal.entries(include_voided=True))
        entry = journal.add(Use(1.0), NOW, "use 1 L")
        assert entry.number == count + 1
    with Journal.open(kept) as journal:
        assert len(journal.entries(include_voided=True)) == count + 1
    connection = sqlite3.connect(kept)
    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert connection.execute("PRAGMA user_version").fetchone() == (len(sql.MIGRATIONS),)
    connection.close()


@pytest.mark.parametrize("folder_mode", [0o755, 0o555])
@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_one_that_may_only_be_read_is_read_and_stays_as_it_is(file: Path, folder_mode: int) -> None:
    """Also of an older format, which cannot be brought up to date there. Root looks as nobody, whom modes bind."""
    folder = Path(tempfile.mkdtemp(prefix="tankdash-"))
    path = folder / "kept.db"
    shutil.copyfile(file, path)
    path.chmod(0o444)
    folder.chmod(folder_mode)
    was_root = os.geteuid() == 0
    if was_root:
        os.seteuid(65534)
    try:
        with Journal.open(path) as journal:
            assert len(journal.entries(include_voided=True)) >= len(made().RECORDS)
            assert journal.history() == [] or journal.history()[0].station == "village"
            with pytest.raises(JournalError, match="may only be read"):
                journal.add(Use(1.0), NOW, "use 1 L")
    finally:
        if was_root:
            os.seteuid(0)
        folder.chmod(0o755)
    assert path.read_bytes() == file.read_bytes()
    shutil.rmtree(folder)


def test_a_newer_format_is_refused_with_a_sentence_and_left_alone(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    connection = sqlite3.connect(kept)
    connection.execute(f"PRAGMA user_version = {len(sql.MIGRATIONS) + 1}")
    connection.close()
    before = kept.read_bytes()
    where = ["--site", str(KEPT / "garden.yaml"), "--journal", str(kept), "--now", NOW.isoformat()]
    for words in (["levels"], ["log"], ["note", "x"], ["undo"]):
        assert main([*where, *words]) == 2
        said = capsys.readouterr()
        assert said.out == ""
        assert said.err.count("\n") == 1
        assert "newer tankdash" in said.err
        assert "update" in said.err
    assert kept.read_bytes() == before
