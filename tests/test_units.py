"""Quantities: read as people type them, to the exact definition, or refused with a sentence."""

from __future__ import annotations

import math
from fractions import Fraction
from functools import cache

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankdash import units
from tankdash.units import Depths, QuantityError, Span


@cache
def oracle() -> pint.UnitRegistry:
    return pint.UnitRegistry()


# --- Tape notation --------------------------------------------------------------------------------------------

TAPE = {
    "3' 4 1/2\"": 40.5,
    "5' 3/4\"": 60.75,
    "10 3/8 in": 10.375,
    "4'2-1/4\"": 50.25,
    "7' 0 1/2\"": 84.5,
    "7-0-1/2": 84.5,
    "3' 5 7/32\"": 41.21875,
    "60 ft 1 in": 721.0,
}


@pytest.mark.parametrize(("text", "inches"), TAPE.items())
def test_F18_a_tape_reading_keeps_every_part(text: str, inches: float) -> None:
    # Arithmetic on the exact inch; metres as in reference.md D2.
    assert units.parse_length(text, "us") == float(Fraction(inches) * 254 / 10_000)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("3' 4 1/2\"", 1.0287),
        ("5' 3/4\"", 1.5431),
        ("10 3/8 in", 0.2635),
        ("4'2-1/4\"", 1.2764),
        ("3' 5 7/32\"", 1.0470),
        ("7' 0 1/2\"", 2.1463),
    ],
)
def test_D2_readings_in_metres(text: str, metres: float) -> None:
    assert units.parse_length(text, "metric") == pytest.approx(metres, abs=0.00006)


@pytest.mark.parametrize(
    "text",
    [
        "3' 4½\"",
        "3’ 4 1/2”",
        "3′ 4½″",
        "3'4-1/2\"",
        "3'-4-1/2\"",
        "3 ft 4.5 in",
        "3ft4 1/2in",
        "3 feet 4 1/2 inches",
        "3' 4 1/2''",
        "40 1/2 in",
        "40½in",
        '40-1/2"',
        "40.5 in.",
        "81/2 in",
        "3' 4,5\"",
        "3' - 4 1/2\"",
        "3\u00a0ft\u00a04\u00a01⁄2\u00a0in",
        "3-4-1/2",
        "1028.7 mm",
        "102,87 cm",
    ],
)
def test_one_length_written_many_ways(text: str) -> None:
    assert units.parse_length(text, "us") == 1.0287


@pytest.mark.parametrize(("sign", "eighths"), [*zip("⅛¼⅜½⅝¾⅞", range(1, 8), strict=True)])
def test_every_vulgar_fraction_of_a_tape(sign: str, eighths: int) -> None:
    assert units.parse_length(f"{sign} in") == float(Fraction(eighths, 8) * 254 / 10_000)
    assert units.parse_length(f"9{sign} in") == float((9 + Fraction(eighths, 8)) * 254 / 10_000)
    assert units.parse_length(f"2' {sign}\"") == float((24 + Fraction(eighths, 8)) * 254 / 10_000)


def test_thirds() -> None:
    assert units.parse_length("⅓ m") == pytest.approx(1 / 3)
    assert units.parse_length("1⅔ m") == pytest.approx(5 / 3)


@pytest.mark.parametrize(
    "text",
    [
        "-1' -2\"",
        "1'000'",
        "5' 12\"",
        "5' 13 in",
        "5' 12 1/2\"",
        "3 1/0 in",
        "1/0 m",
        "5'6",
        "5' 6",
        "4' -2\"",
        "3.5' 2\"",
        "84 cm 3",
        "84 cm 3 mm",
        "1 m 20 cm",
        "10 in 3/8",
        "½5 in",
        "1½ ½ in",
        "2/½ in",
        "1³ in",
        "5 5 cm",
        "3 5/4 in",
        "3 4/4 in",
        "1/2/3 in",
        "5 cm cm",
        "cm",
        "5 feet 3 inches 2",
        "84 cm!",
        "84 L",
        "84 cmm",
        "84 km",
    ],
)
def test_F18_a_length_only_partly_understood_is_refused(text: str) -> None:
    with pytest.raises(QuantityError, match="write "):
        units.parse_length(text, "us")


