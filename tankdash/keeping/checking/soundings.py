"""What each survey of still water says about one base, over all the time that base can be followed (R1, R3).

A base that was taken as true from a survey goes on; one that was set to something the water never told was moved, and
what surveys said before that is of another base.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations
from math import hypot
from statistics import fmean, median

from tankdash.journal.entries import Change, Entry
from tankdash.keeping.state.standing import Together
from tankdash.site.model import Site
from tankdash.water.model import Layout
from tankdash.water.sills import sills_from

TWO_STICKS = 1.7
"""Times a dip's accuracy, within which the difference of two dips lies in more than nineteen of twenty surveys, be
the stick's errors spread evenly up to its accuracy or normally with half of it as their standard deviation (D)."""
SAME_BASE = 1.5
"""Times what two sticks may be off: a base set within that of the last survey was set by it, and goes on (D)."""
LEAST_FOR_A_TREND = 3
"""Surveys that make a line."""


@dataclass(frozen=True)
class Sounding:
    """What one survey says about one tank."""

    at: datetime
    base: float
    """[m]."""
    depth: float
    """Of this tank, [m]."""
    reference_depth: float
    """Of the reference tank, [m]."""
    plus_minus: float
    """By what two sticks may be off together, [m]."""


@dataclass(frozen=True)
class Soundings:
    """All that surveys say about one tank."""

    followed: tuple[Sounding, ...]
    """Since the base was last moved: the time over which it can have settled."""
    current: tuple[Sounding, ...]
    """Those that tell of the base as it is noted now: since it was last set, with the survey it was set by."""


@dataclass(frozen=True)
class Trend:
    """A robust line through the surveys of one base."""

    per_second: float
    """Of its height, [m/s]."""
    now: float
    """Where the line stands at the last survey, [m]."""
    is_sure: bool
    """Whether it says more over its whole time than two sticks can be off."""


def soundings_of(
    site: Site, still: Sequence[Together], layout: Layout, reference: str, key: str
) -> Soundings:
    """Return what each survey says about `key`, measured against `reference`.

    Parameters
    ----------
    site : Site
        How well one dip is read.
    still : sequence of Together
        Tanks dipped together in still water, by time.
    layout : Layout
        Today's, with today's bases.
    reference, key : str
        Two tanks of it.
    """
    followed: list[Sounding] = []
    current: list[Sounding] = []
    noted: float | None = None
    against: float | None = None

    def takes_over(base: float, reference_base: float) -> None:
        """Part what was measured under other bases from what is measured under these."""
        nonlocal noted, against
        if against is not None and reference_base != against:
            followed.clear()
            current.clear()
        elif noted is not None and base != noted:
            if followed and abs(base - followed[-1].base) <= SAME_BASE * followed[-1].plus_minus:
                del current[:-1]
            else:
                followed.clear()
                current.clear()
        noted, against = base, reference_base

    for taken in still:
        then = taken.layout.tanks
        if key == reference or not {key, reference} <= taken.depths.mid.keys():
            continue
        takes_over(then[key].base, then[reference].base)
        found = _sounding(site, taken, reference, key)
        if found is not None:
            followed.append(found)
            current.append(found)
    takes_over(layout.tanks[key].base, layout.tanks[reference].base)
    return Soundings(tuple(followed), tuple(current))


def _sounding(site: Site, taken: Together, reference: str, key: str) -> Sounding | None:
    """Return what one survey says; None where its water tells nothing of that base."""
    then = taken.layout.tanks
    depth, reference_depth = taken.depths.mid[key], taken.depths.mid[reference]
    surface = then[reference].base + reference_depth
    sill = sills_from(taken.layout, reference).get(key)
    tank = then[key]
    # Below the sill the two have parted; a dry tank or one at its lip tells only a bound.
    if sill is None or surface <= sill + site.accuracy or not tank.silt < depth < tank.brim:
        return None
    ranges = sum((taken.depths.high[name] - taken.depths.low[name]) / 2.0 for name in (key, reference))
    return Sounding(taken.at, surface - depth, depth, reference_depth, TWO_STICKS * site.accuracy + ranges)


def trend_of(soundings: Sequence[Sounding]) -> Trend | None:
    """Return the robust line through the soundings of one base; None with too few of them or all at one time."""
    if len(soundings) < LEAST_FOR_A_TREND:
        return None
    first = soundings[0].at.timestamp()
    points = [(one.at.timestamp() - first, one.base) for one in soundings]
    slope = theil_sen(points)
    if slope is None:
        return None
    span = max(place for place, _ in points) - min(place for place, _ in points)
    last = max(place for place, _ in points)
    at_foot = median(base - slope * place for place, base in points)
    doubt = fmean(one.plus_minus for one in soundings)
    # The line is a difference of two soundings, and each may be off by as much as two sticks.
    return Trend(slope, at_foot + slope * last, abs(slope) * span > hypot(doubt, doubt))


def theil_sen(points: Sequence[tuple[float, float]]) -> float | None:
    """Return the slope of a line through `points` that no single bad one can tilt: the median of all pairs' slopes.

    Theil 1950, Sen 1968; None when all points stand at one place.

    Examples
    --------
    >>> theil_sen([(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0), (4.0, 40.0)])
    1.0
    """
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(points, 2) if b[0] != a[0]]
    return median(slopes) if slopes else None


def bases_noted(site: Site, entries: Iterable[Entry]) -> dict[str, tuple[tuple[datetime | None, float], ...]]:
    """Return the noted base of each tank over time: that of the site file, then every `set` of the journal, [m]."""
    found: dict[str, list[tuple[datetime | None, float]]] = {
        key: [(None, tank.thing.base)] for key, tank in site.tanks.items()
    }
    for entry in entries:
        record = entry.record
        if isinstance(record, Change) and record.base_m is not None and record.item in found:
            found[record.item].append((entry.at, record.base_m))
    return {key: tuple(bases) for key, bases in found.items()}
