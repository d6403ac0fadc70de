"""What one of each unit is in SI, exactly, by every way of writing its name."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

Units = Literal["metric", "us", "imperial"]
"""How a site shows results, and which gallon a bare `gal` is there."""
WATER_DENSITY = 998.2
"""Of water at 20 C, [kg/m3]."""
GRAVITY = 9.80665
"""Standard acceleration of free fall, exact by definition, [m/s2]."""
INCH = Fraction(254, 10_000)
"""25.4 mm, exact by definition, [m]."""
FOOT = 12 * INCH
"""[m]."""
POUND = Fraction(45_359_237, 100_000_000)
"""Exact by definition, [kg]."""
US_GALLON = 231 * INCH**3
"""231 cubic inches, exact by definition, [m3]."""
IMPERIAL_GALLON = Fraction(454_609, 100_000_000)
"""4.54609 L, exact by definition, [m3]."""
PSI = POUND * Fraction(980_665, 100_000) / INCH**2
"""The weight of a pound on a square inch, [Pa]."""


def factors_by_name(names: Mapping[str, Fraction | int]) -> dict[str, Fraction]:
    """Return a factor for each of the names, which stand in groups parted by commas."""
    return {name.strip(): Fraction(factor) for group, factor in names.items() for name in group.split(",")}


LENGTHS = factors_by_name(
    {
        "mm, millimetre, millimetres, millimeter, millimeters": Fraction(1, 1000),
        "cm, centimetre, centimetres, centimeter, centimeters": Fraction(1, 100),
        "m, metre, metres, meter, meters": 1,
        'in, ", inch, inches': INCH,
        "ft, ', foot, feet": FOOT,
    }
)
"""[m]."""
AREAS = factors_by_name(
    {
        "m2, sq m, sqm, square metre, square metres, square meter, square meters": 1,
        "ft2, sq ft, sqft, square foot, square feet": FOOT**2,
        "cm2, sq cm": Fraction(1, 10_000),
        "in2, sq in": INCH**2,
    }
)
"""[m2]."""
VOLUMES = factors_by_name(
    {
        "l, litre, litres, liter, liters": Fraction(1, 1000),
        "m3, cu m, cubic metre, cubic metres, cubic meter, cubic meters": 1,
        "ft3, cu ft, cubic foot, cubic feet": FOOT**3,
        "us gal, us gals, us gallon, us gallons": US_GALLON,
        "imp gal, imp gals, imp gallon, imp gallons, imperial gal, imperial gallon, imperial gallons": IMPERIAL_GALLON,
    }
)
"""[m3]."""
BARE_GALLONS = ("gal", "gals", "gallon", "gallons")
"""Words that do not say which gallon; the site does, unless it is metric."""
PRESSURES = factors_by_name({"kpa": 1000, "psi": PSI, "pa": 1})
"""[Pa]."""
MASSES = factors_by_name({"kg, kilogram, kilograms": 1, "lb, lbs, pound, pounds": POUND})
"""[kg]."""
SECONDS = factors_by_name(
    {"h, hr, hrs, hour, hours": 3600, "min, mins, minute, minutes": 60, "s, sec, secs, second, seconds": 1}
)
"""Clock time, [s]."""
DAYS = factors_by_name({"d, day, days": 1, "wk, wks, week, weeks": 7})
"""Local days, by the calendar."""
MONTHS = factors_by_name({"month, months": 1, "yr, yrs, year, years": 12})
"""Months, by the calendar."""
