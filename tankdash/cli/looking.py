"""Commands that only look: the water, the chores, the rain and the journal."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.describing import level_lines
from tankdash.cli.noting import entry_json
from tankdash.cli.options import EachTogether, Together, add_at
from tankdash.cli.pages import add_overwrite, write_page
from tankdash.cli.text import plain, table, wrapped
from tankdash.cli.typed import UsageError, given_pairs

if TYPE_CHECKING:
    from tankdash.journal.entries import Dips, Record
    from tankdash.keeping.chores.state import ChoreState


# Levels and try


def _levels_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--dip",
        nargs="+",
        action="extend",
        metavar="TANK=READING",
        help="what if the stick showed this, such as north=60cm or north='31 1/2 in'",
    )
    add_at(parser)


def _dips(call: Call, given: list[str] | None) -> Dips | None:
    """Return the dips of `--dip TANK=READING ...`."""
    if not given:
        return None
    from tankdash.keeping.entering.records import enter_dip

    readings = given_pairs(given, "--dip", "north=60cm", call.tank_names)
    return enter_dip(call.site, call.desk.standing(call.at).layout, readings, call.at)


def _levels(call: Call) -> int:
    dips = _dips(call, call.args.dip)
    if dips is None:
        levels = call.desk.levels(call.at)
    else:
        levels = call.desk.try_out(call.at, [dips])
    if call.wants_json:
        call.give(levels.as_json())
    else:
        call.say_all(level_lines(call.site, levels))
    return 0


def _try_arguments(parser: argparse.ArgumentParser) -> None:
    _levels_arguments(parser)
    parser.add_argument(
        "--rain",
        nargs="+",
        action=Together,
        metavar="DEPTH",
        help="such a rain falls now: 20mm, 0.8in, 15-20mm",
    )
    parser.add_argument(
        "--use",
        nargs="+",
        action=Together,
        metavar="VOLUME",
        help="so much is drawn, such as 100L or '20 US gal'",
    )
    parser.add_argument(
        "--outlet", metavar="ID", help="with --use: from which outlet, where there are several, such as tap"
    )
    parser.add_argument(
        "--pour",
        nargs="+",
        action="extend",
        metavar="TANK=VOLUME",
        help="so much is poured in, such as north=40L",
    )
    parser.add_argument(
        "--set",
        nargs="+",
        action=EachTogether,
        metavar="ITEM=STATE",
        help="something is set as with the command set, such as north-middle=closed; may be repeated",
    )
    parser.add_argument(
        "--flush", choices=("full", "empty"), help="take every first-flush pipe for full, or for empty"
    )


def _try(call: Call) -> int:
    from tankdash.keeping.entering.drawing_off import enter_pour, enter_use
    from tankdash.keeping.entering.setting import enter_set
    from tankdash.units import parse_rain

    args, site = call.args, call.site
    standing = call.desk.standing(call.at)
    records: list[Record] = []
    dips = _dips(call, args.dip)
    if dips is not None:
        records.append(dips)
    for given in args.set or ():
        item, sign, state = given.partition("=")
        if not sign:
            raise UsageError("--set needs an item and its state: write it as --set north-middle=closed.")
        records.append(enter_set(site, item, state, call.at))
    if args.pour:
        for tank, volume in given_pairs(args.pour, "--pour", "north=40L", call.tank_names).items():
            records.append(enter_pour(site, standing, volume, tank))
    rain = parse_rain(args.rain, site.units) if args.rain is not None else None
    if args.use is not None:
        # A pump is held against the water it would then stand in: what is dipped, set, rained and poured comes first.
        if records or rain is not None or args.flush is not None:
            standing = call.desk.try_out(call.at, records, rain, args.flush).standing
        records.append(enter_use(site, standing, args.use, args.outlet))
    elif args.outlet:
        raise UsageError("--outlet goes with --use.")
    if not records and rain is None and args.flush is None:
        raise UsageError("Try what? Give at least one of --dip, --rain, --use, --pour, --set and --flush.")
    levels = call.desk.try_out(call.at, records, rain, args.flush)
    if call.wants_json:
        call.give(levels.as_json())
    else:
        call.say_all(level_lines(site, levels))
    return 0


# Chores


def _chores_arguments(parser: argparse.ArgumentParser) -> None:
    add_at(parser)
    parser.add_argument(
        "--until", metavar="DAY", help="only what is due by that day, such as sunday or 2026-06-30"
    )
    parser.add_argument("--all", action="store_true", help="those that are done or asleep, too")
    parser.add_argument(
        "--html",
        metavar="FILE",
        help="write a sheet to print, with boxes to tick, such as chores.html",
    )
    add_overwrite(parser)


def _chores(call: Call) -> int:
    from tankdash.keeping.chores.due import chores_until
    from tankdash.keeping.when import parse_day

    args = call.args
    if args.until is None:
        states = call.desk.chores(call.at)
    else:
        last = parse_day(args.until, call.site.zone, call.now, ahead=True)
        share = call.desk.usable_share(call.at)
        states = chores_until(call.site, call.desk.entries(), call.at, last, share)
    if args.html is not None:
        from tankdash.planning.paper import chore_page, written_words

        write_page(call, args.html, chore_page(call.site, states, call.at))
    if call.wants_json:
        call.give({"schema": 1, "chores": [state.as_json() for state in states]})
        return 0
    if args.html is not None:
        call.say(written_words(args.html))
        return 0
    listed = [state for state in states if args.all or state.state in ("due", "late", "coming")]
    if not listed:
        call.say("No chore is due or coming.")
        return 0
    for word, title in (
        ("late", "Late"),
        ("due", "Due"),
        ("coming", "Coming"),
        ("done", "Done"),
        ("asleep", "Asleep"),
    ):
        group = [state for state in listed if state.state == word]
        if group:
            call.say(title)
            for state in group:
                call.say_all(_chore_lines(call, state))
    return 0


def _chore_lines(call: Call, state: ChoreState) -> list[str]:
    from tankdash.keeping.when import moment_words

    due = "" if state.due is None else f", due by {moment_words(state.due, call.site.zone, call.now)}"
    text = f"{state.label} ({state.id}){due if state.state != 'done' else ''}: {state.reason}"
    return wrapped(text, "  - ", "    ")


# Rainfall


def _rainfall_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--until", metavar="DAY", help="up to that day, if not today, such as 2026-06-30")


def _rainfall(call: Call) -> int:
    from tankdash.keeping.when import parse_day

    until = call.args.until
    last = None if until is None else parse_day(until, call.site.zone, call.now)
    answer = call.desk.rainfall(call.now, last)
    if call.wants_json:
        call.give({"schema": 1, **plain(answer)})
        return 0
    if not answer["events"] and not answer["months"]:
        call.say("No gauge reading yet: `tankdash rain 12mm` records one.")
        return 0
    call.say("Events")
    rows = [
        (_stamp(event["start"]), _stamp(event["end"]), _rain_words(call, event, "depth_mm"))
        for event in answer["events"][-20:]
    ]
    call.say_all(table(("from", "read", "depth"), rows, right=(2,)))
    call.say("", "Months")
    rows = [
        (month["month"], _rain_words(call, month, "mm"), f"{month['days_read']} of {month['days']}")
        for month in answer["months"]
    ]
    call.say_all(table(("month", "depth", "days read"), rows, right=(1, 2)))
    return 0


def _stamp(text: str) -> str:
    return text[:16].replace("T", " ")


def _rain_words(call: Call, figures: dict[str, Any], key: str) -> str:
    from tankdash.units import format_rain

    units = call.site.units
    depth, low, high = figures[key], figures["low_mm"], figures["high_mm"]
    if depth is None or low is None:
        return "unknown"
    if high is None:
        return f"over {format_rain(low, units)}"
    if high - low < 0.005:
        return format_rain(depth, units)
    return f"{format_rain(low, units)} to {format_rain(high, units)}"


# Log


def _log_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--last", type=int, metavar="N", help="only the last so many, such as 10")
    parser.add_argument("--all", action="store_true", help="those taken back, too")


def _log(call: Call) -> int:
    entries = call.journal.entries(include_voided=call.args.all)
    if call.args.last is not None:
        if call.args.last < 1:
            raise UsageError("--last needs a number from 1.")
        entries = entries[-call.args.last :]
    if call.wants_json:
        call.give({"schema": 1, "entries": [entry_json(entry) for entry in entries]})
        return 0
    if not entries:
        call.say("The journal is empty: `tankdash dip TANK READING` is a good first entry.")
        return 0
    zone = call.site.zone
    rows = [
        (
            entry.number,
            f"{entry.at.astimezone(zone):%Y-%m-%d %H:%M}",
            entry.words + (f" [taken back by {entry.voided_by}]" if entry.voided_by else ""),
            entry.note,
        )
        for entry in entries
    ]
    call.say_all(table(("no.", "about", "words", "note"), rows, right=(0,)))
    return 0


COMMANDS = (
    Command(
        "levels",
        "what is in the tanks",
        "Works out every tank from the last dip and what was noted since. Tanks joined by open links "
        "share one surface, not one depth. What nobody can know is given as a range. With --dip it "
        "answers a what-if and writes nothing.",
        (
            "tankdash levels",
            "tankdash levels --dip north=60cm --json",
            "tankdash levels --at 'yesterday 18:00'",
        ),
        _levels,
        _levels_arguments,
    ),
    Command(
        "try",
        "the levels after something, without writing it",
        "Answers: what if this stick, this rain, this draw, this valve? In this order: dips, "
        "settings, rain, water poured in, water drawn. Nothing is written.",
        (
            "tankdash try --rain 20mm",
            "tankdash try --rain 20mm --flush full",
            "tankdash try --dip north=60cm --set north-middle=closed --use 100L",
        ),
        _try,
        _try_arguments,
    ),
    Command(
        "chores",
        "what is due, late or coming, and why",
        "Lists the chores of the site file with the reason each is due. One chore is open at most "
        "once; further rains or turns are counted, not repeated.",
        (
            "tankdash chores",
            "tankdash chores --until sunday --json",
            "tankdash chores --all",
            "tankdash chores --html chores.html",
        ),
        _chores,
        _chores_arguments,
    ),
    Command(
        "rainfall",
        "rain events and month totals",
        "Lists rain events, parted by dry gaps, and the months with their totals. Days that nobody "
        "read are gaps, never dry; a total with a lower bound in it stays a lower bound.",
        ("tankdash rainfall", "tankdash rainfall --until 2026-05-31", "tankdash rainfall --json"),
        _rainfall,
        _rainfall_arguments,
    ),
    Command(
        "log",
        "the journal, entry by entry",
        "Lists the entries by the time they are about, with the words typed. Nothing is ever erased: "
        "--all shows what was taken back, too.",
        ("tankdash log --last 10", "tankdash log --all --json"),
        _log,
        _log_arguments,
    ),
)
