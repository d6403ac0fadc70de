"""Commands that look ahead: how long the water lasts, what a storm does, and the stick table."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from tankdash.cli.call import Call
from tankdash.cli.command import Command, UsageError, words
from tankdash.cli.describing import litres
from tankdash.cli.pages import add_overwrite, write_page
from tankdash.cli.text import table, wrapped

if TYPE_CHECKING:
    from tankdash.planning.ensemble import Ensemble
    from tankdash.planning.outlook import Outlook
    from tankdash.planning.paper import StickSheet
    from tankdash.planning.storms import StormReport
    from tankdash.water.storm import StormRun

PLOT_WIDTH, PLOT_HEIGHT = 78, 12
"""Size of the plot of past years, which fits a plain terminal and paper, [cells]."""


# Supply


def _supply_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--at", metavar="TIME", help="the time asked about, if not now")
    parser.add_argument(
        "--away", metavar="DAYS", help="whether it lasts so many days without you, and the chores"
    )
    parser.add_argument(
        "--leave-open", metavar="OUTLET", help="with --away: that outlet stays open meanwhile"
    )
    parser.add_argument(
        "--forecast", nargs="+", metavar="DEPTH", help="the room to make before a rain of that depth"
    )
    past = parser.add_argument_group("past years")
    past.add_argument("--station", metavar="NAME", help="whose past rain, if not the longest record")
    past.add_argument(
        "--days", metavar="N", default="365", help="how far ahead they are run, 1 to 366 (default 365)"
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
    if args.forecast:
        from tankdash.planning.absence import room_before
        from tankdash.planning.telling import room_words
        from tankdash.units import parse_rain

        rain = parse_rain(words(args.forecast), site.units)
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


def whole_number(text: str, option: str, least: int, most: int) -> int:
    """Return a whole number as typed for an option; `11 days` is understood too."""
    plain = text.strip().lower().removesuffix("days").removesuffix("day").strip()
    if not (plain.isascii() and plain.isdigit() and len(plain) < 9 and least <= int(plain) <= most):
        raise UsageError(f"{option} needs a whole number from {least} to {most}, not {text!r}.")
    return int(plain)


def supply_lines(found: Outlook) -> list[str]:
    """Return what `supply` prints about the water, the outlets and beds, and past years."""
    from tankdash.planning.telling import lasting_words
    from tankdash.units import format_flow

    site = found.site
    known = found.supply
    lines = [f"{site.name}, {found.at:%Y-%m-%d %H:%M}", ""]
    if known is None:
        lines.append("No dip yet: dip one tank to know how long the water lasts.")
        return [*lines, "", *_head_lines(found)] if found.heads else lines
    together = known.together
    usable = litres(site, together.usable * 1000.0)
    at_least = "at least " if found.is_low_end else ""
    lines.append(
        f"Usable now {at_least}{usable}; the beds ask for {litres(site, together.need * 1000.0)} a day."
    )
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
        lines += wrapped(
            f"The need of {key} is not known and not counted: type `low:` and `high:` of the twelve months under "
            "`climate:`, or import a year of temperatures with GHCN-Daily.",
            "! ",
            "  ",
        )
    for key in found.site.beds:
        now, full = found.flows(key)
        if full is not None:
            told = "unknown" if now is None else format_flow(now, site.units)
            lines.append(f"The emitters of {key} give {told} now, {format_flow(full, site.units)} when full.")
    for key, credit in known.credit.items():
        if credit > 5e-4:
            lines.append(f"Recent rain still covers {litres(site, credit * 1000.0)} of {key}.")
    lines += ["", *_head_lines(found)]
    lines += ["", *wrapped(known.assumes)]
    if found.chance is not None:
        lines += ["", *_chance_lines(found, found.chance)]
    return lines


def _head_lines(found: Outlook) -> list[str]:
    """Return the head at each outlet and bed, and what must stay off."""
    from tankdash.keeping.words import moment_in_words
    from tankdash.planning.telling import head_words

    lines = ["Head by gravity, pipe losses left out"]
    for key, head in found.heads.items():
        bed = found.site.beds.get(key.removeprefix("bed:")) if key.startswith("bed:") else None
        text = head_words(head, found.site.units, None if bed is None else bed.height)
        lines += wrapped(f"{key.removeprefix('bed:')}: {text}", "  ", "    ")
    for key, since in found.locked.items():
        when = f" since {moment_in_words(found.site, since)}" if since is not None else ""
        lines.append(f"! {key} is locked out{when}: it must stay off.")
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
    from tankdash.keeping.away import away_plan
    from tankdash.keeping.naming import find_standing
    from tankdash.planning.absence import away
    from tankdash.planning.telling import absence_words, away_lines, left_open_words

    args, site = call.args, call.site
    days = whole_number(args.away, "--away", 1, 1000)
    plan = away_plan(site, call.desk.entries(), call.at, days, call.desk.usable_share(call.at))
    left_open = args.leave_open
    if left_open is not None:
        left_open = find_standing("outlet", "outlet", left_open, site.outlets, site, call.at)
    elif found.levels.standing.open_taps:
        left_open = found.levels.standing.open_taps[0].outlet
    lines: list[str] = []
    answer: dict[str, Any] = {"water": None, **plan.as_json()}
    if found.supply is None:
        lines.append("Whether the water lasts is unknown: dip one tank first.")
    else:
        credit = found.supply.credit
        absence = away(site, found.layout, found.contents, found.today, days, credit, left_open)
        answer["water"] = absence.as_json()
        lines += wrapped(absence_words(absence, site.units))
        if left_open is not None:
            lines += wrapped(left_open_words(absence, site.outlets[left_open].label, site.units))
    for line in away_lines(plan):
        lines += wrapped(line[4:], "  - ", "    ") if line.startswith("  - ") else [line]
    return answer, lines


# Storm


def _storm_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--rate", nargs="+", metavar="RATE", help="how hard it rains: 100 mm/h unless told, 4 in/h"
    )
    parser.add_argument("--from-now", action="store_true", help="begin with what the tanks hold, not empty")
    parser.add_argument("--at", metavar="TIME", help="the time asked about, if not now")


def _storm(call: Call) -> int:
    from tankdash.planning.storms import USUAL_RATE_MM_H, storm_report
    from tankdash.units import parse_rain_rate

    args, site = call.args, call.site
    rate = parse_rain_rate(words(args.rate), site.units) if args.rate else USUAL_RATE_MM_H
    standing = call.desk.standing(call.at)
    contents = None
    if args.from_now:
        if standing.basis == "none":
            raise UsageError("--from-now needs to know the water: dip one tank first.")
        from tankdash.planning.outlook import counted_contents

        contents = counted_contents(call.desk.levels(call.at))
    report = storm_report(standing.layout, rate, site.accuracy, contents)
    if call.wants_json:
        call.give(report.as_json())
    else:
        call.say_all(_storm_lines(call, report))
    return 0


def _storm_lines(call: Call, report: StormReport) -> list[str]:
    from tankdash.units import format_flow, format_length, format_rain

    site = call.site
    units = site.units

    def flow(rate: float | None) -> str:
        return "not measured" if rate is None else format_flow(rate, units)

    brings = ", ".join(
        f"{format_flow(rate, units)} into {tank}" for tank, rate in report.inflow.items() if rate > 0.0
    )
    lines = [
        f"Rain of {format_rain(report.rate_mm_h, units)} an hour brings {brings or 'nothing: no roof is open'}."
    ]
    if report.links:
        rows = [
            (
                key,
                flow(load.must),
                flow(load.carries),
                "-" if load.head is None else format_length(load.head, units),
                format_length(load.available, units),
                "TOO NARROW" if load.is_short else "unknown" if load.carries is None else "enough",
            )
            for key, load in report.links.items()
        ]
        heads = ("link", "must carry", "can carry", "head it takes", "head there is", "")
        lines += ["", *table(heads, rows, right=(1, 2, 3, 4))]
    if report.overflows:
        over = [
            (
                key,
                flow(load.must),
                flow(load.carries),
                "TOO NARROW" if load.is_short else "unknown" if load.carries is None else "enough",
            )
            for key, load in report.overflows.items()
        ]
        lines += ["", *table(("overflow", "must pass", "can pass", ""), over, right=(1, 2))]
    for key, flush in report.flushes.items():
        if flush.fills_in is not None:
            lines.append(f"The first-flush pipe of {key} is full after {span(flush.fills_in)}.")
    lines += ["", *_capacity_lines(call, report)]
    if report.settle is None:
        lines.append(
            "How long the links need to level afterwards is unknown: a bore or a run was never measured."
        )
    elif report.settle > 0.0:
        lines.append(f"Wait {span(report.settle)} after it before a dip is good again.")
    lines += wrapped(
        "Flow figures carry about a third of doubt in a real garden. Lead overflow water away from walls, and ask "
        "about your local code before you change a downpipe."
    )
    return lines


def _capacity_lines(call: Call, report: StormReport) -> list[str]:
    site, run = call.site, report.run
    begun = "empty tanks" if report.is_from_empty else "what the tanks hold now"
    static, storm = (litres(site, part * 1000.0) for part in (report.static_capacity, report.storm_capacity))
    lines = wrapped(
        f"Begun with {begun}: filled slowly they take {static} (static capacity); in this rain {storm} before the "
        "first is lost (storm capacity)."
    )
    if run.first_to_spill is not None and run.first_spill_at is not None:
        lines.append(f"First to spill: {run.first_to_spill}, after {span(run.first_spill_at)}.")
    elif report.inflow:
        lines.append("Nothing spills.")
    for bank in report.banks:
        static, storm = (litres(site, part * 1000.0) for part in (bank.static_capacity, bank.storm_capacity))
        lines += wrapped(
            f"{', '.join(bank.tanks)} alone: {static} slowly, {storm} in this rain.", "  ", "    "
        )
    lines += _half_hour_lines(call, report.half_hour)
    if run.unmeasured:
        lines += wrapped(
            f"Taken as passing nothing, because bore or run was never measured: {', '.join(run.unmeasured)}.",
            "! ",
            "  ",
        )
    return lines


def _half_hour_lines(call: Call, run: StormRun) -> list[str]:
    lost = sum(run.spilled.values())
    if lost <= 5e-4:
        return []
    while_room = ""
    if run.spilled_with_room > 5e-4:
        while_room = (
            f", {litres(call.site, run.spilled_with_room * 1000.0)} of it while others still have room"
        )
    return wrapped(f"Half an hour of it loses {litres(call.site, lost * 1000.0)}{while_room}.")


def span(seconds: float) -> str:
    """Return a length of time in words."""
    from tankdash.keeping.words import span_in_words

    return span_in_words(seconds)


# Stick table


def _stick_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tank", metavar="TANK", help="the tank that is dipped")
    parser.add_argument(
        "--step", nargs="+", metavar="LENGTH", help="from line to line: 1 cm, or 1/2 in, unless told"
    )
    parser.add_argument("--html", metavar="FILE", help="write it as a page to print, too")
    add_overwrite(parser)
    parser.add_argument("--at", metavar="TIME", help="for the garden as it stands then, if not now")


def _stick(call: Call) -> int:
    from tankdash.keeping.naming import find_standing
    from tankdash.planning.stick import stick_table
    from tankdash.units import parse_length

    args, site = call.args, call.site
    key = find_standing("tank", "tank", args.tank, site.tanks, site, call.at)
    usual = 0.01 if site.units == "metric" else 0.0127
    step = parse_length(words(args.step), site.units) if args.step else usual
    layout = call.desk.standing(call.at).layout
    try:
        rows = stick_table(layout, key, site.tanks[key].dip, step)
    except ValueError as refused:
        raise UsageError(str(refused)) from refused
    from tankdash.planning.paper import StickSheet, stick_page

    sheet = StickSheet(site, key, tuple(rows), call.at.astimezone(site.zone).date(), layout)
    if args.html is not None:
        write_page(call, args.html, stick_page(sheet))
    if call.wants_json:
        call.give(sheet.as_json())
    elif args.html is None:
        call.say_all(_stick_lines(sheet))
    else:
        call.say(f"Written: {args.html}, {len(rows)} lines. Open it in a browser and print it.")
    return 0


def _stick_lines(sheet: StickSheet) -> list[str]:
    lines = [f"{sheet.site.name}: stick table of {sheet.site.tanks[sheet.tank].label}"]
    lines += wrapped(f"{sheet.how_read} {sheet.slope_words}")
    lines += ["", *table(("stick", "all tanks", "usable"), sheet.cells(), right=(0, 1, 2)), ""]
    return lines + wrapped(sheet.base_words)


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
    Command(
        "storm",
        "what a storm asks of links and overflows",
        "For steady rain: what each link and overflow must pass and can, the head each link takes, how soon a "
        "first-flush pipe is full, which tank spills first, and how long to wait before a dip is good again. Static "
        "capacity is what the tanks keep of a slow fill, storm capacity what runs in before the first loss. It begins "
        "with empty tanks unless --from-now is given.",
        (
            "tankdash storm",
            "tankdash storm --rate 60 mm/h",
            "tankdash storm --rate '4 in/h' --from-now --json",
        ),
        _storm,
        _storm_arguments,
    ),
    Command(
        "stick",
        "the stick table of a tank",
        "What each reading of one tank's stick means for all the tanks together, from its floor to its lip, read the "
        "way the site file says it is dipped. Where a tank is cut off below a link, its water is a range. --html "
        "writes a page to print and tape to the tank.",
        (
            "tankdash stick north",
            "tankdash stick north --step 5 cm",
            "tankdash stick north --html north.html",
        ),
        _stick,
        _stick_arguments,
    ),
)
