"""The command `new`: a commented site file, from a few questions at a terminal or from what the options say."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, cast
from zoneinfo import ZoneInfo

from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.typed import UsageError

if TYPE_CHECKING:
    from tankdash.site.starter import Answers
    from tankdash.units import Units

MOST_TANKS = 50
"""A row longer than this is described by hand."""


NOTHING = "none"
"""What is answered where there is no roof, or none is to be written down."""


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="the site file to write, such as tankdash.yaml")
    parser.add_argument("--name", metavar="NAME", help="what the garden is called, such as 'Plum yard'")
    parser.add_argument(
        "--units", choices=("metric", "us", "imperial"), help="how you measure (default metric)"
    )
    parser.add_argument("--timezone", metavar="ZONE", help="such as Europe/Lisbon (default: this computer's)")
    parser.add_argument(
        "--tanks",
        metavar="KIND",
        nargs="+",
        help="the tanks of the row, such as tote tote barrel; there is tote, barrel, butt (wider at the top), "
        "round (big and upright), lying (on its side), box and cone (pointed below)",
    )
    parser.add_argument("--plain", action="store_true", help="ask nothing, also at a terminal")


def _new(call: Call) -> int:
    from tankdash.journal.placing import apart_from, put_in_place
    from tankdash.site import load_text
    from tankdash.site.starter import starter

    args = call.args
    path = Path(args.file)
    if path.exists():
        raise UsageError(f"{path} is there already: name another file; nothing is overwritten.")
    if not path.parent.is_dir():
        raise UsageError(f"{path.parent} is no folder: make it first.")
    apart_from(path, call.journal_files)
    answers = _answers(args)
    if not args.plain and not args.json and sys.stdin.isatty() and sys.stdout.isatty():
        answers = _asked(call, answers)
    text = starter(answers)
    load_text(text, str(path))  # so that what is written is known to be sound
    put_in_place(path, text, overwrite=False)
    if call.wants_json:
        call.give({"schema": 1, "file": str(path), "tanks": len(answers.kinds)})
        return 0
    reading = "60cm" if answers.units == "metric" else "24in"
    call.say(
        f"Written: {path}. Its figures are those of common sizes: measure your own and change them.",
        f"Then `tankdash check --site {path}`, and a first dip: `tankdash dip tank-1 {reading} --site {path}`.",
    )
    return 0


def _answers(args: argparse.Namespace) -> Answers:
    """Return what the options say, the rest as it is in a common garden."""
    from tankdash.site.starter import KINDS, Answers

    kinds = tuple(args.tanks or ("tote", "tote"))
    for kind in kinds:
        if kind not in KINDS:
            raise UsageError(f"{kind!r} is no kind of tank: write {', '.join(KINDS)}.")
    if len(kinds) > MOST_TANKS:
        raise UsageError(f"A row of more than {MOST_TANKS} tanks is written by hand: begin with fewer.")
    units = cast("Units", args.units or "metric")
    metric = units == "metric"
    zone = args.timezone or own_zone()
    return Answers(
        name=args.name or "My garden",
        timezone=_zone(zone),
        units=units,
        kinds=kinds,
        link_height=("8 cm" if metric else "3 in") if len(kinds) > 1 else None,
        tap_height="10 cm" if metric else "4 in",
    )


def _zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ValueError, OSError, LookupError):
        raise UsageError(f"{name!r} is no time zone: write an IANA name such as Europe/Lisbon.") from None
    return name


def own_zone() -> str:
    """Return the IANA name of this computer's time zone, UTC when it does not tell."""
    candidates = [os.environ.get("TZ", "").lstrip(":")]
    link = Path("/etc/localtime")
    if link.is_symlink():
        candidates.append(str(link.readlink()).partition("zoneinfo/")[2])
    for name in candidates:
        if name:
            try:
                return ZoneInfo(name).key
            except (ValueError, OSError, LookupError):
                continue
    return "UTC"


