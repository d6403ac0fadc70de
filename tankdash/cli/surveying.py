"""Commands that hold the dips against each other: the balance of each stretch, and the bases by the water."""

from __future__ import annotations

import argparse
from datetime import datetime
from typing import TYPE_CHECKING

from tankdash.cli.call import Call
from tankdash.cli.command import FINE, FOUND_SOMETHING, Command
from tankdash.cli.describing import litres
from tankdash.cli.options import add_at
from tankdash.cli.text import table, wrapped
from tankdash.cli.typed import UsageError, whole_number

if TYPE_CHECKING:
    from tankdash.keeping.checking.balance import Balance, Stretch
    from tankdash.keeping.checking.survey import Survey, SurveyedTank


WIDEST_TABLE = 3
"""Tanks whose surveys fit beside each other on a line; of more, each has lines of its own."""

# Balance


def _balance_arguments(parser: argparse.ArgumentParser) -> None:
    add_at(parser, "what was known then")
    parser.add_argument("--last", metavar="N", help="only the last so many stretches, such as 5")


def _balance(call: Call) -> int:
    from dataclasses import replace

    balance = call.desk.balance(call.at)
    if call.args.last is not None:
        count = whole_number(call.args.last, "--last", 1, 100_000)
        balance = replace(balance, stretches=balance.stretches[-count:])
    if call.wants_json:
        call.give(balance.as_json())
    else:
        call.say_all(_balance_lines(call, balance))
    return FOUND_SOMETHING if any(stretch.finding in _TO_ACT_ON for stretch in balance.stretches) else FINE


_TO_ACT_ON = frozenset({"leak", "inlet", "unrecorded-use", "more-than-rain"})
"""Findings that ask somebody to look; the others only say that there is nothing to see, or not yet."""


_FINDINGS = {
    "unrecorded-use": "unrecorded use",
    "more-than-rain": "more than rain",
    "below-resolution": "too little to see",
    "not-settled": "not settled",
    "none": "as expected",
}
"""Findings in words; the others say themselves."""


def _balance_lines(call: Call, balance: Balance) -> list[str]:
    if not balance.stretches:
        return ["No stretch yet: it takes two dips of the same tanks to hold one against the other."]
    lines: list[str] = []
    for stretch in balance.stretches:
        lines += _stretch_lines(call, stretch)
    for learned in balance.learned:
        lines += wrapped(
            f"{learned.roof}: {learned.stretches} clear rains show a runoff of {learned.runoff:.2f}, give or take "
            f"{learned.spread:.2f}; the site file has {learned.was:g}. Change it there if you believe it.",
            "Offered: ",
            "  ",
        )
    return lines


def _stretch_lines(call: Call, stretch: Stretch) -> list[str]:
    site, residual = call.site, stretch.residual
    start, end = (moment.astimezone(site.zone) for moment in (residual.start, residual.end))
    finding = _FINDINGS.get(stretch.finding, stretch.finding)
    head = f"{start:%Y-%m-%d %H:%M} to {end:%Y-%m-%d %H:%M}: {finding}"
    if stretch.text:
        return [head, *wrapped(stretch.text, "  ", "  ")]
    expected, low, high, seen = (
        litres(site, volume * 1000.0)
        for volume in (residual.expected.mid, stretch.low, stretch.high, residual.seen.mid)
    )
    return [head, f"  {', '.join(residual.tanks)}: expected {expected} ({low} to {high}), seen {seen}"]


# Survey


def _survey_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--reference", metavar="TANK", help="the tank whose base is taken as true, such as north"
    )
    parser.add_argument(
        "--accept",
        nargs="+",
        action="extend",
        metavar="TANK",
        help="take the surveyed base of these tanks as true from now on: a `set` entry each",
    )


def _survey(call: Call) -> int:
    from tankdash.keeping.entering.naming import find_standing

    site, desk = call.site, call.desk
    reference = call.args.reference
    if reference is not None:
        reference = find_standing("reference", "tank", reference, site.tanks, site, call.at)
    survey = desk.survey(call.at, reference)
    accepted = _accept(call, survey)
    # What was just taken as true is no finding any more.
    code = FOUND_SOMETHING if survey.finding in ("settlement", "link-not-passing") and not accepted else FINE
    if call.wants_json:
        noted = {
            key: [
                {"since": None if at is None else at.isoformat(), "base_m": round(base, 6) + 0.0}
                for at, base in bases
            ]
            for key, bases in _noted(call).items()
        }
        call.give({**survey.as_json(), "noted": noted, "accepted": accepted})
        return code
    call.say_all(_survey_lines(call, survey))
    if accepted:
        from tankdash.units import format_length

        call.say("")
        for key, base in accepted.items():
            call.say(f"Noted: the base of {key} is {format_length(base, site.units)} from now on.")
        call.say("`tankdash undo` takes the last of them back.")
    return code


