"""How much: areas, volumes with their gallons, weights, pressures, heads, temperatures and shares."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from tankdash.units.digits import (
    ONE,
    finite,
    number_and_unit,
    refusal,
    scaled,
    tidy,
    trim,
    unit_word,
    unknown_unit,
    unsigned,
)
from tankdash.units.factors import (
    AREAS,
    BARE_GALLONS,
    GRAVITY,
    IMPERIAL_GALLON,
    MASSES,
    PRESSURES,
    US_GALLON,
    VOLUMES,
    WATER_DENSITY,
    Units,
)
from tankdash.units.lengths import ends, plain_length


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
    return finite(scaled(plain, AREAS, "area", write), text, write)


def _volume_sample(units: Units) -> str:
    return {"metric": "100 L", "us": "25 US gal", "imperial": "20 imp gal"}[units]


def _volumes(units: Units, text: object, unit: str) -> Mapping[str, Fraction]:
    """Return the volume factors of a site, the bare gallon among them where the site has one."""
    if unit in BARE_GALLONS:
        if units == "metric":
            raise refusal(text, "does not say which gallon", "US gal or imp gal")
        return dict.fromkeys(BARE_GALLONS, US_GALLON if units == "us" else IMPERIAL_GALLON)
    return VOLUMES


def volume_factor(word: str, units: Units, text: object, write: str) -> Fraction:
    """Return the exact size of a unit of volume, [m3], or refuse the quantity `text` that it stands in."""
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
    return finite(value * volume_factor(word, units, text, write), text, write)


def parse_mass(text: object) -> float:
    """Return a mass from `kg` or `lb`, [kg]."""
    write = "60 kg or 130 lb"
    return finite(
        scaled(unsigned(tidy(text, write), write, "a weight"), MASSES, "weight", write), text, write
    )


def parse_pressure(text: object) -> float:
    """Return a pressure from `kPa` or `psi`, [Pa]."""
    write = "10 kPa or 1.5 psi"
    return finite(
        scaled(unsigned(tidy(text, write), write, "a pressure"), PRESSURES, "pressure", write),
        text,
        write,
    )


def parse_head(text: object, units: Units) -> float:
    """Return a head of water, given as a height or as the pressure it makes, [m]."""
    write = "1 m or 10 kPa" if units == "metric" else "3 ft or 1.5 psi"
    word = re.sub(r"[^A-Za-z]", "", str(text)).lower()
    if word in PRESSURES:
        return parse_pressure(text) / (WATER_DENSITY * GRAVITY)
    plain = unsigned(tidy(text, write), write, "a head")
    return finite(plain_length(plain, write), text, write)


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
        raise refusal(text, "may be a percentage", f"{trim(float(value), 3)} % or a share of one such as 0.3")
    return float(value)
