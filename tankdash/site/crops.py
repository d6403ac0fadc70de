"""What a crop asks for through the year: FAO-56, from where the garden lies and how warm its months are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from tankdash.site.model import Bed, Site
from tankdash.water.evapotranspiration import crop_need, extraterrestrial_radiation, reference_by_temperature

MIDDLE_OF_THE_MONTH = 15
"""FAO-56 takes the fifteenth for a whole month."""


def month_needs(
    crop: str, latitude: float, lows: Sequence[float], highs: Sequence[float]
) -> tuple[float, ...]:
    """Return what a crop at mid-season uses in each month, January first.

    Hargreaves on the month's mean temperatures (FAO-56 eq. 52), times the coefficient of Table 12: a full-grown
    crop, so young plants ask for less.

    Parameters
    ----------
    crop : str
        A name of `CROP_COEFFICIENTS`.
    latitude : float
        North positive, -90 to 90, [degrees].
    lows, highs : sequence of float
        Mean daily low and high of the twelve months, [C].

    Returns
    -------
    tuple of float
        [m/day].

    Examples
    --------
    >>> july = month_needs("tomato", 45.7, [10.0] * 6 + [14.8] + [10.0] * 5, [20.0] * 6 + [26.6] + [20.0] * 5)[6]
    >>> round(july * 1000, 1)
    5.8
    """
    needs = []
    for month, (low, high) in enumerate(zip(lows, highs, strict=True), start=1):
        day_of_year = date(2023, month, MIDDLE_OF_THE_MONTH).timetuple().tm_yday
        radiation = extraterrestrial_radiation(latitude, day_of_year)
        needs.append(crop_need(reference_by_temperature(low, high, radiation), crop) / 1000.0)
    return tuple(needs)


def watered_by(bed: Bed, latitude: float, lows: Sequence[float], highs: Sequence[float]) -> Bed:
    """Return a bed with the need of its crop worked out; one with a plain need stays as it is."""
    return bed if bed.crop is None else replace(bed, by_month=month_needs(bed.crop, latitude, lows, highs))


def without_temperatures(site: Site) -> list[str]:
    """Return the beds whose crop has no need yet, because nobody knows the temperatures."""
    return [key for key, bed in site.beds.items() if bed.crop is not None and bed.by_month is None]


def with_temperatures(site: Site, lows: Sequence[float], highs: Sequence[float]) -> Site:
    """Return the site with the needs of those beds worked out from the temperatures of the twelve months, [C]."""
    if site.climate is None:
        return site
    waiting, latitude = without_temperatures(site), site.climate.latitude
    return replace(
        site,
        beds={
            key: watered_by(bed, latitude, lows, highs) if key in waiting else bed
            for key, bed in site.beds.items()
        },
    )
