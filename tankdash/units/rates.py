"""What rains, flows and is needed: a gauge's reading, and quantities for each hour, day or week."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from tankdash.units.amounts import volume_factor
from tankdash.units.digits import finite, number_and_unit, refusal, tidy, unit_word, unsigned
from tankdash.units.factors import AREAS, DAYS, LENGTHS, SECONDS, Units
from tankdash.units.lengths import FEET_AND_INCHES, ends, plain_length


@dataclass(frozen=True)
class Depths:
    """A rain reading: one depth, a range, or a lower bound."""

    low_mm: float
    """At least this much, [mm]."""
    high_mm: float | None
    """At most this much; None when only a lower bound is known, [mm]."""
    trace: bool = False
    """Wet, but too little to measure: adds nothing and still makes a wet day."""


def parse_rain(text: object, units: Units) -> Depths:
    """Return a gauge reading: a depth, `60-90 mm`, `>5.5 in` or `trace`.

    Examples
    --------
    >>> parse_rain("60-90 mm", "metric")
    Depths(low_mm=60.0, high_mm=90.0, trace=False)
    >>> parse_rain(">5.5 in", "us").high_mm is None
    True
    """
    write = "12 mm, 60-90 mm, >140 mm or trace" if units == "metric" else "0.42 in, 1-2 in, >5.5 in or trace"
    plain = tidy(text, write)
    if plain.lower() in ("trace", "t"):
        return Depths(0.0, 0.0, trace=True)
    bound = re.fullmatch(r"(?:>=|>|over|more than|at least) ?(?P<depth>.+)", plain, re.IGNORECASE)
    if bound:
        low = plain_length(unsigned(bound["depth"], write, "rain"), write)
        if bound["depth"].strip() and low == 0:
            raise refusal(text, "is a lower bound of nothing", "trace for a wet day that cannot be measured")
        high = low
    else:
        low, high = ends(unsigned(plain, write, "rain"), write, plain_length)
    if high > 5:
        raise refusal(text, "is more rain than has ever fallen in a month or two", write)
    low_mm, high_mm = float(low * 1000), float(high * 1000)
    return Depths(low_mm, None if bound else high_mm)


@dataclass(frozen=True)
class Need:
    """What a bed wants each day."""

    kind: Literal["depth", "volume per area", "volume"]
    """Depth and volume per area go with the bed's area; a volume is for the whole bed."""
    per_day: float
    """[m/day] for the first two, which are one thing; [m3/day] for a volume."""
    text: str
    """As typed."""


def _rate_parts(text: object, write: str) -> tuple[str, list[str]]:
    """Return what stands before and after each `/` or `per`."""
    plain = unsigned(tidy(text, write), write)
    first, *rest = (part.strip() for part in re.split(r" ?\bper\b ?| ?/(?! ?[0-9]) ?", plain))
    if not first:
        raise refusal(text, "is not understood", write)
    return first, rest


def parse_need(text: object, units: Units) -> Need:
    """Return what a bed needs: `25 mm/week`, `1 gal/sq ft/week` or `1.5 L/day`.

    Examples
    --------
    >>> need = parse_need("25 mm/week", "metric")
    >>> need.kind, round(need.per_day * 7, 9)
    ('depth', 0.025)
    """
    write = "a rate such as 25 mm/week, 10 L/m2/week or 1.5 L/day"
    if units != "metric":
        write = "a rate such as 1 in/week, 1 gal/sq ft/week or 2 gal/day"
    words = str(text).strip()
    first, rest = _rate_parts(text, write)
    if not rest and re.fullmatch(r"0+(?:[.,]0+)?", first):
        return Need("volume", 0.0, words)
    times = [word for word in rest if word.lower() in DAYS]
    areas = [word for word in rest if unit_word(word) in AREAS]
    if len(times) != 1 or len(times) + len(areas) != len(rest) or len(areas) > 1:
        raise refusal(text, "is not a rate per day or per week", write)
    days = DAYS[times[0].lower()]
    value, word = number_and_unit(first, write)
    if not areas and (unit_word(word) in LENGTHS or FEET_AND_INCHES.fullmatch(first)):
        return Need("depth", finite(plain_length(first, write) / days, text, write), words)
    if not word:
        raise refusal(text, "has no unit before the rate", write)
    volume = value * volume_factor(word, units, text, write) / days
    if areas:
        return Need("volume per area", finite(volume / AREAS[unit_word(areas[0])], text, write), words)
    return Need("volume", finite(volume, text, write), words)


def parse_rain_rate(text: object, units: Units) -> float:
    """Return how hard it rains, from `100 mm/h` or `4 in/h`, [mm/h]."""
    write = "100 mm/h" if units == "metric" else "4 in/h"
    first, rest = _rate_parts(text, write)
    if not rest and re.fullmatch(r"0+(?:[.,]0+)?", first):
        return 0.0
    if len(rest) != 1 or SECONDS.get(rest[0].lower()) is None:
        raise refusal(text, "is not a depth per hour", write)
    rate = plain_length(first, write) * 1000 * 3600 / SECONDS[rest[0].lower()]
    if rate > 5000:
        raise refusal(text, "is harder than it has ever rained", write)
    return float(rate)


def parse_flow(text: object, units: Units) -> float:
    """Return a flow, from `0.5 L/s`, `10 L/min`, `3 gal/min` or `gpm`, [m3/s]."""
    write = {"metric": "10 L/min", "us": "3 US gal/min", "imperial": "2 imp gal/min"}[units]
    first, rest = _rate_parts(text, write)
    if not rest and re.fullmatch(r"0+(?:[.,]0+)?", first):
        return 0.0
    value, word = number_and_unit(first, write)
    if not rest and unit_word(word) in ("gpm", "us gpm", "imp gpm"):
        word, rest = unit_word(word).replace("gpm", "gal"), ["min"]
    seconds = {**SECONDS, "day": Fraction(86_400)}.get(rest[0].lower()) if len(rest) == 1 else None
    if seconds is None or not word:
        raise refusal(text, "is not a volume per time", write)
    return finite(value * volume_factor(word, units, text, write) / seconds, text, write)
