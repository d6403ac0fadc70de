"""Killed at any moment (SIGKILL), through every door: what was acknowledged is there, and the program opens.

Dozens of kills with every change; `TANKDASH_LONG=1` makes it hundreds through each door.
"""

from __future__ import annotations

import json
import os
import pty
import random
import re
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from trusting import Count, keeps_its_promises, levels_are_sane, soundness, times, type_in

from tankdash.journal.entries import Entry
from tankdash.journal.store import Journal

RECORDER = """
import os, sys
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from tankdash.keeping.desk import open_desk
from tankdash.keeping.entering.records import enter_dip, enter_use

door, run = sys.argv[1], sys.argv[2]
now = datetime(2026, 6, 1, 12, tzinfo=ZoneInfo("Europe/Lisbon"))
path = Path("tankdash.yaml")
if door == "screen":
    from tankdash.tui.understood import Understood
    from tankdash.tui.keeper import Keeper

    keeper = Keeper(path, None, lambda: now)
    write = lambda record, at, words: keeper.write(Understood(record, words, at, ""))
    desk = keeper._desk
else:
    desk = open_desk(path)
    write = lambda record, at, words: desk.record(record, at, words, "", at)
layout = desk.standing(now).layout
os.write(1, b"ready\\n")
for number in range(100_000):
    at = now + timedelta(seconds=number)
    words = f"{door} {run} {number}"
    if number % 7 == 6:
        entry = desk.undo(at, words)
        os.write(1, f"undone {entry.uid}\\n".encode())
    else:
        record = enter_dip(desk.site, layout, {"north": f"{10 + number % 80} cm"}, at)
        os.write(1, f"{write(record, at, words).uid}\\n".encode())
"""
"""Records as fast as it can, and acknowledges each entry once the journal has returned it."""


def wait_for_growth(path: Path, child: subprocess.Popen[bytes]) -> None:
    """Wait until the journal's write-ahead file changes, or the child ends."""
    waiting = path.with_name(path.name + "-wal")

    def size() -> int:
        with suppress(FileNotFoundError):
            return waiting.stat().st_size
        return 0

    before = size()
    while child.poll() is None and size() in (before, 0):
        time.sleep(0.0002)


def all_there(path: Path) -> dict[str, Entry]:
    """Return every entry by its uid, after looking that the file is sound and takes another one."""
    assert soundness(path) == "ok"
    answer = type_in("--now", "2026-06-02T12:00", "note", "still here", "--json")
    assert answer.code == 0, answer
    with Journal.open(path) as journal:
        return {entry.uid: entry for entry in journal.entries(include_voided=True)}


