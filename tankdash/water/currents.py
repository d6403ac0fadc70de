"""What flows between tanks at given surfaces: links as pipes, headers balanced where their legs meet (R12)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

from tankdash.water.flowtable import Drive
from tankdash.water.friction import Pipe, pipe_of
from tankdash.water.joining import Joined
from tankdash.water.lips import Lips, landed
from tankdash.water.measured import Partly, Table
from tankdash.water.model import Layout, Shape, Tank
from tankdash.water.sills import leg_sills

__all__ = ["Currents", "Leg", "Meeting", "Way"]

SMALLEST_SHARE = 1e-6
"""A tank counts as holding at least this share of what the largest holds: what is less no stick will show."""


@dataclass(frozen=True)
class Leg:
    """Where a link meets a tank."""

    tank: int
    """Its number in the layout's order."""
    sill: float
    """Height above the datum below which nothing passes here (R2), [m]."""


@dataclass(frozen=True)
class Way:
    """An open link between tanks that can breathe, with its pipe."""

    link: str
    """Name in the site file."""
    legs: tuple[Leg, ...]
    """Two of a plain link, which share one pipe and one sill; of a header each has its own."""
    pipe: Pipe | None
    """None when bore or run was never measured."""
    is_header: bool
    """Whether the legs meet in the middle, each through a pipe of its own."""
    drive: Drive | None
    """What heads drive through the pipe; None when it was never measured."""


class Meeting(NamedTuple):
    """How the legs of a header meet."""

    middle: float
    """Head where they do, above the datum, [m]."""
    flows: list[float]
    """In through each leg, [m3/s]."""
    slopes: list[float]
    """How fast each of these grows with the head along its leg, [m2/s]."""


