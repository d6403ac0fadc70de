"""What flows between tanks at given surfaces: links as pipes, headers balanced where their legs meet (R12)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tankdash.water.flowtable import table_of
from tankdash.water.friction import Pipe, pipe_of
from tankdash.water.model import Layout, Tank
from tankdash.water.sills import leg_sills


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
        self.lips = [tank.lip_volume for tank in self.tanks]
        """Water each holds at its lip, [m3]."""
        self.spills_into = [number.get(tank.overflow_to or "") for tank in self.tanks]
        """Number of the tank its overflow feeds; None when it runs away."""
        self.ways: list[Way] = []
        """Links that can carry."""
        for link in layout.links.values():
            if not link.is_open:
                continue
            sills = leg_sills(link, layout.tanks, primed_if_unknown=primed_if_unknown)
            # A port under the silt lets out what stands above the silt, and no more.
            legs = tuple(
                Leg(number[name], max(sill, tank.base + tank.silt))
                for name, sill in zip(link.joins, sills, strict=True)
                if (tank := layout.tanks[name]).vented
            )
            is_header = len(link.joins) > 2
            if not is_header and len(legs) == 2:
                sill = max(leg.sill for leg in legs)
                legs = tuple(Leg(leg.tank, sill) for leg in legs)
            if len(legs) >= 2:
                self.ways.append(Way(link.id, legs, pipe_of(link), is_header))

    def surfaces(self, volumes: Sequence[float]) -> list[float]:
        """Return the surface of each tank, none above its lip, [m]."""
        return [
            tank.base + tank.depth(min(volume, lip))
            for tank, volume, lip in zip(self.tanks, volumes, self.lips, strict=True)
        ]

    def drive(self, pipe: Pipe, head: float) -> float:
        """Return the flow under `head`, proportional below the least head, [m3/s]."""
        least = self.least_head
        flow = table_of(pipe).flow
        if -least < head < least:
            return flow(least) * head / least
        return flow(head)

    def meeting(self, way: Way, surfaces: Sequence[float]) -> tuple[float, list[float]]:
        """Return the head in the middle of a header and what flows in through each leg, [m] and [m3/s].

        The middle stands where as much flows in as out; flow in falls steadily as it stands higher.
        """
        pipe = way.pipe
        if pipe is None:
            return 0.0, [0.0] * len(way.legs)
        levels = [max(surfaces[leg.tank], leg.sill) for leg in way.legs]

        # `drive` for every leg, written out: this is asked more often than anything else.
        flow, least = table_of(pipe).flow, self.least_head
        steepest = flow(least) / least
        ends = [(level, leg.sill) for level, leg in zip(levels, way.legs, strict=True)]

        def inflows(middle: float) -> list[float]:
            heads = [level - (middle if middle > sill else sill) for level, sill in ends]
            return [flow(head) if head >= least or head <= -least else head * steepest for head in heads]

        # Water comes from a surface above its own sill only; below the lowest level nothing can stand.
        low, high = min(levels), max(levels)
        flows = inflows(high)
        flows_low = inflows(low)
        surplus_low, surplus_high = sum(flows_low), sum(flows)
        if surplus_low <= 0.0:
            return low, flows_low  # no surface stands above its own sill: a leg that is dry gives nothing
        middle = high
        side = 0
        for _ in range(100):
            if high - low < 1e-12 or surplus_low <= 0.0 or surplus_high >= 0.0:
                break
            middle = (low * surplus_high - high * surplus_low) / (surplus_high - surplus_low)
            if not low < middle < high:
                middle = 0.5 * (low + high)
            flows = inflows(middle)
            surplus = sum(flows)
            if abs(surplus) <= 1e-10 * max(abs(flow) for flow in flows):
                break
            # Illinois rule: halve the weight of an end that stays, or the steps would creep.
            if surplus > 0.0:
                low, surplus_low = middle, surplus
                surplus_high = surplus_high * 0.5 if side == 1 else surplus_high
                side = 1
            else:
                high, surplus_high = middle, surplus
                surplus_low = surplus_low * 0.5 if side == -1 else surplus_low
                side = -1
        # What is left over is rounding; the largest leg takes it, so that no litre appears.
        largest = max(range(len(flows)), key=lambda place: abs(flows[place]))
        flows[largest] -= sum(flows)
        return middle, flows

    def into_tanks(self, surfaces: Sequence[float]) -> list[float]:
        """Return what all links together bring to each tank, negative where they take, [m3/s]."""
        net = [0.0] * len(surfaces)
        for way in self.ways:
            if way.pipe is None:
                continue
            if way.is_header:
                for leg, flow in zip(way.legs, self.meeting(way, surfaces)[1], strict=True):
                    net[leg.tank] -= flow
            else:
                one, other = way.legs
                head = max(surfaces[one.tank], one.sill) - max(surfaces[other.tank], one.sill)
                if head != 0.0:
                    flow = self.drive(way.pipe, head)
                    net[one.tank] -= flow
                    net[other.tank] += flow
        return net

    def rates(self, volumes: Sequence[float]) -> list[float]:
        """Return what the links bring to each tank at given volumes; none rises above its lip, [m3/s]."""
        net = self.into_tanks(self.surfaces(volumes))
        self.run_over(volumes, net)
        return net

    def run_over(self, volumes: Sequence[float], net: list[float]) -> list[float]:
        """Take out of `net` what tanks at their lip cannot keep, pass it on where led, return it, [m3/s]."""
        over = [0.0] * len(net)
        at_lip = [place for place, volume in enumerate(volumes) if volume >= self.lips[place] * (1.0 - 1e-12)]
        for _ in range(len(net)):
            running = [place for place in at_lip if net[place] > 0.0]
            if not running:
                break
            for place in running:
                surplus = net[place]
                net[place] = 0.0
                over[place] += surplus
                below = self.spills_into[place]
                if below is not None:
                    net[below] += surplus
        return over

    def stiffness(self, volumes: Sequence[float]) -> float:
        """Return a bound on how fast neighbours draw level, [1/s]: twice conductance over water surface.

        A flow grows at most in proportion to its head, so flow over head bounds the conductance; it is taken
        at half the present head, as the heads shrink during a step. A leg whose end is dry does not feel its own
        surface, so the water surface that counts is the one at its sill, not the tip of an empty cone.
        """
        surfaces = self.surfaces(volumes)
        speeds = [0.0] * len(surfaces)
        for way in self.ways:
            if way.pipe is None:
                continue
            middle = self.meeting(way, surfaces)[0] if way.is_header else None
            for leg, other in zip(way.legs, reversed(way.legs), strict=True):
                own = max(surfaces[leg.tank], leg.sill)
                far = max(surfaces[other.tank] if middle is None else middle, leg.sill)
                head = max(self.least_head, 0.5 * abs(own - far))
                tank = self.tanks[leg.tank]
                floor = 1e-3 * tank.shape.height
                depth = min(max(own - tank.base, floor), tank.shape.height - floor)
                speeds[leg.tank] += table_of(way.pipe).flow(head) / head / tank.shape.area(depth)
        return 2.0 * max(speeds, default=0.0)

    def spill(self, volumes: list[float]) -> list[float]:
        """Take what stands above each lip out of `volumes`, pass it on where it is led, and return what left, [m3].

        A ring of overflows feeding each other passes water round at most once per tank; what is then still too
        much has run away.
        """
        spilled = [0.0] * len(volumes)
        above = [place for place, volume in enumerate(volumes) if volume > self.lips[place]]
        for _ in range(len(volumes)):
            if not above:
                break
            following = []
            for place in above:
                excess = volumes[place] - self.lips[place]
                volumes[place] = self.lips[place]
                spilled[place] += excess
                below = self.spills_into[place]
                if below is not None:
                    volumes[below] += excess
                    if volumes[below] > self.lips[below]:
                        following.append(below)
            above = list(dict.fromkeys(following))
        for place in above:
            volumes[place] = min(volumes[place], self.lips[place])
        return spilled

    def greatest_head(self, way: Way, surfaces: Sequence[float]) -> float:
        """Return the largest difference of surfaces that drives water through a link, [m]."""
        lowest = min(max(surfaces[leg.tank], leg.sill) for leg in way.legs)
        return max(max(surfaces[leg.tank], leg.sill) - max(lowest, leg.sill) for leg in way.legs)

    def spread(self, surfaces: Sequence[float]) -> float:
        """Return how far from rest the tanks stand: the widest spread of any pool, or head over any sill, [m].

        A pool here are tanks joined by links wet at both ends.
        """
        leader = list(range(len(surfaces)))

        def first(place: int) -> int:
            while leader[place] != place:
                leader[place] = leader[leader[place]]
                place = leader[place]
            return place

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
                leader[first(one)] = first(other)
        low: dict[int, float] = {}
        high: dict[int, float] = {}
        for place, surface in enumerate(surfaces):
            pool = first(place)
            low[pool] = min(low.get(pool, surface), surface)
            high[pool] = max(high.get(pool, surface), surface)
        return max(widest, max((high[pool] - low[pool] for pool in low), default=0.0))

    def is_hidden(self, surfaces: Sequence[float], accuracy: float) -> bool:
        """Return whether a link whose pipe nobody measured now has more than `accuracy` of head across it."""
        return any(way.pipe is None and self.greatest_head(way, surfaces) > accuracy for way in self.ways)

    def weights(self, depth_error: float) -> list[float]:
        """Return the volume of each tank that `depth_error` stands for, [m3]."""
        return [depth_error * max(lip, 1e-12) / max(tank.lip - tank.silt, 1e-9)
                for tank, lip in zip(self.tanks, self.lips, strict=True)]  # fmt: skip