@pytest.mark.parametrize("text", ["84", "1 1/2", "10 3/8", "5.0", 84, 1.5, "1e3"])
def test_a_bare_number_is_refused_and_told_what_to_write(text: object) -> None:
    with pytest.raises(QuantityError, match=r"no unit|not understood"):
        units.parse_length(text, "metric")


@pytest.mark.parametrize("text", ["0", "0.0", "0,0", 0, 0.0, "0 cm", "0 in", "0'"])
def test_zero_needs_no_unit(text: object) -> None:
    assert units.parse_length(text, "metric") == 0.0
    assert math.copysign(1.0, units.parse_length(text, "metric")) == 1.0


@pytest.mark.parametrize(
    "text",
    [
        "nan",
        "NaN m",
        "inf",
        "inf cm",
        "-inf m",
        "1e999 m",
        "1e5 cm",
        "9" * 40 + " m",
        "9" * 400 + " m",
        "0." + "0" * 400,
        "",
        "   ",
        "\t",
        "-",
        "+",
        "'",
        '"',
        "/",
        "1/",
        "/2 in",
        ".",
        ",",
        "m",
        "٣ cm",
        "３ cm",
        "\x00",
        "5\x1b[31m cm",
        "5\ncm",
        "5 cm\n",
        None,
        True,
        False,
        [],
        {},
        b"5 cm",
        float("nan"),
        float("inf"),
        10**400,
    ],
)
def test_nonsense_is_refused_in_one_clean_line(text: object) -> None:
    for parse in (
        units.parse_length,
        units.parse_length_range,
        units.parse_area,
        units.parse_temperature,
        units.parse_span,
        units.parse_pressure,
        units.parse_mass,
        units.parse_hours,
        units.parse_share,
        lambda words: units.parse_volume(words, "us"),
        lambda words: units.parse_rain(words, "us"),
        lambda words: units.parse_need(words, "us"),
        lambda words: units.parse_flow(words, "us"),
        lambda words: units.parse_rain_rate(words, "us"),
        lambda words: units.parse_head(words, "us"),
    ):
        if parse is units.parse_share and str(text).startswith("0.0"):
            continue
        with pytest.raises(QuantityError) as refused:
            parse(text)
        sentence = str(refused.value)
        assert sentence.isprintable()
        assert len(sentence) < 250
        assert "write " in sentence


def test_a_long_figure_that_is_no_number_of_python_is_refused() -> None:
    with pytest.raises(QuantityError, match="too long"):
        units.parse_volume("9" * 5000 + " L", "metric")
    with pytest.raises(QuantityError, match="far too large"):
        units.parse_volume(10**5000, "metric")


# --- Signs ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("-4cm", -0.04),
        ("−4 cm", -0.04),
        ("- 4 cm", -0.04),
        ("+2 cm", 0.02),
        ("-3-1/2 in", -0.0889),
        ("-1' 2\"", -0.3556),
        ("-0", 0.0),
    ],
)
def test_a_height_that_may_lie_below_the_datum(text: str, metres: float) -> None:
    value = units.parse_length(text, "metric", negative=True)
    assert value == pytest.approx(metres, abs=1e-15)
    assert value != 0.0 or math.copysign(1.0, value) == 1.0


@pytest.mark.parametrize("text", ["-1' -2\"", "-1'-2\"", "--4 cm", "-+4 cm", "4 -cm", "-"])
def test_two_signs_are_refused_even_where_one_is_welcome(text: str) -> None:
    with pytest.raises(QuantityError):
        units.parse_length(text, "metric", negative=True)


@pytest.mark.parametrize("text", ["-3 cm", "+3 cm", "-0.5 in"])
def test_a_depth_has_no_sign(text: str) -> None:
    with pytest.raises(QuantityError, match="never negative"):
        units.parse_length(text, "metric")


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