@pytest.mark.parametrize("door", ["desk", "screen"])
def test_a_recorder_killed_at_any_moment_loses_nothing_it_acknowledged(door: str, garden: Path) -> None:
    dice = random.Random(door)
    path = garden.with_name("tankdash.journal.db")
    count = Count(f"killed through the {door}")
    kept: dict[str, str] = {}
    for run in range(times(3, 200)):
        child = subprocess.Popen(
            [sys.executable, "-c", RECORDER, door, str(run)],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        assert child.stdout is not None
        assert child.stdout.readline() == b"ready\n"
        for _ in range(dice.randint(0, 60)):
            child.stdout.readline()
        time.sleep(dice.random() * 0.01)
        child.send_signal(signal.SIGKILL)
        # What was acknowledged before the kill still stands in the pipe; the last line may be cut.
        rest = child.communicate(timeout=60)[0]
        count("kills")
        assert child.returncode == -signal.SIGKILL
        with Journal.open(path) as journal:
            entries = journal.entries(include_voided=True)
        told = [line for line in rest.decode().split("\n")[:-1] if line]
        here = {entry.uid: entry for entry in entries}
        for line in told:
            undone, _, uid = line.rpartition(" ")
            assert uid in here, (run, line)
            assert not undone or here[uid].voided_by is not None, (run, line)
            kept[uid] = line
            count("acknowledged after the last look")
        own = [entry for entry in entries if entry.words.startswith(f"{door} {run} ")]
        assert [int(entry.words.split()[-1]) for entry in sorted(own, key=lambda e: e.number)] == list(
            range(len(own))
        )
        count("entries", len(own))
        kept |= {entry.uid: entry.words for entry in own}
    assert kept.keys() <= all_there(path).keys()
    answer = type_in("--now", "2026-06-02T12:00", "levels", "--json")
    keeps_its_promises(answer)
    levels_are_sane(answer.json)
    count.say()
    assert count["kills"] >= times(3, 200)
    assert count["entries"] > count["kills"]


SCREEN = """
import sys
from datetime import datetime
from pathlib import Path

from tankdash.tui.app import run_screen

sys.exit(run_screen(Path("tankdash.yaml"), None, datetime.fromisoformat("2026-06-02T12:00+01:00")))
"""
_SEQUENCE = re.compile(r"\x1b[\[\]?][0-9;?<>=$]*[a-zA-Z]")


class Terminal:
    """A screen in a terminal of its own, and whoever sits at it."""

    def __init__(self) -> None:
        self.pid, self._handle = pty.fork()
        if self.pid == 0:
            os.environ.update({"TERM": "xterm-256color", "LANG": "C.UTF-8", "COLUMNS": "100", "LINES": "30"})
            os.execv(sys.executable, [sys.executable, "-c", SCREEN])
        self.shown = ""
        """All it has shown so far, without colours and places."""
        self._sent = b""
        self._before = 0

    def press(self, keys: str) -> None:
        self._before = len(self.shown)
        os.write(self._handle, keys.encode())

    def shows(self, *words: str, patience: float = 120.0) -> bool:
        """Read until all of it has been shown since the last key; False when it ends or nothing more comes."""
        end = time.monotonic() + patience
        while not all(word in self.shown[self._before :] for word in words):
            if time.monotonic() > end or not self._reads(1.0):
                return False
        return True

    def _reads(self, patience: float) -> bool:
        if not select.select([self._handle], [], [], patience)[0]:
            return True
        try:
            more = os.read(self._handle, 65536)
        except OSError:
            return False
        self._sent += more
        self.shown = _SEQUENCE.sub("", self._sent.decode("utf-8", "replace"))
        return bool(more)

    def kill(self) -> None:
        """End it without a word, and read what it still showed."""
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        while select.select([self._handle], [], [], 0.0)[0] and self._reads(0.0):
            pass
        os.close(self._handle)


def test_a_screen_killed_while_somebody_types_loses_nothing_it_said_was_written(garden: Path) -> None:
    """Its own terminal, its own keys: what it says is written down is in the journal, once."""
    dice = random.Random("terminal")
    path = garden.with_name("tankdash.journal.db")
    count = Count("screens killed in a terminal")
    told: set[str] = set()
    for run in range(times(2, 60)):
        terminal = Terminal()
        assert terminal.shows("1-8 pages"), terminal.shown[-2000:]
        for number in range(dice.randint(2, 5)):
            terminal.press("n")
            assert terminal.shows("Enter save"), terminal.shown[-2000:]
            word = f"word{run}x{number}y"
            terminal.press(word)
            assert terminal.shows("y"), terminal.shown[-2000:]
            terminal.press("\r")
            count("notes")
            if number and dice.random() < 0.4:
                break
            assert terminal.shows(f"Written down: note {word}", "1-8 pages"), terminal.shown[-2000:]
        time.sleep(dice.random() * 0.5)
        terminal.kill()
        count("kills")
        told |= set(re.findall(r"Written down: note (word\d+x\d+y)", terminal.shown))
        with Journal.open(path) as journal:
            notes = [entry.words.removeprefix("note ") for entry in journal.entries()]
        assert told <= set(notes), run
        assert len(notes) == len(set(notes)), "no note is written twice"
    count("said to be written", len(told))
    count("written", len(notes))
    count.say()
    assert all_there(path)
    assert count["said to be written"] >= count["kills"]


def command(number: int, dice: random.Random) -> list[str]:
    words = dice.choice(
        (
            ["dip", "north", f"{10 + number % 80}cm"],
            ["rain", "1mm", "--from", "2026-05-01"],
            ["use", "2L", "--outlet", "tap"],
            ["note", f"number {number}"],
            ["pour", "3L", "barrel"],
        )
    )
    return [sys.executable, "-m", "tankdash", "--now", f"2026-06-01T12:{number % 60:02}", *words, "--json"]


def in_its_own_time(path: Path, child: subprocess.Popen[bytes], dice: random.Random, lasts: float) -> None:
    time.sleep(lasts * dice.uniform(0.4, 1.5))


def while_it_writes(path: Path, child: subprocess.Popen[bytes], dice: random.Random, lasts: float) -> None:
    wait_for_growth(path, child)
    time.sleep(dice.choice((0.0, 0.0005, 0.002, 0.01)) * dice.random())


@pytest.mark.parametrize("moment", [in_its_own_time, while_it_writes])
def test_a_command_killed_at_any_moment_loses_nothing_it_answered(
    moment: Callable[[Path, subprocess.Popen[bytes], random.Random, float], None], garden: Path
) -> None:
    dice = random.Random(moment.__name__)
    path = garden.with_name("tankdash.journal.db")
    count = Count(f"commands killed {moment.__name__.replace('_', ' ')}")
    acknowledged = []
    # The first one compiles the program and fills its caches; the second tells how long one lasts.
    for number in range(2):
        begun = time.perf_counter()
        whole = subprocess.run(command(number, dice), capture_output=True, check=True)
        lasts = time.perf_counter() - begun
        acknowledged.append(json.loads(whole.stdout)["entry"]["uid"])
    most = 2
    for number in range(2, times(60, 600)):
        if number >= times(8, 300) and count["killed"] >= times(3, 150):
            break
        child = subprocess.Popen(command(number, dice), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        moment(path, child, dice, lasts)
        with suppress(ProcessLookupError):
            child.send_signal(signal.SIGKILL)
        out = child.communicate(timeout=60)[0]
        most += 1
        count("killed" if child.returncode == -signal.SIGKILL else "too quick to kill")
        # How long one lasts changes with what else the machine does: kills close in on the end.
        lasts *= 1.15 if child.returncode == -signal.SIGKILL else 0.7
        if child.returncode == 0:
            acknowledged.append(json.loads(out)["entry"]["uid"])
        with Journal.open(path) as journal:
            entries = journal.entries()
        assert set(acknowledged) <= {entry.uid for entry in entries}, number
        assert len(entries) <= most, "no entry is written twice"
    count("entries written", len(entries))
    assert set(acknowledged) <= all_there(path).keys()
    count.say()
    assert count["killed"] >= times(3, 150), count.of


def test_an_export_killed_at_any_moment_leaves_each_file_whole(garden: Path) -> None:
    """A file is the old one or the new one, never half of one; what is left lying about does no harm."""
    dice = random.Random("export")
    for number in range(30):
        assert type_in("--now", "2026-06-01T12:00", "note", f"number {number} " + "long " * 150).code == 0
    assert type_in("export", "out").code == 0
    folder = garden.parent / "out"
    whole = {file.name: file.read_bytes() for file in folder.iterdir()}
    count = Count("exports killed")
    over_and_over = (
        "import os\nfrom pathlib import Path\nfrom tankdash.journal.exchange import export\n"
        "from tankdash.journal.store import Journal\n"
        "with Journal.open('tankdash.journal.db') as journal:\n"
        "    os.write(1, b'ready\\n')\n"
        "    while True:\n        export(journal, Path('out'), overwrite=True)\n"
    )
    for _ in range(times(5, 200)):
        child = subprocess.Popen([sys.executable, "-c", over_and_over], stdout=subprocess.PIPE)
        assert child.stdout is not None
        assert child.stdout.readline() == b"ready\n"
        time.sleep(dice.random() * 0.08)
        child.kill()
        child.communicate()
        count("kills")
        for name, content in whole.items():
            assert (folder / name).read_bytes() == content, name
        for file in folder.iterdir():
            assert file.name in whole or file.name.startswith("."), file
            assert file.stat().st_mode & 0o077 == 0, file
    count("left lying about", len(list(folder.iterdir())) - len(whole))
    assert type_in("export", "out", "--overwrite").code == 0
    assert {file.name for file in folder.iterdir()} == set(whole), "the next export clears it away"
    answer = type_in("import", "out", "--json")
    assert answer.json["already"] == 30
    count.say()
