"""What may be typed: built from the commands, so that each one's help says all of it.

`--site`, `--journal`, `--now`, `--json` and `--fold` may stand before or after the command, and a value that begins
with a minus, such as -4cm, is a value.
"""

from __future__ import annotations

import argparse
import re
import textwrap
from dataclasses import dataclass
from difflib import get_close_matches
from typing import NoReturn

from tankdash import __version__
from tankdash.cli.command import Command
from tankdash.cli.families import COMMANDS
from tankdash.cli.typed import UsageError

_MARK = "\ue000"
"""Put before a value that begins with a minus, so that it is not taken for an option; taken off again."""
_MINUS_VALUE = re.compile(r"[-−][\d.,½⅓⅔¼¾⅕⅛⅜⅝⅞]")


@dataclass(frozen=True)
class Typed:
    """What was typed, understood."""

    command: Command | None
    """None opens the screen."""
    args: argparse.Namespace


class _Parser(argparse.ArgumentParser):
    """Complains in one sentence instead of printing its usage."""

    def error(self, message: str) -> NoReturn:
        """Raise what is wrong with the words typed."""
        message = message.replace(_MARK, "")
        unknown = re.match(r"argument COMMAND: invalid choice: '(.*?)' \(choose", message)
        if unknown:
            name = unknown[1]
            close = get_close_matches(name, [command.name for command in COMMANDS], n=1)
            hint = f"did you mean `{close[0]}`?" if close else "`tankdash --help` lists them."
            raise UsageError(f"There is no command {name!r}: {hint}")
        raise UsageError(f"{message[:1].upper()}{message[1:]}: see `{self.prog} --help`.")


def read_arguments(argv: list[str]) -> Typed:
    """Return what the words typed mean.

    Raises
    ------
    UsageError
        If they do not fit.
    SystemExit
        After `--help` or `--version`.
    """
    marked = [_MARK + word if _MINUS_VALUE.match(word) else word for word in argv]
    if any("\x00" in word for word in argv):
        raise UsageError("There is a NUL in what was typed.")
    args = build().parse_args(marked)
    for name, value in vars(args).items():
        setattr(args, name, _unmarked(value))
    name = args.command
    return Typed(None if name is None else _named(name), args)


def _unmarked(value: object) -> object:
    if isinstance(value, str):
        return value.removeprefix(_MARK)
    if isinstance(value, list):
        return [_unmarked(part) for part in value]
    return value


def _named(name: str) -> Command:
    return next(command for command in COMMANDS if command.name == name)


def build() -> argparse.ArgumentParser:
    """Return the parser of everything."""
    parser = _Parser(
        prog="tankdash",
        description=_filled(
            "How much rain water the linked tanks really hold, whether it lasts, and what is due after the rain."
            " Without a command it opens the screen."
        ),
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"tankdash {__version__}")
    _add_common(parser, first=True)
    commands = parser.add_subparsers(
        dest="command", metavar="COMMAND", title="commands", parser_class=_Parser, required=False
    )
    for command in COMMANDS:
        sub = commands.add_parser(
            command.name,
            help=command.summary,
            description=_filled(command.details),
            epilog=_examples(command),
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        command.arguments(sub)
        if command.is_recording:
            group = sub.add_argument_group("the entry")
            group.add_argument(
                "--at", metavar="TIME", help="when it was, if not now: see Times in `tankdash --help`"
            )
            group.add_argument("--note", metavar="TEXT", default="", help="your own words beside it")
        _add_common(sub, first=False)
    return parser


def _add_common(parser: argparse.ArgumentParser, *, first: bool) -> None:
    """Add what may stand before or after the command; what stands after it counts."""

    def default(value: object) -> object:
        return value if first else argparse.SUPPRESS

    group = parser.add_argument_group("everywhere")
    group.add_argument("--site", metavar="FILE", default=default(None), help="the site file")
    group.add_argument(
        "--journal",
        metavar="FILE",
        default=default(None),
        help="the journal, if not NAME.journal.db beside it",
    )
    group.add_argument("--now", metavar="TIME", default=default(None), help="take this for the present")
    group.add_argument(
        "--fold",
        type=int,
        choices=(0, 1),
        default=default(None),
        help="which of two, for a time that comes twice",
    )
    group.add_argument("--json", action="store_true", default=default(False), help="answer in JSON")


def _filled(text: str) -> str:
    """Return paragraphs broken to the width of a plain terminal; indented ones stay as they are."""
    parts = text.split("\n\n")
    return "\n\n".join(part if part.startswith(" ") else textwrap.fill(part, 78) for part in parts)


def _examples(command: Command) -> str:
    return "examples:\n" + "\n".join(f"  {line}" for line in command.examples)


_EPILOG = """\
The site file is the one of --site, else TANKDASH_SITE, ./tankdash.yaml, or
tankdash.yaml in your config folder.

Quantities carry their unit: 60cm, "31 1/2 in", 3'4", 1000 L, 5 US gal, 12 mm,
0.42 in, 25 mm/week, -1C.
Times are ISO (2026-05-04T07:30), "today 7:30", "yesterday 18:00", "mon 6:10" or
now, by the garden's clock.

Exit codes: 0 fine, 1 a check found something (balance a finding, survey a base
that moved or a link that does not pass), 2 bad input (one line on stderr,
nothing written).

The water is for the garden, never for drinking. A full tank weighs a tonne or
more: mind its base. Local codes and licensed trades come first wherever mains,
electricity or structures are touched.
"""
