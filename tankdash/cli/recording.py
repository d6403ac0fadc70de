"""Commands that add to the journal: what was read, drawn, moved, set and done, and taking it back."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tankdash.cli import moving
from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.noting import note_down, tell
from tankdash.cli.options import Together
from tankdash.cli.typed import UsageError, pairs

if TYPE_CHECKING:
    from tankdash.journal.entries import Record


# Dip


def _dip_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "readings",
        nargs="+",
        metavar="TANK READING",
        help="a tank and what its stick shows, such as north 60cm or north 31 1/2 in",
    )


def _dip(call: Call) -> int:
    def understand(call: Call) -> Record:
        from tankdash.keeping.entering.records import enter_dip

        readings = pairs(call.args.readings, call.tank_names, "reading")
        return enter_dip(call.site, call.desk.standing(call.at).layout, readings, call.at)

    return note_down(call, understand, " ".join(call.args.readings))


# Rain


def _rain_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "depth",
        nargs="+",
        action=Together,
        metavar="DEPTH",
        help="what the gauge shows: 12mm, 0.42 in, 60-90mm, '>5.5 in', trace",
    )
    period = parser.add_argument_group(
        "the period, if not since the last reading of that gauge (one day at most)"
    )
    period.add_argument(
        "--from", dest="start", metavar="TIME", help="when it began to count, such as 'monday 7:00'"
    )
    period.add_argument(
        "--to",
        dest="end",
        metavar="TIME",
        help="when it ended, if not at the time of reading, such as 'today 7:00'",
    )
    period.add_argument("--day", metavar="DAY", help="it is the rain of that local day, such as yesterday")
    period.add_argument("--days", type=int, metavar="N", help="it is the sum of so many days, such as 3")
    parser.add_argument(
        "--gauge", metavar="NAME", default=None, help="another gauge than the garden's, such as lane"
    )
    parser.add_argument(
        "--left-in",
        action="store_true",
        help="the gauge was not emptied: its next reading counts from this one",
    )


def _rain(call: Call) -> int:
    def understand(call: Call) -> Record:
        from tankdash.keeping.entering.records import enter_rain
        from tankdash.keeping.rain.gauges import OWN_GAUGE
        from tankdash.keeping.when import parse_day, parse_time

        args, zone = call.args, call.site.zone
        return enter_rain(
            call.site,
            args.depth,
            call.at,
            call.now,
            entries=call.desk.entries(),
            start=None if args.start is None else parse_time(args.start, zone, call.now, args.fold),
            end=None if args.end is None else parse_time(args.end, zone, call.now, args.fold),
            day=None if args.day is None else parse_day(args.day, zone, call.now),
            days=args.days,
            gauge=OWN_GAUGE if args.gauge is None else args.gauge,
            left_in=args.left_in,
        )

    args = call.args
    said = [args.depth]
    for option, value in (
        ("--from", args.start),
        ("--to", args.end),
        ("--day", args.day),
        ("--days", args.days),
        ("--gauge", args.gauge),
    ):
        if value is not None:
            said.append(f"{option} {value}")
    return note_down(call, understand, " ".join([*said, *(["--left-in"] if args.left_in else [])]))


# Set


def _set_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "item", metavar="ITEM", help="a link, roof, tank or outlet, such as north-middle; or the word site"
    )
    parser.add_argument(
        "state",
        nargs="+",
        action=Together,
        metavar="STATE",
        help="what it is from that time on, such as closed or base -4cm",
    )


def _set(call: Call) -> int:
    def understand(call: Call) -> Record:
        from tankdash.keeping.entering.setting import enter_set

        return enter_set(call.site, call.args.item, call.args.state, call.at)

    return note_down(call, understand, f"{call.args.item} {call.args.state}")


# Frost, chores and notes


def _frost_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "low",
        nargs="+",
        action=Together,
        metavar="LOW",
        help="the lowest temperature forecast, such as -1C or 30F",
    )
    parser.add_argument(
        "--night", metavar="DAY", help="the day that night begins on, if not today, such as tomorrow"
    )


def _frost(call: Call) -> int:
    def understand(call: Call) -> Record:
        from tankdash.keeping.entering.records import enter_frost
        from tankdash.keeping.when import parse_day

        night = call.args.night
        day = None if night is None else parse_day(night, call.site.zone, call.now, ahead=True)
        return enter_frost(call.site, call.args.low, call.at, day)

    night = f" --night {call.args.night}" if call.args.night else ""
    return note_down(call, understand, f"{call.args.low}{night}")


def _done_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "chore",
        nargs="+",
        action=Together,
        metavar="CHORE",
        help="its id or label, such as wipe-screen",
    )


def _done(call: Call) -> int:
    def understand(call: Call) -> Record:
        from tankdash.keeping.entering.records import enter_done

        return enter_done(call.site, call.args.chore, call.at, call.desk.entries(), call.now)

    return note_down(call, understand, call.args.chore)


def _note_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "text", nargs="*", action=Together, metavar="TEXT", help="what you saw, such as green water"
    )
    parser.add_argument("--overflow", choices=("yes", "no"), help="whether water was seen at the overflow")


def _note(call: Call) -> int:
    def understand(call: Call) -> Record:
        from tankdash.keeping.entering.records import enter_note

        return enter_note(call.args.text, call.args.overflow)

    overflow = f"--overflow {call.args.overflow} " if call.args.overflow else ""
    return note_down(call, understand, f"{overflow}{call.args.text}".strip())


def _undo_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "number",
        nargs="?",
        type=int,
        metavar="NUMBER",
        help="not the last entry but this one, such as 17",
    )


def _undo(call: Call) -> int:
    before = call.desk.levels(call.now)
    number = call.args.number
    if number is None:
        entry = call.desk.undo(call.now)
        if entry is None:
            raise UsageError("There is nothing in the journal to take back.")
    else:
        entry = call.journal.take_back(number, call.now, f"undo {number}")
        if entry is None:
            raise UsageError(f"There is no entry {number} to take back: `tankdash log` lists them.")
    return tell(call, entry, before, "Taken back: what was noted")


COMMANDS = (
    Command(
        "dip",
        "record what the stick shows",
        "Records a dip of one tank, or a survey of several read together, and says what changed. A "
        "reading is a depth from the floor or a gap below the brim, as the site file says for that "
        "tank; `gap 12in` and `depth 40cm` say it the other way for once. A range such as 60-62cm is "
        "fine.",
        (
            "tankdash dip north 60cm             enough for all tanks joined by open links",
            "tankdash dip north 31 1/2 in        unquoted is fine",
            "tankdash dip north 60cm south 57cm --at 'yesterday 18:00'",
        ),
        _dip,
        _dip_arguments,
        is_recording=True,
    ),
    Command(
        "rain",
        "record a gauge reading",
        "Records what a rain gauge shows and the period it covers: since the last reading of that "
        "gauge, one day at most, unless told otherwise. A lower bound (`>5.5 in`, the gauge ran "
        "over), a range and `trace` stay what they are. `--left-in` says the gauge was not emptied, "
        "so the next reading counts from this one.",
        (
            "tankdash rain 12mm",
            "tankdash rain 0.42 in --day yesterday",
            "tankdash rain 60-90mm --days 2 --note 'chipped gauge'",
            "tankdash rain '>140mm'              it ran over",
        ),
        _rain,
        _rain_arguments,
        is_recording=True,
    ),
    *moving.COMMANDS,
    Command(
        "set",
        "record a valve, plug, base or the winter state",
        "Records what something is from that time on; earlier readings keep what was true then.\n\n"
        "  LINK    open, closed, primed, unprimed, stuck, freed\n"
        "  ROOF    plugged, bypass, open\n"
        "  TANK    base HEIGHT, vented, sealed, drain-open, drain-closed, shape-void\n"
        "  OUTLET  locked, unlocked\n"
        "  site    winter, in-use",
        (
            "tankdash set north-middle closed",
            "tankdash set t3 base -4cm",
            "tankdash set site winter --at 2026-11-01",
        ),
        _set,
        _set_arguments,
        is_recording=True,
    ),
    Command(
        "frost",
        "record a forecast low",
        "Records the lowest temperature a forecast gives for a night, typed in by you: nothing is "
        "fetched. Chores that wait for frost open at it. Taps and pipes freeze long before a tank "
        "does; this is a rule of thumb.",
        ("tankdash frost -1C", "tankdash frost 28F --night tomorrow"),
        _frost,
        _frost_arguments,
        is_recording=True,
    ),
    Command(
        "done",
        "tick off a chore",
        "Records that a chore was done. If it empties a first-flush pipe, that pipe counts as empty "
        "from then on. A tap or pump left running is a chore as well; done, it was closed at that time.",
        ("tankdash done drain-first-flush", "tankdash done drain-first-flush --at 'today 8:00'"),
        _done,
        _done_arguments,
        is_recording=True,
    ),
    Command(
        "note",
        "record something in words",
        "Records a note. `--overflow yes` or `no` says whether water was seen at the overflow, which "
        "counts as evidence when the tanks were about full.",
        ("tankdash note green water in the south tote", "tankdash note --overflow yes"),
        _note,
        _note_arguments,
        is_recording=True,
    ),
    Command(
        "undo",
        "take the last entry back",
        "Takes the last entry back by another entry that voids it: nothing is erased. An import "
        "counts as one entry. With a number it takes that entry back.",
        ("tankdash undo", "tankdash undo 17                    the entry that `log` lists as 17"),
        _undo,
        _undo_arguments,
    ),
)
