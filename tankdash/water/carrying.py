"""What a storm asks of each link and overflow, and what they can carry (R12)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tankdash.water.currents import Currents, Way
from tankdash.water.errors import named, not_negative
from tankdash.water.model import Layout, Roof
from tankdash.water.openings import overflow_capacity
from tankdash.water.steady import SteadyFlow

DRY = -1e9
"""A surface far below every sill, [m]."""


def roof_flow(roof: Roof, rate: float) -> float:
    """Return what a wet roof sends down its pipe: rate x area x runoff x screen, [m/s] to [m3/s].

    Examples
    --------
    Sixty square metres in a storm of 60 mm/h:

    >>> round(roof_flow(Roof("barn", area=60.0, fills="north", runoff=1.0), 0.060 / 3600) * 1000, 3)
    1.0
    """
    return not_negative(rate, "a rain rate", "m/s") * roof.yields


def storm_inflow(layout: Layout, rate: float) -> dict[str, float]:
    """Return what the roofs send to each tank in steady rain, first flush full and first loss past, [m3/s]."""
    inflow: dict[str, float] = {}
    for roof in layout.roofs.values():
        inflow[roof.fills] = inflow.get(roof.fills, 0.0) + roof_flow(roof, rate)
    return inflow


@dataclass(frozen=True)
class LinkLoad:
    """What a storm asks of one link."""

    must: float | None
    """Flow if only the tank that is worst for it still has room, so that all inflow of the bank has to get there,
    [m3/s]. None in a loop with a link nobody measured."""
    head: float | None
    """Head across it at that flow, [m]; None when nobody measured it."""
    carries: float | None
    """The most it can carry: upstream at the lip, the far side still empty, [m3/s]; None when not measured."""
    available: float
    """Head it then has, [m]."""

    @property
    def is_short(self) -> bool:
        """Whether it is known to carry less than it must."""
        return self.must is not None and self.carries is not None and self.must > self.carries * (1.0 + 1e-9)


@dataclass(frozen=True)
class OverflowLoad:
    """What a storm asks of one overflow."""

    must: float
    """All that runs into its bank, and what other overflows lead there, [m3/s]."""
    carries: float | None
    """What it passes before the brim spills too, [m3/s]; None when its bore was never measured."""

    @property
    def is_short(self) -> bool:
        """Whether it is known to be narrower than the storm."""
        return self.carries is not None and self.must > self.carries * (1.0 + 1e-9)


def link_loads(
    layout: Layout, inflow: Mapping[str, float], *, primed_if_unknown: bool = False
) -> dict[str, LinkLoad]:
    """Return what each open link must carry in steady inflow and can (R12).

    Parameters
    ----------
    layout : Layout
        What stands there.
    inflow : mapping of str to float
        Into each tank, >= 0, [m3/s].
    primed_if_unknown : bool, optional
        Whether a crest nobody has looked at lets water over (R5).

    Returns
    -------
    dict of str to LinkLoad
        By link id.

    Raises
    ------
    OutOfRange
        If an inflow is impossible or its tank is not there.

    Examples
    --------
    Half-inch tube between three barrels, the first under the roof:

    >>> from tankdash.water.model import Link, Tank
    >>> from tankdash.water.shapes import Straight
    >>> barrels = {name: Tank(name, Straight(0.21, 0.9), brim=0.9) for name in "abc"}
    >>> tubes = {pair: Link(pair, tuple(pair), (0.1, 0.1), bore=0.013, run=2.0) for pair in ("ab", "bc")}
    >>> load = link_loads(Layout(barrels, tubes), {"a": 0.00063})["ab"]
    >>> round(load.must * 1000, 2), round(load.carries * 1000, 2), load.is_short
    (0.63, 0.22, True)
    """
    currents = Currents(layout, primed_if_unknown=primed_if_unknown)
    rates = inflow_rates(currents, inflow)
    steady = SteadyFlow(currents)
    must: dict[str, float | None] = {}
    head: dict[str, float | None] = {}
    giver: dict[str, str | None] = {}
    for sink in range(len(currents.ids)):
        if not any(rates[tank] > 0.0 for tank in steady.reached(sink)):
            continue
        for link, carried in steady.to(sink, rates).items():
            if carried.flow is None:
                must[link] = head[link] = None
            elif link not in must or (must[link] is not None and abs(carried.flow) > (must[link] or 0.0)):
                must[link] = abs(carried.flow)
                head[link] = None if carried.head is None else abs(carried.head)
                giver[link] = carried.upstream
    loads = {}
    for way in currents.ways:
        carries, available = _most(currents, way, giver.get(way.link))
        loads[way.link] = LinkLoad(must.get(way.link, 0.0), head.get(way.link, 0.0), carries, available)
    return loads


def inflow_rates(currents: Currents, inflow: Mapping[str, float]) -> list[float]:
    """Return the inflow of each tank by number, [m3/s]; OutOfRange when one is impossible or its tank is not there."""
    for name, rate in inflow.items():
        named(name, currents.number, "tank")
        not_negative(rate, f"the inflow of {name}", "m3/s")
    return [inflow.get(name, 0.0) for name in currents.ids]


def _most(currents: Currents, way: Way, giver: str | None) -> tuple[float | None, float]:
    """Return the most a link carries out of `giver` (its highest tank when nothing flows), and the head for it."""
    lips = [currents.tanks[leg.tank].lip_elevation for leg in way.legs]
    place = max(range(len(lips)), key=lambda leg: lips[leg])
    for number, leg in enumerate(way.legs):
        if currents.ids[leg.tank] == giver:
            place = number
    other_sills = [leg.sill for number, leg in enumerate(way.legs) if number != place]
    available = max(0.0, lips[place] - max(way.legs[place].sill, min(other_sills)))
    if way.pipe is None:
        return None, available
    if not way.is_header:
        return way.pipe.flow(available), available
    surfaces = [DRY] * len(currents.ids)
    surfaces[way.legs[place].tank] = lips[place]
    return max(0.0, currents.meeting(way, surfaces).flows[place]), available


def overflow_loads(layout: Layout, inflow: Mapping[str, float]) -> dict[str, OverflowLoad]:
    """Return what the overflow of each tank must pass when its bank is full, and can.

    Parameters
    ----------
    layout : Layout
        What stands there.
    inflow : mapping of str to float
        Into each tank, >= 0, [m3/s].

    Returns
    -------
    dict of str to OverflowLoad
        By tank id, those with an overflow of their own only.

    Raises
    ------
    OutOfRange
        If an inflow is impossible or its tank is not there.
    """
    currents = Currents(layout)
    rates = inflow_rates(currents, inflow)
    steady = SteadyFlow(currents)
    bank_of: dict[int, int] = {}
    banks: list[list[int]] = []
    for tank in range(len(currents.ids)):
        if tank not in bank_of:
            bank_of.update(dict.fromkeys(steady.reached(tank), len(banks)))
            banks.append(steady.reached(tank))
    feeds: list[set[int]] = [set() for _ in banks]
    for tank, below in enumerate(currents.over.leads_to):
        if below is not None and bank_of[below] != bank_of[tank]:
            feeds[bank_of[tank]].add(bank_of[below])
    must = [0.0] * len(banks)
    for start, tanks in enumerate(banks):
        came = sum(rates[tank] for tank in tanks)
        reached = [start]
        for bank in reached:
            must[bank] += came
            reached += [below for below in feeds[bank] if below not in reached]
    return {
        name: OverflowLoad(must[bank_of[place]], overflow_capacity(tank))
        for place, (name, tank) in enumerate(zip(currents.ids, currents.tanks, strict=True))
        if tank.overflow is not None
    }
