"""Quantities as people type them, read into SI and written back: exact factors, every unit, named gallons.

Whatever is only partly understood is refused with a sentence that says what to write instead; nothing is dropped.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from tankdash.tape import (
    FEET_AND_INCHES,
    FOOT,
    INCH,
    LENGTHS,
    NUMBER,
    ONE,
    QuantityError,
    Units,
    ends,
    exact,
    factors_by_name,
    finite,
    number_and_unit,
    parse_length,
    parse_length_range,
    plain_length,
    refusal,
    scaled,
    shown,
    tidy,
    unit_word,
    unknown_unit,
    unsigned,
)

__all__ = [
    "GRAVITY",
    "WATER_DENSITY",
    "Depths",
    "Need",
    "QuantityError",
    "Span",
    "Units",
    "format_area",
    "format_bearing",
    "format_echo_length",
    "format_echo_rain",
    "format_echo_volume",
    "format_flow",
    "format_head",
    "format_length",
    "format_mass",
    "format_pressure",
    "format_rain",
    "format_temperature",
    "format_volume",
    "parse_area",
    "parse_flow",
    "parse_head",
    "parse_hours",
    "parse_length",
    "parse_length_range",
    "parse_mass",
    "parse_need",
    "parse_pressure",
    "parse_rain",
    "parse_rain_rate",
    "parse_share",
    "parse_span",
    "parse_temperature",
    "parse_volume",
]

WATER_DENSITY = 998.2
"""Of water at 20 C, [kg/m3]."""
GRAVITY = 9.80665
"""Standard acceleration of free fall, exact by definition, [m/s2]."""

_POUND = Fraction(45_359_237, 100_000_000)
_US_GALLON = 231 * INCH**3
_IMPERIAL_GALLON = Fraction(454_609, 100_000_000)
_LITRE = Fraction(1, 1000)
_STANDARD_GRAVITY = Fraction(980_665, 100_000)
_PSI = _POUND * _STANDARD_GRAVITY / INCH**2


_AREAS = factors_by_name(
    {
        "m2, sq m, sqm, square metre, square metres, square meter, square meters": 1,
        "ft2, sq ft, sqft, square foot, square feet": FOOT**2,
        "cm2, sq cm": Fraction(1, 10_000),
        "in2, sq in": INCH**2,
    }
)
_VOLUMES = factors_by_name(
    {
        "l, litre, litres, liter, liters": _LITRE,
        "m3, cu m, cubic metre, cubic metres, cubic meter, cubic meters": 1,
        "ft3, cu ft, cubic foot, cubic feet": FOOT**3,
        "us gal, us gals, us gallon, us gallons": _US_GALLON,
        "imp gal, imp gals, imp gallon, imp gallons, imperial gal, imperial gallon, imperial gallons": _IMPERIAL_GALLON,
    }
)
_BARE_GALLONS = ("gal", "gals", "gallon", "gallons")
_PRESSURES = factors_by_name({"kpa": 1000, "psi": _PSI, "pa": 1})
_MASSES = factors_by_name({"kg, kilogram, kilograms": 1, "lb, lbs, pound, pounds": _POUND})
_SECONDS = factors_by_name(
    {"h, hr, hrs, hour, hours": 3600, "min, mins, minute, minutes": 60, "s, sec, secs, second, seconds": 1}
)
_DAYS = factors_by_name({"d, day, days": 1, "wk, wks, week, weeks": 7})
_MONTHS = factors_by_name({"month, months": 1, "yr, yrs, year, years": 12})


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
            parts.append(f"{_trim(self.seconds / length, 2)} {word}")
        return " ".join(parts) or "0 days"


@dataclass(frozen=True)
class Need:
    """What a bed wants each day."""

    kind: Literal["depth", "volume per area", "volume"]
    """Depth and volume per area go with the bed's area; a volume is for the whole bed."""
    per_day: float
    """[m/day] for the first two, which are one thing; [m3/day] for a volume."""
    text: str
    """As typed."""


@dataclass(frozen=True)
class Depths:
    """A rain reading: one depth, a range, or a lower bound."""

    low_mm: float
    """At least this much, [mm]."""
    high_mm: float | None
    """At most this much; None when only a lower bound is known, [mm]."""
    trace: bool = False
    """Wet, but too little to measure: adds nothing and still makes a wet day."""


def _volume_sample(units: Units) -> str:
    return {"metric": "100 L", "us": "25 US gal", "imperial": "20 imp gal"}[units]


