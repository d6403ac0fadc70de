"""The command that tells what more storage or more roof would bring, from years of daily rain."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from contextlib import contextmanager
from typing import TYPE_CHECKING

from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.exchanging import add_sheet_options, sheet_rules
from tankdash.cli.options import Together
from tankdash.cli.text import table, wrapped
from tankdash.cli.typed import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tankdash.planning.choices import Sizing
    from tankdash.planning.past import PastRain
    from tankdash.units import Depths

WORTH_SHOWING = 1.0
"""A run shorter than this shows no progress, [s]."""
MOST_LEFT_OUT = 3
"""Rows left out that are named one by one."""


def _size_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--rain",
        metavar="FILE",
        help="daily rain from a file such as village.csv, not from what was imported",
    )
    parser.add_argument(
        "--station", metavar="NAME", help="whose past rain, where there are several, such as village"
    )
    parser.add_argument(
        "--add-tank",
        nargs="+",
        action="extend",
        metavar="VOLUME",
        help="tanks to add one after the other, such as 1000L 640L; several of the usual size unless told",
    )
    parser.add_argument(
        "--roof",
        nargs="+",
        action=Together,
        metavar="AREA",
        help="another plan area in all, beside the present one, such as 40 m2 or 430 sq ft",
    )
    parser.add_argument(
        "--rule", choices=("YAS", "YBS"), default="YAS", help="yield after spillage (default), or before it"
    )
    add_sheet_options(parser)


def _size(call: Call) -> int:
    from tankdash.planning.choices import NoRecord, lasting_layout, sizing
    from tankdash.units import parse_area, parse_volume

    args, site = call.args, call.desk.site
    added = [parse_volume(text, site.units) for text in quantities(args.add_tank or [])]
    if any(volume <= 0.0 for volume in added):
        raise UsageError("A tank to add holds more than nothing: write it as --add-tank 1000L.")
    area = parse_area(args.roof) if args.roof is not None else None
    if area is not None and area <= 0.0:
        raise UsageError("A roof has more than no area: write it as --roof 40 m2.")
    record, left_out = _record(call)
    try:
        with progress_shown() as progress:
            answer = sizing(
                site,
                lasting_layout(call.desk, call.now),
                record,
                added=added,
                roof_area=area,
                rule=args.rule,
                progress=progress,
            )
    except NoRecord as refused:
        raise UsageError(str(refused)) from refused
    if call.wants_json:
        call.give({**answer.as_json(), "left_out": left_out})
        return 0
    call.say_all(line for sentence in left_out[:MOST_LEFT_OUT] for line in wrapped(sentence, "! ", "  "))
    if len(left_out) > MOST_LEFT_OUT:
        call.say(f"! {len(left_out) - MOST_LEFT_OUT} more rows are left out; --json lists them.")
    call.say_all(size_lines(call, answer))
    return 0


def quantities(typed: list[str]) -> list[str]:
    """Return quantities that may have been typed unquoted, one text each.

    Examples
    --------
    >>> quantities(["1000", "L", "275", "US", "gal", "640L"])
    ['1000 L', '275 US gal', '640L']
    """
    found: list[str] = []
    for word in typed:
        begins = word[:1].isdigit() or word[:1] in ".,"
        if not found or (begins and any(character.isalpha() for character in found[-1])):
            found.append(word)
        else:
            found[-1] += f" {word}"
    return found


def _record(call: Call) -> tuple[PastRain, list[str]]:
    """Return the daily rain, of the file named, else of the journal, and which rows of it are left out."""
    from pathlib import Path

    from tankdash.planning.past import NO_PAST_RAIN, choose, from_days, past_rains

    if call.args.rain is None:
        found = choose(past_rains(call.desk, call.now), call.args.station)
        if found is None:
            raise UsageError(f"{NO_PAST_RAIN[:-1]}, or name a file with --rain FILE.")
        return found, []
    from tankdash.journal.daily import read_sheet
    from tankdash.journal.ghcn import is_ghcn, plan_ghcn

    path = Path(call.args.rain)
    if is_ghcn(path):
        plan = plan_ghcn(path, call.args.station, None, call.now)
        days = [(value.day, value.low) for value in plan.values if value.element == "rain"]
        return from_days(plan.name, days), []
    sheet = read_sheet(path, sheet_rules(call))
    left_out = [f"{path}:{one.line}: {one.sentence}; the row is left out." for one in sheet.doubts.kept]
    return from_days(path.name, [(row.day, _middle(row.depths)) for row in sheet.days]), left_out


def _middle(depths: Depths) -> float:
    """Return the middle of a reading's range, its lower bound when it has no upper one, [mm]."""
    return depths.low_mm if depths.high_mm is None else (depths.low_mm + depths.high_mm) / 2.0


@contextmanager
def progress_shown() -> Iterator[Callable[[float], bool] | None]:
    """Show how far a long run is on a terminal's last line, and clear it however the run ends."""
    if not sys.stderr.isatty():
        yield None
        return
    begun, shown = time.monotonic(), False

    def tell(share: float) -> bool:
        nonlocal shown
        if time.monotonic() - begun > WORTH_SHOWING:
            shown = True
            sys.stderr.write(f"\rrunning the years: {100.0 * share:3.0f} %  (Ctrl-C stops)")
            sys.stderr.flush()
        return True

    try:
        yield tell
    finally:
        if shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()


def size_lines(call: Call, answer: Sizing) -> list[str]:
    """Return what `size` prints."""
    from tankdash.planning import size_words as told

    units = call.site.units
    lines = wrapped(told.record_words(answer)) + wrapped(told.need_words(answer, units))
    if answer.tank is not None:
        lines += wrapped(told.added_words(answer, units))
    for area in answer.roofs:
        rows = [told.choice_cells(choice, units) for choice in answer.of_roof(area)]
        lines += ["", *wrapped(told.roof_words(answer, area, units))]
        lines += table(told.HEADS, rows, right=(1, 2, 3, 4, 5))
        lines += wrapped(answer.knee(area))
    served = told.served_words(answer.curve, units)
    lines += ["", *(wrapped(served) if served else []), *wrapped(told.assumed_words(answer))]
    return lines


COMMANDS = (
    Command(
        "size",
        "what more storage or roof would bring",
        "Runs the garden's beds and roofs through years of daily rain, as the tanks are and with tanks added one by "
        "one, and says how much of the water and how many days each serves, what is spilled, and where more stops "
        "being worth much. The rain is what was imported as history, or a file: a sheet with one row a day, or "
        "GHCN-Daily. One store, a daily step, yield after spillage unless --rule YBS.",
        (
            "tankdash size",
            "tankdash size --rain village.csv --add-tank 1000L 1000L",
            "tankdash size --roof 40 m2 --rule YBS --json",
        ),
        _size,
        _size_arguments,
    ),
)
