"""Commands that bring files in and put files out."""

from __future__ import annotations

import argparse
from datetime import time
from pathlib import Path
from typing import TYPE_CHECKING

from tankdash.cli.call import Call
from tankdash.cli.command import Command
from tankdash.cli.pages import add_overwrite
from tankdash.cli.text import wrapped
from tankdash.cli.typed import UsageError

if TYPE_CHECKING:
    from tankdash.journal.daily import SheetRules
    from tankdash.journal.exchange import RestorePlan
    from tankdash.journal.sheets import ImportPlan


def _import_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "file", metavar="FILE", help="a sheet such as rain.csv, a GHCN-Daily file, or the folder of an export"
    )
    parser.add_argument("--yes", action="store_true", help="write it; without this it is only counted")
    where = parser.add_argument_group("where it goes")
    where.add_argument(
        "--gauge", metavar="NAME", help="readings of that gauge, if not the garden's own, such as lane"
    )
    where.add_argument(
        "--history", action="store_true", help="past days for planning, apart from the own gauge"
    )
    where.add_argument(
        "--station",
        metavar="NAME",
        help="with --history or a GHCN-Daily file: whose, such as village",
    )
    add_sheet_options(parser)


def add_sheet_options(parser: argparse.ArgumentParser) -> None:
    """Add the options by which the owner says how a sheet is to be read."""
    how = parser.add_argument_group("how a sheet is read, where it does not say so itself")
    how.add_argument("--dates", choices=("day-first", "month-first"), help="which stands first in 03/04/2021")
    how.add_argument("--decimal", choices=("comma", "point"), help="which mark is the decimal one")
    how.add_argument("--unit", choices=("mm", "cm", "in"), help="the unit of bare figures")
    how.add_argument("--date-column", metavar="NAME", help="the heading over the dates, such as Day")
    how.add_argument("--rain-column", metavar="NAME", help="the heading over the rain, such as 'Rain (mm)'")
    how.add_argument(
        "--read-at",
        metavar="CLOCK",
        help="the gauge was read at that time of each day, such as 9:00; without it each row is that day's own rain",
    )


def _import(call: Call) -> int:
    from tankdash.journal.exchange import is_export, plan_restore
    from tankdash.journal.ghcn import is_ghcn

    path = Path(call.args.file)
    if path.is_dir() or is_export(path):
        _refuse_options(call, "an export")
        return _restore(call, plan_restore(path, call.journal))
    if is_ghcn(path):
        return _bring_in(call, _ghcn(call, path))
    return _bring_in(call, _sheet(call, path))


def _refuse_options(call: Call, what: str) -> None:
    args = call.args
    said = [args.gauge, args.station, args.dates, args.decimal, args.unit]
    said += [args.date_column, args.rain_column, args.read_at]
    if args.history or any(option is not None for option in said):
        raise UsageError(f"{what[:1].upper()}{what[1:]} says all by itself: give no options but --yes.")


def _ghcn(call: Call, path: Path) -> ImportPlan:
    from tankdash.journal.ghcn import plan_ghcn

    args = call.args
    if args.gauge is not None:
        raise UsageError(
            "A GHCN-Daily file is history of a station, not the garden's gauge: leave out --gauge."
        )
    told = (args.dates, args.decimal, args.unit, args.date_column, args.rain_column, args.read_at)
    if any(option is not None for option in told):
        raise UsageError("A GHCN-Daily file says how it is read: leave out how a sheet is to be read.")
    return plan_ghcn(path, call.args.station, call.journal, call.now)


def _sheet(call: Call, path: Path) -> ImportPlan:
    from tankdash.journal.sheets import plan_gauge, plan_history
    from tankdash.keeping.rain.gauges import OWN_GAUGE

    args = call.args
    if args.history and args.gauge is not None:
        raise UsageError(
            "Give either --history or --gauge: past days for planning are no gauge of the garden."
        )
    if args.station is not None and not args.history:
        raise UsageError("--station goes with --history: the garden's own gauges have --gauge.")
    if args.history:
        station = args.station or path.name.split(".")[0]
        return plan_history(path, sheet_rules(call), station, call.journal, call.now)
    return plan_gauge(path, sheet_rules(call), args.gauge or OWN_GAUGE, call.journal, call.now)