def parse_area(text: object, units: Units = "metric") -> float:
    """Return an area, also one given as length by width such as `7 x 14 m`, [m2].

    Examples
    --------
    >>> parse_area("20 x 50 ft") == parse_area("1000 sq ft")
    True
    """
    write = "24 m2 or 6 x 4 m" if units == "metric" else "250 sq ft or 10 x 25 ft"
    plain = unsigned(tidy(text, write), write, "an area")
    sides = re.split(r" x | by |(?<=\d)x(?=\d)", plain)
    if len(sides) == 2:
        across, _ = ends(sides[1], write, plain_length)
        shared = ONE.fullmatch(sides[1])
        bare = ONE.fullmatch(sides[0])
        along = (
            f"{sides[0]} {shared['unit']}"
            if bare and not bare["unit"] and shared and shared["unit"]
            else sides[0]
        )
        return finite(plain_length(along, write) * across, text, write)
    return finite(scaled(plain, _AREAS, "area", write), text, write)


def _volumes(units: Units, text: object, unit: str) -> Mapping[str, Fraction]:
    """Return the volume factors of a site, the bare gallon among them where the site has one."""
    if unit in _BARE_GALLONS:
        if units == "metric":
            raise refusal(text, "does not say which gallon", "US gal or imp gal")
        return dict.fromkeys(_BARE_GALLONS, _US_GALLON if units == "us" else _IMPERIAL_GALLON)
    return _VOLUMES


def _volume_factor(word: str, units: Units, text: object, write: str) -> Fraction:
    if word in ("mL", "ml", "kL", "kl"):
        return Fraction(1, 1_000_000) if word[0] == "m" else Fraction(1)
    unit = unit_word(word)
    factors = _volumes(units, text, unit)
    if unit not in factors:
        raise refusal(text, unknown_unit(unit, "volume"), write)
    return factors[unit]


def parse_volume(text: object, units: Units) -> float:
    """Return a volume; a bare `gal` is the gallon of the site and refused in a metric one, [m3].

    Examples
    --------
    >>> round(parse_volume("275 US gal", "metric"), 5), round(parse_volume("275 gal", "imperial"), 5)
    (1.04099, 1.25017)
    """
    write = _volume_sample(units)
    plain = unsigned(tidy(text, write), write, "a volume")
    value, word = number_and_unit(plain, write)
    if not word:
        if value == 0:
            return 0.0
        raise refusal(text, "has no unit", write)
    return finite(value * _volume_factor(word, units, text, write), text, write)


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
        if unit in _MONTHS:
            size, months = 100 * _MONTHS[unit], months + count * _MONTHS[unit]
        elif unit in _DAYS:
            size, days = 10 * _DAYS[unit], days + count * _DAYS[unit]
        elif unit in _SECONDS:
            size, seconds = -_SECONDS[unit], seconds + count * _SECONDS[unit]
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
    times = [word for word in rest if word.lower() in _DAYS]
    areas = [word for word in rest if unit_word(word) in _AREAS]
    if len(times) != 1 or len(times) + len(areas) != len(rest) or len(areas) > 1:
        raise refusal(text, "is not a rate per day or per week", write)
    days = _DAYS[times[0].lower()]
    value, word = number_and_unit(first, write)
    if not areas and (unit_word(word) in LENGTHS or FEET_AND_INCHES.fullmatch(first)):
        return Need("depth", finite(plain_length(first, write) / days, text, write), words)
    if not word:
        raise refusal(text, "has no unit before the rate", write)
    volume = value * _volume_factor(word, units, text, write) / days
    if areas:
        return Need("volume per area", finite(volume / _AREAS[unit_word(areas[0])], text, write), words)
    return Need("volume", finite(volume, text, write), words)


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


def parse_temperature(text: object) -> float:
    """Return a temperature; even zero needs its unit, since 0 C and 0 F differ, [C].

    Examples
    --------
    >>> parse_temperature("-1 C"), parse_temperature("23 F")
    (-1.0, -5.0)
    """
    write = "-1 C or 30 F"
    plain = tidy(text, write)
    sign = -1 if plain[0] == "-" else 1
    plain = plain[1:].strip() if plain[0] in "+-" else plain
    value, word = number_and_unit(unsigned(plain, write), write)
    unit = re.sub(r"^(?:degrees?|deg|°) ?", "", word.lower())
    if unit not in ("c", "f", "celsius", "fahrenheit"):
        raise refusal(text, "does not say C or F", write)
    value = sign * value
    celsius = value if unit[0] == "c" else (value - 32) * Fraction(5, 9)
    if not -90 <= celsius <= 60:
        raise refusal(text, "is no weather on this planet", write)
    return float(celsius) + 0.0


