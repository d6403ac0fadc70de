"""Going away, and making room before rain: what the water does while nobody is there to look after it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from tankdash.keeping.desk import Desk
from tankdash.planning.figures import litres
from tankdash.planning.need import drawn_each_day, layout_for_beds, reaches
from tankdash.site.model import Site
from tankdash.units import Depths
from tankdash.water.drawing_off import draw
from tankdash.water.holding import full, usable
from tankdash.water.model import Contents, Layout

LEAST_LIP = 0.001
"""A tap at the very floor still stands a hair above it (R17), [m]."""


@dataclass(frozen=True)
class LeftOpen:
    """What stands in the tanks on the return when an outlet was left open, whatever the rain."""

    outlet: str
    least: float
    """Without rain, [m3]."""
    most: float
    """With more rain than fits: the open outlet is the lip, [m3]."""


@dataclass(frozen=True)
class Absence:
    """Whether the water lasts while nobody is there."""

    days: int
    need: float
    """Wanted over all the days, [m3]."""
    given: float
    """What the tanks can give of it without rain, [m3]."""
    spare: float
    """Water left after them that could still reach those beds, [m3]."""
    left_open: LeftOpen | None = None
    """Told when an outlet stays open."""

    @property
    def short(self) -> float:
        """What is missing, [m3]; a hair of rounding is nothing."""
        missing = self.need - self.given
        return missing if missing > 1e-9 else 0.0

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON."""
        found = self.left_open
        return {
            "days": self.days,
            "need_l": litres(self.need),
            "given_l": litres(self.given),
            "short_l": litres(self.short),
            "spare_l": litres(self.spare),
            "left_open": None
            if found is None
            else {"outlet": found.outlet, "low_l": litres(found.least), "high_l": litres(found.most)},
        }


def away(
    site: Site,
    layout: Layout,
    contents: Contents,
    today: date,
    days: int,
    credit: Mapping[str, float] | None = None,
    left_open: str | None = None,
) -> Absence:
    """Return whether the usable water covers `days` days from `today` on with no rain (rain is not guessed).

    Parameters
    ----------
    site, layout : Site, Layout
        Beds and the bank.
    contents : mapping of str to float
        What the tanks hold, [m3].
    today : date
        First day of the absence.
    days : int
        How many days, >= 1.
    credit : mapping of str to float, optional
        What recent rain still covers, by bed, [m3].
    left_open : str, optional
        An outlet that stays open, so that its tank never fills above it.

    Raises
    ------
    ValueError
        If `days` is not at least 1.
    """
    if days < 1:
        raise ValueError("being away takes at least one day")
    served = reaches(site, layout)
    bank = layout_for_beds(layout, served)
    wanted = {
        key: drawn_each_day(site.beds[key], today, [0.0] * days, (credit or {}).get(key, 0.0))
        for key in served
    }
    held = dict(contents)
    need = given = 0.0
    for number in range(days):
        for key in served:
            if wanted[key][number] > 0.0:
                drawn = draw(bank, held, key, wanted[key][number])
                held = dict(drawn.contents)
                need += wanted[key][number]
                given += drawn.drawn
    # Water that reaches none of these beds is nothing they could fall back upon.
    asking = [key for key in served if any(wanted[key])]
    spare = sum(usable(bank, held, asking).values()) if asking else sum(usable(layout, held).values())
    return Absence(
        days, need, given, spare, None if left_open is None else _left_open(layout, held, left_open)
    )


def _left_open(layout: Layout, held: Contents, outlet: str) -> LeftOpen:
    """Return what an open outlet leaves: it drains to its height, and rain fills no higher (F42)."""
    tap = layout.outlets[outlet]
    tank = layout.tanks[tap.tank]
    plenty = sum(held.values())
    drained = sum(draw(layout, held, outlet, plenty).contents.values())
    height = min(tank.lip, max(tap.at, tank.silt + LEAST_LIP, LEAST_LIP))
    lowered = replace(
        layout, tanks={**layout.tanks, tank.id: replace(tank, overflow=height, overflow_to=None)}
    )
    return LeftOpen(outlet, drained, max(drained, sum(full(lowered).values())))


@dataclass(frozen=True)
class Room:
    """What a forecast would bring, and what to let out before it."""

    depth_mm: float
    """Of the rain, the upper end of a range, [mm]."""
    caught: float
    """Brought to the tanks, [m3]."""
    free: float | None
    """Room now, [m3]; None when the water is not known."""
    release: float
    """What would spill: the room to make, [m3]."""
    usable: float | None
    """What the outlets can let out, [m3]; None when the water is not known."""

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON."""
        return {
            "forecast_mm": self.depth_mm,
            "caught_l": litres(self.caught),
            "room_l": None if self.free is None else litres(self.free),
            "release_l": litres(self.release),
        }


def room_before(desk: Desk, now: datetime, rain: Depths) -> Room:
    """Return what to let out before a rain of `rain` so that none of it spills; the first-flush pipes as they are.

    Parameters
    ----------
    desk : Desk
        The garden.
    now : datetime
        The present.
    rain : Depths
        Forecast typed by hand; of a range the upper end counts.

    Raises
    ------
    ValueError
        If the forecast has no upper end.
    """
    if rain.high_mm is None:
        raise ValueError("a forecast without an upper end asks for room without end")
    depth = rain.high_mm
    before = desk.levels(now)
    after = desk.try_out(now, rain=Depths(depth, depth))
    caught = (after.moved.caught_l - before.moved.caught_l) / 1000.0
    release = (after.moved.spilled_l - before.moved.spilled_l) / 1000.0
    free, reach = before.totals.headroom_l, before.totals.usable_l
    return Room(
        depth_mm=depth,
        caught=caught,
        free=None if free is None else free / 1000.0,
        release=max(0.0, release),
        usable=None if reach is None else reach / 1000.0,
    )
