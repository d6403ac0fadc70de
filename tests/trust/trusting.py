"""What every attack in this folder needs: a way to type commands in this process, and the promises all answers keep.

The attacks are short where they run with every change. `TANKDASH_LONG=1` makes them long: hundreds of kills, tens of
thousands of steps; `TANKDASH_LONG=0.1` gives them a tenth of that. Each prints what it ran (`pytest -s`), and holds
itself to a least number.
"""

from __future__ import annotations

import io
import json
import os
import re
import signal
import sqlite3
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType
from typing import Any, TypeVar, cast

from tankdash.cli.main import main

T = TypeVar("T")

LENGTH = float(os.environ.get("TANKDASH_LONG") or 0.0)
"""How much of the long attacks was asked for: 1 for all of them, 0 for the short ones."""
LAST_RESORT = "Something went wrong inside"
"""How the sentence begins that nobody should ever see."""
_ACTED_ON = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")
"""What a terminal would act on, or hide: controls, directions and letters without a width."""

GARDEN = """\
site: Trusted garden
timezone: Europe/Lisbon
units: metric
datum: the threshold of the shed
accuracy: 5 mm
tanks:
  north:
    label: North tote
    base: 20 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
    overflow: 95 cm
    overflow_to: low
    dip: {from: floor}
  middle:
    base: 17 cm
    shape: {kind: box, length: 1 m, width: 1 m, height: 1 m, fill: 0.95}
    dip: {from: brim, offset: 1 cm}
    silt: 1 cm
  low:
    base: -60 cm
    shape: {kind: table, rows: [[0, 0], [20 cm, 60 L], [60 cm, 300 L]]}
    since: 2024-02-29
  barrel:
    base: 10 cm
    shape: {kind: lying, diameter: 60 cm, length: 90 cm}
    vented: true
  late:
    base: 0
    shape: {kind: cone, diameter: 60 cm, cone: 20 cm, height: 1 m}
    since: 2026-05-01
    until: 2026-12-31
links:
  north-middle: {join: [north, middle], ports: 8 cm, bore: 50 mm, run: 60 cm, losses: 2.5, valve: open}
  hose: {join: [middle, barrel], ports: [10 cm, 5 cm], crest: 60 cm, primed: unknown, bore: 13 mm, run: 2 m}
  header: {join: [north, middle, late], ports: [20 cm, 15 cm, 10 cm], bore: 40 mm, run: 1 m}
outlets:
  tap: {tank: north, at: 10 cm}
  pump: {tank: low, at: 10 cm, kind: pump}
roofs:
  shed:
    area: 24 m2
    runoff: 0.9
    first_loss: 0.5 mm
    fills: north
    first_flush: {bore: 75 mm, length: 1.8 m, empties: by hand}
  porch: {area: 6 m2, runoff: 0.8, fills: barrel, first_flush: {holds: 3 L, empties: 6 h}}
beds:
  tomatoes: {area: 12 m2, need: 25 mm/week, from: tap, efficiency: 0.9, height: 10 cm, months: [4, 5, 6, 7, 8, 9, 10]}
  pots: {need: 8 L/day, from: pump}
rain: {gap: 6 h, wet: 0.2 mm, booked: previous day}
chores:
  drain-first-flush: {label: Empty the pipe, after_rain: {at_least: 0.5 mm}, within: 1 day, empties: shed}
  wipe-screen: {after_rain: {at_least: 10 mm}, every: 2 weeks, season: 1 April to 31 October}
  gutters: {after_rain: {total: 50 mm}}
  sludge: {every: 2 years, starting: 2024-02-29}
  month-end: {label: Walk the line, every: 1 month, starting: 2023-12-31, counted_from: calendar}
  leap: {every: 1 year, starting: 2024-02-29, counted_from: calendar}
  drain-down: {on: 1 November}
  fittings: {frost: 0 C}
  low: {level_below: 30 %}
  flush-new: {by: 2026-04-15}
  watch: {every: 1 week, season: 1 December to 28 February}
"""
"""A garden with everything a site file may hold."""


def times(short: T, long: T) -> T:
    """Return how often, or what, to attack."""
    if not LENGTH:
        return short
    if isinstance(short, int) and isinstance(long, int) and not isinstance(short, bool):
        return cast("T", max(short, round(long * LENGTH)))
    return long


class Hang(BaseException):
    """An answer took longer than anybody waits. No `except Exception` may swallow it."""


