"""What a bed's water need is made of: reference evapotranspiration and crop coefficients.

Formulas of Allen, Pereira, Raes and Smith, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56, 1998.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import acos, cos, exp, isfinite, log, pi, sin, sqrt, tan

from tankdash.water.errors import OutOfRange

SOLAR_CONSTANT = 0.0820
"""Energy from the sun, [MJ/m2/min]; FAO-56 eq. 21."""

CROP_COEFFICIENTS: Mapping[str, float] = {
    "tomato": 1.15,
    "sweet pepper": 1.05,
    "lettuce": 1.00,
    "squash": 0.95,
    "bean": 1.05,
    "cucumber": 1.00,
    "strawberry": 0.85,
}
"""Share of the reference evapotranspiration a crop uses at mid-season; FAO-56 Table 12."""


def _check(what: str, value: float, low: float, high: float) -> None:
    """Refuse a number outside its range, a sign of a wrong unit."""
    if not (isfinite(value) and low <= value <= high):
        raise OutOfRange(f"the {what} must lie between {low:g} and {high:g}, not {value:g}")


def declination(day_of_year: int) -> float:
    """Return the sun's declination, 1 <= day_of_year <= 366, [rad]; FAO-56 eq. 24.

    Examples
    --------
    >>> round(declination(246), 3)
    0.12
    """
    _check("day of the year", day_of_year, 1, 366)
    return 0.409 * sin(2.0 * pi * day_of_year / 365.0 - 1.39)


def sun_distance(day_of_year: int) -> float:
    """Return the inverse relative distance to the sun, 1 <= day_of_year <= 366, [-]; FAO-56 eq. 23.

    Examples
    --------
    >>> round(sun_distance(246), 3)
    0.985
    """
    _check("day of the year", day_of_year, 1, 366)
    return 1.0 + 0.033 * cos(2.0 * pi * day_of_year / 365.0)


def sunset_angle(latitude: float, day_of_year: int) -> float:
    """Return the hour angle of sunset, 0 where the sun stays down, pi where it stays up, [rad]; FAO-56 eq. 25.

    Parameters
    ----------
    latitude : float
        North positive, -90 to 90, [degrees].
    day_of_year : int
        1 to 366.
    """
    _check("latitude", latitude, -90.0, 90.0)
    cosine = -tan(latitude * pi / 180.0) * tan(declination(day_of_year))
    return acos(min(1.0, max(-1.0, cosine)))


def extraterrestrial_radiation(latitude: float, day_of_year: int) -> float:
    """Return the sun's energy above the air on one day, FAO-56 eq. 21.

    Parameters
    ----------
    latitude : float
        North positive, -90 to 90, [degrees].
    day_of_year : int
        1 to 366.

    Returns
    -------
    float
        [MJ/m2/day].

    Raises
    ------
    OutOfRange
        If latitude or day lie outside.

    Examples
    --------
    >>> round(extraterrestrial_radiation(-20.0, 246), 1)
    32.2
    """
    sunset, tilt, phi = sunset_angle(latitude, day_of_year), declination(day_of_year), latitude * pi / 180.0
    height = sunset * sin(phi) * sin(tilt) + cos(phi) * cos(tilt) * sin(sunset)
    return max(0.0, 24.0 * 60.0 / pi * SOLAR_CONSTANT * sun_distance(day_of_year) * height)


def reference_by_temperature(low: float, high: float, radiation: float) -> float:
    """Return the reference evapotranspiration from temperatures alone, Hargreaves; FAO-56 eq. 52.

    Parameters
    ----------
    low, high : float
        Lowest and highest air temperature of the day, low <= high, -60 to 60, [C].
    radiation : float
        Above the air, 0 to 60, [MJ/m2/day]; see `extraterrestrial_radiation`.

    Returns
    -------
    float
        Never negative, [mm/day].

    Raises
    ------
    OutOfRange
        If the temperatures are in the wrong order or outside what air can be.

    Examples
    --------
    >>> round(reference_by_temperature(14.8, 26.6, 40.6), 1)
    5.0
    """
    _check("lowest temperature", low, -60.0, 60.0)
    _check("highest temperature", high, low, 60.0)
    _check("radiation", radiation, 0.0, 60.0)
    mean = 0.5 * (low + high)
    return max(0.0, 0.0023 * (mean + 17.8) * sqrt(high - low) * 0.408 * radiation)


def saturation_pressure(temperature: float) -> float:
    """Return the vapour pressure of saturated air, -60 to 60 [C], [kPa]; FAO-56 eq. 11."""
    _check("temperature", temperature, -60.0, 60.0)
    return 0.6108 * exp(17.27 * temperature / (temperature + 237.3))


def mean_saturation_pressure(low: float, high: float) -> float:
    """Return the day's saturation pressure: the mean of both ends, not that of the mean, [C] to [kPa]; eq. 12.

    Examples
    --------
    >>> round(mean_saturation_pressure(15.0, 24.5), 2)
    2.39
    """
    return 0.5 * (saturation_pressure(low) + saturation_pressure(high))


def vapour_pressure(low: float, high: float, humidity_high: float, humidity_low: float) -> float:
    """Return the day's vapour pressure; the highest humidity goes with the lowest temperature; FAO-56 eq. 17.

    Parameters
    ----------
    low, high : float
        Air temperatures, [C].
    humidity_high, humidity_low : float
        Relative humidities, 0 to 100, [%].

    Returns
    -------
    float
        [kPa].
    """
    _check("highest humidity", humidity_high, 0.0, 100.0)
    _check("lowest humidity", humidity_low, 0.0, 100.0)
    return 0.5 * (saturation_pressure(low) * humidity_high + saturation_pressure(high) * humidity_low) / 100.0


def air_pressure(altitude: float) -> float:
    """Return the air pressure at an altitude, -500 to 9000 [m], [kPa]; FAO-56 eq. 7.

    Examples
    --------
    >>> round(air_pressure(1800.0), 1)
    81.8
    """
    _check("altitude", altitude, -500.0, 9000.0)
    return float(101.3 * ((293.0 - 0.0065 * altitude) / 293.0) ** 5.26)


def reference_by_weather(
    *,
    latitude: float,
    altitude: float,
    day_of_year: int,
    low: float,
    high: float,
    vapour: float,
    wind: float,
    wind_height: float = 2.0,
    sunshine: float,
) -> float:
    """Return the reference evapotranspiration by Penman and Monteith, FAO-56 eq. 6.

    Parameters
    ----------
    latitude : float
        North positive, [degrees].
    altitude : float
        [m].
    day_of_year : int
        1 to 366.
    low, high : float
        Air temperatures of the day, [C].
    vapour : float
        Vapour pressure, [kPa]; see `vapour_pressure`.
    wind : float
        Mean wind, 0 to 60, [m/s].
    wind_height : float, optional
        Where it was measured above the grass, [m].
    sunshine : float
        Bright sunshine, 0 to 24, [h].

    Returns
    -------
    float
        [mm/day].

    Raises
    ------
    OutOfRange
        If a number is outside what it can be.
    """
    _check("highest temperature", high, low, 60.0)
    _check("wind", wind, 0.0, 60.0)
    _check("height of the wind", wind_height, 0.1, 100.0)
    _check("hours of sunshine", sunshine, 0.0, 24.0)
    mean = 0.5 * (low + high)
    wind_at_two = wind * 4.87 / log(67.8 * wind_height - 5.42)  # eq. 47
    slope = 4098.0 * saturation_pressure(mean) / (mean + 237.3) ** 2
    psychrometric = 0.665e-3 * air_pressure(altitude)
    daylight = 24.0 / pi * sunset_angle(latitude, day_of_year)
    above = extraterrestrial_radiation(latitude, day_of_year)
    bright = min(1.0, sunshine / daylight) if daylight > 0.0 else 0.0
    solar, clear = (0.25 + 0.50 * bright) * above, (0.75 + 2e-5 * altitude) * above
    cloudiness = 1.35 * min(1.0, solar / clear) - 0.35 if clear > 0.0 else 0.05
    fourth_powers = 0.5 * ((low + 273.16) ** 4 + (high + 273.16) ** 4)
    long_wave = 4.903e-9 * fourth_powers * (0.34 - 0.14 * sqrt(max(0.0, vapour))) * cloudiness
    net = 0.77 * solar - long_wave
    deficit = max(0.0, mean_saturation_pressure(low, high) - vapour)
    evaporated = 0.408 * slope * net + psychrometric * 900.0 / (mean + 273.0) * wind_at_two * deficit
    return max(0.0, evaporated / (slope + psychrometric * (1.0 + 0.34 * wind_at_two)))


def crop_need(reference: float, crop: str) -> float:
    """Return what a crop uses at mid-season, [mm/day] to [mm/day].

    Raises
    ------
    OutOfRange
        If the crop is not in the table.

    Examples
    --------
    >>> round(crop_need(5.0, "tomato"), 2)
    5.75
    """
    if crop not in CROP_COEFFICIENTS:
        raise OutOfRange(f"no coefficient for {crop!r}: there is one for {', '.join(CROP_COEFFICIENTS)}")
    return reference * CROP_COEFFICIENTS[crop]
