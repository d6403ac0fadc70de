"""Command lines at random, grown from the parser itself: every command and option there is, also those yet to come.

What a value is grown from follows the name the help gives it (TANK, VOLUME, TIME ...); now and then it is something
of another kind, or nothing at all. The same seed gives the same lines.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Callable
from dataclasses import dataclass

from tankdash.cli.families import COMMANDS
from tankdash.cli.parser import build
from tankdash.site.model import Site

NONSENSE = (
    "",
    " ",
    "-",
    "--",
    "---",
    "-1",
    "-4cm",
    "0",
    "-0",
    "1e308 L",
    "1e-320 mm",
    "9" * 400 + " L",
    "nan",
    "nan cm",
    "inf L",
    "-inf mm",
    "∞ L",
    "½",
    "１２ cm",
    "٣ cm",
    "12 cm\n",
    "12\tcm",
    "a\x1b[2Jb",
    "\x1b]0;title\x07",
    "\u202elmth\u202c",
    "e\u0301\u200b\u2066",
    "[bold]x[/]",
    "[/]",
    "{0}",
    "%s%n",
    "{north.__class__}",
    "'; DROP TABLE entry; --",
    "../../../x",
    "\ud800",
    "\udcff",
    "\ue000",
    "\ue000-4cm",
    "\ufeff12 cm",
    "桶",
    "🪣 60 cm",
    "=1+1",
    "north=",
    "=60cm",
    "==",
    "a=b=c",
    "60cm 60cm",
    "3' 14\"",
    "1/0 in",
    "1 1/0 in",
    "0/0 in",
    "1,5,5 L",
    "1.000.000 L",
    "1_000 L",
    "0x10 L",
    "12 parsecs",
    "12 gal",
    "5 L/min/min",
    "1 gal/sq ft/week",
    "x" * 5000,
    "--json",
    "--site",
    "--nothing",
    "-h\u00a0",
    "@argfile",
)
"""What nobody should type, and somebody will."""

LENGTHS = (
    "60cm",
    "0",
    "1 cm",
    "31 1/2 in",
    "3'4\"",
    "0.42 m",
    "57-60 cm",
    "gap 40 cm",
    "depth 20cm",
    "104 cm",
    "9 m",
)
VOLUMES = (
    "9L",
    "100 L",
    "0.5 m3",
    "5 US gal",
    "3 imp gal",
    "2000 L",
    "0.001 L",
    "0 L",
    "1 cu ft",
    "40 gal",
    "?",
)
RAINS = ("12mm", "0.42 in", "60-90mm", ">140mm", "trace", "0", "0.2 mm", "400 mm", "1 cm", ">5.5 in")
DAYS = (
    "today",
    "yesterday",
    "tomorrow",
    "monday",
    "sun",
    "2026-06-01",
    "2024-02-29",
    "2026-02-30",
    "2027-01-01",
)
TIMES = (
    "now",
    "today 7:30",
    "yesterday 18:00",
    "mon 6:10",
    "2026-06-01T07:30",
    "2026-03-29 01:30",
    "2025-10-26 01:30",
    "2024-02-29 12:00",
    "2025-12-31 23:59:59",
    "2026-01-01T00:00+14:00",
    "2026-06-02T10:00Z",
    "24:00",
    "12:00 am",
    "0001-01-01",
    "9999-12-31 23:59",
    "1970-01-01T00:00",
    "2026-06-09T23:59:59.999999",
)
STATES = (
    "open",
    "closed",
    "primed",
    "unprimed",
    "stuck",
    "freed",
    "plugged",
    "bypass",
    "base 12 cm",
    "base -4cm",
    "base 99 m",
    "base",
    "vented",
    "sealed",
    "drain-open",
    "drain-closed",
    "shape-void",
    "locked",
    "unlocked",
    "winter",
    "in-use",
)
TEXTS = (
    "the screen was clogged",
    "overflow seen",
    "gauge missed",
    "=HYPERLINK(1)",
    "ünï çødé 桶",
    "two\nlines",
    "'",
)
TEMPERATURES = ("-1C", "30F", "0 C", "-40 C", "2.5C", "-500 C", "99 F")
NUMBERS = ("0", "1", "2", "3", "30", "366", "-1", "1000000", "99999999999999999999", "1.5")
SHARES = ("30 %", "0.3", "90%", "0", "1", "150 %")


@dataclass
class Grower:
    """Grows command lines about one garden."""

    dice: random.Random
    site: Site
    files: tuple[str, ...] = ()
    """Files there are, to read."""
    folders: tuple[str, ...] = ()
    """Files and folders to write."""

    def __post_init__(self) -> None:
        self._parsers = self._sub_parsers()
        self._kinds = self._kinds_of_values()
        self._weights = [8 if command.is_recording else 2 for command in COMMANDS]

    def line(self) -> list[str]:
        """Return one command line."""
        dice = self.dice
        roll = dice.random()
        if roll < 0.02:
            return [self._nonsense() for _ in range(dice.randint(0, 4))]
        name = dice.choices([command.name for command in COMMANDS], self._weights)[0]
        parser = self._parsers[name]
        words = [name]
        options = [action for action in parser._actions if action.option_strings and action.dest != "help"]
        for action in [action for action in parser._actions if not action.option_strings]:
            words += self._values(name, action)
        for action in dice.sample(options, dice.choices((0, 1, 2, 3), (4, 4, 2, 1))[0]):
            if action.dest in ("site", "journal", "now"):
                continue
            place = len(words) if dice.random() < 0.9 else dice.randint(0, len(words))
            words[place:place] = [dice.choice(action.option_strings), *self._values(name, action)]
        if dice.random() < 0.35:
            words.append("--json")
        if dice.random() < 0.04:
            self._spoil(words)
        return words

    def _spoil(self, words: list[str]) -> None:
        """Drop, double, swap or add a word."""
        dice = self.dice
        place = dice.randrange(len(words))
        match dice.randint(0, 3):
            case 0:
                del words[place]
            case 1:
                words.insert(place, words[place])
            case 2:
                words.insert(place, self._nonsense())
            case _:
                words.append(dice.choice(words))

    def _values(self, command: str, action: argparse.Action) -> list[str]:
        """Return the words of one argument or option."""
        dice = self.dice
        if action.nargs == 0:
            return []
        least, most = {"+": (1, 2), "*": (0, 2), "?": (0, 1), None: (1, 1)}.get(action.nargs, (1, 1))  # type: ignore[arg-type]
        number = dice.choice((least, max(least, 1), most))
        metavar = action.metavar if isinstance(action.metavar, str) else action.dest.upper()
        values: list[str] = []
        for _ in range(number):
            values += self._value(command, action, metavar)
        return values

    def _value(self, command: str, action: argparse.Action, metavar: str) -> list[str]:
        dice = self.dice
        if dice.random() < 0.06:
            return [self._nonsense()]
        if action.choices is not None and dice.random() < 0.95:
            return [str(dice.choice(list(action.choices)))]
        if metavar == "TANK READING":
            return [self._name("tank"), dice.choice(LENGTHS)]
        if metavar == "TANK=READING":
            return [f"{self._name('tank')}={dice.choice(LENGTHS)}"]
        if metavar == "TANK=VOLUME":
            return [f"{self._name('tank')}={dice.choice(VOLUMES)}"]
        if metavar == "ITEM=STATE":
            return [f"{self._name()}={dice.choice(STATES)}"]
        grow = self._kinds.get(metavar)
        if grow is None or dice.random() < 0.03:
            grow = dice.choice(list(self._kinds.values()))
        value = grow()
        return value.split(" ") if dice.random() < 0.3 else [value]

    def _kinds_of_values(self) -> dict[str, Callable[[], str]]:
        one = self.dice.choice
        return {
            "TANK": lambda: self._name("tank"),
            "FROM": lambda: self._name("tank"),
            "TO": lambda: self._name("tank"),
            "READING": lambda: one(LENGTHS),
            "DEPTH": lambda: one(RAINS),
            "VOLUME": lambda: one(VOLUMES),
            "ITEM": lambda: self._name(),
            "ID": lambda: self._name("outlet") if self.dice.random() < 0.5 else self._name("bed"),
            "STATE": lambda: one(STATES),
            "TIME": lambda: one(TIMES),
            "DAY": lambda: one(DAYS),
            "N": lambda: one(NUMBERS),
            "NUMBER": lambda: one(NUMBERS),
            "DAYS": lambda: one(NUMBERS),
            "LOW": lambda: one(TEMPERATURES),
            "CHORE": lambda: self._name("chore"),
            "TEXT": lambda: one(TEXTS),
            "WHAT": lambda: one(("melt", "dew", "hail", "hose", *TEXTS)),
            "NAME": lambda: one(("village", "own", "second", *TEXTS)),
            "Q": lambda: one(("10 L/min", "1 L/s", "0 L/min", "2 US gal/min")),
            "RATE": lambda: one(("100 mm/h", "4 in/h", "0 mm/h", "1000 mm/h")),
            "FILE": lambda: one(self.files or ("missing.csv",)),
            "FILE.ics": lambda: one(self.folders or ("out",)),
            "CSV": lambda: one(self.files or ("missing.csv",)),
            "DIR": lambda: one(self.folders or ("out",)),
            "CLOCK": lambda: one(("9:00", "24:00", "7", "23:59")),
            "ZONE": lambda: one(("Europe/Lisbon", "Mars/Base", "UTC")),
            "KIND": lambda: one(("tote", "barrel", "butt", "teapot")),
            "AREA": lambda: one(("24 m2", "200 sq ft", "0 m2", "1e9 m2")),
            "LENGTH": lambda: one(LENGTHS),
            "STEP": lambda: one(("1 cm", "1 in", "0 cm", "1 mm", "0.001 mm")),
            "SHARE": lambda: one(SHARES),
        }

    def _name(self, kind: str | None = None) -> str:
        site = self.site
        names = {
            "tank": site.tanks,
            "outlet": site.outlets,
            "bed": site.beds,
            "chore": site.chores,
            "link": site.links,
            "roof": site.roofs,
        }
        if kind is None or self.dice.random() < 0.03:
            everything = [name for group in names.values() for name in group]
            return self.dice.choice([*everything, "site", "nobody"])
        return self.dice.choice(list(names[kind]) or ["nobody"])

    def _nonsense(self) -> str:
        dice = self.dice
        if dice.random() < 0.2:
            return "".join(
                chr(dice.choice((dice.randrange(32, 127), dice.randrange(1, 0x3000)))) for _ in range(9)
            )
        return dice.choice(NONSENSE)

    @staticmethod
    def _sub_parsers() -> dict[str, argparse.ArgumentParser]:
        for action in build()._actions:
            if isinstance(action, argparse._SubParsersAction):
                return dict(action.choices)
        raise AssertionError("there are commands")
