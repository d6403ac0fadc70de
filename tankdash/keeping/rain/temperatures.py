"""Mean temperatures of the months from imported past days: what a crop's need rests on when none are typed in."""

from __future__ import annotations

from statistics import fmean

from tankdash.journal.store import Journal
from tankdash.site.crops import with_temperatures, without_temperatures
from tankdash.site.model import Site

LEAST_DAYS = 20
"""A month is told by at least so many days, of one year or several."""


def with_past_temperatures(site: Site, journal: Journal) -> Site:
    """Return the site with the needs of crops worked out from the station that tells most about temperatures.

    A site without crops, or with its temperatures typed in, stays as it is and the journal is not read.

    Parameters
    ----------
    site : Site
        As its file has it.
    journal : Journal
        With past days imported from a station, or none.
    """
    if not without_temperatures(site):
        return site
    by_station: dict[str, dict[tuple[str, int], list[float]]] = {}
    for value in journal.history():
        if value.element in ("tmin", "tmax"):
            months = by_station.setdefault(value.station, {})
            months.setdefault((value.element, value.day.month), []).append((value.low + value.high) / 2.0)
    whole = [
        months
        for months in by_station.values()
        if all(
            len(months.get((element, month), ())) >= LEAST_DAYS
            for element in ("tmin", "tmax")
            for month in range(1, 13)
        )
    ]
    if not whole:
        return site
    best = max(whole, key=lambda months: sum(map(len, months.values())))
    lows, highs = ([fmean(best[element, month]) for month in range(1, 13)] for element in ("tmin", "tmax"))
    return with_temperatures(site, lows, [max(low, high) for low, high in zip(lows, highs, strict=True)])
