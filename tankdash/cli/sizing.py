"""The command that tells what more storage or more roof would bring, from years of daily rain."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from contextlib import contextmanager
from typing import TYPE_CHECKING

from tankdash.cli.call import Call
from tankdash.cli.command import Command, UsageError, words
from tankdash.cli.describing import litres
from tankdash.cli.exchanging import add_sheet_options, sheet_rules
from tankdash.cli.text import table, wrapped

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
        "--rain", metavar="FILE", help="daily rain from a sheet or a GHCN-Daily file, not imported"
    )
    parser.add_argument("--station", metavar="NAME", help="whose past rain, where there are several")
    parser.add_argument(
        "--add-tank",
        nargs="+",
        action="extend",
        metavar="VOLUME",
        help="tanks to add one after the other; several of the usual size unless told",
    )
    parser.add_argument(
        "--roof", nargs="+", metavar="AREA", help="another plan area in all, beside the present one"
    )
    parser.add_argument(
        "--rule", choices=("YAS", "YBS"), default="YAS", help="yield after spillage (default), or before it"
    )
    add_sheet_options(parser)


def _size(call: Call) -> int:
    from dataclasses import replace

    from tankdash.planning.choices import NoRecord, sizing
    from tankdash.units import parse_area, parse_volume

    args, site = call.args, call.desk.site
    added = [parse_volume(text, site.units) for text in quantities(args.add_tank or [])]
    if any(volume <= 0.0 for volume in added):
        raise UsageError("A tank to add holds more than nothing: write it as --add-tank 1000L.")
    area = parse_area(words(args.roof)) if args.roof else None
    if area is not None and area <= 0.0:
        raise UsageError("A roof has more than no area: write it as --roof 40 m2.")
    record, left_out = _record(call)
    standing = call.desk.standing(call.now)
    # A bung or a winter state of today is not for years: every roof of the file counts.
    roofs = site.layout(call.now.astimezone(site.zone).date()).roofs
    layout = replace(standing.layout, roofs=roofs)
    try:
        with progress_shown() as progress:
            answer = sizing(
                site, layout, record, added=added, roof_area=area, rule=args.rule, progress=progress
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

    from tankdash.planning.past import choose, from_days, past_rains

    if call.args.rain is None:
        found = choose(past_rains(call.desk, call.now), call.args.station)
        if found is None:
            raise UsageError(
                "There is no past rain yet: bring some in with `tankdash import FILE --history`, or name a file with"
                " --rain FILE."
            )
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
    from tankdash.units import format_area

    site, record = call.site, answer.record
    years = answer.choices[0].result.years
    missing = f"; {record.missing} missing days taken as dry" if record.missing else ""
    lines = wrapped(f"Rain of {record.station}, {record.first} to {record.last}, {years:.1f} years{missing}.")
    lines.append(f"The beds ask these tanks for {litres(site, answer.need_per_year * 1000.0)} a year.")
    if answer.tank is not None:
        lines.append(f"Each tank added holds {litres(site, answer.tank * 1000.0)}.")
    caught = dict(answer.caught_per_year)
    for area in answer.roofs:
        rows = [
            (
                choice.name,
                litres(site, choice.result.storage * 1000.0),
                f"{100.0 * choice.result.volume_reliability:.1f} %",
                f"{100.0 * choice.result.day_reliability:.1f} %",
                f"{choice.result.dry_days_per_year:.0f}",
                litres(site, choice.result.spilled_per_year * 1000.0),
            )
            for choice in answer.of_roof(area)
        ]
        brings = litres(site, caught[area] * 1000.0)
        heads = ("storage", "usable", "of the water", "of the days", "dry days", "spilled")
        lines += ["", f"{format_area(area, site.units)} of roof, which brings {brings} a year:"]
        lines += table(heads, rows, right=(1, 2, 3, 4, 5))
        lines += wrapped(answer.knee(area))
    lines += ["", *_curve_lines(call, answer)]
    what = "after" if answer.rule == "YAS" else "before"
    lines += wrapped(
        f"A daily step, yield {what} spillage ({answer.rule}), begun empty; `of the water` is the share of the litres "
        "wanted, `of the days` the share of days served in full; dry days and spill are a year. Rain on the beds is "
        "taken off their need; first-flush pipes are taken as emptied; an added tank as standing level. Before buying: "
        "a full tank weighs a tonne or more, and some codes ask for a permit."
    )
    return lines


def _curve_lines(call: Call, answer: Sizing) -> list[str]:
    """Return the storage that serves most days, by the curve under the present roof."""
    parts = []
    for share in (0.8, 0.9, 0.95, 0.99):
        enough = [one for one in answer.curve if one.day_reliability >= share]
        if not enough:
            top = litres(call.site, answer.curve[-1].storage * 1000.0)
            parts.append(f"{100 * share:.0f} % by none up to {top}")
            break
        parts.append(f"{100 * share:.0f} % by {litres(call.site, enough[0].storage * 1000.0)}")
    return wrapped(f"Days served in full: {', '.join(parts)}.") if answer.curve else []


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
