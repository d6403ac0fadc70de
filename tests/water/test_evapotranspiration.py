"""Garden need against FAO-56's own examples (G1-G8) and an independent library."""

from __future__ import annotations

import warnings
from datetime import date, timedelta
from math import inf, nan, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.water.errors import OutOfRange
from tankdash.water.evapotranspiration import (
    CROP_COEFFICIENTS,
    air_pressure,
    crop_need,
    declination,
    extraterrestrial_radiation,
    mean_saturation_pressure,
    reference_by_temperature,
    reference_by_weather,
    saturation_pressure,
    sun_distance,
    sunset_angle,
    vapour_pressure,
)

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import pandas
    import pyet

FOOT = 0.3048
PSI = 6894.757293168


def test_G3_the_sun_above_the_air() -> None:
    """FAO-56 Ex. 8 (P in transcription): 20 S, day 246: dr 0.985, declination 0.120, ws 1.527, Ra 32.2."""
    assert sun_distance(246) == pytest.approx(0.985, abs=5e-4)
    assert declination(246) == pytest.approx(0.120, abs=5e-4)
    assert sunset_angle(-20.0, 246) == pytest.approx(1.527, abs=5e-4)
    assert extraterrestrial_radiation(-20.0, 246) == pytest.approx(32.2, abs=0.05)


def test_G4_pressures() -> None:
    """FAO-56 Ex. 2, 3 and 5 (P in transcription): 81.8 kPa; 2.39 kPa; 1.70 kPa."""
    assert air_pressure(1800.0) == pytest.approx(81.8, abs=0.05)
    assert mean_saturation_pressure(15.0, 24.5) == pytest.approx(2.39, abs=0.005)
    assert saturation_pressure(18.0) == pytest.approx(2.064, abs=5e-4)
    assert saturation_pressure(25.0) == pytest.approx(3.168, abs=5e-4)
    assert vapour_pressure(18.0, 25.0, 82.0, 54.0) == pytest.approx(1.70, abs=0.005)


def uccle(vapour: float) -> float:
    return reference_by_weather(
        latitude=50.8, altitude=100.0, day_of_year=187, low=12.3, high=21.5, vapour=vapour,
        wind=2.78, wind_height=10.0, sunshine=9.25,
    )  # fmt: skip


def test_G5_the_whole_chain() -> None:
    """FAO-56 Ex. 18, Uccle, 6 July (P in transcription): 3.9 mm/d, 3.880 when worked again."""
    assert uccle(vapour_pressure(12.3, 21.5, 84.0, 63.0)) == pytest.approx(3.880, abs=0.005)


def test_G6_from_temperatures_alone() -> None:
    """FAO-56 Ex. 20, Lyon, July (M): 5.0 mm/d (5.04)."""
    assert reference_by_temperature(14.8, 26.6, 40.6) == pytest.approx(5.04, abs=0.005)


def test_G7_crop_coefficients() -> None:
    """FAO-56 Table 12, mid-season (M)."""
    assert dict(CROP_COEFFICIENTS) == {
        "tomato": 1.15, "sweet pepper": 1.05, "lettuce": 1.00, "squash": 0.95, "bean": 1.05, "cucumber": 1.00,
        "strawberry": 0.85,
    }  # fmt: skip
    assert crop_need(5.0, "tomato") == pytest.approx(5.75)
    with pytest.raises(OutOfRange, match="no coefficient for 'nettle'"):
        crop_need(5.0, "nettle")


latitudes, days = st.floats(-65.0, 65.0), st.integers(1, 365)


@settings(max_examples=60)
@given(latitudes, days)
def test_radiation_agrees_with_an_independent_library(latitude: float, day: int) -> None:
    """`pyet` 1.5, extraterrestrial_r."""
    when = pandas.DatetimeIndex([date(2023, 1, 1) + timedelta(days=day - 1)])
    theirs = float(pyet.extraterrestrial_r(when, latitude * pi / 180).iloc[0])
    assert extraterrestrial_radiation(latitude, day) == pytest.approx(theirs, rel=2e-3, abs=0.01)


@settings(max_examples=30, deadline=None)
@given(st.floats(-5.0, 25.0), st.floats(0.5, 20.0), latitudes, days)
def test_temperature_formula_agrees_with_an_independent_library(
    low: float, swing: float, latitude: float, day: int
) -> None:
    """`pyet` 1.5, hargreaves: the same formula with the energy of evaporation at the day's mean temperature."""
    when = pandas.DatetimeIndex([date(2023, 1, 1) + timedelta(days=day - 1)])
    high = low + swing
    series = [pandas.Series([value], index=when) for value in ((low + high) / 2, high, low)]
    theirs = float(pyet.hargreaves(*series, lat=latitude * pi / 180).iloc[0])
    ours = reference_by_temperature(low, high, extraterrestrial_radiation(latitude, day))
    assert ours == pytest.approx(theirs, rel=0.03, abs=0.01)


@settings(max_examples=30, deadline=None)
@given(st.floats(5.0, 20.0), st.floats(2.0, 15.0), st.floats(20.0, 95.0), st.floats(0.0, 8.0), days)
def test_weather_formula_agrees_with_an_independent_library(
    low: float, swing: float, humidity: float, wind: float, day: int
) -> None:
    """`pyet` 1.5, pm_fao56, from humidity, wind at 2 m and eight tenths of the possible sunshine."""
    latitude, altitude, high = 45.0, 200.0, low + swing
    sunshine = 0.8 * 24.0 / pi * sunset_angle(latitude, day)
    when = pandas.DatetimeIndex([date(2023, 1, 1) + timedelta(days=day - 1)])

    def series(value: float) -> pandas.Series:
        return pandas.Series([value], index=when)

    theirs = float(
        pyet.pm_fao56(
            series((low + high) / 2), series(wind), tmax=series(high), tmin=series(low), rhmax=series(humidity),
            rhmin=series(humidity), n=series(sunshine), elevation=altitude, lat=latitude * pi / 180,
        ).iloc[0]
    )  # fmt: skip
    ours = reference_by_weather(
        latitude=latitude, altitude=altitude, day_of_year=day, low=low, high=high,
        vapour=vapour_pressure(low, high, humidity, humidity), wind=wind, sunshine=sunshine,
    )  # fmt: skip
    assert ours == pytest.approx(max(0.0, theirs), rel=0.01, abs=0.02)


def test_air_may_be_as_dry_as_can_be_and_as_damp() -> None:
    assert vapour_pressure(10.0, 20.0, 0.0, 0.0) == 0.0
    assert vapour_pressure(10.0, 10.0, 100.0, 100.0) == pytest.approx(saturation_pressure(10.0))


def test_polar_night_and_polar_day_are_no_errors() -> None:
    assert extraterrestrial_radiation(80.0, 355) == 0.0
    assert sunset_angle(80.0, 172) == pytest.approx(pi)


@pytest.mark.parametrize("bad", [nan, inf])
def test_a_wrong_unit_is_noticed(bad: float) -> None:
    for ask in (
        lambda: extraterrestrial_radiation(91.0, 100), lambda: extraterrestrial_radiation(45.0, 0),
        lambda: reference_by_temperature(60.0, 80.0, 30.0),  # Fahrenheit
        lambda: reference_by_temperature(20.0, 10.0, 30.0), lambda: reference_by_temperature(10.0, 20.0, 350.0),
        lambda: air_pressure(29000.0), lambda: vapour_pressure(10.0, 20.0, 0.8, 101.0),
        lambda: saturation_pressure(bad),
    ):  # fmt: skip
        with pytest.raises(OutOfRange):
            ask()
