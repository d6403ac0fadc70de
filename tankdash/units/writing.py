"""Quantities written for people: the site's units first, SI behind them where it is an echo."""

from __future__ import annotations

from fractions import Fraction

from tankdash.units.digits import trim
from tankdash.units.factors import (
    FOOT,
    GRAVITY,
    IMPERIAL_GALLON,
    INCH,
    POUND,
    PSI,
    US_GALLON,
    WATER_DENSITY,
    Units,
)


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
        return f"{trim(m * 1000, 1)} mm"
    if abs(m) < 1.9995:
        return f"{trim(m * 100, 1)} cm"
    return f"{trim(m, 3)} m"


def format_echo_length(m: float, units: Units) -> str:
    """Return a length in the site's units and in metres: `31 1/2 in (0.8001 m)`."""
    shown = format_length(m, units)
    plain = f"{trim(m, 4)} m"
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
        return f"{trim(litres, 1 if abs(litres) < 9.95 else 0)} L"
    size, name = (US_GALLON, "US gal") if units == "us" else (IMPERIAL_GALLON, "imp gal")
    gallons = m3 / float(size)
    return f"{trim(gallons, 1 if abs(gallons) < 99.95 else 0)} {name}"


def format_echo_volume(m3: float, units: Units) -> str:
    """Return a volume in the site's units and in litres: `275 US gal (1041 L)`."""
    shown = format_volume(m3, units)
    return shown if units == "metric" else f"{shown} ({format_volume(m3, 'metric')})"


def format_rain(mm: float, units: Units) -> str:
    """Return a rain depth: tenths of a millimetre or hundredths of an inch."""
    return f"{trim(mm, 1)} mm" if units == "metric" else f"{mm / 25.4:.2f} in"


def format_echo_rain(mm: float, units: Units) -> str:
    """Return a rain depth in the site's units and in millimetres: `0.42 in (10.7 mm)`."""
    shown = format_rain(mm, units)
    return shown if units == "metric" else f"{shown} ({format_rain(mm, 'metric')})"


def format_area(m2: float, units: Units) -> str:
    """Return an area in square metres or square feet."""
    if units == "metric":
        return f"{trim(m2, 2 if abs(m2) < 10 else 1)} m2"
    return f"{trim(m2 / float(FOOT**2), 1 if abs(m2) < 10 else 0)} sq ft"


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
    return f"{trim(pa / 1000, 1)} kPa" if units == "metric" else f"{trim(pa / float(PSI), 2)} psi"


def format_bearing(pa: float, units: Units) -> str:
    """Return the pressure on the ground in kPa, or in pounds per square foot."""
    return f"{trim(pa / 1000, 1)} kPa" if units == "metric" else f"{trim(pa / float(PSI) * 144, 0)} lb/sq ft"


def format_mass(kg: float, units: Units) -> str:
    """Return a weight in kg or lb."""
    return f"{trim(kg, 0)} kg" if units == "metric" else f"{trim(kg / float(POUND), 0)} lb"


def format_flow(m3_per_s: float, units: Units) -> str:
    """Return a flow: L/s, L/min when it is small, or gallons a minute with their name."""
    if units == "metric":
        litres = m3_per_s * 1000
        return f"{trim(litres, 2)} L/s" if abs(litres) >= 0.1 else f"{trim(litres * 60, 2)} L/min"
    size, name = (US_GALLON, "US gal") if units == "us" else (IMPERIAL_GALLON, "imp gal")
    return f"{trim(m3_per_s * 60 / float(size), 1)} {name}/min"


def format_temperature(celsius: float, units: Units) -> str:
    """Return a temperature in the degrees of the site: F in a us site, else C."""
    return f"{trim(celsius * 1.8 + 32, 1)} F" if units == "us" else f"{trim(celsius, 1)} C"
