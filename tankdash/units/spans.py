"""Lengths of time, by the calendar and by the clock."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from tankdash.units.digits import NUMBER, exact, refusal, shown, tidy, trim, unsigned
from tankdash.units.factors import DAYS, MONTHS, SECONDS


@dataclass(frozen=True)
class Span:
    """A length of time by the calendar and by the clock: months and days are those of the site's zone."""

    months: int = 0
    """Whole months; a year is 12."""
    days: int = 0
    """Whole local days; a week is 7."""
    seconds: float = 0.0
    """Clock time, [s]."""

    @property
    def text(self) -> str:
        """The span in words: `2 weeks`, `6 h`, `1 year`."""
        parts = []
        for count, units in (
            (self.months, (("year", 12), ("month", 1))),
            (self.days, (("week", 7), ("day", 1))),
        ):
            if count:
                word, size = next((word, size) for word, size in units if count % size == 0)
                parts.append(f"{count // size} {word}{'' if count == size else 's'}")
        if self.seconds:
            word, length = next(
                (word, length)
                for word, length in (("h", 3600), ("min", 60), ("s", 1))
                if length == 1 or (self.seconds * 2) % length == 0
            )
            parts.append(f"{trim(self.seconds / length, 2)} {word}")
        return " ".join(parts) or "0 days"


def _span_parts(plain: str, text: object, write: str) -> Iterator[tuple[Fraction, str]]:
    position = 0
    part = re.compile(rf"(?P<number>{NUMBER}) ?(?P<unit>[A-Za-z]+)(?: |$)", re.ASCII)
    while position < len(plain):
        match = part.match(plain, position)
        if match is None:
            raise refusal(text, "is not understood as a length of time", write)
        yield exact(match["number"], text), match["unit"].lower()
        position = match.end()


def parse_span(text: object) -> Span:
    """Return a length of time: `6 h`, `2 weeks`, `1 day 12 h`; parts of a day are given in hours.

    Examples
    --------
    >>> parse_span("2 years"), parse_span("2 weeks").text
    (Span(months=24, days=0, seconds=0.0), '2 weeks')
    """
    write = "6 h, 1 day, 2 weeks or 3 months"
    plain = unsigned(tidy(text, write), write, "a length of time")
    if re.fullmatch(r"0+(?:[.,]0+)?", plain):
        return Span()
    if re.fullmatch(NUMBER, plain):
        raise refusal(text, "has no unit", write)
    months, days, seconds = Fraction(0), Fraction(0), Fraction(0)
    seen = set()
    for count, unit in _span_parts(plain, text, write):
        if unit in MONTHS:
            size, months = 100 * MONTHS[unit], months + count * MONTHS[unit]
        elif unit in DAYS:
            size, days = 10 * DAYS[unit], days + count * DAYS[unit]
        elif unit in SECONDS:
            size, seconds = -SECONDS[unit], seconds + count * SECONDS[unit]
        else:
            raise refusal(text, f"has no unit of time called {shown(unit)}", write)
        if size in seen:
            raise refusal(text, "names one unit twice", write)
        seen.add(size)
    if months.denominator != 1 or days.denominator != 1:
        raise refusal(text, "has a part of a day, week, month or year", "whole ones, or hours such as 36 h")
    if months > 1200 or days > 36_525 or seconds > 36_525 * 86_400:
        raise refusal(text, "is more than a hundred years", write)
    return Span(int(months), int(days), float(seconds))


def parse_hours(text: object) -> float:
    """Return a length of time in hours; days count 24 h, months and years are refused, [h]."""
    span = parse_span(text)
    if span.months:
        raise refusal(text, "has no fixed number of hours", "hours or days, such as 6 h or 2 days")
    return span.days * 24.0 + span.seconds / 3600.0