@contextmanager
def no_longer_than(seconds: float) -> Iterator[None]:
    """Break off what takes longer."""

    def break_off(_number: int, _frame: FrameType | None) -> None:
        raise Hang(f"no answer within {seconds} s")

    before = signal.signal(signal.SIGALRM, break_off)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


@dataclass(frozen=True)
class Answer:
    """What a command gave back."""

    words: tuple[str, ...]
    code: int
    out: str
    err: str
    seconds: float

    @property
    def json(self) -> Any:
        """The answer, where JSON was asked for; what JSON does not know is refused."""
        return json.loads(self.out, parse_constant=_no_constant)


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is no JSON")


def type_in(*words: str, patience: float = 30.0) -> Answer:
    """Type a command in this process and return what came of it."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="\n") for _ in range(2))
    before = sys.stdout, sys.stderr, sys.stdin
    sys.stdout, sys.stderr, sys.stdin = out, err, io.StringIO("")
    begun = time.perf_counter()
    try:
        with no_longer_than(patience):
            code = main(list(words))
    finally:
        sys.stdout, sys.stderr, sys.stdin = before
    took = time.perf_counter() - begun
    said = []
    for stream in (out, err):
        stream.flush()
        assert isinstance(stream.buffer, io.BytesIO)
        said.append(stream.buffer.getvalue().decode("utf-8"))
    return Answer(words, code, said[0], said[1], took)


def keeps_its_promises(answer: Answer, *, problems: int | None = 1) -> None:
    """Hold an answer to what every command promises, whatever was typed.

    Parameters
    ----------
    answer : Answer
        What a command gave back.
    problems : int, optional
        How many lines it may complain in; None for a site file, which tells each of its problems in a line.
    """
    told = answer.err.splitlines()
    assert answer.code in (0, 1, 2), answer
    assert LAST_RESORT not in answer.err, answer
    assert "Traceback" not in answer.err + answer.out, answer
    assert (answer.code == 2) == bool(told), answer
    if problems is not None:
        assert len(told) <= problems, answer
    for line in told:
        assert line.strip(), answer
        assert len(line) < 1300, answer
    assert not _ACTED_ON.search(answer.err), answer
    words = list(answer.words)
    options = words[: words.index("--")] if "--" in words else words
    if "--json" in options and "--help" not in options and answer.code != 2:
        assert answer.json is not None, answer
    assert not _ACTED_ON.search(answer.out), answer


def levels_are_sane(levels: Any) -> None:
    """Hold the JSON of `levels` to what water cannot break."""
    for name, tank in levels["tanks"].items():
        low, volume, high = tank["low_l"], tank["volume_l"], tank["high_l"]
        for figure in ("volume_l", "low_l", "high_l", "usable_l", "full_l"):
            assert tank[figure] is None or tank[figure] >= 0.0, (name, tank)
        if low is not None and high is not None:
            assert low <= high + 1e-6, (name, tank)
            if volume is not None:
                assert low - 1e-6 <= volume <= high + 1e-6, (name, tank)
        if volume is not None and tank["usable_l"] is not None:
            assert tank["usable_l"] <= volume + 1e-3, (name, tank)
    totals = levels["totals"]
    for name, figure in totals.items():
        assert figure is None or figure >= 0.0, (name, totals)
    if totals["low_l"] is not None and totals["high_l"] is not None:
        assert totals["low_l"] <= totals["high_l"] + 1e-6, totals
    for name, figure in levels["moved"].items():
        assert figure is None or figure >= 0.0, (name, levels["moved"])


def soundness(path: Path) -> str:
    """Return what SQLite says of the file: `ok`, or what is wrong."""
    connection = sqlite3.connect(path)
    try:
        return "; ".join(str(row[0]) for row in connection.execute("PRAGMA integrity_check"))
    finally:
        connection.close()


@dataclass
class Count:
    """Counts what an attack ran, and says it at the end."""

    what: str
    of: Counter[str] = field(default_factory=Counter)

    def __call__(self, kind: str, number: int = 1) -> None:
        self.of[kind] += number

    def __getitem__(self, kind: str) -> int:
        return self.of[kind]

    @property
    def total(self) -> int:
        """How many in all."""
        return self.of.total()

    def say(self) -> None:
        """Print the counts."""
        print(f"\n{self.what}: " + ", ".join(f"{number} {kind}" for kind, number in sorted(self.of.items())))


def shortened(words: Sequence[str]) -> str:
    """Return a command line for a message."""
    return " ".join(repr(word) if " " in word else word for word in words)[:300]
