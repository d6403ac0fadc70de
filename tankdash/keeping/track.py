"""The water, the rain and the chores day by day: what the timeline draws on one date axis."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from tankdash.journal.entries import Entry
from tankdash.keeping.chores.marks import ChoreMark, chore_marks
from tankdash.keeping.chores.turns import ChoreHistory
from tankdash.keeping.rain.flush import Fallen, fallen_by
from tankdash.keeping.rain.totals import totals_of
from tankdash.keeping.state.replay import in_force
from tankdash.keeping.state.standing import Moment, Standing
from tankdash.keeping.state.tracks import SAME_WATER
from tankdash.keeping.when import end_of_day, instant
from tankdash.site.model import Site
from tankdash.water.holding import full, usable
from tankdash.water.model import Contents, Layout


@dataclass(frozen=True)
class TrackDay:
    """One local day; the water is that at its end, today's that of now."""

    day: date
    rain_mm: float | None
    """None when no reading tells of it: unknown, never dry."""
    rain_low_mm: float | None
    rain_high_mm: float | None
    """With `rain_mm` given, None means no upper bound."""
    volume_l: float | None
    """None when only the ends are known, or nothing yet."""
    low_l: float | None
    high_l: float | None
    usable_l: float | None
    spilled_l: float
    """Over lips on this day."""
    is_dipped: bool
    is_ahead: bool
    """Whether the day is still to come."""
    marks: tuple[ChoreMark, ...]
    """Chores done, late or missed, and rains that ran in over a full first-flush pipe."""


@dataclass(frozen=True)
class Track:
    """Days in a row, with what the axis of the levels reaches to."""

    days: tuple[TrackDay, ...]
    full_l: float
    """What the site holds when full, by the layout of the last day."""
    usable_full_l: float


def track_of(
    site: Site,
    entries: Sequence[Entry],
    history: Standing,
    now: datetime,
    start: date,
    end: date,
    *,
    fallen: Fallen | None = None,
    pasts: Sequence[ChoreHistory] | None = None,
) -> Track:
    """Return the days from `start` to `end`, both inclusive.

    Parameters
    ----------
    site, entries : Site, sequence of Entry
        The garden and its journal.
    history : Standing
        The whole journal replayed to `now`.
    now : datetime
        Nothing later is known.
    start, end : date
        Local days.
    fallen, pasts : Fallen, sequence of ChoreHistory, optional
        The rain of the journal by `now` and how every chore fared, where the caller has them already.
    """
    known = in_force(entries, now)
    fallen = fallen_by(site, known, now) if fallen is None else fallen
    by_day = totals_of("day", fallen.readings, site.rain, site.zone, start, end)
    rains = {total.first: total for total in by_day}
    marks = chore_marks(site, known, start, end, now, fallen=fallen, pasts=pasts)
    moments = history.history
    ends = [moment.at for moment in moments]
    reach = _Reach()
    days: list[TrackDay] = []
    day, before = start, bisect_right(ends, instant(end_of_day(start - timedelta(days=1), site.zone)))
    while day <= end:
        closing = instant(end_of_day(day, site.zone))
        after = bisect_right(ends, min(closing, instant(now)))
        is_ahead = instant(end_of_day(day - timedelta(days=1), site.zone)) > instant(now)
        today = moments[before:after]
        last = moments[after - 1] if after else None
        if is_ahead:
            last = None
        rain = rains.get(day)
        volume, low, high, reachable = reach.figures(last)
        days.append(
            TrackDay(
                day=day,
                rain_mm=rain.mm if rain else None,
                rain_low_mm=rain.low_mm if rain else None,
                rain_high_mm=rain.high_mm if rain else None,
                volume_l=volume,
                low_l=low,
                high_l=high,
                usable_l=reachable,
                spilled_l=1000.0 * sum(moment.spilled for moment in today),
                is_dipped=any(moment.kind == "dip" for moment in today),
                is_ahead=is_ahead,
                marks=tuple(marks.get(day, ())),
            )
        )
        day, before = day + timedelta(days=1), after
    layout = history.layout
    top = full(layout)
    return Track(tuple(days), 1000.0 * _counted(layout, top), 1000.0 * _counted(layout, usable(layout, top)))


class _Reach:
    """Figures of moments, worked out once where days share one."""

    def __init__(self) -> None:
        self._last: Moment | None = None
        self._figures: tuple[float | None, float | None, float | None, float | None] = (None,) * 4

    def figures(self, moment: Moment | None) -> tuple[float | None, float | None, float | None, float | None]:
        """Return volume, low, high and usable water, [L]."""
        if moment is None:
            return None, None, None, None
        if moment is not self._last:
            layout, contents = moment.layout, moment.contents
            low, mid, high = (
                1000.0 * _counted(layout, end) for end in (contents.low, contents.mid, contents.high)
            )
            is_known = not any(layout.tanks[tank].vented for tank in moment.unknown)
            reachable = 1000.0 * _counted(layout, usable(layout, contents.mid)) if is_known else None
            is_certain = is_known or high - low <= 1000.0 * SAME_WATER
            self._last, self._figures = moment, (mid if is_certain else None, low, high, reachable)
        return self._figures


def _counted(layout: Layout, contents: Contents) -> float:
    """Return the sum over the tanks that can breathe (R11), [m3]."""
    return sum(contents.get(key, 0.0) for key, tank in layout.tanks.items() if tank.vented)
