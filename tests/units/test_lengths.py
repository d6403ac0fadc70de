"""Lengths: read as people type them, to the exact definition, or refused with a sentence."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from tankdash import units
from tankdash.units import QuantityError

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
