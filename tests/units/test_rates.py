"""Ranges, rain, time, needs, shares and temperatures: what is read, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankdash import units
from tankdash.units import Depths, QuantityError, Span


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
