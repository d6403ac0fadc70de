"""The command that tells what a storm asks of links, overflows and pipes, and what they can."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tankdash.cli.call import Call
from tankdash.cli.command import Command, UsageError, words
from tankdash.cli.describing import litres
from tankdash.cli.text import table, wrapped

if TYPE_CHECKING:
    from tankdash.planning.storms import StormReport
    from tankdash.water.storm import StormRun


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
    from tankdash.keeping.state.words import span_in_words

    return span_in_words(seconds)


COMMANDS = (
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
)
