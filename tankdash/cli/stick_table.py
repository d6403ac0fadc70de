"""The command that prints the stick table of a tank, or writes it as a page."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.options import Together, add_at
from tankdash.cli.pages import add_overwrite, write_page
from tankdash.cli.text import table, wrapped
from tankdash.cli.typed import UsageError

if TYPE_CHECKING:
    from tankdash.planning.paper import StickSheet


def _stick_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tank", metavar="TANK", help="the tank that is dipped, such as north")
    parser.add_argument(
        "--step",
        nargs="+",
        action=Together,
        metavar="LENGTH",
        help="from line to line, such as 5 cm (default 1 cm, or 1/2 in)",
    )
    parser.add_argument("--html", metavar="FILE", help="write it as a page to print, such as north.html")
    add_overwrite(parser)
    add_at(parser, "for the garden as it stands then")


def _stick(call: Call) -> int:
    from tankdash.keeping.entering.naming import find_standing
    from tankdash.planning.paper import stick_page, stick_sheet, written_words
    from tankdash.units import parse_length

    args, site = call.args, call.site
    key = find_standing("tank", "tank", args.tank, site.tanks, site, call.at)
    step = parse_length(args.step, site.units) if args.step is not None else None
    day = call.at.astimezone(site.zone).date()
    try:
        sheet = stick_sheet(site, call.desk.standing(call.at).layout, key, day, step)
    except ValueError as refused:
        raise UsageError(str(refused)) from refused
    if args.html is not None:
        write_page(call, args.html, stick_page(sheet))
    if call.wants_json:
        call.give(sheet.as_json())
    elif args.html is None:
        call.say_all(_stick_lines(sheet))
    else:
        call.say(written_words(f"{args.html}, {len(sheet.rows)} lines"))
    return 0


def _stick_lines(sheet: StickSheet) -> list[str]:
    lines = [f"{sheet.site.name}: stick table of {sheet.site.tanks[sheet.tank].label}"]
    lines += wrapped(f"{sheet.how_read} {sheet.slope_words}")
    lines += ["", *table(sheet.heads, sheet.cells(), right=(0, 1, 2)), ""]
    return lines + wrapped(sheet.base_words)


COMMANDS = (
    Command(
        "stick",
        "the stick table of a tank",
        "What each reading of one tank's stick means for all the tanks together, from its floor to where the water "
        "spills, read the way the site file says it is dipped. Where a tank is cut off below a link, its water is "
        "a range. --html writes a page to print and tape to the tank.",
        (
            "tankdash stick north",
            "tankdash stick north --step 5 cm",
            "tankdash stick north --html north.html",
        ),
        _stick,
        _stick_arguments,
    ),
)
