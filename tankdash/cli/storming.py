"""The command that tells what a storm asks of links, overflows and pipes, and what they can."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.options import Together, add_at
from tankdash.cli.text import table, wrapped
from tankdash.cli.typed import UsageError

if TYPE_CHECKING:
    from tankdash.planning.storms import StormReport


def _storm_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--rate",
        nargs="+",
        action=Together,
        metavar="RATE",
        help="how hard it rains, such as 60 mm/h or 4 in/h (default 100 mm/h)",
    )
    parser.add_argument("--from-now", action="store_true", help="begin with what the tanks hold, not empty")
    add_at(parser)


def _storm(call: Call) -> int:
    from tankdash.planning.storms import USUAL_RATE_MM_H, storm_report
    from tankdash.units import parse_rain_rate

    args, site = call.args, call.site
    rate = parse_rain_rate(args.rate, site.units) if args.rate is not None else USUAL_RATE_MM_H
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
    from tankdash.planning import storm_words as told

    units = call.site.units
    lines = wrapped(told.brings_words(report, units))
    if links := told.links_carried(report, units):
        rows = [(one.key, one.must, one.can, one.takes, one.there_is, _shouted(one.verdict)) for one in links]
        heads = ("link", "must carry", "can carry", "head it takes", "head there is", "")
        lines += ["", *table(heads, rows, right=(1, 2, 3, 4))]
    if overflows := told.overflows_carried(report, units):
        over = [(one.key, one.must, one.can, _shouted(one.verdict)) for one in overflows]
        lines += ["", *table(("overflow", "must pass", "can pass", ""), over, right=(1, 2))]
    for sentence in (told.idle_words(report), *told.flush_words(report)):
        lines += wrapped(sentence) if sentence else []
    lines += ["", *wrapped(told.capacity_words(report, units))]
    lines += wrapped(told.first_spill_words(report)) if report.inflow else []
    lines += [line for sentence in told.bank_words(report, units) for line in wrapped(sentence, "  ", "    ")]
    for sentence, mark in (
        (told.half_hour_words(report.half_hour, units), ""),
        (told.unmeasured_words(report), "! "),
        (told.settle_words(report), ""),
        (told.DOUBT, ""),
    ):
        lines += wrapped(sentence, mark, "  " if mark else "") if sentence else []
    return lines


def _shouted(verdict: str) -> str:
    return verdict.upper() if verdict in ("too narrow", "passes nothing") else verdict


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