def _accept(call: Call, survey: Survey) -> dict[str, float]:
    """Write a `set` entry for each tank named, all or none, and return their bases, [m]."""
    if not call.args.accept:
        return {}
    from tankdash.journal.drafts import Draft
    from tankdash.keeping.checking.survey import accept_base
    from tankdash.keeping.entering.naming import find_standing
    from tankdash.units import format_length

    site = call.site
    drafts, accepted = [], {}
    for name in call.args.accept:
        key = find_standing("tank", "tank", name, site.tanks, site, call.at)
        if key in accepted:
            raise UsageError(f"{key} is given twice: give each tank once.")
        found = survey.tanks.get(key)
        if found is not None and found.finding == "link-not-passing":
            raise UsageError(
                f"{key} does not follow the others, so the water tells nothing of its base: look at its link first,"
                f" or note a measured base with `tankdash set {key} base HEIGHT`."
            )
        change = accept_base(survey, key)
        assert change.base_m is not None
        accepted[key] = change.base_m
        words = f"set {key} base {format_length(change.base_m, 'metric')}"
        drafts.append(Draft(change, call.at, words, note=call.args.note or "by the survey"))
    call.desk.record_many(drafts, call.now)
    return accepted


def _survey_lines(call: Call, survey: Survey) -> list[str]:
    lines = [f"{call.site.name}: bases by the water", ""]
    if survey.reference is not None:
        rows = [_tank_row(call, survey, key, tank) for key, tank in survey.tanks.items()]
        heads = ("tank", "noted", "by the water", "moved", "plus-minus", "a month", "surveys", "")
        lines += [*table(heads, rows, right=(1, 2, 3, 4, 5, 6)), ""]
    lines += wrapped(survey.text)
    moved = [key for key, tank in survey.tanks.items() if tank.finding == "settlement"]
    if moved:
        names = " ".join(moved)
        lines += wrapped(f"To take the new bases as true: `tankdash survey --accept {names}`.")
    return lines + _over_time_lines(call, survey)


def _noted(call: Call) -> dict[str, tuple[tuple[datetime | None, float], ...]]:
    """Return the noted base of each tank over time, as far as it is known at the time asked about."""
    from tankdash.keeping.checking.soundings import bases_noted

    return bases_noted(call.site, [entry for entry in call.desk.entries() if entry.at <= call.at])


def _over_time_lines(call: Call, survey: Survey) -> list[str]:
    """Return what each survey said of each base and what was noted, where there is more than one of either."""
    from tankdash.units import format_length

    site = call.site
    cells: dict[datetime, dict[str, str]] = {}
    for key, noted in _noted(call).items():
        soundings = survey.tanks[key].soundings if key in survey.tanks else ()
        if len(soundings) < 2 and len(noted) < 2:
            continue
        for one in soundings:
            words = f"{format_length(one.base, site.units)} ± {format_length(one.plus_minus, site.units)}"
            cells.setdefault(one.at, {})[key] = words
        for at, base in noted:
            if at is not None:
                cells.setdefault(at, {})[key] = f"noted {format_length(base, site.units)}"
    if not cells:
        return []
    tanks = [key for key in site.tanks if any(key in row for row in cells.values())]
    dated = [(f"{at.astimezone(site.zone):%Y-%m-%d}", row) for at, row in sorted(cells.items())]
    heading = ("", "Survey by survey")
    if len(tanks) > WIDEST_TABLE:
        lines = list(heading)
        for key in tanks:
            told = "; ".join(f"{day} {row[key]}" for day, row in dated if key in row)
            lines += wrapped(f"{key}: {told}", "  ", "    ")
        return lines
    rows = [(day, *(row.get(key, "-") for key in tanks)) for day, row in dated]
    return [*heading, *table(("on", *tanks), rows, right=range(1, len(tanks) + 1))]


def _tank_row(call: Call, survey: Survey, key: str, tank: SurveyedTank) -> tuple[object, ...]:
    from tankdash.units import format_length

    units = call.site.units
    if key == survey.reference:
        return (key, format_length(tank.was_m, units), "-", "-", "-", "-", tank.surveys, "reference")
    return (
        key,
        format_length(tank.was_m, units),
        format_length(tank.base_m, units),
        format_length(tank.moved_m, units),
        format_length(tank.plus_minus_m, units),
        "-" if tank.per_month_m is None or not tank.is_settling else format_length(tank.per_month_m, units),
        tank.surveys,
        {"none": "as noted", "settlement": "MOVED", "link-not-passing": "LINK DOES NOT PASS"}.get(
            tank.finding, ""
        ),
    )


COMMANDS = (
    Command(
        "balance",
        "what the dips show against what was expected",
        "Each stretch between two dips: what rain, use and the rest led one to expect, what the dip shows, the range "
        "that the stick, the gauge and the runoff can explain, and what a difference beyond it points to: a leak, a "
        "blocked inlet, use that was not noted, more water than the rain. Where clear rains teach a roof's runoff it "
        "is offered, never applied.",
        ("tankdash balance", "tankdash balance --last 5 --json"),
        _balance,
        _balance_arguments,
        found="a stretch of those shown has such a finding",
    ),
    Command(
        "survey",
        "base heights by the water itself",
        "Tanks dipped together in still water share one surface, so their depths tell their bases against a "
        "reference tank. A constant offset is a base that moved, a growing or one-sided one a link that does not "
        "pass. It says what uneven bases cost and what lifting which would bring back. Nothing is taken over until "
        "--accept names the tanks.",
        (
            "tankdash dip north 60cm middle 63cm south 57cm  a survey is one dip",
            "tankdash survey",
            "tankdash survey --accept south",
        ),
        _survey,
        _survey_arguments,
        found="a base has moved or a link does not pass",
        is_recording=True,
    ),
)