def _asked(call: Call, answers: Answers) -> Answers:
    """Return the answers to a few questions; Enter takes what is offered."""
    from tankdash.site.starter import JOINS, KINDS
    from tankdash.units import parse_length

    def length(text: str) -> str:
        parse_length(text, answers.units, negative=True)
        return text

    def units(text: str) -> str:
        if text not in ("metric", "us", "imperial"):
            raise ValueError("Write metric, us or imperial.")
        return text

    def count(text: str) -> str:
        if not (text.isascii() and text.isdigit() and 1 <= int(text) <= MOST_TANKS):
            raise ValueError(f"Write a number from 1 to {MOST_TANKS}.")
        return text

    def kind(text: str) -> str:
        if text not in KINDS:
            raise ValueError(f"Write one of {', '.join(KINDS)}.")
        return text

    def join(text: str) -> str:
        if text not in JOINS:
            raise ValueError(f"Write one of {', '.join(JOINS)}.")
        return text

    def length_or_none(text: str) -> str:
        return text if text == NOTHING else length(text)

    call.say("A few questions; Enter takes what is offered. Lengths carry their unit, such as 20 cm or 8 in.")
    answers = replace(
        answers,
        name=_ask(call, "What is the garden called?", answers.name, str),
        units=cast("Units", _ask(call, "How do you measure: metric, us or imperial?", answers.units, units)),
        timezone=_ask(call, "Its time zone?", answers.timezone, _zone),
        datum=_ask(call, "From which fixed mark are heights measured?", answers.datum, str),
    )
    metric = answers.units == "metric"
    call.say("Kinds of tank: " + "; ".join(f"{key} ({one.label})" for key, one in KINDS.items()) + ".")
    tanks = int(_ask(call, "How many tanks stand in the row?", str(len(answers.kinds)), count))
    kinds: list[str] = []
    bases: list[str] = []
    joins: list[str] = []
    ways = "; ".join(f"{key} ({words})" for key, words in JOINS.items())
    for number in range(1, tanks + 1):
        offered = answers.kinds[number - 1] if number <= len(answers.kinds) else (kinds or ["tote"])[-1]
        kinds.append(_ask(call, f"Tank {number}: which kind?", offered, kind))
        bases.append(
            _ask(
                call,
                f"Tank {number}: height of its floor above the mark?",
                "20 cm" if metric else "8 in",
                length,
            )
        )
        if number > 1:
            joins.append(_ask(call, f"From tank {number - 1} to tank {number}: {ways}?", "link", join))
    link = None
    if "link" in joins:
        link = _ask(call, "Height of the links above the floors?", "8 cm" if metric else "3 in", length)
    where = "the last tank" if joins.count("link") == len(joins) else "the last tank of each linked row"
    tap = _ask(call, f"Height of the tap above the floor of {where}?", "10 cm" if metric else "4 in", length)
    seen = f"seen from above, or {NOTHING}"
    roof = [_ask(call, f"Length of the roof that drains into tank 1, {seen}?", NOTHING, length_or_none)]
    if roof[0] != NOTHING:
        roof.append(_ask(call, f"Its width, {seen}?", NOTHING, length_or_none))
    sides = (None, None) if NOTHING in roof else (roof[0], roof[1])
    return replace(
        answers,
        kinds=tuple(kinds),
        bases=tuple(bases),
        joins=tuple(joins),
        link_height=link,
        tap_height=tap,
        roof_length=sides[0],
        roof_width=sides[1],
    )


def _ask(call: Call, question: str, offered: str, understand: Callable[[str], str]) -> str:
    """Ask until the answer is understood."""
    while True:
        call.out.write(f"{question} [{offered}] ")
        call.out.flush()
        line = sys.stdin.readline()
        if not line:
            raise UsageError("The questions were left before the end: nothing is written.")
        text = line.strip() or offered
        try:
            return understand(text)
        except (ValueError, UsageError) as refused:
            call.say(f"  {refused}")


COMMANDS = (
    Command(
        "new",
        "a site file to begin with",
        "Writes a commented site file. At a terminal it asks a few questions; elsewhere, or with "
        "--plain, it takes what the options say and common sizes for the rest. An existing file is "
        "never overwritten.",
        (
            "tankdash new tankdash.yaml",
            "tankdash new tankdash.yaml --plain --units us --tanks tote tote barrel",
        ),
        _new,
        _arguments,
    ),
)