# --- Ranges, rain, time, needs, shares ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("20-30 cm", 0.2, 0.3),
        ("20 to 30 cm", 0.2, 0.3),
        ("20 cm – 30 cm", 0.2, 0.3),
        ("8-9 1/2 in", 0.2032, 0.2413),
        ("2-1/4 in", 0.05715, 0.05715),
        ("1/4-1/2 in", 0.00635, 0.0127),
        ("3' 2\" - 3' 4\"", 0.9652, 1.016),
        ("5 cm", 0.05, 0.05),
        ("0-5 cm", 0.0, 0.05),
        ("60 mm to 9 cm", 0.06, 0.09),
    ],
)
def test_a_reading_may_be_a_range(text: str, low: float, high: float) -> None:
    assert units.parse_length_range(text, "us") == pytest.approx((low, high), rel=1e-14)


@pytest.mark.parametrize(
    "text",
    [
        "30-20 cm",
        "20-30",
        "3-4-1/2 in",
        "20-30-40 cm",
        "-20-30 cm",
        "20--30 cm",
        "20 cm -",
        "5 - cm",
        "20 L-30 cm",
    ],
)
def test_a_range_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        units.parse_length_range(text, "us")


@pytest.mark.parametrize(
    ("text", "reading"),
    [
        ("12 mm", Depths(12.0, 12.0)),
        ("0.42 in", Depths(10.668, 10.668)),
        ("60-90 mm", Depths(60.0, 90.0)),
        ("60–90mm", Depths(60.0, 90.0)),
        (">5.5 in", Depths(139.7, None)),
        (">= 5 1/2 in", Depths(139.7, None)),
        ("≥5.5in", Depths(139.7, None)),
        ("over 5.5 in", Depths(139.7, None)),
        ("trace", Depths(0.0, 0.0, trace=True)),
        ("0", Depths(0.0, 0.0)),
        ("2,5 mm", Depths(2.5, 2.5)),
        ("1.2 cm", Depths(12.0, 12.0)),
    ],
)
def test_F45_a_gauge_says_more_than_one_number(text: str, reading: Depths) -> None:
    assert units.parse_rain(text, "metric") == reading


@pytest.mark.parametrize(
    "text", ["90-60 mm", "-3 mm", "12", ">", ">0 mm", "> trace", "6 m", "1000-6000 mm", "trace mm"]
)
def test_F45_a_gauge_reading_that_cannot_be_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        units.parse_rain(text, "metric")


@pytest.mark.parametrize(
    ("text", "span", "words"),
    [
        ("6 h", Span(seconds=21_600.0), "6 h"),
        ("2 weeks", Span(days=14), "2 weeks"),
        ("1 day", Span(days=1), "1 day"),
        ("2 years", Span(months=24), "2 years"),
        ("18 months", Span(months=18), "18 months"),
        ("0", Span(), "0 days"),
        ("1 1/2 h", Span(seconds=5400.0), "1.5 h"),
        ("1 day 12 h", Span(days=1, seconds=43_200.0), "1 day 12 h"),
        ("45 min", Span(seconds=2700.0), "45 min"),
    ],
)
def test_spans_of_time(text: str, span: Span, words: str) -> None:
    assert units.parse_span(text) == span
    assert span.text == words


@pytest.mark.parametrize(
    "text", ["6", "1.5 days", "1/2 week", "1 m", "-1 day", "1 h 2 h", "1 fortnight", "101 years", "day"]
)
def test_spans_that_are_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        units.parse_span(text)


@given(st.integers(0, 1200), st.integers(0, 9000), st.integers(0, 200_000))
def test_a_span_reads_back_from_its_own_words(months: int, days: int, minutes: int) -> None:
    span = Span(months, days, minutes * 60.0)
    assert units.parse_span(span.text) == span


def test_hours_have_no_months() -> None:
    assert units.parse_hours("2 days") == 48.0
    assert units.parse_hours("90 min") == 1.5
    with pytest.raises(QuantityError, match="hours"):
        units.parse_hours("1 month")


