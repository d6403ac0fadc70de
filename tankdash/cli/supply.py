"""The command that looks ahead: how long the water lasts, away or at home, and through the rain of past years."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.describing import litres
from tankdash.cli.options import Together, add_at
from tankdash.cli.text import table, wrapped
from tankdash.cli.typed import UsageError, whole_number

if TYPE_CHECKING:
    from tankdash.planning.ensemble import Ensemble
    from tankdash.planning.outlook import Outlook

PLOT_WIDTH, PLOT_HEIGHT = 78, 12
"""Size of the plot of past years, which fits a plain terminal and paper, [cells]."""


def _supply_arguments(parser: argparse.ArgumentParser) -> None:
    add_at(parser)
    parser.add_argument(
        "--away", metavar="DAYS", help="whether it lasts so many days without you, and the chores, such as 11"
    )
    parser.add_argument(
        "--leave-open", metavar="OUTLET", help="with --away: that outlet stays open meanwhile, such as tap"
    )
    parser.add_argument(
        "--forecast",
        nargs="+",
        action=Together,
        metavar="DEPTH",
        help="the room to make before a rain of that depth, such as 20mm or 0.8in",
    )
    past = parser.add_argument_group("past years")
    past.add_argument(
        "--station", metavar="NAME", help="whose past rain, if not the longest record, such as village"
    )
    past.add_argument(
        "--days", metavar="N", default="365", help="how many days ahead they are run, 1 to 366 (default 365)"
    )


def _supply(call: Call) -> int:
    from tankdash.planning.outlook import outlook

    args, desk = call.args, call.desk
    site = desk.site
    ahead = whole_number(args.days, "--days", 1, 366)
    if args.leave_open is not None and args.away is None:
        raise UsageError("--leave-open goes with --away: write --away 11 --leave-open tap.")
    found = outlook(desk, call.at, station=args.station, days=ahead)
    answer = found.as_json()
    lines = supply_lines(found)
    if args.away is not None:
        more, told = _away(call, found)
        answer["away"] = more
        lines += ["", *told]
    if args.forecast is not None:
        from tankdash.planning.absence import room_before
        from tankdash.planning.telling import room_words
        from tankdash.units import parse_rain

        rain = parse_rain(args.forecast, site.units)
        if rain.high_mm is None:
            raise UsageError("A forecast needs an upper end: write it as --forecast 20mm or 15-25mm.")
        room = room_before(desk, call.at, rain)
        answer["forecast"] = room.as_json()
        lines += ["", *wrapped(room_words(room, site.units))]
    if call.wants_json:
        call.give(answer)
    else:
        call.say_all(lines)
    return 0


def supply_lines(found: Outlook) -> list[str]:
    """Return what `supply` prints about the water, the outlets and beds, and past years."""
    from tankdash.planning.telling import (
        credit_words,
        emitter_words,
        lasting_words,
        unknown_need_words,
        usable_words,
    )

    site = found.site
    known = found.supply
    lines = [f"{site.name}, {found.at:%Y-%m-%d %H:%M}", ""]
    if known is None:
        lines.append("No dip yet: dip one tank to know how long the water lasts.")
        return [*lines, "", *_head_lines(found)] if found.heads else lines
    together = known.together
    lines.append(usable_words(together, site.units, is_low_end=found.is_low_end))
    lines += wrapped(f"All beds together: {lasting_words(together, found.today, site.units)}.")
    rows = [
        (f"{key} ({'pump' if found.layout.outlets[key].kind == 'pump' else 'tap'})", one)
        for key, one in known.outlets.items()
    ] + [(f"{key} (bed)", one) for key, one in known.beds.items() if key not in found.unknown_needs]
    if rows:
        lines.append("")
        lines += table(
            ("alone", "reaches it", "a day", "full days", "last full day"),
            [
                (
                    name,
                    litres(site, one.usable * 1000.0),
                    litres(site, one.need * 1000.0),
                    "no end" if one.full_days is None else one.full_days,
                    "-" if one.last_full_day is None else one.last_full_day,
                )
                for name, one in rows
            ],
            right=(1, 2, 3),
        )
    for key in found.unknown_needs:
        lines += wrapped(unknown_need_words(key), "! ", "  ")
    for key in found.site.beds:
        now, full = found.flows(key)
        if full is not None:
            lines.append(emitter_words(key, now, full, site.units))
    for key, credit in known.credit.items():
        if told := credit_words(key, credit / found.site.beds[key].efficiency, site.units):
            lines.append(told)
    lines += ["", *_head_lines(found)]
    lines += ["", *wrapped(known.assumes)]
    if found.chance is not None:
        lines += ["", *_chance_lines(found, found.chance)]
    return lines


def _head_lines(found: Outlook) -> list[str]:
    """Return the head at each outlet and bed, and what must stay off."""
    from tankdash.planning.telling import head_words, locked_words

    lines = ["Head by gravity, pipe losses left out"]
    for key, head in found.heads.items():
        text = head_words(head, found.site.units)
        lines += wrapped(f"{key.removeprefix('bed:')}: {text}", "  ", "    ")
    for key, since in found.locked.items():
        lines.append(f"! {locked_words(key, found.site, since)}")
    return lines


def _chance_lines(found: Outlook, chance: Ensemble) -> list[str]:
    from tankdash.planning.telling import chance_lines

    site = found.site
    lines = []
    for sentence in chance_lines(chance, found.station or "", site.units):
        lines += wrapped(sentence)
    return [*lines, "", *plot_of(chance, found)]


def plot_of(chance: Ensemble, found: Outlook) -> list[str]:
    """Return the usable water of all past years as lines of text: the middle, the middle half, and the rest."""
    from tankdash.drawing.bands import bands, spreads
    from tankdash.drawing.canvas import as_text

    units = found.site.units
    top = max(found.levels.totals.usable_full_l / 1000.0, *chance.band(1.0))
    if top <= 0.0:
        return []
    rows = bands(
        spreads(chance.start, *(chance.band(share) for share in (0.0, 0.25, 0.5, 0.75, 1.0))),
        PLOT_WIDTH,
        PLOT_HEIGHT,
        top,
        litres(found.site, top * 1000.0),
        ascii=True,
        zero_text="0 L" if units == "metric" else "0",
    )
    return [*as_text(rows).split("\n"), "= middle year, # the middle half of the years, : all years"]


def _away(call: Call, found: Outlook) -> tuple[dict[str, Any], list[str]]:
    """Return what an absence means for water and chores, as JSON and as lines."""
    from tankdash.keeping.chores.away import away_plan
    from tankdash.keeping.entering.naming import find_standing
    from tankdash.planning.telling import absence_words, away_lines, left_open_words

    args, site = call.args, call.site
    days = whole_number(args.away, "--away", 1, 1000)
    plan = away_plan(site, call.desk.entries(), call.at, days, call.desk.usable_share(call.at))
    left_open = args.leave_open
    if left_open is not None:
        left_open = find_standing("outlet", "outlet", left_open, site.outlets, site, call.at)
    lines: list[str] = []
    answer: dict[str, Any] = {"water": None, **plan.as_json()}
    absence = found.absence(days, left_open)
    if absence is None:
        lines.append("Whether the water lasts is unknown: dip one tank first.")
    else:
        answer["water"] = absence.as_json()
        lines += wrapped(absence_words(absence, site.units))
        if absence.left_open is not None:
            label = site.outlets[absence.left_open.outlet].label
            lines += wrapped(left_open_words(absence, label, site.units))
    for line in away_lines(plan):
        lines += wrapped(line[4:], "  - ", "    ") if line.startswith("  - ") else [line]
    return answer, lines


COMMANDS = (
    Command(
        "supply",
        "how long the water lasts",
        "Days left and the last full day, for all beds together and for each outlet and bed alone, with the head at "
        "each of them. Only water that can reach an outlet, and stands high enough for a bed, counts; no rain is "
        "assumed; recent rain on a bed is taken off its need.\n\n"
        "Where past rain was imported (`tankdash import FILE --history`), today's water is also run through each of "
        "those years from today's date on: one store, a daily step, yield after spillage. --away tells whether the "
        "water lasts and which chores to do before and on return; --forecast the room to make before rain.",
        (
            "tankdash supply",
            "tankdash supply --away 11",
            "tankdash supply --away 11 --leave-open tap",
            "tankdash supply --forecast 20mm",
            "tankdash supply --station village --days 90 --json",
        ),
        _supply,
        _supply_arguments,
    ),
)
