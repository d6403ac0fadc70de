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
from typing import Any, NoReturn

from tankdash import __version__
from tankdash.cli.command import Command
from tankdash.cli.families import COMMANDS
from tankdash.cli.options import MARK, Together, add_at
from tankdash.cli.typed import UsageError

_MINUS_VALUE = re.compile(r"[-−][\d.,½⅓⅔¼¾⅕⅛⅜⅝⅞]")


@dataclass(frozen=True)
class Typed:
    """What was typed, understood."""

    command: Command | None
    """None opens the screen."""
    args: argparse.Namespace


class _Parser(argparse.ArgumentParser):
    """Complains in one sentence instead of printing its usage, and sends no colour."""

    def __init__(self, *args: Any, **settings: Any) -> None:
        super().__init__(*args, **settings)
        self.color = False  # which newer Pythons would send to a terminal

    def error(self, message: str) -> NoReturn:
        """Raise what is wrong with the words typed."""
        message = message.replace(MARK, "")
        unknown = re.match(r"argument COMMAND: invalid choice: '(.*?)' \(choose", message)
        if unknown:
            name = unknown[1]
            close = get_close_matches(name, [command.name for command in COMMANDS], n=1)
            hint = f"did you mean `{close[0]}`?" if close else "`tankdash --help` lists them."
            raise UsageError(f"There is no command {name!r}: {hint}")
        missing = re.match(r"the following arguments are required: (.*)", message)
        if missing:
            example = re.split(r" {2,}", _named(self.prog.split()[-1]).examples[0])[0]
            raise UsageError(
                f"`{self.prog}` also wants {missing[1].replace(', ', ' and ')}: write it as `{example}`; "
                f"see `{self.prog} --help`."
            )
        raise UsageError(f"{message[:1].upper()}{message[1:]}: see `{self.prog} --help`.")


class _Help(argparse.RawDescriptionHelpFormatter):
    """Shows a value that may be typed unquoted as the one thing it is."""

    def _format_args(self, action: argparse.Action, default_metavar: str) -> str:
        if not isinstance(action, Together):
            return super()._format_args(action, default_metavar)
        return f"[{action.metavar}]" if action.nargs == "*" else str(action.metavar)


def read_arguments(argv: list[str]) -> Typed:
    """Return what the words typed mean.

    Raises
    ------
    UsageError
        If they do not fit.
    SystemExit
        After `--help` or `--version`.
    """
    marked = [MARK + word if _MINUS_VALUE.match(word) else word for word in argv]
    if any("\x00" in word for word in argv):
        raise UsageError("There is a NUL in what was typed.")
    args, beyond = build().parse_known_args(marked)
    name = args.command
    if beyond:
        raise UsageError(_too_much(name, [word.replace(MARK, "") for word in beyond]))
    for key, value in vars(args).items():
        setattr(args, key, _unmarked(value))
    return Typed(None if name is None else _named(name), args)


def _too_much(name: str | None, beyond: list[str]) -> str:
    """Return what to say of words that the command `name` does not take."""
    words = " ".join(beyond)
    program = f"tankdash {name}" if name else "tankdash"
    return f"`{program}` does not know what to do with {words!r}: see `{program} --help`."


def _unmarked(value: object) -> object:
    if isinstance(value, str):
        return value.removeprefix(MARK)
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
        formatter_class=_Help,
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
            epilog=_end(command),
            formatter_class=_Help,
            allow_abbrev=False,
        )
        command.arguments(sub)
        if command.is_recording:
            group = sub.add_argument_group("the entry")
            add_at(group, "when it was")
            group.add_argument(
                "--note", metavar="TEXT", default="", help="your own words beside it, such as 'windy'"
            )
        _add_common(sub, first=False)
    return parser


def _add_common(parser: argparse.ArgumentParser, *, first: bool) -> None:
    """Add what may stand before or after the command; what stands after it counts."""

    def default(value: object) -> object:
        return value if first else argparse.SUPPRESS

    group = parser.add_argument_group("everywhere")
    group.add_argument(
        "--site", metavar="FILE", default=default(None), help="the site file, such as garden.yaml"
    )
    group.add_argument(
        "--journal",
        metavar="FILE",
        default=default(None),
        help="the journal, if not NAME.journal.db beside the site file NAME.yaml",
    )
    group.add_argument(
        "--now",
        metavar="TIME",
        default=default(None),
        help="take this for the present, such as 2026-05-04T07:30",
    )
    group.add_argument(
        "--fold",
        type=int,
        choices=(0, 1),
        default=default(None),
        help="which one is meant of a time that a clock change brings twice: 0 the first, 1 the second",
    )
    group.add_argument(
        "--json",
        action="store_true",
        default=default(False),
        help="answer in JSON: metres, litres, mm, ISO times",
    )


def _filled(text: str) -> str:
    """Return paragraphs broken to the width of a plain terminal; indented ones stay as they are."""
    parts = text.split("\n\n")
    return "\n\n".join(part if part.startswith(" ") else textwrap.fill(part, 78) for part in parts)


def _end(command: Command) -> str:
    """Return what stands at the end of a command's help: its examples, and what its exit code says."""
    codes = ["0 fine", *([f"1 {command.found}"] if command.found else []), "2 bad input: told on stderr"]
    if command.is_recording:
        codes[-1] += ", and nothing is written"
    lines = [f"  {line}" for line in command.examples]
    said = textwrap.fill(f"Exit codes: {'; '.join(codes)}.", 78)
    others = textwrap.fill(f"See also: {', '.join(SEE_ALSO[command.name])}.", 78)
    ending = "Quantities and times: see `tankdash --help`."
    return "\n".join(["examples:", *lines, "", said, "", others, "", ending])


SEE_ALSO: dict[str, tuple[str, ...]] = {
    "check": ("new", "levels", "storm"),
    "levels": ("dip", "try", "stick", "supply"),
    "try": ("levels", "storm", "supply"),
    "chores": ("done", "calendar", "frost"),
    "rainfall": ("rain", "import", "balance"),
    "log": ("undo", "note", "export"),
    "supply": ("levels", "size", "import"),
    "storm": ("check", "try", "size"),
    "stick": ("dip", "levels"),
    "size": ("supply", "storm", "import"),
    "balance": ("dip", "rain", "survey"),
    "survey": ("dip", "balance", "set"),
    "dip": ("levels", "balance", "survey", "stick"),
    "rain": ("rainfall", "chores", "import"),
    "use": ("move", "pour", "supply"),
    "move": ("use", "pour", "set"),
    "pour": ("move", "use", "rain"),
    "set": ("check", "levels", "survey"),
    "frost": ("chores", "set"),
    "done": ("chores", "undo"),
    "note": ("log", "balance"),
    "undo": ("log",),
    "import": ("export", "rainfall", "supply", "size"),
    "export": ("import", "log"),
    "calendar": ("chores",),
    "new": ("check", "demo", "dip"),
    "demo": ("new", "levels"),
}
"""What somebody who asks for the help of a command may want next."""

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