class Currents:
    """The open links of a layout as pipes, ready to say what flows at given surfaces.

    A link passes what its pipe passes under the difference of the surfaces, where a surface below the sill counts
    as standing at the sill: the jet falls free. The pipe is taken as full.

    Parameters
    ----------
    layout : Layout
        What stands there today.
    primed_if_unknown : bool, optional
        Whether a crest nobody has looked at lets water over (R5).
    least_head : float, optional
        Heads below this drive proportionally less: keeps level tanks from chattering, [m].
    """

    def __init__(self, layout: Layout, *, primed_if_unknown: bool = False, least_head: float = 5e-5) -> None:
        self.ids = list(layout.tanks)
        """Tank ids by number."""
        self.tanks: list[Tank] = list(layout.tanks.values())
        """Tanks by number."""
        number = {name: place for place, name in enumerate(self.ids)}
        self.number = number
        """Number of each tank id."""
        self.least_head = least_head
        self.over = Lips(self.tanks)
        """Where each spills, and to which."""
        self.lips = self.over.volumes
        """Water each holds at its lip, [m3]."""
        self.ways: list[Way] = []
        """Links that can carry."""
        for link in layout.links.values():
            if not link.is_open:
                continue
            sills = leg_sills(link, layout.tanks, primed_if_unknown=primed_if_unknown)
            legs = tuple(
                Leg(number[name], sill)
                for name, sill in zip(link.joins, sills, strict=True)
                if layout.tanks[name].vented
            )
            is_header = len(link.joins) > 2
            if not is_header and len(legs) == 2:
                sill = max(leg.sill for leg in legs)
                legs = tuple(Leg(leg.tank, sill) for leg in legs)
            if len(legs) >= 2:
                pipe = pipe_of(link)
                drive = None if pipe is None else Drive(pipe, least_head)
                self.ways.append(Way(link.id, legs, pipe, is_header, drive))
        areas = [
            lip / max(tank.lip - tank.silt, 1e-9) for tank, lip in zip(self.tanks, self.lips, strict=True)
        ]
        least = max(SMALLEST_SHARE * max(areas, default=0.0), 1e-12)
        self._mean_areas = [max(area, least) for area in areas]
        self._rising = [
            replace(tank, shape=_without_plateaus(tank.shape)) if tank.shape.plan_area is None else tank
            for tank in self.tanks
        ]
        self._straight = [(tank.shape.plan_area, tank.base + tank.silt) for tank in self.tanks]
        self._middles: dict[str, float] = {}
        """Where the legs of each header met last: the next search begins there."""
        headers = [way for way in self.ways if way.is_header and way.drive is not None]
        self._middle_of = {way.link: len(self.tanks) + place for place, way in enumerate(headers)}
        self.unknowns = len(self.tanks) + len(headers)
        """How many numbers change together: the volume of each tank, the head in the middle of each header."""

    def surfaces(self, volumes: Sequence[float]) -> list[float]:
        """Return the surface of each tank, none above its lip or below its silt, [m]."""
        return [
            floor + min(volume, lip) / area
            if area is not None and volume > 0.0
            else tank.base + tank.depth(min(volume, lip))
            for tank, volume, lip, (area, floor) in zip(
                self._rising, volumes, self.lips, self._straight, strict=True
            )
        ]

    def meeting(self, way: Way, surfaces: Sequence[float]) -> Meeting:
        """Return how the legs of a header meet at given surfaces, [m]: the middle stands where as much flows in as out.

        What flows in falls steadily as it stands higher: Newton's steps, kept inside what is known.
        """
        drive = way.drive
        levels = [max(surfaces[leg.tank], leg.sill) for leg in way.legs]
        low, high = min(levels), max(levels)
        # Water comes from a surface above its own sill only; below the lowest level nothing can stand.
        gives = any(surfaces[leg.tank] > max(leg.sill, low) for leg in way.legs)
        if drive is None or not gives:
            slope = 0.0 if drive is None else drive.flow_and_slope(0.0)[1]
            return Meeting(low, [0.0] * len(levels), [slope] * len(levels))
        ends = [(level, leg.sill) for level, leg in zip(levels, way.legs, strict=True)]
        middle = min(max(low, self._middles.get(way.link, 0.5 * (low + high))), high)
        for _ in range(100):
            driven = [drive.flow_and_slope(level - max(middle, sill)) for level, sill in ends]
            surplus = sum(flow for flow, _ in driven)
            if abs(surplus) <= 1e-10 * max(abs(flow) for flow, _ in driven):
                break
            if surplus > 0.0:
                low = middle
            else:
                high = middle
            falls = sum(slope for (_, slope), (_, sill) in zip(driven, ends, strict=True) if middle > sill)
            before, middle = middle, middle + surplus / falls if falls > 0.0 else high
            if not low < middle < high:
                middle = 0.5 * (low + high)
            if abs(middle - before) < 1e-13:
                break
        self._middles[way.link] = middle
        flows = [flow for flow, _ in driven]
        # What is left over is rounding; the largest leg takes it, so that no litre appears.
        largest = max(range(len(flows)), key=lambda place: abs(flows[place]))
        flows[largest] -= sum(flows)
        return Meeting(middle, flows, [slope for _, slope in driven])

    def into_tanks(self, surfaces: Sequence[float]) -> list[float]:
        """Return what all links together bring to each tank, negative where they take, [m3/s]."""
        net = [0.0] * len(surfaces)
        for way in self.ways:
            if way.drive is None:
                continue
            if way.is_header:
                for leg, flow in zip(way.legs, self.meeting(way, surfaces).flows, strict=True):
                    net[leg.tank] -= flow
            else:
                one, other = way.legs
                head = max(surfaces[one.tank], one.sill) - max(surfaces[other.tank], one.sill)
                if head != 0.0:
                    flow = way.drive.flow_and_slope(head)[0]
                    net[one.tank] -= flow
                    net[other.tank] += flow
        return net

    def rates(self, volumes: Sequence[float]) -> list[float]:
        """Return what the links bring to each tank at given volumes; none rises above its lip, [m3/s]."""
        net = self.into_tanks(self.surfaces(volumes))
        lands = self.over.running(volumes, net)
        come = landed(net, lands)
        for tank, below in lands.items():
            if below == tank:
                come[tank] = 0.0
        return come

    def slopes(
        self,
        volumes: Sequence[float],
        lands: Mapping[int, int],
        come: Sequence[float],
        accuracy: float,
    ) -> list[dict[int, float]]:
        """Return how fast each tank's net inflow changes with each volume, and how the heads in headers follow.

        A tank that fills and stands at the sill of a link, or lacks no more than `accuracy`, counts as running into
        it: what comes goes on, and the surface stays there.

        Parameters
        ----------
        volumes : sequence of float
            What each tank holds, [m3].
        lands : mapping of int to int
            Tanks that run over, with where that water comes to: their surface stays.
        come : sequence of float
            What comes to each tank now, [m3/s].
        accuracy : float
            Depth that counts as nothing, [m].

        Returns
        -------
        list of dict
            A row for each tank, [1/s] by tank and [m2/s] by header; behind them a row for the middle of each
            header, which says that as much flows in as out.
        """
        surfaces = self.surfaces(volumes)
        areas = self.water_surfaces(surfaces)
        rows: list[dict[int, float]] = [{} for _ in range(self.unknowns)]

        def add(row: int, column: int, slope: float) -> None:
            row = lands.get(row, row)
            rows[row][column] = rows[row].get(column, 0.0) + slope

        def rise(leg: Leg, flow: float) -> float:
            """Return how fast a surface rises as its tank fills, as far as the link feels it, [1/m2]."""
            tank, lacks = leg.tank, leg.sill - surfaces[leg.tank]
            at_sill = lacks <= 0.0 or (lacks <= accuracy and flow == 0.0 and come[tank] > 0.0)
            return 1.0 / areas[tank] if at_sill and tank not in lands else 0.0

        for way in self.ways:
            if way.drive is None:
                continue
            if not way.is_header:
                one, other = way.legs
                head = max(surfaces[one.tank], one.sill) - max(surfaces[other.tank], one.sill)
                flow, slope = way.drive.flow_and_slope(head)
                for here, there in ((one, other), (other, one)):
                    own = slope * rise(here, flow)
                    add(here.tank, here.tank, -own)
                    add(there.tank, here.tank, own)
                continue
            middle, flows, felt = self.meeting(way, surfaces)
            # Where the middle rises with a tank, the sill of another leg just above it is as good as met.
            rises = any(
                come[leg.tank] > 0.0
                and surfaces[leg.tank] >= leg.sill
                and abs(surfaces[leg.tank] - middle) <= accuracy
                for leg in way.legs
            )
            nearly = middle + accuracy if rises else middle
            place = self._middle_of[way.link]
            for leg, flow, slope in zip(way.legs, flows, felt, strict=True):
                own = slope * rise(leg, flow)
                common = slope if leg.sill <= (middle if flow else nearly) else 0.0
                add(leg.tank, leg.tank, -own)
                add(leg.tank, place, common)
                add(place, leg.tank, own)
                add(place, place, -common)
        return rows

    def water_surfaces(self, surfaces: Sequence[float]) -> list[float]:
        """Return the area of each tank's water surface, never quite nothing: not at the tip of a cone, [m2]."""
        areas = []
        for tank, surface, least in zip(self._rising, surfaces, self._mean_areas, strict=True):
            floor = 1e-3 * tank.shape.height
            depth = min(max(surface - tank.base, floor), tank.shape.height - floor)
            areas.append(max(tank.shape.area(depth), 1e-3 * least))
        return areas

    def neighbours(self) -> Iterator[tuple[int, int]]:
        """Yield the pairs of tanks, or of a tank and the middle of a header, between which water flows."""
        for way in self.ways:
            if way.drive is None:
                continue
            if way.is_header:
                yield from ((leg.tank, self._middle_of[way.link]) for leg in way.legs)
            else:
                yield way.legs[0].tank, way.legs[1].tank

    def systems(self) -> list[list[int]]:
        """Return the tanks joined by links or overflows: water stays in such a system until it runs away."""
        sets = Joined(len(self.tanks))
        for way in self.ways:
            for one, other in pairwise(way.legs):
                sets.join(one.tank, other.tank)
        for tank, below in enumerate(self.over.leads_to):
            if below is not None:
                sets.join(tank, below)
        return sets.sets(range(len(self.tanks)))

    def greatest_head(self, way: Way, surfaces: Sequence[float]) -> float:
        """Return the largest difference of surfaces that drives water through a link, [m]."""
        lowest = min(max(surfaces[leg.tank], leg.sill) for leg in way.legs)
        return max(max(surfaces[leg.tank], leg.sill) - max(lowest, leg.sill) for leg in way.legs)

    def spread(self, surfaces: Sequence[float]) -> float:
        """Return how far from rest the tanks stand: the widest spread of any pool, or head over any sill, [m].

        A pool here are tanks joined by links wet at both ends.
        """
        sets = Joined(len(surfaces))
        widest = 0.0
        for way in self.ways:
            widest = max(widest, self.greatest_head(way, surfaces))
            # Only surfaces above their own sill stand in the link; neither a dry port nor a trickle wets it.
            lets_in = [leg for leg in way.legs if surfaces[leg.tank] > leg.sill + self.least_head]
            levels = sorted((surfaces[leg.tank] for leg in lets_in), reverse=True)
            wet = []
            for leg in lets_in if len(lets_in) > 1 else ():
                others = levels[1] if surfaces[leg.tank] == levels[0] else levels[0]
                if others > leg.sill + self.least_head:
                    wet.append(leg.tank)
            for one, other in pairwise(wet):
                sets.join(one, other)
        for pool in sets.sets(range(len(surfaces))):
            heights = [surfaces[tank] for tank in pool]
            widest = max(widest, max(heights) - min(heights))
        return widest

    def is_hidden(self, surfaces: Sequence[float], accuracy: float) -> bool:
        """Return whether a link whose pipe nobody measured now has more than `accuracy` of head across it, [m]."""
        return any(way.pipe is None and self.greatest_head(way, surfaces) > accuracy for way in self.ways)

    def weights(self, depth_error: float) -> list[float]:
        """Return the volume of each tank that `depth_error` stands for on the mean, > 0, [m3]."""
        return [depth_error * area for area in self._mean_areas]


def _without_plateaus(shape: Shape) -> Shape:
    """Return a shape whose surface does not jump as it fills."""
    if isinstance(shape, Partly):
        return Partly(_without_plateaus(shape.shape), shape.share)
    return shape.without_plateaus() if isinstance(shape, Table) else shape
