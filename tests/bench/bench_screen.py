"""How long until the tanks are seen and a key is answered, beside an empty app of the same toolkit, in a real terminal.

Both programs run in turn in a pseudo-terminal of 120 by 36. The first frame is the first output that shows the text
waited for. A key is answered twice: by the first byte, the digit, and by the last one before the terminal is quiet,
when the levelled picture has followed from a thread.
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
from datetime import timedelta
from pathlib import Path
from statistics import median
from typing import NamedTuple

RUNS = 5
KEYS = ("5", "0", "\x7f", "1", "\x7f", "2", "\x7f", "3")
"""Digits and the key that takes one back: each leaves a reading that can be."""
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


class Answer(NamedTuple):
    """Seconds from a key to what the screen makes of it."""

    first: float
    """The digit is there."""
    last: float
    """All that follows from it is there."""


class Terminal:
    """A program running in a terminal of its own."""

    def __init__(self, code: str, *words: str, home: Path) -> None:
        self.text = ""
        """What it has shown, without escapes."""
        self._raw = ""
        self.begun = time.perf_counter()
        self._leader, follower = pty.openpty()
        fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 36, 120, 0, 0))
        environment = {key: value for key, value in os.environ.items() if not key.startswith("TANKDASH")}
        environment |= {"TERM": "xterm-256color", "COLORTERM": "truecolor", "HOME": str(home)}
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
            self._raw += os.read(self._leader, 65536).decode("utf-8", "replace")
        except OSError:
            return False
        self.text = ESCAPES.sub("", self._raw)
        return True

    def until(self, wanted: str) -> float:
        """Return the seconds from the start until the text is shown."""
        while wanted not in self.text:
            if time.perf_counter() - self.begun > PATIENCE or not self._read(PATIENCE):
                raise RuntimeError(f"{wanted!r} was never shown; the last was {self.text[-300:]!r}")
        return time.perf_counter() - self.begun

    def until_quiet(self) -> float:
        """Return the time of the last output before a quiet spell."""
        last = time.perf_counter()
        while self._read(QUIET):
            last = time.perf_counter()
        return last

    def answer_to(self, key: str) -> Answer:
        """Return when the first and the last output come that a key causes."""
        sent = time.perf_counter()
        os.write(self._leader, key.encode())
        if not self._read(PATIENCE):
            raise RuntimeError(f"nothing came of the key {key!r}")
        first = time.perf_counter()
        return Answer(first - sent, self.until_quiet() - sent)

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


def first_frame(code: str, wanted: str, *words: str, home: Path) -> float:
    """Return the seconds from the start of the program to its first frame."""
    terminal = Terminal(code, *words, home=home)
    try:
        return terminal.until(wanted)
    finally:
        terminal.end()


def answers(code: str, wanted: str, opened_by: str, *words: str, home: Path) -> list[Answer]:
    """Return the answer to each digit typed into a form."""
    terminal = Terminal(code, *words, home=home)
    try:
        terminal.until(wanted)
        terminal.until_quiet()
        if opened_by:
            terminal.answer_to(opened_by)
        return [terminal.answer_to(key) for key in KEYS]
    finally:
        terminal.end()


def main() -> None:
    """Print both ratios, the middle of several runs in turn."""
    with tempfile.TemporaryDirectory() as scratch:
        home = Path(scratch)
        (site, now), row = lay_out(home), lay_out_row(home)
        empty, tanks = [], []
        for _ in range(RUNS):
            empty.append(first_frame(EMPTY_APP, "first frame", home=home))
            tanks.append(first_frame(SCREEN, "usable", "--site", str(site), "--now", now, home=home))
        form = answers(EMPTY_FORM, "first frame", "", home=home)
        dip = answers(SCREEN, "usable", "d", "--site", str(row), home=home)
    print(f"empty app {median(empty):.2f} s, tanks after {YEARS} years of entries {median(tanks):.2f} s")
    print(f"first frame: the tanks after {YEARS} years / an empty app = {median(tanks) / median(empty):.2f}")
    print("  wanted at most 1.8")
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
