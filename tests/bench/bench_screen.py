"""How long until the tanks are seen and a key is answered, beside an empty app of the same toolkit, in a real terminal.

Both programs run in turn in a pseudo-terminal of 120 by 36. The first frame is the first output that shows the text
waited for. The program keeps the tanks from one start to the next for as long as neither file changes: the first ratio
is of such a start, the next of one after a command has written an entry, then of one after another program has written
one, the last of one with nothing kept.
Then it is told what the time of the first frame is spent on. A key is answered twice: by the first byte, the digit, and
by the last one before the terminal is quiet, when the levelled picture has followed from a thread.
"""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import time
from ast import literal_eval
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import NamedTuple

RUNS = 5
KEYS = ("5", "0", "\x7f", "1", "\x7f", "2", "\x7f", "3", "\x7f", "\x7f")
"""Digits and the key that takes one back: each leaves a reading that can be, the last one nothing."""
ROUNDS = 3
"""Times all of them are typed."""
QUIET = 0.35
"""Seconds without output after which a screen has said all it has to say."""
PATIENCE = 30.0
YEARS = 10
TANKS = 40

ESCAPES = re.compile(r"\x1b(?:\[[0-9;?<=>$]*[ -/]*[@-~]|\][^\x07\x1b]*(?:\x07|\x1b\\)|[@-Z\\-_])")

EMPTY_APP = """
from textual.app import App
from textual.widgets import Static

class Empty(App):
    def compose(self):
        yield Static("first frame")

Empty().run()
"""
EMPTY_FORM = """
from textual.app import App
from textual.widgets import Input, Static

class Form(App):
    def compose(self):
        yield Static("first frame")
        yield Input()

Form().run()
"""
SCREEN = "import sys; from tankdash.cli.main import main; sys.exit(main(sys.argv[1:]))"

MARKING = """
import os, sys, time
marks = [("begun", float(os.environ["BEGUN"])), ("python", time.time())]

def mark(what):
    marks.append((what, time.time()))

def at_the_frame(driver, size=3000):
    write = driver.write
    def marked(self, text):
        if len(text) > size and marks[-1][0] != "frame":
            mark("frame")
            with open(os.environ["MARKS"], "w") as file:
                file.write(repr(marks))
        return write(self, text)
    driver.write = marked
"""
"""Notes when each step of a start is done, until the first frame is written."""
MARKED_APP = (
    MARKING
    + EMPTY_APP.replace("Empty().run()", "")
    + """
from textual.drivers.linux_driver import LinuxDriver
mark("toolkit")
at_the_frame(LinuxDriver)
Empty().run()
"""
)
MARKED_SCREEN = (
    MARKING
    + """
import gc
gc.disable()
from textual.app import App
from textual.drivers.linux_driver import LinuxDriver
mark("toolkit")
at_the_frame(LinuxDriver)
import tankdash.cli.main, tankdash.tui.app, tankdash.tui.pages.home
from tankdash.tui.keeper import Keeper
mark("modules")
glance = Keeper.glance
def marked_glance(self):
    found = glance(self)
    mark("tanks")
    return found
Keeper.glance = marked_glance
sys.exit(tankdash.cli.main.main(sys.argv[1:]))
"""
)
STEPS = {
    "python": "Python itself",
    "toolkit": "modules of the toolkit",
    "modules": "modules of the program",
    "tanks": "both files looked at, the tanks taken up",
    "frame": "style sheet, widgets, layout and painting",
}
"""Every step of a start, in order, by the mark at its end."""


class Answer(NamedTuple):
    """Seconds from a key to what the screen makes of it."""

    first: float
    """The digit is there."""
    last: float
    """All that follows from it is there."""


