"""How long the water lasts: the bank drawn down day by day, each bed from its own outlet, with no rain assumed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from tankdash.planning.absence import Absence, away
from tankdash.planning.need import layout_for_beds, need_on, reaches, soil_credit
from tankdash.site.model import Site
from tankdash.water.drawing_off import draw
from tankdash.water.holding import usable
from tankdash.water.model import Contents, Layout

__all__ = ["ASSUMES", "Absence", "Lasting", "Supply", "away", "supply"]

HORIZON_DAYS = 3 * 366
"""Beyond three years no end date is named."""
ASSUMES = (
    "Assumes no more rain, nothing lost, the beds watered every day from today on with what they ask for, "
    "and all of the water from the tanks."
)


@dataclass(frozen=True)
class Lasting:
    """How long one need is met."""

    usable: float
    """Water that can reach it now, [m3]."""
    need: float
    """Asked for today, [m3/day]."""
    days: float | None
    """Days until the need goes unmet, the last one in part; None when it never does."""
    last_full_day: date | None
    """Last day served in full; None when there is no end, or not even today is served."""
    short: float
    """What the day after the last full one lacks, [m3]."""

    @property
    def full_days(self) -> int | None:
        """Days served in full, today being the first."""
        return None if self.days is None else int(self.days + 1e-9)


@dataclass(frozen=True)
class Supply:
    """The answer for the whole garden and for each outlet and bed on its own."""

    together: Lasting
    """All beds watered at once."""
    outlets: Mapping[str, Lasting]
    """Each outlet with the needs of its own beds, the others left dry."""
    beds: Mapping[str, Lasting]
    """Each bed watered alone."""
    credit: Mapping[str, float]
    """What recent rain still covers of each bed's need, [m3]."""
    assumes: str = ASSUMES


def supply(
    site: Site,
    layout: Layout,
    contents: Contents,
    today: date,
    rain_mm: Mapping[date, float] | None = None,
) -> Supply:
    """Return how long the water lasts from `today` on (R7, R10, R18).

    Parameters
    ----------
    site : Site
        Beds and outlets.
    layout : Layout
        The bank today.
    contents : mapping
        Stored water by tank; unknown tanks at their low figure, so that the answer errs on the short side, [m3].
    today : date
        First day to be watered.
    rain_mm : mapping of date to float, optional
        Recent rain by local day, taken off the beds' needs, [mm].

    Returns
    -------
    Supply
        Days are counted with today as the first.
    """
    served = reaches(site, layout)
    bank = layout_for_beds(layout, served)
    credit = {key: soil_credit(site.beds[key], rain_mm or {}, today) for key in served}
    by_outlet = {
        outlet: tuple(key for key in served if site.beds[key].outlet == outlet) for outlet in layout.outlets
    }
    return Supply(
        together=_lasting(site, bank, contents, tuple(served), credit, today, usable(layout, contents)),
        outlets={
            outlet: _lasting(site, bank, contents, beds, credit, today, usable(layout, contents, [outlet]))
            for outlet, beds in by_outlet.items()
        },
        beds={
            key: _lasting(site, bank, contents, (key,), credit, today, usable(bank, contents, [key]))
            for key in served
        },
        credit=credit,
    )


def _lasting(
    site: Site,
    bank: Layout,
    contents: Contents,
    beds: tuple[str, ...],
    credit: Mapping[str, float],
    today: date,
    reachable: Mapping[str, float],
) -> Lasting:
    """Draw the bank down for `beds` until a day is not served in full.

    While one tank serves them all, days that are met in full add up, so several are drawn at once: as many as
    turn out to be met, then fewer, down to the single day that is not.
    """
    within_reach = sum(reachable.values())
    need_today = sum(need_on(site.beds[key], today) for key in beds)
    left = {key: credit[key] / site.beds[key].efficiency for key in beds}
    held = dict(contents)
    one_tank = len({bank.outlets[key].tank for key in beds}) <= 1
    number, stride, grows = 0, 1, one_tank
    while number < HORIZON_DAYS:
        asked = got = 0.0
        after, left_after = held, dict(left)
        for key in beds:
            need = 0.0
            for ahead in range(number, number + stride):
                wanted = need_on(site.beds[key], today + timedelta(days=ahead))
                from_rain = min(left_after[key], wanted)
                left_after[key] -= from_rain
                need += wanted - from_rain
            if need > 0.0:
                drawn = draw(bank, after, key, need)
                after = dict(drawn.contents)
                asked += need
                got += drawn.drawn
        if asked - got <= 1e-9 * max(asked, 1e-6):
            number, held, left = number + stride, after, left_after
            stride = stride * 2 if grows else max(1, stride // 2)
        elif stride > 1:
            stride, grows = stride // 2, False
        else:
            return Lasting(
                usable=within_reach,
                need=need_today,
                days=number + got / asked,
                last_full_day=today + timedelta(days=number - 1) if number else None,
                short=asked - got,
            )
    return Lasting(usable=within_reach, need=need_today, days=None, last_full_day=None, short=0.0)