def test_G2_a_gallon_a_square_foot_a_week_is_a_depth() -> None:
    # Arithmetic of reference.md G2 (T for the rule): 1.604 in/week, 40.75 mm/week.
    need = units.parse_need("1 gal/sq ft/week", "us")
    assert need.kind == "volume per area"
    assert need.per_day * 7 * 1000 == pytest.approx(40.75, abs=0.005)
    assert need.per_day * 7 / 0.0254 == pytest.approx(1.604, abs=0.0005)


@pytest.mark.parametrize(
    ("text", "kind", "per_day"),
    [
        ("25 mm/week", "depth", 0.025 / 7),
        ("1/2 in per week", "depth", 0.0127 / 7),
        ("10 L/m2/week", "volume per area", 0.01 / 7),
        ("1.5 L/day", "volume", 0.0015),
        ("70 L per week", "volume", 0.01),
        ("0", "volume", 0.0),
    ],
)
def test_needs(text: str, kind: str, per_day: float) -> None:
    need = units.parse_need(text, "metric")
    assert (need.kind, need.text) == (kind, text)
    assert need.per_day == pytest.approx(per_day, rel=1e-14)


@pytest.mark.parametrize(
    "text",
    [
        "25 mm",
        "25/week",
        "25 mm/month",
        "5 kg/week",
        "1 gal/week",
        "1 L/m2",
        "1 L/day/week",
        "25 mm/m2/week",
        "/week",
        "25 mm/",
    ],
)
def test_needs_that_are_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        units.parse_need(text, "metric")


@pytest.mark.parametrize(
    ("text", "share"),
    [("30 %", 0.3), ("30%", 0.3), (0.9, 0.9), ("0,9", 0.9), (1, 1.0), ("1/4", 0.25), ("110 %", 1.1)],
)
def test_shares(text: object, share: float) -> None:
    assert units.parse_share(text) == share


@pytest.mark.parametrize("text", ["30", 90, "0.3 m", "-5 %", "thirty"])
def test_shares_that_are_refused(text: object) -> None:
    with pytest.raises(QuantityError):
        units.parse_share(text)


@pytest.mark.parametrize(
    ("text", "celsius"), [("-1 C", -1.0), ("-1C", -1.0), ("23 F", -5.0), ("0 °C", 0.0), ("32 F", 0.0)]
)
def test_temperatures(text: str, celsius: float) -> None:
    assert units.parse_temperature(text) == celsius


@pytest.mark.parametrize("text", ["0", "5", "5 K", "200 C", "--1 C", "cold"])
def test_a_temperature_says_which_degrees(text: str) -> None:
    with pytest.raises(QuantityError):
        units.parse_temperature(text)


def test_C1_a_roof_given_by_its_two_sides() -> None:
    # Arithmetic on a 20 x 50 ft footprint (garden journal of 2012, P): one inch is 623.38 US gal.
    roof = units.parse_area("20 x 50 ft")
    assert roof * 0.0254 / units.parse_volume("1 US gal", "us") == pytest.approx(623.38, abs=0.005)
    assert (
        units.parse_area("20' x 50'")
        == units.parse_area("20 by 50 ft")
        == units.parse_area("20x50 ft")
        == roof
    )


@pytest.mark.parametrize("text", ["20 x 50", "20 x", "x 50 ft", "2 x 3 x 4 m", "20 x 50 sq ft", "20 m", "24"])
def test_areas_that_are_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        units.parse_area(text)


# --- Writing --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("metres", "metric", "us"),
    [
        (0.8001, "80 cm (0.8001 m)", "31 1/2 in (0.8001 m)"),
        (0.84, "84 cm (0.84 m)", "33 1/16 in (0.84 m)"),
        (0.0, "0 cm (0 m)", "0 in (0 m)"),
        (-0.04, "-4 cm (-0.04 m)", "-1 9/16 in (-0.04 m)"),
        (2.1463, "2.146 m (2.1463 m)", "7' 0 1/2\" (2.1463 m)"),
        (3.0, "3 m", "9' 10 1/8\" (3 m)"),
        (0.005, "5 mm (0.005 m)", "3/16 in (0.005 m)"),
        (-0.0, "0 cm (0 m)", "0 in (0 m)"),
    ],
)
def test_an_echo_shows_the_site_and_si(metres: float, metric: str, us: str) -> None:
    assert units.format_echo_length(metres, "metric") == metric
    assert units.format_echo_length(metres, "us") == us
    assert units.format_echo_length(metres, "imperial") == us


