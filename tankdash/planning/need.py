"""What the beds want each day, and what rain on them has already given (R18)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from tankdash.site.model import Bed, Site
from tankdash.water.model import Layout, Outlet

SOIL_DAYS = 7
"""A bed keeps at most this many days of its own need from rain; common practice counts rain by the week (T)."""


def need_on(bed: Bed, day: date) -> float:
    """Return the water a bed must be given on `day` when no rain helps, drawn from the tanks.

    Parameters
    ----------
    bed : Bed
        Its need, area, efficiency and months.
    day : date
        Local day.

    Returns
    -------
    float
        Volume to draw, 0 outside the bed's months, [m3].
    """
    if day.month not in bed.months:
        return 0.0
    return root_need(bed, day.month) / bed.efficiency


def root_need(bed: Bed, month: int) -> float:
    """Return what the roots of a bed take on a day of a month, watered or not, [m3]; a crop's changes by the month."""
    if bed.need.kind == "volume":
        return bed.need.per_day
    depth = bed.need.per_day if bed.by_month is None else bed.by_month[month - 1]
    return depth * (bed.area or 0.0)


def takes_rain(bed: Bed) -> bool:
    """Return whether rain on the bed lessens its need: only a need given as a depth over an area says how much."""
    return bed.need.kind != "volume" and bool(bed.area)


def soil_credit(bed: Bed, rain_mm: Mapping[date, float], today: date) -> float:
    """Return what the rain of the last days still covers of a bed's need, as it fell.

    The bed is taken as a store that holds one week of its own need; each day takes the need and adds the rain.
    Runoff and deep drainage are left out, so this is the most that the rain can have saved.

    Parameters
    ----------
    bed : Bed
        The bed; nothing is credited to a need that is a plain volume.
    rain_mm : mapping of date to float
        Rain by local day; days that are missing count as no rain, [mm].
    today : date
        The day about to be watered.

    Returns
    -------
    float
        Water the bed need not be given, 0 to one week of its need at the roots, [m3].
    """
    if not takes_rain(bed) or bed.area is None:
        return 0.0
    held = 0.0
    for back in range(2 * SOIL_DAYS, -1, -1):
        day = today - timedelta(days=back)
        daily = root_need(bed, day.month)
        held = min(daily * SOIL_DAYS, held + rain_mm.get(day, 0.0) * bed.area / 1000.0)
        if back:
            held = max(0.0, held - daily)
    return held


def drawn_each_day(bed: Bed, first: date, rain_mm: Sequence[float], held: float = 0.0) -> list[float]:
    """Return what must be drawn for a bed on each day, once the rain on it is taken off as it falls.

    The bed is the store of `soil_credit`: each day adds its rain, up to a week of need, and takes its need.

    Parameters
    ----------
    bed : Bed
        The bed; rain does not lessen a need that is a plain volume.
    first : date
        Local day of the first figure.
    rain_mm : sequence of float
        Rain of each day from then on, >= 0, [mm].
    held : float
        What the soil holds of earlier rain, [m3].

    Returns
    -------
    list of float
        [m3].

    Examples
    --------
    >>> from tankdash.units import parse_need
    >>> lettuce = Bed("b", "B", parse_need("5 mm/day", "metric"), "tap", area=10.0)
    >>> [round(volume * 1000, 6) for volume in drawn_each_day(lettuce, date(2026, 6, 1), [0.0, 12.0, 0.0, 0.0])]
    [50.0, 0.0, 0.0, 30.0]
    """
    if not takes_rain(bed) or bed.area is None:
        return [need_on(bed, first + timedelta(days=number)) for number in range(len(rain_mm))]
    area = bed.area
    takes, drawn = [root_need(bed, month) for month in range(1, 13)], []
    ordinal = first.toordinal()
    for number, fell in enumerate(rain_mm):
        month = date.fromordinal(ordinal + number).month
        daily = takes[month - 1]
        held = min(daily * SOIL_DAYS, held + fell * area / 1000.0)
        drawn.append(max(0.0, daily - held) / bed.efficiency if month in bed.months else 0.0)
        held = max(0.0, held - daily)
    return drawn


@dataclass(frozen=True)
class Reach:
    """The lowest water that serves a bed: its outlet, or the height and head it needs, whichever is higher."""

    bed: str
    outlet: Outlet
    """The outlet as this bed sees it, raised to where the bed still has its head."""


def reaches(site: Site, layout: Layout) -> dict[str, Reach]:
    """Return, for every bed whose outlet stands in `layout`, the outlet as that bed sees it (R7).

    A bed of known height asks for a surface of at least its height plus its least head; a bed without one asks only
    that water reaches the outlet. A pump lifts, so heights do not bind it.
    """
    found = {}
    for key, bed in site.beds.items():
        outlet = layout.outlets.get(bed.outlet)
        if outlet is None:
            continue
        lowest = outlet.at
        if bed.height is not None and outlet.kind == "tap":
            lowest = max(lowest, bed.height + bed.min_head - layout.tanks[outlet.tank].base)
        found[key] = Reach(bed=key, outlet=replace(outlet, id=key, at=lowest))
    return found


def layout_for_beds(layout: Layout, served: Mapping[str, Reach]) -> Layout:
    """Return `layout` with one outlet for each bed, named by the bed's id, in place of its own outlets."""
    return replace(layout, outlets={key: reach.outlet for key, reach in served.items()})