def parse_pressure(text: object) -> float:
    """Return a pressure from `kPa` or `psi`, [Pa]."""
    write = "10 kPa or 1.5 psi"
    return finite(
        scaled(unsigned(tidy(text, write), write, "a pressure"), _PRESSURES, "pressure", write),
        text,
        write,
    )


def parse_head(text: object, units: Units) -> float:
    """Return a head of water, given as a height or as the pressure it makes, [m]."""
    write = "1 m or 10 kPa" if units == "metric" else "3 ft or 1.5 psi"
    word = re.sub(r"[^A-Za-z]", "", str(text)).lower()
    if word in _PRESSURES:
        return parse_pressure(text) / (WATER_DENSITY * GRAVITY)
    plain = unsigned(tidy(text, write), write, "a head")
    return finite(plain_length(plain, write), text, write)


def parse_mass(text: object) -> float:
    """Return a mass from `kg` or `lb`, [kg]."""
    write = "60 kg or 130 lb"
    return finite(
        scaled(unsigned(tidy(text, write), write, "a weight"), _MASSES, "weight", write), text, write
    )


def parse_rain_rate(text: object, units: Units) -> float:
    """Return how hard it rains, from `100 mm/h` or `4 in/h`, [mm/h]."""
    write = "100 mm/h" if units == "metric" else "4 in/h"
    first, rest = _rate_parts(text, write)
    if not rest and re.fullmatch(r"0+(?:[.,]0+)?", first):
        return 0.0
    if len(rest) != 1 or _SECONDS.get(rest[0].lower()) is None:
        raise refusal(text, "is not a depth per hour", write)
    rate = plain_length(first, write) * 1000 * 3600 / _SECONDS[rest[0].lower()]
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
    seconds = {**_SECONDS, "day": Fraction(86_400)}.get(rest[0].lower()) if len(rest) == 1 else None
    if seconds is None or not word:
        raise refusal(text, "is not a volume per time", write)
    return finite(value * _volume_factor(word, units, text, write) / seconds, text, write)


def parse_share(text: object) -> float:
    """Return a share of one from `30 %` or `0.3`; whether more than 1 makes sense is the caller's to say.

    Examples
    --------
    >>> parse_share("30 %"), parse_share("0,3"), parse_share(0.9)
    (0.3, 0.3, 0.9)
    """
    write = "a share such as 30 % or 0.3"
    value, word = number_and_unit(unsigned(tidy(text, write), write, "a share"), write)
    if word in ("%", "percent", "per cent"):
        return finite(value / 100, text, write)
    if word:
        raise refusal(text, "is not a share", write)
    if value > 2:
        raise refusal(
            text, "may be a percentage", f"{_trim(float(value), 3)} % or a share of one such as 0.3"
        )
    return float(value)


# --- Writing: site units first, SI behind them where it is an echo --------------------------------------------


def _trim(value: float, decimals: int) -> str:
    """Return `value` rounded, without trailing zeros and without a negative zero."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def _tape(inches: float, step: int = 16) -> str:
    """Return inches with a reduced fraction, to the nearest 1/16."""
    steps = round(abs(inches) * step)
    whole, part = divmod(steps, step)
    fraction = str(Fraction(part, step)) if part else ""
    digits = " ".join(filter(None, (str(whole) if whole or not part else "", fraction)))
    return f"-{digits}" if inches < 0 and steps else digits


def format_length(m: float, units: Units) -> str:
    """Return a length in the site's units: to the millimetre, or to 1/16 inch.

    Examples
    --------
    >>> format_length(0.8001, "us"), format_length(0.8001, "metric")
    ('31 1/2 in', '80 cm')
    >>> print(format_length(2.1463, "us"))
    7' 0 1/2"
    """
    if units != "metric":
        sixteenths = round(abs(m) / float(INCH) * 16)
        if sixteenths < 72 * 16:
            return f"{_tape(m / float(INCH))} in"
        feet, rest = divmod(sixteenths, 12 * 16)
        inches = f"0 {_tape(rest / 16)}" if 0 < rest < 16 else _tape(rest / 16)
        return f"{'-' if m < 0 else ''}{feet}' {inches}\""
    if 0 < abs(m) < 0.01:
        return f"{_trim(m * 1000, 1)} mm"
    if abs(m) < 1.9995:
        return f"{_trim(m * 100, 1)} cm"
    return f"{_trim(m, 3)} m"


def format_echo_length(m: float, units: Units) -> str:
    """Return a length in the site's units and in metres: `31 1/2 in (0.8001 m)`."""
    shown = format_length(m, units)
    plain = f"{_trim(m, 4)} m"
    return shown if shown == plain else f"{shown} ({plain})"