@given(st.integers(0, 40 * 16 * 12))
def test_any_mark_of_a_tape_reads_back_exactly(sixteenths: int) -> None:
    metres = float(Fraction(sixteenths, 16) * Fraction(254, 10_000))
    assert units.parse_length(units.format_length(metres, "us"), "us") == metres


@given(st.integers(0, 20_000))
def test_any_millimetre_reads_back_exactly(millimetres: int) -> None:
    metres = millimetres / 1000
    assert units.parse_length(units.format_length(metres, "metric"), "metric") == pytest.approx(
        metres, abs=1e-12
    )


@given(st.floats(-50, 50), st.sampled_from(["metric", "us", "imperial"]))
def test_a_length_reads_back_within_its_own_rounding(metres: float, system: units.Units) -> None:
    back = units.parse_length(units.format_length(metres, system), system, negative=True)
    assert abs(back - metres) <= (0.0006 if system == "metric" else 0.0254 / 32 + 1e-9)


@given(st.floats(0, 2000), st.sampled_from(["metric", "us", "imperial"]))
def test_a_volume_reads_back_within_its_own_rounding(volume: float, system: units.Units) -> None:
    words = units.format_volume(volume, system)
    assert {"metric": "L", "us": "US gal", "imperial": "imp gal"}[system] == words.split(" ", 1)[1]
    assert abs(units.parse_volume(words, "metric") - volume) <= 0.0023


def test_figures_as_people_read_them() -> None:
    assert [units.format_volume(volume, "metric") for volume in (0.6, 0.0015, 0.00997, 12.3456)] == [
        "600 L",
        "1.5 L",
        "10 L",
        "12346 L",
    ]
    assert units.format_echo_volume(1.041, "us") == "275 US gal (1041 L)"
    assert units.format_rain(10.668, "us") == "0.42 in"
    assert units.format_echo_rain(10.668, "us") == "0.42 in (10.7 mm)"
    assert units.format_rain(0.5, "metric") == "0.5 mm"
    assert units.format_area(24.0, "metric") == "24 m2"
    assert units.format_area(units.parse_area("250 sq ft"), "us") == "250 sq ft"
    assert units.format_flow(0.0005, "metric") == "0.5 L/s"
    assert units.format_flow(units.parse_flow("3 gpm", "us"), "us") == "3 US gal/min"
    assert units.format_mass(1058.2, "metric") == "1058 kg"
    # W2 of reference.md (D): 1058 kg on 1.0 x 1.2 m is 8.65 kPa and 181 psf.
    weight = 1058.2 * units.GRAVITY / 1.2
    assert units.format_bearing(weight, "metric") == "8.6 kPa"
    assert units.format_bearing(weight, "us") == "181 lb/sq ft"
    assert units.format_temperature(-5.0, "us") == "23 F"
    assert units.format_temperature(-1.0, "metric") == "-1 C"


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_and_nothing_else(text: str) -> None:
    for parse in (
        units.parse_length_range,
        units.parse_area,
        units.parse_temperature,
        units.parse_span,
        units.parse_share,
    ):
        try:
            parse(text)
        except QuantityError as refused:
            assert str(refused).isprintable()


@given(
    st.lists(
        st.sampled_from(
            ["1", "2", "12", "/", "'", '"', " ", "-", "ft", "in", "½", ".", ",", "cm", "L", "x", "to"]
        ),
        max_size=9,
    ).map("".join)
)
def test_any_jumble_of_tape_marks_is_read_or_refused(text: str) -> None:
    for parse in (units.parse_length_range, units.parse_area, lambda words: units.parse_rain(words, "us")):
        try:
            value = parse(text)
        except QuantityError:
            continue
        ends = value if isinstance(value, tuple) else (value,)
        assert all(isinstance(end, Depths) or 0 <= end < 1e9 for end in ends)
