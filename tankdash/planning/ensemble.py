"""The chance of running dry: today's water run through every past year of rain the owner has, from today's date on.

The bank is one store of the water its outlets can reach, with a daily step and yield after spillage (R18).
All years are stepped side by side; numpy is imported when the question is asked.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from tankdash.planning.need import SOIL_DAYS, need_on, root_need, takes_rain
from tankdash.site.model import Bed
from tankdash.water.catch import catch
from tankdash.water.model import Roof

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True)
class Trace:
    """One past year's rain, had it begun today."""

    year: int
    """The year whose rain it is."""
    held: tuple[float, ...]
    """Usable water at the end of each day, [m3]."""
    first_dry: int | None
    """Days from today to the first whose need went unmet, 0 being today; None when all were met."""
    dry_days: int
    """Days whose need went unmet."""
    spilled: float
    """[m3]."""


@dataclass(frozen=True)
class Ensemble:
    """All past years side by side."""

    start: date
    days: int
    traces: tuple[Trace, ...]
    """In the order of the years; only years whose record is whole over these days."""
    left_out: tuple[int, ...]
    """Years with a missing day in the span."""

    def dry_share(self, day: int) -> float | None:
        """Return the share of years that had run short on or before `day` (0 being today); None without years."""
        if not self.traces:
            return None
        return sum(t.first_dry is not None and t.first_dry <= day for t in self.traces) / len(self.traces)

    def first_dry(self, share: float) -> date | None:
        """Return the date by which at least `share` of the years, 0 < share <= 1, had run short; None for never."""
        for day in range(self.days):
            dry = self.dry_share(day)
            if dry is not None and dry >= share - 1e-9:
                return self.start + timedelta(days=day)
        return None

    @property
    def worst(self) -> Trace | None:
        """The year with the most days of unmet need, of such the one that ran short first; None without years."""
        if not self.traces:
            return None
        never = self.days
        return max(
            self.traces,
            key=lambda trace: (trace.dry_days, -never if trace.first_dry is None else -trace.first_dry),
        )

    def spilled(self, share: float) -> float | None:
        """Return the spill that `share` of the years stayed under, 0 <= share <= 1; None without years, [m3]."""
        return quantile([trace.spilled for trace in self.traces], share) if self.traces else None

    def band(self, share: float) -> tuple[float, ...]:
        """Return, day by day, the usable water below which `share` of the years lay, 0 <= share <= 1, [m3].

        Linear between ranked years, the common definition of a quantile.
        """
        return tuple(
            quantile(at_day, share) for at_day in zip(*(trace.held for trace in self.traces), strict=True)
        )


def quantile(values: Sequence[float], share: float) -> float:
    """Return the value that `share` of them lie below, 0 <= share <= 1, linear between ranked ones.

    Examples
    --------
    >>> quantile([3.0, 1.0, 2.0, 10.0], 0.5)
    2.5
    """
    ranked = sorted(values)
    place = share * (len(ranked) - 1)
    below = int(place)
    above = min(below + 1, len(ranked) - 1)
    return ranked[below] + (place - below) * (ranked[above] - ranked[below])


def caught_from(roofs: Sequence[Roof], rain_mm: float) -> float:
    """Return what the roofs bring into the tanks from one day's rain, their first-flush pipes empty before it (R13).

    Parameters
    ----------
    roofs : sequence of Roof
        Those that deliver.
    rain_mm : float
        The day taken as one event, >= 0, [mm].

    Returns
    -------
    float
        [m3].
    """
    return sum(
        catch(roof, rain_mm / 1000.0, roof.first_flush.holds if roof.first_flush else 0.0).caught
        for roof in roofs
    )


