"""A journal reached by a link, as in a folder that is kept in step with another machine: SQLite works at its end."""

from __future__ import annotations

import os
import shutil
import stat
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tankdash.cli.main import main
from tankdash.glance import kept_glance
from tankdash.journal.entries import Use
from tankdash.journal.place import files_of_journal, waiting_file
from tankdash.journal.store import Journal

NOON = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)


@pytest.fixture
def link(tmp_path: Path) -> Path:
    """Return a link to where the journal is to be."""
    (tmp_path / "here").mkdir()
    (tmp_path / "there").mkdir()
    link = tmp_path / "here" / "garden.journal.db"
    link.symlink_to("../there/kept.db")
    return link


def test_one_that_is_begun_at_the_end_of_a_link_is_the_owners_alone(link: Path) -> None:
    before = os.umask(0o022)
    try:
        with Journal.open(link) as journal:
            assert journal.entries() == []
            journal.add(Use(1.0), NOON, "use 1 L")
            for file in link.resolve().parent.iterdir():
                assert stat.S_IMODE(file.stat().st_mode) == 0o600, file
    finally:
        os.umask(before)
    assert link.is_symlink()
    assert [file.name for file in link.parent.iterdir()] == [link.name]


def test_what_waits_is_looked_for_where_sqlite_keeps_it(link: Path) -> None:
    with Journal.open(link) as journal:
        journal.add(Use(1.0), NOON, "use 1 L")
        assert waiting_file(link).stat().st_size > 0
        for file in files_of_journal(link)[:3]:
            assert file.exists(), file


def torn_off(link: Path, record: Use) -> None:
    """Leave an entry in the -wal file, as a program that was killed does."""
    with Journal.open(link) as journal:
        journal.add(record, NOON, "torn off")
        held = {file: file.read_bytes() for file in files_of_journal(link)[:2]}
    for file, content in held.items():
        file.write_bytes(content)


def test_an_entry_waiting_at_the_end_of_a_link_is_not_passed_over_by_one_who_may_only_read() -> None:
    folder = Path(tempfile.mkdtemp(prefix="tankdash-"))
    (folder / "there").mkdir()
    link = folder / "garden.journal.db"
    link.symlink_to("there/kept.db")
    with Journal.open(link) as journal:
        journal.add(Use(1.0), NOON, "use 1 L")
    torn_off(link, Use(2.0))
    assert waiting_file(link).stat().st_size > 0
    link.resolve().chmod(0o444)
    folder.chmod(0o555)
    was_root = os.geteuid() == 0
    if was_root:
        os.chown(link.resolve().parent, 65534, -1)
        for file in link.resolve().parent.iterdir():
            os.chown(file, 65534, -1)
        os.seteuid(65534)
    try:
        with Journal.open(link) as journal:
            assert len(journal.entries()) == 2
    finally:
        if was_root:
            os.seteuid(0)
        folder.chmod(0o755)
        shutil.rmtree(folder)


def test_a_picture_kept_from_before_is_not_shown_over_an_entry_that_waits(
    link: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = Path(shutil.copy(Path(__file__).parent / "kept" / "garden.yaml", link.parent / "garden.yaml"))
    monkeypatch.setenv("TANKDASH_CACHE", str(link.parent.parent / "cache"))
    words = ["--site", str(site), "--journal", str(link), "--now", NOON.isoformat()]
    assert main([*words, "dip", "north", "60cm"]) == 0
    assert kept_glance(site, link, NOON) is not None
    torn_off(link, Use(2.0))
    assert kept_glance(site, link, NOON) is None