class Terminal:
    """A program running in a terminal of its own."""

    def __init__(self, code: str, *words: str, home: Path, **settings: str) -> None:
        self._raw: list[bytes] = []
        self.read_at = 0.0
        """When output was last read."""
        self.begun = time.perf_counter()
        self._leader, follower = pty.openpty()
        fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 36, 120, 0, 0))
        environment = {
            key: value for key, value in os.environ.items() if not key.startswith(("TANKDASH", "XDG"))
        }
        environment |= {"TERM": "xterm-256color", "COLORTERM": "truecolor", "HOME": str(home)}
        environment |= settings | {"BEGUN": repr(time.time())}
        self._program = subprocess.Popen(
            [sys.executable, "-c", code, *words],
            stdin=follower, stdout=follower, stderr=follower, env=environment, start_new_session=True, cwd=home,
        )  # fmt: skip
        os.close(follower)

    def _read(self, seconds: float) -> bool:
        """Take in what comes within so many seconds; False when nothing does."""
        if not select.select([self._leader], [], [], seconds)[0]:
            return False
        try:
            self._raw.append(os.read(self._leader, 65536))
        except OSError:
            return False
        self.read_at = time.perf_counter()
        return True

    @property
    def text(self) -> str:
        """What it has shown, without escapes; worked out when asked, so that it costs a timed key nothing."""
        return ESCAPES.sub("", b"".join(self._raw).decode("utf-8", "replace"))

    def until(self, wanted: str) -> float:
        """Return the seconds from the start until the text is shown."""
        while wanted not in self.text:
            if time.perf_counter() - self.begun > PATIENCE or not self._read(PATIENCE):
                raise RuntimeError(f"{wanted!r} was never shown; the last was {self.text[-300:]!r}")
        return time.perf_counter() - self.begun

    def until_quiet(self) -> float:
        """Return the time of the last output before a quiet spell."""
        self.read_at = self.read_at or time.perf_counter()
        while self._read(QUIET):
            pass
        return self.read_at

    def answer_to(self, key: str) -> Answer:
        """Return when the first and the last output come that a key causes."""
        while self._read(0.0):
            pass  # a cursor that blinked meanwhile
        sent = time.perf_counter()
        os.write(self._leader, key.encode())
        if not self._read(PATIENCE):
            raise RuntimeError(f"nothing came of the key {key!r}")
        return Answer(self.read_at - sent, self.until_quiet() - sent)

    def leave(self) -> None:
        """Leave the program as a person does, and wait until it has ended."""
        os.write(self._leader, b"q")
        while self._read(PATIENCE):
            pass
        self._program.wait(PATIENCE)
        os.close(self._leader)

    def end(self) -> None:
        """End the program, whatever it is doing."""
        os.killpg(self._program.pid, signal.SIGKILL)
        self._program.wait()
        os.close(self._leader)


def lay_out(folder: Path) -> tuple[Path, str]:
    """Return the site file of three totes with a journal of ten years, and the time at its end."""
    from bench_replay import SITE_TEXT, journal

    from tankdash.journal.store import Draft, Journal, default_journal_path

    site = folder / "ten-years.yaml"
    site.write_text(SITE_TEXT, encoding="utf-8")
    entries = journal(YEARS)
    with Journal.open(default_journal_path(site)) as kept:
        drafts = [Draft(entry.record, entry.at, f"{entry.kind} noted") for entry in entries]
        kept.add_many(drafts, entries[-1].at + timedelta(hours=1))
    return site, entries[-1].at.isoformat()


def lay_out_row(folder: Path) -> Path:
    """Return the site file of a row of forty tanks that has been dipped once."""
    tanks = "".join(
        f"  t{number}: {{base: {10 + number % 7} cm, shape: {{kind: straight, holds: 1000 L, at: 100 cm}}}}\n"
        for number in range(TANKS)
    )
    links = "".join(
        f"  l{number}: {{join: [t{number}, t{number + 1}], ports: 8 cm, bore: 50 mm, run: 60 cm}}\n"
        for number in range(TANKS - 1)
    )
    site = folder / "row.yaml"
    head = "site: A long row\ntimezone: Europe/Lisbon\nunits: metric\ndatum: the slab\n"
    tail = "outlets:\n  tap: {tank: t0, at: 10 cm}\n"
    site.write_text(f"{head}tanks:\n{tanks}links:\n{links}{tail}", encoding="utf-8")
    typed = ["dip", "t0", "60cm", "--site", str(site)]
    subprocess.run([sys.executable, "-c", SCREEN, *typed], check=True, capture_output=True)
    return site


def first_frame(code: str, wanted: str, *words: str, home: Path, **settings: str) -> float:
    """Return the seconds from the start of the program to its first frame."""
    terminal = Terminal(code, *words, home=home, **settings)
    try:
        return terminal.until(wanted)
    finally:
        terminal.end()


def start_once(site: Path, now: str, home: Path) -> None:
    """Start the program, wait until everything is worked out, and leave it."""
    terminal = Terminal(SCREEN, "--site", str(site), "--now", now, home=home)
    terminal.until("usable")
    terminal.until_quiet()
    terminal.leave()


def write_something(site: Path, now: str) -> None:
    """Write an entry, as another program would."""
    from tankdash.journal.entries import Note
    from tankdash.journal.store import Journal, default_journal_path

    with Journal.open(default_journal_path(site)) as kept:
        kept.add(Note(), datetime.fromisoformat(now), "note another program was here")


