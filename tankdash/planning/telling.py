"""The answers about the supply in sentences, the same on the screen and on the command line."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from tankdash.keeping.chores.away import AwayPlan
from tankdash.keeping.state.words import moment_in_words
from tankdash.keeping.when import date_words
from tankdash.planning.absence import Absence, Room
from tankdash.planning.ensemble import Ensemble
from tankdash.planning.gravity import Head
from tankdash.planning.supply import Lasting
from tankdash.site.model import Site
from tankdash.units import Units, format_flow, format_head, format_length, format_rain, format_volume


def days_in_words(count: int) -> str:
    """Return a number of days.

    Examples
    --------
    >>> days_in_words(1), days_in_words(42)
    ('1 day', '42 days')
    """
    return f"{count} day" if count == 1 else f"{count} days"


def lasting_words(lasting: Lasting, today: date, units: Units) -> str:
    """Return how long a need is met, with the last full day and what the next one lacks."""
    if lasting.days is None:
        return (
            "no end date: nothing is asked for" if lasting.need <= 0.0 else "no end date within three years"
        )
    if lasting.last_full_day is None:
        return f"not even today in full: short by {format_volume(lasting.short, units)}"
    count = days_in_words(lasting.full_days or 0)
    last = date_words(lasting.last_full_day, today)
    return f"{count} in full, the last on {last}; the next is short by {format_volume(lasting.short, units)}"


def emitter_words(name: str, now: float | None, when_full: float, units: Units) -> str:
    """Return what the emitters of a bed give by gravity, [m3/s]; None when the head is not known."""
    told = "unknown" if now is None else format_flow(now, units)
    return f"The emitters of {name} give {told} now, {format_flow(when_full, units)} when full."


def locked_words(name: str, site: Site, since: datetime | None) -> str:
    """Return that an outlet is locked out, and since when if that is known."""
    when = "" if since is None else f" since {moment_in_words(site, since)}"
    return f"{name} is locked out{when}: it must stay off."


def usable_words(lasting: Lasting, units: Units, *, is_low_end: bool) -> str:
    """Return the usable water, which is a least figure where a tank is not known, and what is asked of it."""
    at_least = "at least " if is_low_end else ""
    usable, need = format_volume(lasting.usable, units), format_volume(lasting.need, units)
    return f"Usable now {at_least}{usable}; the beds ask for {need} a day."


def credit_words(bed: str, credit: float, units: Units) -> str:
    """Return what recent rain spares the tanks for a bed; nothing where that is less than half a litre.

    `credit` is counted as the other figures of a bed are, at the outlet: what the roots got, by the bed's efficiency.
    """
    return f"Recent rain still covers {format_volume(credit, units)} of {bed}." if credit > 5e-4 else ""


def unknown_need_words(bed: str) -> str:
    """Return why the need of a bed is missing, and what to do about it."""
    return (
        f"The need of {bed} is not known and not counted: type `low:` and `high:` of the twelve months under "
        "`climate:`, or import a year of temperatures with GHCN-Daily."
    )


def head_words(head: Head, units: Units) -> str:
    """Return the head at a place now and when full, and whether it is enough."""
    if head.by_pump:
        return "by pump"

    def told(metres: float) -> str:
        return "none" if metres <= 0.0 else f"{format_head(metres, units)} ({format_length(metres, units)})"

    now = "unknown now" if head.now is None else f"{told(head.now)} now"
    words = f"{now}, {told(head.full)} when full"
    if not head.is_ever_reached:
        return f"{words}: the water can never reach it without a pump"
    if head.is_reached is False:
        if head.over_outlet is not None and head.over_outlet <= 0.0:
            return f"{words}: not reached now, the water stands below the outlet"
        asked = f" (it asks for {format_head(head.needed, units)})" if head.needed > 0.0 else ""
        return f"{words}: not reached now{asked}"
    return words


def absence_words(absence: Absence, units: Units) -> str:
    """Return whether the water covers an absence."""
    span = days_in_words(absence.days)
    need = format_volume(absence.need, units)
    if absence.need <= 0.0:
        return f"Away for {span}: the beds ask for nothing."
    if absence.short > 0.0:
        return f"Away for {span}: the beds ask for {need}; short by {format_volume(absence.short, units)} without rain."
    return (
        f"Away for {span}: the beds ask for {need}; it is there, with {format_volume(absence.spare, units)} to spare,"
        " without rain."
    )


def left_open_words(absence: Absence, label: str, units: Units) -> str:
    """Return what an open outlet leaves on the return; nothing when none was left open."""
    found = absence.left_open
    if found is None:
        return ""
    least, most = format_volume(found.least, units), format_volume(found.most, units)
    held = f"about {most}" if least == most else f"between {least} and {most}"
    return (
        f"With {label} left open the tanks hold {held} on return, whatever the rain: the open outlet is the lip, and"
        " what stands above it runs away."
    )


def away_lines(plan: AwayPlan) -> list[str]:
    """Return the chores before leaving and on return, a heading above each list."""
    lines = []
    for title, chores in (("Before you go", plan.before), ("On return", plan.on_return)):
        if chores:
            lines.append(f"{title}:")
            lines += [f"  - {chore.label} ({chore.id}): {chore.reason}" for chore in chores]
    return lines or ["No chore falls into that time."]


def room_words(room: Room, units: Units) -> str:
    """Return what to let out before a forecast."""
    rain, caught = format_rain(room.depth_mm, units), format_volume(room.caught, units)
    begin = f"{rain} of rain would bring {caught}"
    if room.free is None:
        return f"{begin}; dip first to know the room there is."
    free = format_volume(room.free, units)
    if room.release <= 5e-5:
        return f"{begin}; there is room for {free}, so nothing has to be let out."
    release = format_volume(room.release, units)
    words = f"{begin}; there is room for {free}. Make room for {release} more, onto a bed if it can use it."
    if room.usable is not None and room.release > room.usable:
        words += f" The outlets can let out {format_volume(room.usable, units)} of it; the rest will spill."
    return words


def chance_lines(chance: Ensemble, station: str, units: Units) -> list[str]:
    """Return the past years in sentences: how many ran short by when, the middle and the worst, and the spill."""
    count = len(chance.traces)
    years = "1 past year" if count == 1 else f"{count} past years"
    end = chance.start + timedelta(days=chance.days - 1)
    short = [trace for trace in chance.traces if trace.first_dry is not None]
    lines = [
        f"With the rain of {years} ({station}) from today's date on, to {date_words(end, chance.start)}:"
    ]
    if not short:
        lines.append("none of them runs short.")
    else:
        lines.append(f"{len(short)} of {count} run short ({100 * len(short) / count:.0f} %).")
        for share, words in ((1e-6, "the first"), (0.5, "half of them")):
            day = chance.first_dry(share)
            if day is not None and (share < 0.5 or count > 1):
                lines.append(
                    f"By {date_words(day, chance.start)} {words} {'has' if share < 0.5 else 'have'} run short."
                )
        worst = chance.worst
        if worst is not None:
            lines.append(f"The worst, {worst.year}, leaves {days_in_words(worst.dry_days)} short of water.")
    spilled, most = chance.spilled(0.5), chance.spilled(1.0)
    if spilled is not None and most is not None:
        lines.append(
            f"Spilled: {format_volume(spilled, units)} in the middle year, {format_volume(most, units)} at most."
        )
    if chance.left_out:
        lines.append(f"Left out for missing days: {', '.join(map(str, chance.left_out))}.")
    return lines