def sheet_rules(call: Call) -> SheetRules:
    """Return what the options say about a sheet."""
    from tankdash.journal.daily import SheetRules

    args, site = call.args, call.site
    return SheetRules(
        zone=site.zone,
        units=site.units,
        date_order=args.dates,
        decimal=args.decimal,
        unit=args.unit,
        date_column=args.date_column,
        rain_column=args.rain_column,
        read_at=None if args.read_at is None else _clock(args.read_at),
        booked=site.rain.booked,
    )


def _clock(text: str) -> time:
    hours, _, minutes = text.partition(":")
    try:
        if not (hours.isascii() and minutes.isascii() and len(minutes) == 2):
            raise ValueError
        return time(int(hours), int(minutes))
    except ValueError:
        raise UsageError(f"{text!r} is no time of day: write it as --read-at 9:00.") from None


def _bring_in(call: Call, plan: ImportPlan) -> int:
    written = plan.write(call.journal, call.now) if call.args.yes else 0
    if call.wants_json:
        call.give(
            {
                "schema": 1,
                "source": plan.source,
                "into": plan.what,
                "name": plan.name,
                "rows": plan.rows_read,
                "new": plan.new,
                "already": plan.already,
                "skipped": plan.skipped,
                "doubtful": plan.doubtful,
                "doubts": [{"line": doubt.line, "text": doubt.sentence} for doubt in plan.doubts],
                "first": None if plan.first is None else plan.first.isoformat(),
                "last": None if plan.last is None else plan.last.isoformat(),
                "rain_mm": round(plan.rain_mm, 4),
                "read_as": list(plan.read_as),
                "written": written,
            }
        )
        return 0
    from tankdash.units import format_rain

    place = f"gauge '{plan.name}'" if plan.what == "gauge" else f"history of '{plan.name}'"
    call.say(f"{plan.source}: {plan.rows_read} rows read, for the {place}.")
    for line in plan.read_as:
        call.say(f"  read as: {line}")
    _say_counts(call, plan, "days")
    if plan.first is not None and plan.last is not None:
        total = format_rain(plan.rain_mm, call.site.units)
        call.say(f"  new days from {plan.first} to {plan.last}, {total} of rain in all")
    _say_doubts(call, plan)
    _say_end(call, plan.new, written)
    return 0


def _restore(call: Call, plan: RestorePlan) -> int:
    written = plan.write(call.journal, call.now) if call.args.yes else 0
    if call.wants_json:
        call.give(
            {
                "schema": 1,
                "source": plan.source,
                "into": "journal",
                "name": "journal",
                "rows": plan.rows_read,
                "new": plan.new,
                "already": plan.already,
                "skipped": 0,
                "doubtful": plan.doubtful,
                "doubts": [{"line": doubt.line, "text": doubt.sentence} for doubt in plan.doubts],
                "history": len(plan.days),
                "written": written,
            }
        )
        return 0
    call.say(f"{plan.source}: {plan.rows_read} entries of an export read.")
    _say_counts(call, plan, "entries")
    if plan.days:
        call.say(f"  {len(plan.days)} figures of past days come with them")
    _say_doubts(call, plan)
    _say_end(call, plan.new, written)
    return 0


def _say_counts(call: Call, plan: ImportPlan | RestorePlan, what: str) -> None:
    skipped = getattr(plan, "skipped", 0)
    call.say(
        f"  {plan.new} new {what}, {plan.already} rows there already, {skipped} rows without a reading,"
        f" {plan.doubtful} doubtful"
    )