def command_writes(site: Path, now: str, home: Path) -> None:
    """Write an entry by the command line."""
    typed = ["use", "1L", "--site", str(site), "--at", now, "--now", now]
    environment = {
        name: value for name, value in os.environ.items() if not name.startswith(("TANKDASH", "XDG"))
    }
    environment["HOME"] = str(home)
    subprocess.run([sys.executable, "-c", SCREEN, *typed], check=True, capture_output=True, env=environment)


def steps_of(code: str, wanted: str, *words: str, home: Path) -> dict[str, float]:
    """Return how long each step of a start takes, the middle of several, [s]."""
    found: dict[str, list[float]] = {}
    marked = home / "marks"
    for _ in range(RUNS):
        first_frame(code, wanted, *words, home=home, MARKS=str(marked))
        marks = literal_eval(marked.read_text(encoding="utf-8"))
        for (_, begun), (what, done) in pairwise(marks):
            found.setdefault(what, []).append(done - begun)
    return {what: median(times) for what, times in found.items()}


def tell_steps(empty: dict[str, float], tanks: dict[str, float]) -> None:
    """Print what the first frame is spent on, beside the empty app's."""
    whole = sum(empty.values())
    print("what the first frame is spent on, in parts of an empty app's (the empty app's own in brackets):")
    for what, words in STEPS.items():
        print(f"  {words}: {tanks.get(what, 0.0) / whole:.2f} ({empty.get(what, 0.0) / whole:.2f})")


def answers(row: Path, home: Path) -> tuple[list[Answer], list[Answer]]:
    """Return the answers to digits typed in turn into an empty form and into the dip form, side by side."""
    empty = Terminal(EMPTY_FORM, home=home)
    tanks = Terminal(SCREEN, "--site", str(row), home=home)
    try:
        empty.until("first frame")
        tanks.until("usable")
        for terminal in (empty, tanks):
            terminal.until_quiet()
        tanks.answer_to("d")
        typed = [(empty.answer_to(key), tanks.answer_to(key)) for _ in range(ROUNDS) for key in KEYS]
        return [one for one, _ in typed], [other for _, other in typed]
    finally:
        empty.end()
        tanks.end()


def main() -> None:
    """Print both ratios, the middle of several runs in turn."""
    with tempfile.TemporaryDirectory() as scratch:
        home = Path(scratch)
        (site, now), row = lay_out(home), lay_out_row(home)
        named = ("--site", str(site), "--now", now)
        empty: list[float] = []
        tanks: list[float] = []
        commanded: list[float] = []
        written: list[float] = []
        cold: list[float] = []
        start_once(site, now, home)
        for _ in range(RUNS):
            empty.append(first_frame(EMPTY_APP, "first frame", home=home))
            tanks.append(first_frame(SCREEN, "usable", *named, home=home))
        spent_empty = steps_of(MARKED_APP, "first frame", home=home)
        spent_tanks = steps_of(MARKED_SCREEN, "usable", *named, home=home)
        for _ in range(RUNS):
            command_writes(site, now, home)
            commanded.append(first_frame(SCREEN, "usable", *named, home=home))
            write_something(site, now)
            written.append(first_frame(SCREEN, "usable", *named, home=home))
            cold.append(first_frame(SCREEN, "usable", *named, home=home, TANKDASH_CACHE=""))
        form, dip = answers(row, home)
    print(f"empty app {median(empty):.2f} s, tanks after {YEARS} years of entries {median(tanks):.2f} s")
    print(f"first frame: the tanks after {YEARS} years / an empty app = {median(tanks) / median(empty):.2f}")
    print("  wanted at most 1.8")
    tell_steps(spent_empty, spent_tanks)
    print(
        f"first frame: an entry by a command meanwhile / an empty app = {median(commanded) / median(empty):.2f}"
    )
    print("  wanted at most 1.8")
    print(
        f"first frame: an entry by another program meanwhile / an empty app = {median(written) / median(empty):.2f}"
    )
    print(f"first frame: nothing kept / an empty app = {median(cold) / median(empty):.2f}")
    for what, of_form, of_dip in (
        ("the digit", [key.first for key in form], [key.first for key in dip]),
        ("all that follows", [key.last for key in form], [key.last for key in dip]),
    ):
        middle, beside = median(of_form), median(of_dip)
        print(f"{what}: empty form {middle * 1000:.1f} ms, dip form of {TANKS} tanks {beside * 1000:.1f} ms")
        print(f"key to {what}: dip form of {TANKS} tanks / an empty form = {beside / middle:.2f}")
        print("  wanted at most 2")


if __name__ == "__main__":
    main()
