"""A checked site in SI: what the YAML says, with every default filled in, ready for the floors above.

Built by `tankdash.site.load`; nothing here reads a file or knows pydantic.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Generic, Literal, TypeVar
from zoneinfo import ZoneInfo

from tankdash.units import Need, Span, Units
from tankdash.water.model import Layout, Link, Outlet, Roof, Tank

T = TypeVar("T")


@dataclass(frozen=True)
class Placed(Generic[T]):
    """A thing of the garden with its label and the days on which it stands there."""

    thing: T
    """The tank, link, outlet or roof itself."""
    label: str
    """What people call it; the id when the file gives no label."""
    since: date | None = None
    """First day, inclusive."""
    until: date | None = None
    """Last day, inclusive."""

    def stands_on(self, day: date) -> bool:
        """Return whether it is part of the garden on `day`."""
        return (self.since is None or self.since <= day) and (self.until is None or day <= self.until)


@dataclass(frozen=True)
class DipRule:
    """How a tank's stick is read."""

    measured_from: Literal["floor", "brim"] = "floor"
    """Depth from the floor, or gap below the brim."""
    offset: float = 0.0
    """Added to every reading, [m]."""
    on_silt: bool = False
    """Whether the stick stands on the silt instead of the floor."""
    scale: tuple[tuple[float, float], tuple[float, float]] | None = None
    """Two (mark, depth) pairs of a gauge whose marks are not depths: the line through them gives the depth, [m]."""


@dataclass(frozen=True)
class SiteTank(Placed[Tank]):
    """A tank and how it is dipped."""

    dip: DipRule = DipRule()
    """How its stick is read."""
    footprint: float | None = None
    """Area its weight rests on, [m2]; None when not given."""
    tare: float | None = None
    """Weight when empty, [kg]; None when not given."""


@dataclass(frozen=True)
class Climate:
    """Where the garden lies and how warm it is there: what the need of a crop is worked out from."""

    latitude: float
    """North positive, [degrees]."""
    low_c: tuple[float, ...] | None = None
    """Mean daily low of each month, January first, [C]; None when not typed in."""
    high_c: tuple[float, ...] | None = None
    """Mean daily high, likewise."""


@dataclass(frozen=True)
class Emitters:
    """What drips on a bed: each gives q = k H^x under a head H."""

    gives: float
    """Of one at the head `at`, [m3/s]."""
    at: float
    """[m]."""
    exponent: float = 0.5
    """x; 0.5 for a plain orifice, near 0 for one that keeps its flow whatever the head."""
    count: int = 1
    """How many there are."""

    def flow(self, head: float) -> float:
        """Return what all of them give under a head, nothing where there is none, [m] to [m3/s]."""
        return self.count * self.gives * float((head / self.at) ** self.exponent) if head > 0.0 else 0.0


@dataclass(frozen=True)
class Bed:
    """What is watered."""

    id: str
    label: str
    need: Need
    """What it wants, as typed and in SI."""
    outlet: str
    """The outlet it is watered from."""
    area: float | None = None
    """[m2]; None when the need is a plain volume per day."""
    efficiency: float = 1.0
    """Share of the water that reaches the roots, 0 < efficiency <= 1."""
    height: float | None = None
    """Above the datum, [m]."""
    min_head: float = 0.0
    """Head it needs to run, [m]."""
    months: frozenset[int] = frozenset(range(1, 13))
    """Months in which it is watered, 1 to 12."""
    crop: str | None = None
    """What grows there, when its need follows from the climate instead of a figure."""
    by_month: tuple[float, ...] | None = None
    """Need of a crop in each month, January first, [m/day]; None for a plain need, or without temperatures."""
    emitters: Emitters | None = None
    """What drips on it, when that was measured."""


@dataclass(frozen=True)
class RainRules:
    """How gauge readings become events and days."""

    gap_hours: float = 6.0
    """Dry hours that part two rain events."""
    wet_mm: float = 0.2
    """Depth from which a day counts as wet."""
    booked: Literal["previous day", "same day"] = "previous day"
    """Which day a reading's depth is booked to in day and month totals."""


@dataclass(frozen=True)
class AfterRain:
    """What of the rain opens a chore: exactly one of the three is given."""

    at_least_mm: float | None = None
    """Each event of at least this depth."""
    rains: int | None = None
    """This many events since it was last done."""
    total_mm: float | None = None
    """This much rain since it was last done."""


