"""Decimal marks, gallons and all other amounts; pint is the independent oracle."""

from __future__ import annotations

import math
from fractions import Fraction
from functools import cache

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankdash import units
from tankdash.units import QuantityError


@cache
def oracle() -> pint.UnitRegistry:
    return pint.UnitRegistry()


# --- Decimal marks --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("3,5 L", 3.5),
        ("0,234 L", 0.234),
        ("1234,567 L", 1234.567),
        ("12,34 L", 12.34),
        ("1,2345 L", 1.2345),
        (",5 L", 0.5),
    ],
)
def test_a_decimal_comma_that_has_one_reading(text: str, litres: float) -> None:
    assert units.parse_volume(text, "metric") == pytest.approx(litres / 1000, rel=1e-15)


@pytest.mark.parametrize("text", ["1,234 L", "12,345 L", "999,000 L"])
def test_a_comma_that_may_part_thousands_is_asked_about(text: str) -> None:
    with pytest.raises(QuantityError, match="two ways") as refused:
        units.parse_volume(text, "metric")
    assert text.split(" ")[0].replace(",", "") in str(refused.value)


@pytest.mark.parametrize("text", ["1,234.5 L", "1.234,5 L", "1,2,3 L", "1,,2 L", "1..2 L", "1 000 L"])
def test_mixed_marks_are_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        units.parse_volume(text, "metric")


# --- Gallons and other volumes --------------------------------------------------------------------------------


def test_F19_K4_a_gallon_says_which_one_it_is() -> None:
    # Definitions: 231 cubic inches, and 4.54609 L; figures of reference.md K4.
    assert units.parse_volume("275 US gal", "metric") * 1000 == pytest.approx(1040.99, abs=0.005)
    assert units.parse_volume("330 US gal", "imperial") * 1000 == pytest.approx(1249.19, abs=0.01)
    # K4 prints 1250.19 for this one; 275 x 4.54609 is 1250.17475, and the definition wins.
    assert units.parse_volume("275 imp gal", "us") * 1000 == pytest.approx(1250.17475, abs=1e-9)
    assert units.format_volume(1.0, "us") == "264 US gal"
    assert units.format_volume(1.0, "imperial") == "220 imp gal"


def test_F19_a_bare_gallon_belongs_to_the_site() -> None:
    assert units.parse_volume("275 gal", "us") == units.parse_volume("275 US gal", "metric")
    assert units.parse_volume("275 gal", "imperial") == units.parse_volume("275 imp gal", "metric")
    for text in ("275 gal", "1 gallon", "2 gal.", "2 gals"):
        with pytest.raises(QuantityError, match="US gal or imp gal"):
            units.parse_volume(text, "metric")


@pytest.mark.parametrize("text", ["1 US gal", "1 U.S. gal", "1 us gallon", "1US gal", "1 u.s. gallons"])
def test_the_us_gallon_by_its_names(text: str) -> None:
    assert units.parse_volume(text, "metric") == float(Fraction(231) * Fraction(254, 10_000) ** 3)


def test_K1_an_inch_on_a_square_foot() -> None:
    # 144/231 by definition; 0.623 printed in the UC Santa Cruz rain tank guide (P).
    litres = units.parse_area("1 sq ft") * units.parse_rain("1 in", "us").low_mm
    gallons = litres / 1000 / units.parse_volume("1 US gal", "us")
    assert gallons == pytest.approx(144 / 231, rel=1e-14)
    assert gallons == pytest.approx(0.623, abs=0.0005)


def test_K2_a_millimetre_on_a_square_metre_is_a_litre() -> None:
    assert units.parse_area("1 m2") * units.parse_rain("1 mm", "metric").low_mm == 1.0


def test_K3_a_foot_of_water() -> None:
    # Lancaster, Rainwater Harvesting for Drylands vol. 1 (2006), Box A3.1 (P): 0.433 psi a foot, 2.31 ft a psi.
    foot = units.parse_length("1 ft")
    assert units.format_head(foot, "us") == "0.43 psi"
    psi = foot * units.WATER_DENSITY * units.GRAVITY / units.parse_pressure("1 psi")
    assert psi == pytest.approx(0.4327, abs=0.00005)
    assert units.parse_head("1 psi", "us") / foot == pytest.approx(2.31, abs=0.005)


