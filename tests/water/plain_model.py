"""The rules of linked tanks told the slow way, a drop at a time and two tanks at a time (R1 to R10).

It knows nothing of pools, banks or networks and shares no line with the water floor: straight walls, lists and loops.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tankdash.water.model import Layout

STILL = 1e-10
"""Less than this passes between two tanks no more, [m3]."""


@dataclass
class PlainTank:
    """One tank with straight walls."""

    area: float
    floor: float
    """Where its water begins: its floor, or the silt on it, above the datum, [m]."""
    lip: float
    """Where it spills, above the datum, [m]."""
    spills_into: str | None

    def surface(self, volume: float) -> float:
        return self.floor + volume / self.area

    def volume(self, surface: float) -> float:
        return self.area * max(0.0, surface - self.floor)


class PlainTanks:
    """The tanks of a layout and the ways between two of them, each with its sill (R2)."""

    def __init__(self, layout: Layout) -> None:
        self.tanks: dict[str, PlainTank] = {}
        for name, tank in layout.tanks.items():
            spill = tank.brim if tank.overflow is None else min(tank.brim, tank.overflow)
            area = tank.shape.area(tank.brim / 2)
            self.tanks[name] = PlainTank(area, tank.base + tank.silt, tank.base + spill, tank.overflow_to)
        self.outlets = {
            name: (outlet.tank, layout.tanks[outlet.tank].base + outlet.at)
            for name, outlet in layout.outlets.items()
        }
        self.inlets: dict[str, float] = {}
        for roof in layout.roofs.values():
            self.inlets[roof.fills] = self.inlets.get(roof.fills, 0.0) + roof.area * roof.runoff * roof.screen
        self.ways: list[tuple[str, str, float]] = []
        for link in layout.links.values():
            if not link.is_open:
                continue
            over = link.crest if link.crest is not None and link.primed is not True else -math.inf
            ends = [
                (name, layout.tanks[name].base + max(port, layout.tanks[name].silt))
                for name, port in zip(link.joins, link.ports, strict=True)
            ]
            for place, (one, port) in enumerate(ends):
                for other, other_port in ends[place + 1 :]:
                    self.ways.append((one, other, max(port, other_port, over)))

    def lowest_sills(self, start: str) -> dict[str, float]:
        """Return for each tank that can be reached the highest sill on the best way to it (R4)."""
        best = {start: -math.inf}
        for _ in self.tanks:
            for one, other, sill in self.ways:
                for here, there in ((one, other), (other, one)):
                    if here in best:
                        best[there] = min(best.get(there, math.inf), max(best[here], sill))
        return best

    def _level(self, held: dict[str, float]) -> None:
        """Let water pass between two tanks after another until no two have any to pass (R3)."""
        passed = math.inf
        while passed > STILL:
            passed = 0.0
            for one, other, sill in self.ways:
                high, low = sorted((one, other), key=lambda name: -self.tanks[name].surface(held[name]))
                upper, lower = self.tanks[high], self.tanks[low]
                over = upper.surface(held[high]) - max(sill, lower.surface(held[low]))
                if over <= 0.0:
                    continue
                until_equal = (upper.surface(held[high]) - lower.surface(held[low])) / (
                    1.0 / upper.area + 1.0 / lower.area
                )
                until_sill = (upper.surface(held[high]) - sill) * upper.area
                share = min(until_equal, until_sill, held[high])
                held[high] -= share
                held[low] += share
                passed = max(passed, share)

    def rest(self, held: dict[str, float]) -> float:
        """Let the water come to rest, spilling at lips; return what ran away (R9)."""
        away = 0.0
        while True:
            self._level(held)
            spilled = 0.0
            for name, tank in self.tanks.items():
                over = held[name] - tank.volume(tank.lip)
                if over > 10 * STILL:
                    held[name] -= over
                    spilled += over
                    if tank.spills_into is None:
                        away += over
                    else:
                        held[tank.spills_into] += over
            if spilled == 0.0:
                return away

    def pour(
        self, contents: Mapping[str, float], inflow: Mapping[str, float], drops: int
    ) -> tuple[dict[str, float], float]:
        """Add water drop by drop; return what each holds and what ran away (R9)."""
        held, away = dict(contents), 0.0
        for _ in range(drops):
            for name, volume in inflow.items():
                held[name] += volume / drops
            away += self.rest(held)
        return held, away

    def draw(
        self, contents: Mapping[str, float], outlet: str, volume: float, drops: int
    ) -> tuple[dict[str, float], float]:
        """Draw water drop by drop; return what each holds and what was drawn (R10)."""
        held, drawn = dict(contents), 0.0
        name, height = self.outlets[outlet]
        below = self.tanks[name].volume(height)
        while drawn < volume:
            drop = min(volume / drops, volume - drawn, held[name] - below)
            if drop <= STILL:
                break
            held[name] -= drop
            drawn += drop
            self._level(held)
        return held, drawn

    def usable(self, contents: Mapping[str, float], outlets: Iterable[str]) -> float:
        """Return the water above the lowest height at which its tank can still reach an outlet (R7)."""
        total = 0.0
        for name, tank in self.tanks.items():
            lowest = math.inf
            for outlet in outlets:
                at, height = self.outlets[outlet]
                sill = self.lowest_sills(at).get(name, math.inf)
                lowest = min(lowest, max(height, sill))
            total += max(0.0, contents[name] - tank.volume(lowest)) if lowest < math.inf else 0.0
        return total

    def at_rest(self, dipped: str, surface: float) -> dict[str, tuple[float, float]]:
        """Return the least and the most each tank can hold beside a tank that stands at `surface` (R4, R6)."""
        sills, bounds = self.lowest_sills(dipped), {}
        for name, tank in self.tanks.items():
            if sills.get(name, math.inf) <= surface:
                bounds[name] = (tank.volume(surface), tank.volume(surface))
            else:
                spill = min(
                    max(sill, self.tanks[there].lip) for there, sill in self.lowest_sills(name).items()
                )
                bounds[name] = (0.0, tank.volume(min(spill, sills.get(name, math.inf))))
        return bounds
