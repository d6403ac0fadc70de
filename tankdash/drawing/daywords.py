"""What the timeline says in words: the meaning of its signs, and what is known of the day under the cursor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import text_width
from tankdash.drawing.columns import Day, Track, short_day
from tankdash.drawing.glyphs import glyphs
from tankdash.units import Units, format_rain, format_volume

MARKS = {"missed": "✗", "unflushed": "◆", "done": "✓", "late": "!"}
"""Sign of each chore mark, what happened before what only lasts."""

MARKS_ASCII = {"missed": "x", "unflushed": "~", "done": "v", "late": "!"}

MARK_ROLES = {"missed": "missed", "late": "late", "unflushed": "late", "done": "done"}

MARK_WORDS = {"missed": "time ran out", "unflushed": "rain ran in unflushed", "done": "done", "late": "late"}

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def legend(ascii: bool = False, width: int | None = None) -> Row:
    """Return what the signs of the timeline mean, on one line.

    Parameters
    ----------
    ascii : bool
        Use no sign outside ASCII.
    width : int, optional
        Cells there are; what is best known, and then what comes last, is left out to fit.

    Examples
    --------
    >>> "".join(span.text for span in legend(width=44))
    '▾ dip  ◆ unflushed  ✗ missed  · not read'
    """
    marks, signs = MARKS_ASCII if ascii else MARKS, glyphs(ascii)
    late = marks["late"] + signs.line_mid
    told = [
        (Span(signs.states["dipped"], "figure"), "dip", "dip"),
        (Span(marks["unflushed"], "late"), "rain ran in unflushed", "unflushed"),
        (Span(marks["missed"], "missed"), "time ran out", "missed"),
        (Span("." if ascii else "·", "dim"), "rain not read", "not read"),
        (Span(signs.band, "rain-band"), "may have been", "perhaps"),
        (Span(late, "late"), "late", "late"),
        (Span(marks["done"], "done"), "done", "done"),
    ]
    for kept in range(len(told), 0, -1):
        for spot in (1, 2):
            row: Row = []
            for number, (sign, *words) in enumerate(told[:kept]):
                gap = "  " if number < kept - 1 else ""
                row += [sign, Span(f" {words[spot - 1]}{gap}", "dim")]
            if width is None or sum(text_width(span.text) for span in row) <= width:
                return row
    return []


@dataclass(frozen=True)
class DayTold:
    """What is known of one day, in full and in few words."""

    full: str
    """A sentence."""
    parts: tuple[str, ...]
    """The day and what is known of it, the most wanted first."""


def value_at(
    track: Track, day: date, units: Units = "metric", labels: Mapping[str, str] | None = None
) -> DayTold:
    """Return in words what is known of one day: what the cursor says.

    Parameters
    ----------
    track : Track
        The days.
    day : date
        One of them.
    units : Units
        For the figures.
    labels : mapping of str to str, optional
        What people call chores, by id.
    """
    found = next((other for other in track.days if other.day == day), None)
    if found is None or found.is_ahead:
        said = "nothing known" if found is None else "still to come"
        return DayTold(f"{day_name(day)}: {said}.", (_short_name(day), said))
    rain = _rain_words(found.rain_mm, found.rain_low_mm, found.rain_high_mm, units)
    held, held_in_short = _water_words(found, units)
    marks = _chore_words(found, labels or {})
    rest: Sequence[str] = ["dipped"] if found.is_dipped else []
    if found.spilled_l >= 0.5:
        rest = [*rest, f"{format_volume(found.spilled_l / 1000.0, units)} spilled"]
    return DayTold(
        f"{day_name(day)}: {'; '.join([rain, held, *rest, *marks])}.",
        (_short_name(day), rain.removesuffix(" of rain"), held_in_short, *rest, *marks),
    )


def day_name(day: date) -> str:
    """Return a day as people say it.

    Examples
    --------
    >>> day_name(date(2026, 4, 7))
    'Tuesday 7 April 2026'
    """
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def _short_name(day: date) -> str:
    return f"{WEEKDAYS[day.weekday()][:3]} {short_day(day)}"


def _chore_words(day: Day, labels: Mapping[str, str]) -> list[str]:
    """Return what happened to chores on a day, those of one kind together."""
    told = []
    for kind, word in MARK_WORDS.items():
        names = [labels.get(mark.chore, mark.chore) for mark in day.marks if mark.kind == kind]
        if names:
            # Whose pipe it was says the same chore, done or late.
            told.append(word if kind == "unflushed" else f"{word}: {', '.join(names)}")
    return told


def _water_words(day: Day, units: Units) -> tuple[str, str]:
    """Return what was in the tanks at the end of a day, in full and in short."""
    if day.volume_l is not None:
        held = format_volume(day.volume_l / 1000.0, units)
        if day.usable_l is None:
            return f"{held} in the tanks", held
        usable = format_volume(day.usable_l / 1000.0, units)
        return f"{held} in the tanks, {usable} usable", f"{usable} usable"
    if day.low_l is not None and day.high_l is not None:
        least, most = (format_volume(litres / 1000.0, units) for litres in (day.low_l, day.high_l))
        return f"between {least} and {most} in the tanks", f"{least} to {most}"
    return "the water not known", "water not known"


def _rain_words(mm: float | None, low: float | None, high: float | None, units: Units) -> str:
    if mm is None:
        return "rain not read"
    if high is None:
        return f"more than {format_rain(low if low is not None else mm, units)} of rain"
    if high <= 0.0:
        return "no rain"
    if low is not None and format_rain(low, units) != format_rain(high, units):
        return f"{format_rain(low, units)} to {format_rain(high, units)} of rain"
    return f"{format_rain(mm, units)} of rain"
