"""Several programs write to one journal at once, and one of them dies: every acknowledged entry is there."""

from __future__ import annotations

import random
import signal
import sqlite3
import subprocess
import sys
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tankdash.journal.entries import Use
from tankdash.journal.store import Journal
from tankdash.journal.trouble import JournalError

NOON = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)
WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from tankdash.journal.entries import Use
from tankdash.journal.store import Journal
path, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
sys.stdin.readline()
with Journal.open(path, timeout=60) as journal:
    for number in range(count):
        entry = journal.add(Use(float(number)), datetime(2026, 6, 1, tzinfo=UTC), f"{name} {number}")
        print(entry.uid, flush=True)
"""

LOOKER = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1])
connection.execute("SELECT * FROM entry").fetchall()
connection.close()
"""


def start(path: Path, name: str, count: int) -> subprocess.Popen[str]:
    """Return a writer that waits for a line before it begins."""
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), name, str(count)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def release(writers: list[subprocess.Popen[str]]) -> None:
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write("\n")
        writer.stdin.flush()


def soundness(path: Path) -> str:
    connection = sqlite3.connect(path)
    (answer,) = connection.execute("PRAGMA integrity_check").fetchone()
    connection.close()
    return str(answer)


def test_eight_programs_make_and_fill_one_journal_at_once(tmp_path: Path) -> None:
    path = tmp_path / "garden.journal.db"
    writers = [start(path, f"writer-{n}", 15) for n in range(8)]
    release(writers)
    acknowledged = []
    for writer in writers:
        out, err = writer.communicate(timeout=120)
        assert err == ""
        acknowledged += out.split()
    assert len(acknowledged) == 120
    with Journal.open(path) as journal:
        entries = journal.entries()
    assert {entry.uid for entry in entries} == set(acknowledged)
    assert sorted(entry.number for entry in entries) == list(range(1, 121))
    for n in range(8):
        own = [entry.record for entry in entries if entry.words.startswith(f"writer-{n} ")]
        assert own == [Use(float(number)) for number in range(15)], "each writer's entries in its order"
    assert soundness(path) == "ok"


def test_one_writer_killed_among_several_loses_nothing_acknowledged(tmp_path: Path) -> None:
    path = tmp_path / "garden.journal.db"
    dice = random.Random(20260601)
    for round_number in range(4):
        victim = start(path, f"victim-{round_number}", 100_000)
        others = [start(path, f"other-{round_number}-{n}", 12) for n in range(2)]
        release([victim, *others])
        assert victim.stdout is not None
        acknowledged = [victim.stdout.readline().strip() for _ in range(dice.randint(1, 25))]
        victim.send_signal(signal.SIGKILL)
        acknowledged += victim.communicate(timeout=60)[0].split("\n")[:-1]
        for other in others:
            out, err = other.communicate(timeout=60)
            assert err == ""
            acknowledged += out.split()
        with Journal.open(path) as journal:
            kept = {entry.uid for entry in journal.entries()}
            assert {uid for uid in acknowledged if len(uid) == 32} <= kept
            journal.add(Use(1.0), NOON, "after")
        assert soundness(path) == "ok"


def test_opening_a_journal_a_second_time_gives_up_no_lock_of_the_first(tmp_path: Path) -> None:
    """A program that looks comes and goes; the -wal file of one that is still open must stay.

    Locks of POSIX belong to the process: whoever closes the file, however opened, gives up all of them.
    """
    path = tmp_path / "garden.journal.db"
    with Journal.open(path) as first:
        first.add(Use(1.0), NOON, "use 1 L")
        with Journal.open(path) as second:
            assert len(second.entries()) == 1
        subprocess.run([sys.executable, "-c", LOOKER, str(path)], check=True)
        assert path.with_name(path.name + "-wal").exists()
        first.add(Use(2.0), NOON, "use 2 L")
    with Journal.open(path) as journal:
        assert len(journal.entries()) == 2
    assert soundness(path) == "ok"


def test_looking_at_every_byte_of_an_open_journal_loses_no_entry_of_another_program(tmp_path: Path) -> None:
    """A screen that keeps its picture for the next start looks at the file while other programs come and go."""
    path = tmp_path / "garden.journal.db"
    with Journal.open(path) as screen:
        acknowledged = []
        for number in range(3):
            acknowledged.append(screen.add(Use(1.0), NOON, f"screen {number}").uid)
            assert screen.fingerprint() is not None
            other = start(path, f"command {number}", 1)
            release([other])
            out, err = other.communicate(timeout=60)
            assert err == ""
            acknowledged.append(out.strip())
    with Journal.open(path) as journal:
        assert {entry.uid for entry in journal.entries()} == set(acknowledged)
    assert soundness(path) == "ok"


def test_a_journal_that_is_begun_while_it_is_looked_at_is_not_taken_for_one_of_another_program(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "garden.journal.db"
    path.touch()
    genuine, tried = sqlite3.connect, []

    def another_begins(statement: str) -> None:
        if statement == "PRAGMA user_version" and not tried:
            tried.append(statement)
            with suppress(JournalError), Journal.open(path, timeout=0.1) as other:
                other.add(Use(1.0), NOON, "use 1 L")

    def watched(*args: Any, **options: Any) -> sqlite3.Connection:
        connection: sqlite3.Connection = genuine(*args, **options)
        connection.set_trace_callback(another_begins)
        return connection

    monkeypatch.setattr(sqlite3, "connect", watched)
    with Journal.open(path) as journal:
        journal.add(Use(2.0), NOON, "use 2 L")
        assert Use(2.0) in [entry.record for entry in journal.entries()]
    assert tried