def _say_doubts(call: Call, plan: ImportPlan | RestorePlan) -> None:
    for doubt in plan.doubts[:20]:
        call.say_all(wrapped(f"{doubt.sentence}", f"  line {doubt.line}: ", "    "))
    if plan.doubtful > 20:
        call.say(f"  ... and {plan.doubtful - 20} more; --json lists them")


def _say_end(call: Call, new: int, written: int) -> None:
    if written:
        call.say(f"Written: {written}. `tankdash undo` takes it back.")
    elif new:
        call.say("Nothing is written yet: say --yes to write it. Doubtful rows are left out.")
    else:
        call.say("There is nothing new to write.")


# Export


def _export_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "folder", metavar="DIR", help="the folder to write into, such as backup; made if need be"
    )
    parser.add_argument("--overwrite", action="store_true", help="replace files of an earlier export")


def _export(call: Call) -> int:
    from tankdash.journal.exchange import export

    paths = export(call.journal, Path(call.args.folder), overwrite=call.args.overwrite, own=call.own_files)
    if call.wants_json:
        call.give({"schema": 1, "files": [str(path) for path in paths]})
        return 0
    call.say(f"Written into {call.args.folder}: {', '.join(path.name for path in paths)}.")
    call.say("journal.csv and history.csv hold everything: `tankdash import` brings them back in.")
    return 0


# Calendar


def _calendar_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE.ics", help="the calendar file to write, such as chores.ics")
    add_overwrite(parser)


def _calendar(call: Call) -> int:
    from tankdash.journal.placing import free_to_write, put_in_place
    from tankdash.keeping.chores.calendar import calendar_file

    path, overwrite = Path(call.args.file), call.args.overwrite
    free_to_write(
        path, b"BEGIN:VCALENDAR", "calendar file", "chores.ics", overwrite=overwrite, own=call.own_files
    )
    desk = call.desk
    content = calendar_file(call.site, desk.entries(), call.now, desk.usable_share(call.now))
    put_in_place(path, content, overwrite=overwrite)
    events = content.count(b"BEGIN:VEVENT")
    if call.wants_json:
        call.give({"schema": 1, "file": str(path), "events": events})
        return 0
    call.say(f"Written: {path}, {events} chores. Bring it into a calendar again later to update them.")
    return 0


COMMANDS = (
    Command(
        "import",
        "bring in a rain sheet, open data, or an export",
        "Reads a file and says what it would write: rows read, new, there already, doubtful with "
        "their lines. Only --yes writes, nothing comes in twice, and one `undo` takes a sheet back.\n\n"
        "A sheet is comma, semicolon or tab separated text with one row a day. Whether 03/04 is day "
        "or month first and whether 3,5 is a decimal comma is decided by the whole column; what fits "
        "both ways is asked about. Without --history its rows become readings of the garden's own "
        "gauge; with it they are past days for planning only. A GHCN-Daily file (by year or by "
        "station, also gzipped) always is history. The folder of an export comes back entry by entry.",
        (
            "tankdash import rain.csv                             count first",
            "tankdash import rain.csv --dates day-first --yes",
            "tankdash import 2019.csv.gz --station AE000041196 --yes",
            "tankdash import old.csv --history --station village --unit in",
        ),
        _import,
        _import_arguments,
    ),
    Command(
        "export",
        "write everything as CSV",
        "Writes the whole journal as CSV into a folder: journal.csv and history.csv carry all of it "
        "and come back in without loss, rain.csv, dips.csv and use.csv are for a spreadsheet. No cell "
        "is taken for a formula.",
        ("tankdash export backup", "tankdash export backup --overwrite"),
        _export,
        _export_arguments,
    ),
    Command(
        "calendar",
        "write the chores as a calendar file",
        "Writes the chores as a calendar file (RFC 5545) for a phone or a computer. Names stay the same, so bringing a "
        "newer file in updates what is there. Chores that hang on rain stand in it while they are open.",
        ("tankdash calendar chores.ics", "tankdash calendar chores.ics --overwrite"),
        _calendar,
        _calendar_arguments,
    ),
)