def run_years(
    history_mm: Mapping[date, float],
    roofs: Sequence[Roof],
    beds: Sequence[Bed],
    *,
    usable: float,
    usable_full: float,
    today: date,
    days: int = 365,
    credit: Mapping[str, float] | None = None,
) -> Ensemble:
    """Run `usable` water through each past year's rain from today's date on.

    Parameters
    ----------
    history_mm : mapping of date to float
        Past daily rain; a date that is missing is unknown, not dry, [mm].
    roofs, beds : sequences
        What delivers and what drinks. Rain on a bed is taken off its need, up to a week of it.
    usable, usable_full : float
        Water the outlets can reach now and when full, 0 <= usable <= usable_full, [m3].
    today : date
        First day of every trace.
    days : int
        Length of a trace, 1 to 366.
    credit : mapping of str to float, optional
        What recent rain still covers, by bed, [m3].

    Returns
    -------
    Ensemble
        One trace for each year that has a figure for every day of the span.
    """
    import numpy as np

    whole: dict[int, NDArray[np.float64]] = {}
    left_out = []
    if history_mm:
        begins, ends = min(history_mm).toordinal(), max(history_mm).toordinal()
        known = np.full(ends - begins + 1 + 2 * days, np.nan)
        known[np.fromiter(map(date.toordinal, history_mm), int, len(history_mm)) - begins + days] = list(
            history_mm.values()
        )
        for year in range(min(history_mm).year, max(history_mm).year + 1):
            place = _day_in(today, year).toordinal() - begins + days
            rains = known[max(0, place) : max(0, place + days)]
            if rains.size == days and not np.isnan(rains).any():
                whole[year] = rains
            elif not np.isnan(rains).all():
                left_out.append(year)
    rain_mm = np.array(list(whole.values())).reshape(len(whole), days)
    depths, places = np.unique(rain_mm, return_inverse=True)
    caught = np.array([caught_from(roofs, float(depth)) for depth in depths])[places].reshape(rain_mm.shape)
    wanted = np.zeros_like(rain_mm)
    for bed in beds:
        wanted += drawn_side_by_side(bed, today, rain_mm, credit.get(bed.id, 0.0) if credit else 0.0)

    held = np.full(len(whole), min(float(usable), float(usable_full)))
    spilled = np.zeros_like(held)
    curves, unmet = np.empty_like(rain_mm), np.empty(rain_mm.shape, dtype=bool)
    for day in range(days):
        given = np.minimum(wanted[:, day], held)
        after, room = held + caught[:, day] - given, usable_full - given
        spilled += np.maximum(0.0, after - room)
        held = np.minimum(after, room)
        unmet[:, day] = wanted[:, day] - given > 1e-12
        curves[:, day] = held
    return Ensemble(
        start=today,
        days=days,
        traces=tuple(
            Trace(
                year=year,
                held=tuple(curves[row].tolist()),
                first_dry=int(unmet[row].argmax()) if unmet[row].any() else None,
                dry_days=int(unmet[row].sum()),
                spilled=float(spilled[row]),
            )
            for row, year in enumerate(whole)
        ),
        left_out=tuple(left_out),
    )


def drawn_side_by_side(
    bed: Bed, first: date, rain_mm: NDArray[np.float64], held: float
) -> NDArray[np.float64]:
    """Return what `need.drawn_each_day` tells for one year, for all years at once.

    Parameters
    ----------
    bed, first
        The bed, and the local day of the first column.
    rain_mm : array of shape (years, days)
        [mm].
    held : float
        What the soil holds of earlier rain, the same in all years, [m3].

    Returns
    -------
    array of shape (years, days)
        [m3].
    """
    import numpy as np

    dates = [first + timedelta(days=number) for number in range(rain_mm.shape[1])]
    needs = [need_on(bed, day) for day in dates]
    drawn = np.tile(np.array(needs), (len(rain_mm), 1))
    if not takes_rain(bed) or bed.area is None:
        return drawn
    soil, fell = np.full(len(rain_mm), held), rain_mm.T * (bed.area / 1000.0)
    for day, need in enumerate(needs):
        daily = root_need(bed, dates[day].month)
        soil = np.minimum(daily * SOIL_DAYS, soil + fell[day])
        if need > 0.0:
            drawn[:, day] = np.maximum(0.0, daily - soil) / bed.efficiency
        soil = np.maximum(0.0, soil - daily)
    return drawn


def _day_in(today: date, year: int) -> date:
    """Return today's day of the year in `year`; 29 February is the 28th elsewhere."""
    try:
        return today.replace(year=year)
    except ValueError:
        return date(year, 2, 28)
