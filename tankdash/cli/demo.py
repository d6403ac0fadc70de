"""The command `demo`: an invented garden laid out in a folder of its own, and the screen opened on it."""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime
from pathlib import Path

from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.describing import level_lines
from tankdash.cli.door import open_screen
from tankdash.cli.typed import UsageError


def _demo_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--folder", metavar="DIR", help="where to lay it out, such as play, if not in a folder of its own"
    )


def _demo(call: Call) -> int:
    """Lay the demo out, once, and open the screen on it; in a pipe, say where it is and what stands in it."""
    from tankdash.journal.store import default_journal_path
    from tankdash.keeping.demo import DEMO_ZONE, demo_folder, laid_out, lay_out_demo
    from tankdash.keeping.when import parse_time

    args = call.args
    if args.site or args.journal:
        raise UsageError("The demo has a site and a journal of its own: leave out --site and --journal.")
    clock = datetime.now(UTC).astimezone(DEMO_ZONE)
    now = clock if args.now is None else parse_time(args.now, DEMO_ZONE, clock, args.fold)
    folder = Path(args.folder) if args.folder else demo_folder()
    path = laid_out(folder)
    if path is not None and args.folder:
        raise UsageError(f"{path} is there already: name another folder, or open it with --site {path}.")
    is_new = path is None
    if path is None:
        path = lay_out_demo(folder, now)
    lies = f"The demo lies in {folder}; remove the folder when you are done with it."
    if not args.json and sys.stdin.isatty() and sys.stdout.isatty():
        call.say(lies)
        return open_screen(path, default_journal_path(path), None if args.now is None else now)
    args.site, args.journal, args.at = str(path), None, None
    levels = call.desk.levels(now)
    if call.wants_json:
        call.give(
            {
                "schema": 1,
                "folder": str(folder),
                "site_file": str(path),
                "journal": str(default_journal_path(path)),
                "is_new": is_new,
                "levels": levels.as_json(),
            }
        )
        return 0
    call.say(lies)
    call.say(f"Look around with `tankdash --site {path}`.", "")
    call.say_all(level_lines(call.site, levels))
    return 0


COMMANDS = (
    Command(
        "demo",
        "a built-in site with a season of invented history",
        "Lays out an invented garden with a season of history, dated up to now, in a folder of its "
        "own, tells you where, and opens the screen on it. In a pipe, or with --json, it "
        "prints the folder and the levels instead. A demo laid out before is opened again as you left "
        "it.",
        ("tankdash demo", "tankdash demo --folder play", "tankdash demo --json"),
        _demo,
        _demo_arguments,
    ),
)