def format_volume(m3: float, units: Units) -> str:
    """Return a volume in the site's units, the gallon always named.

    Examples
    --------
    >>> format_volume(0.6, "metric"), format_volume(1.041, "us"), format_volume(0.02, "imperial")
    ('600 L', '275 US gal', '4.4 imp gal')
    """
    if units == "metric":
        litres = m3 * 1000
        return f"{_trim(litres, 1 if abs(litres) < 9.95 else 0)} L"
    size, name = (_US_GALLON, "US gal") if units == "us" else (_IMPERIAL_GALLON, "imp gal")
    gallons = m3 / float(size)
    return f"{_trim(gallons, 1 if abs(gallons) < 99.95 else 0)} {name}"


def format_echo_volume(m3: float, units: Units) -> str:
    """Return a volume in the site's units and in litres: `275 US gal (1041 L)`."""
    shown = format_volume(m3, units)
    return shown if units == "metric" else f"{shown} ({format_volume(m3, 'metric')})"


def format_rain(mm: float, units: Units) -> str:
    """Return a rain depth: tenths of a millimetre or hundredths of an inch."""
    return f"{_trim(mm, 1)} mm" if units == "metric" else f"{mm / 25.4:.2f} in"


def format_echo_rain(mm: float, units: Units) -> str:
    """Return a rain depth in the site's units and in millimetres: `0.42 in (10.7 mm)`."""
    shown = format_rain(mm, units)
    return shown if units == "metric" else f"{shown} ({format_rain(mm, 'metric')})"


def format_area(m2: float, units: Units) -> str:
    """Return an area in square metres or square feet."""
    if units == "metric":
        return f"{_trim(m2, 2 if abs(m2) < 10 else 1)} m2"
    return f"{_trim(m2 / float(FOOT**2), 1 if abs(m2) < 10 else 0)} sq ft"


def format_head(m: float, units: Units) -> str:
    """Return the pressure that a head of water makes, 998.2 kg/m3: kPa or psi.

    Examples
    --------
    >>> format_head(1.0, "metric"), format_head(0.3048, "us")
    ('9.8 kPa', '0.43 psi')
    """
    return format_pressure(m * WATER_DENSITY * GRAVITY, units)


def format_pressure(pa: float, units: Units) -> str:
    """Return a pressure in kPa or psi."""
    return f"{_trim(pa / 1000, 1)} kPa" if units == "metric" else f"{_trim(pa / float(_PSI), 2)} psi"


def format_bearing(pa: float, units: Units) -> str:
    """Return the pressure on the ground in kPa, or in pounds per square foot."""
    return (
        f"{_trim(pa / 1000, 1)} kPa" if units == "metric" else f"{_trim(pa / float(_PSI) * 144, 0)} lb/sq ft"
    )


def format_mass(kg: float, units: Units) -> str:
    """Return a weight in kg or lb."""
    return f"{_trim(kg, 0)} kg" if units == "metric" else f"{_trim(kg / float(_POUND), 0)} lb"


def format_flow(m3_per_s: float, units: Units) -> str:
    """Return a flow: L/s, L/min when it is small, or gallons a minute with their name."""
    if units == "metric":
        litres = m3_per_s * 1000
        return f"{_trim(litres, 2)} L/s" if abs(litres) >= 0.1 else f"{_trim(litres * 60, 2)} L/min"
    size, name = (_US_GALLON, "US gal") if units == "us" else (_IMPERIAL_GALLON, "imp gal")
    return f"{_trim(m3_per_s * 60 / float(size), 1)} {name}/min"


def format_temperature(celsius: float, units: Units) -> str:
    """Return a temperature in the degrees of the site: F in a us site, else C."""
    return f"{_trim(celsius * 1.8 + 32, 1)} F" if units == "us" else f"{_trim(celsius, 1)} C"