@dataclass(frozen=True)
class Season:
    """A part of the year, both ends inclusive; it may wrap the new year."""

    start: tuple[int, int]
    """(month, day)."""
    end: tuple[int, int]
    """(month, day)."""

    def holds(self, day: date) -> bool:
        """Return whether `day` lies in the season."""
        mark = (day.month, day.day)
        if self.start <= self.end:
            return self.start <= mark <= self.end
        return mark >= self.start or mark <= self.end


@dataclass(frozen=True)
class Chore:
    """A job with what brings it on."""

    id: str
    label: str
    after_rain: AfterRain | None = None
    every: Span | None = None
    counted_from: Literal["done", "calendar"] = "done"
    starting: date | None = None
    """Anchor of `every`."""
    season: Season | None = None
    """Asleep outside it."""
    on: tuple[int, int] | None = None
    """Yearly on this (month, day)."""
    by: date | None = None
    """Once, by this day."""
    frost_c: float | None = None
    """Opens when a low at or under it is typed in."""
    level_below: float | None = None
    """Opens when usable falls below this share of usable when full, 0 < share < 1."""
    within: Span | None = None
    """Late after this; None takes the default: 1 day after rain, else at once."""
    empties: str | None = None
    """Roof whose first-flush pipe is empty once this is done."""


@dataclass(frozen=True)
class Site:
    """The whole garden as its file describes it."""

    name: str
    zone: ZoneInfo
    units: Units
    datum: str
    accuracy: float
    """Of one dip, [m]."""
    tanks: Mapping[str, SiteTank]
    links: Mapping[str, Placed[Link]] = field(default_factory=dict)
    outlets: Mapping[str, Placed[Outlet]] = field(default_factory=dict)
    roofs: Mapping[str, Placed[Roof]] = field(default_factory=dict)
    beds: Mapping[str, Bed] = field(default_factory=dict)
    rain: RainRules = RainRules()
    chores: Mapping[str, Chore] = field(default_factory=dict)
    climate: Climate | None = None
    """Needed by beds that name a crop."""
    path: Path | None = None
    """The file it came from; None for one made in memory."""
    fingerprint: bytes | None = field(default=None, compare=False, repr=False)
    """Stands for every byte of that file; None when it changed while it was read."""

    def layout(
        self,
        day: date,
        bases: Mapping[str, float] | None = None,
        open_links: Mapping[str, bool] | None = None,
        primed: Mapping[str, bool] | None = None,
        closed_roofs: Iterable[str] = (),
    ) -> Layout:
        """Return what stands on `day`, with the changes the journal knows of put in.

        Parameters
        ----------
        day : date
            Local day.
        bases : mapping, optional
            Base heights set later than the file, [m].
        open_links, primed : mapping, optional
            Valve and priming states set in the journal.
        closed_roofs : iterable of str, optional
            Roofs that are plugged or bypassed.

        Returns
        -------
        Layout
            Links that join a tank not there are left out, and headers lose that leg.
        """
        bases, open_links, primed, closed = bases or {}, open_links or {}, primed or {}, set(closed_roofs)
        tanks = {
            key: replace(placed.thing, base=bases.get(key, placed.thing.base))
            for key, placed in self.tanks.items()
            if placed.stands_on(day)
        }
        tanks = {
            key: tank
            if tank.overflow_to is None or tank.overflow_to in tanks
            else replace(tank, overflow_to=None)
            for key, tank in tanks.items()
        }
        links = {}
        for key, placed_link in self.links.items():
            if not placed_link.stands_on(day):
                continue
            link = placed_link.thing
            legs = [(name, port) for name, port in zip(link.joins, link.ports, strict=True) if name in tanks]
            if len(legs) >= 2:
                links[key] = replace(
                    link,
                    joins=tuple(name for name, _ in legs),
                    ports=tuple(port for _, port in legs),
                    is_open=open_links.get(key, link.is_open),
                    primed=primed.get(key, link.primed),
                )
        return Layout(
            tanks=tanks,
            links=links,
            outlets={
                key: placed.thing
                for key, placed in self.outlets.items()
                if placed.stands_on(day) and placed.thing.tank in tanks
            },
            roofs={
                key: placed.thing
                for key, placed in self.roofs.items()
                if placed.stands_on(day) and placed.thing.fills in tanks and key not in closed
            },
        )