def test_H1_a_tap_four_feet_below_the_surface() -> None:
    # Handbook arithmetic (P): surface 10 ft up, tap 6 ft up, 0.43 psi a foot: 1.72 psi; 0.4327 a foot makes it 1.73.
    assert units.format_head(4.0 * units.parse_length("1 ft"), "us") == "1.73 psi"


@pytest.mark.parametrize(
    ("bore", "gallons"),
    [
        ("3.068 in", 0.3840),
        ("4.026 in", 0.6613),
        ("6.065 in", 1.5008),
        ("3.042 in", 0.3776),
        ("3.998 in", 0.6521),
    ],
)
def test_F4_what_a_foot_of_pipe_holds(bore: str, gallons: float) -> None:
    # ASTM D1785 inside diameters (M); volumes by arithmetic.
    area = math.pi / 4 * units.parse_length(bore) ** 2
    held = area * units.parse_length("1 ft") / units.parse_volume("1 US gal", "us")
    assert held == pytest.approx(gallons, abs=0.00006)


# --- pint as the independent oracle ---------------------------------------------------------------------------

LENGTHS = {"mm": "millimeter", "cm": "centimeter", "m": "meter", "in": "inch", "ft": "foot"}
AREAS = {"m2": "meter**2", "sq m": "meter**2", "sq ft": "foot**2", "ft2": "foot**2", "sq in": "inch**2"}
VOLUMES = {
    "L": "liter",
    "m3": "meter**3",
    "cu ft": "foot**3",
    "US gal": "US_liquid_gallon",
    "imp gal": "imperial_gallon",
    "mL": "milliliter",
    "kL": "kiloliter",
}
FIGURES = st.decimals(min_value="0.0001", max_value="99999", places=4)


@given(FIGURES, st.sampled_from(sorted(LENGTHS)))
def test_lengths_agree_with_pint(figure: object, unit: str) -> None:
    theirs = oracle().Quantity(float(str(figure)), LENGTHS[unit]).to("meter").magnitude
    assert units.parse_length(f"{figure} {unit}") == pytest.approx(theirs, rel=1e-13)


@given(FIGURES, st.sampled_from(sorted(AREAS)))
def test_areas_agree_with_pint(figure: object, unit: str) -> None:
    theirs = oracle().Quantity(float(str(figure)), AREAS[unit]).to("meter**2").magnitude
    assert units.parse_area(f"{figure} {unit}") == pytest.approx(theirs, rel=1e-13)


@given(FIGURES, st.sampled_from(sorted(VOLUMES)))
def test_volumes_agree_with_pint(figure: object, unit: str) -> None:
    theirs = oracle().Quantity(float(str(figure)), VOLUMES[unit]).to("meter**3").magnitude
    assert units.parse_volume(f"{figure} {unit}", "metric") == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(
    ("ours", "figure", "unit", "si"),
    [
        (units.parse_pressure("1.5 psi"), 1.5, "psi", "pascal"),
        (units.parse_pressure("9.8 kPa"), 9.8, "kilopascal", "pascal"),
        (units.parse_mass("130 lb"), 130, "pound", "kilogram"),
        (units.parse_flow("3 gpm", "us"), 3, "US_liquid_gallon/minute", "meter**3/second"),
        (units.parse_flow("2 gal/min", "imperial"), 2, "imperial_gallon/minute", "meter**3/second"),
        (units.parse_flow("10 L/min", "metric"), 10, "liter/minute", "meter**3/second"),
        (units.parse_need("1 gal/sq ft/week", "us").per_day, 1, "US_liquid_gallon/foot**2/week", "meter/day"),
        (units.parse_need("25 mm/week", "metric").per_day, 25, "millimeter/week", "meter/day"),
        (units.parse_need("1.5 L/day", "metric").per_day, 1.5, "liter/day", "meter**3/day"),
    ],
)
def test_rates_and_pressures_agree_with_pint(ours: float, figure: float, unit: str, si: str) -> None:
    assert ours == pytest.approx(oracle().Quantity(figure, unit).to(si).magnitude, rel=1e-12)


@given(st.integers(min_value=-80, max_value=130))
def test_temperatures_agree_with_pint(figure: int) -> None:
    theirs = oracle().Quantity(figure, "degF").to("degC").magnitude
    assert units.parse_temperature(f"{figure} F") == pytest.approx(theirs, abs=1e-9)
