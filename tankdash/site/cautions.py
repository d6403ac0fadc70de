"""What a usable site file should still make its owner think about: the warnings of `tankdash check`.

Each method of `_Look` looks at one thing and returns sentences; nothing here refuses anything.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from functools import cached_property
from math import inf
from typing import Any

from tankdash.site.loads import listed, pressure_when_full, together_words, weight_when_full
from tankdash.site.model import Placed, Site
from tankdash.site.problems import SiteWarning
from tankdash.units import (
    format_area,
    format_bearing,
    format_flow,
    format_length,
    format_mass,
    format_rain,
    format_volume,
)
from tankdash.water.carrying import overflow_loads, storm_inflow
from tankdash.water.holding import full, never_fills
from tankdash.water.model import Contents, Layout
from tankdash.water.sills import banks, sills_from

LEAST_FLUSH_MM = 0.4
"""First flush per roof area under which it is small: 10 gal per 1000 sq ft is 0.41 mm, Texas Manual on Rainwater
Harvesting, 3rd ed. 2005, ch. 2. Recommendations differ twentyfold, so this only warns."""
STORM_MM_H = 100.0
"""Rain rate an overflow is held against."""
LEAST_LOSS = 0.0005
"""Room not worth a word, [m3]."""


def check(site: Site, day: date | None = None, storm_mm_h: float = STORM_MM_H) -> list[SiteWarning]:
    """Return what the owner of a site should know.

    Parameters
    ----------
    site : Site
        A checked site.
    day : date, optional
        The day whose layout is looked at; one after all changes in the file when left out.
    storm_mm_h : float, optional
        Rain rate that the overflows are held against, [mm/h].

    Returns
    -------
    list of SiteWarning
        Most telling first; loads last.
    """
    look = _Look(site, site.layout(last_change(site) if day is None else day))
    by_code = {
        "lips-differ": look.lips(),
        "never-fills": look.never_filled(),
        "crest": look.crests(),
        "no-vent": look.unvented(),
        "small-first-flush": look.first_flushes(),
        "overflow-small": look.overflows(storm_mm_h),
        "uphill": look.uphill(),
        "no-effect": look.without_effect(),
        "load": look.loads(),
    }
    return [SiteWarning(code, sentence) for code, sentences in by_code.items() for sentence in sentences]


def last_change(site: Site) -> date:
    """Return a day after every `since` and `until` of the file, so that its layout is the one that stays."""
    placed: list[Placed[Any]] = [*site.tanks.values(), *site.links.values()]
    placed += [*site.outlets.values(), *site.roofs.values()]
    latest = max(
        (day for one in placed for day in (one.since, one.until) if day is not None), default=date.max
    )
    return latest if latest == date.max else latest + timedelta(days=1)


class _Look:
    """One look at a site as it stands on one day."""

    def __init__(self, site: Site, layout: Layout) -> None:
        self.site, self.layout, self.units = site, layout, site.units

    @cached_property
    def holds(self) -> Contents:
        """What each tank holds when the site is full, [m3]."""
        return full(self.layout)

    def label(self, tank: str) -> str:
        """Return what people call a tank."""
        return self.site.tanks[tank].label

    def length(self, metres: float) -> str:
        """Return a height in the units of the site."""
        return format_length(metres, self.units)

    def lips(self) -> Iterator[str]:
        """Say where the tanks of a bank spill at different heights, and what that costs (R6, R8)."""
        for bank in banks(self.layout):
            lips = {key: self.layout.tanks[key].lip_elevation for key in bank}
            if max(lips.values()) - min(lips.values()) <= self.site.accuracy + 1e-9:
                continue
            upward = sorted(lips, key=lips.__getitem__)
            first = [key for key in upward if lips[key] <= lips[upward[0]] + self.site.accuracy]
            lost = sum(max(0.0, self.layout.tanks[key].lip_volume - self.holds.get(key, 0.0)) for key in bank)
            said = f"Linked tanks spill at different heights above the datum: {self._heights(upward, lips)}. "
            if lost < LEAST_LOSS:
                yield said + "The links lie so high that none of their room is lost by it."
            elif len(first) == 1:
                yield said + (
                    f"{self.label(first[0])} comes first and caps the rest, so {format_volume(lost, self.units)} of "
                    "their room is never filled. Lift it, or lower the others."
                )
            else:
                yield said + (
                    f"The lowest cap the rest, so {format_volume(lost, self.units)} of their room is never filled. "
                    "Lift the lowest, or lower the others."
                )

    def _heights(self, upward: Sequence[str], lips: Mapping[str, float]) -> str:
        """Return which tanks stand at which height, those at one height together."""
        at: dict[str, list[str]] = {}
        for key in upward:
            at.setdefault(self.length(lips[key]), []).append(self.label(key))
        shown = {
            height: listed(labels) if len(labels) <= 4 else f"{len(labels)} tanks"
            for height, labels in at.items()
        }
        return listed([f"{who} at {height}" for height, who in shown.items()])

    def never_filled(self) -> Iterator[str]:
        """Name the tanks that no inflow can ever reach, and by how much (R6)."""
        for key in never_fills(self.layout):
            reached = sills_from(self.layout, key)
            ways = {other: sill for other, sill in reached.items() if other != key and sill < inf}
            if not ways:
                yield f"{self.label(key)} can never fill: nothing brings water to it."
                continue
            sill = min(ways.values())
            stands = max(
                tank.base + tank.depth(self.holds.get(other, 0.0))
                for other, tank in self.layout.tanks.items()
                if other in ways
            )
            yield (
                f"{self.label(key)} can never fill: water passes to it only above {self.length(sill)}, and its "
                f"neighbours stand at {self.length(stands)} when full, {self.length(sill - stands)} too low. "
                "Lower the ports of the link, or lift the lip that caps them."
            )

    def crests(self) -> Iterator[str]:
        """Say which links rise above their ports, and what is known of their priming (R5)."""
        for key, link in self.layout.links.items():
            tops = zip(link.joins, link.ports, strict=True)
            ports = max(self.layout.tanks[name].base + port for name, port in tops)
            if link.crest is None or link.crest <= ports:
                continue
            start = (
                f"The link {self.site.links[key].label} rises to {self.length(link.crest)} above the datum, over its "
                f"ports at {self.length(ports)}. "
            )
            if link.primed is None:
                yield start + (
                    "Full of water it levels the tanks below that; with air in it nothing passes. Nobody says which, "
                    f"so both are shown: look, then `tankdash set {key} primed` or `unprimed`."
                )
            elif link.primed:
                yield start + "It is primed, and loses that as soon as one of its ends is uncovered."
            else:
                yield (
                    start
                    + "It is not primed, so nothing passes below that height until it is filled with water."
                )

    def unvented(self) -> Iterator[str]:
        """Name the tanks that cannot breathe at all (R11)."""
        for key, tank in self.layout.tanks.items():
            if tank.overflow is None and not tank.vented:
                yield (
                    f"{self.label(key)} has neither an overflow nor a vent: trapped air keeps water out, and suction "
                    "may buckle the tank as it drains. It shares no level until it has a screened vent."
                )

    def first_flushes(self) -> Iterator[str]:
        """Name the first-flush pipes that are small for their roof."""
        for key, roof in self.layout.roofs.items():
            if roof.first_flush is None:
                continue
            depth_mm = roof.first_flush.holds / roof.area * 1000
            if depth_mm >= LEAST_FLUSH_MM - 1e-6:
                continue
            shown = f"{depth_mm:.2f} mm" if self.units == "metric" else f"{depth_mm / 25.4:.4f} in"
            wanted = format_volume(roof.area * LEAST_FLUSH_MM / 1000, self.units)
            yield (
                f"The first flush of {self.site.roofs[key].label} holds "
                f"{format_volume(roof.first_flush.holds, self.units)}, the first {shown} from "
                f"{format_area(roof.area, self.units)} of roof; {wanted} would take the first {LEAST_FLUSH_MM} mm."
            )

    def overflows(self, storm_mm_h: float) -> Iterator[str]:
        """Name the overflows that are narrower than what a storm can bring them (R12)."""
        inflow = storm_inflow(self.layout, storm_mm_h / 3.6e6)
        for key, load in overflow_loads(self.layout, inflow).items():
            if load.carries is not None and load.is_short:
                yield (
                    f"The overflow of {self.label(key)} passes {format_flow(load.carries, self.units)} before the "
                    f"brim spills too; rain of {format_rain(storm_mm_h, self.units)} an hour can bring "
                    f"{format_flow(load.must, self.units)}."
                )

    def uphill(self) -> Iterator[str]:
        """Name the tanks that spill into one whose lip stands higher."""
        for key, tank in self.layout.tanks.items():
            if tank.overflow_to is None:
                continue
            below = self.layout.tanks[tank.overflow_to]
            if below.lip_elevation > tank.lip_elevation:
                yield (
                    f"{self.label(key)} spills into {self.label(below.id)}, whose lip stands higher "
                    f"({self.length(below.lip_elevation)} against {self.length(tank.lip_elevation)}): once that is "
                    "full the water has nowhere to go."
                )

    def without_effect(self) -> Iterator[str]:
        """Say which keys change nothing, so that none is believed to work."""
        tanks = self.site.tanks
        for key, placed in self.site.links.items():
            link = placed.thing
            ports = max(
                tanks[name].thing.base + port for name, port in zip(link.joins, link.ports, strict=True)
            )
            if link.crest is None and link.primed is not None:
                yield f"`primed` of the link {key} has no effect: it has no crest."
            elif link.crest is not None and link.crest <= ports:
                yield f"`crest` of the link {key} has no effect: it lies no higher than its ports."
            if (link.bore is None) != (link.run is None):
                given, wanted = ("run", "bore") if link.bore is None else ("bore", "run")
                yield f"`{given}` of the link {key} has no effect without `{wanted}`: no flow can be told."
            yield from _never_together(
                f"link {key}", placed, [tanks[name] for name in link.joins], at_least=2
            )
        for key, outlet in self.site.outlets.items():
            yield from _never_together(f"outlet {key}", outlet, [tanks[outlet.thing.tank]])
        for key, roof in self.site.roofs.items():
            yield from _never_together(f"roof {key}", roof, [tanks[roof.thing.fills]])
        for key, tank in tanks.items():
            if tank.dip.on_silt and tank.dip.scale is not None:
                yield f"`on_silt` of the tank {key} has no effect: its gauge is read by a scale."
            elif tank.dip.on_silt and tank.thing.silt == 0:
                yield f"`on_silt` of the tank {key} has no effect: it has no silt."
            if tank.thing.overflow_bore is not None and tank.thing.overflow is None:
                yield f"`overflow_bore` of the tank {key} has no effect: it has no overflow."

    def loads(self) -> Iterator[str]:
        """Say what each tank weighs when full, like ones together, and the caution that goes with it."""
        alike: dict[str, list[str]] = {}
        for key in self.layout.tanks:
            placed = self.site.tanks[key]
            weight, pressure = weight_when_full(placed), pressure_when_full(placed)
            words = f"{format_mass(weight, self.units)} when full"
            words += "" if placed.tare is not None else ", the empty tank not counted"
            if pressure is not None and placed.footprint is not None:
                area = format_area(placed.footprint, self.units)
                words += f", {format_bearing(pressure, self.units)} on {area} of base"
            alike.setdefault(words, []).append(placed.label)
        for words, labels in alike.items():
            yield f"{listed(labels)} {'weighs' if len(labels) == 1 else 'each weigh'} {words}."
        yield together_words([self.site.tanks[key] for key in self.layout.tanks], self.units)


def _never_together(
    what: str, thing: Placed[Any], tanks: Iterable[Placed[Any]], at_least: int = 1
) -> Iterator[str]:
    """Say it when something never stands on the same days as the tanks it belongs to."""

    def meets(other: Placed[Any]) -> bool:
        first = max(thing.since or date.min, other.since or date.min)
        last = min(thing.until or date.max, other.until or date.max)
        return first <= last

    if sum(meets(tank) for tank in tanks) < at_least:
        yield f"The {what} has no effect: it never stands on the same days as its tanks."
