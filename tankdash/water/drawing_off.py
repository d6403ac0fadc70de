"""Drawing water off: a pool sinks, parts at its sills, and ends at the outlet (R10); moving it to another tank."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from tankdash.water.errors import named, not_negative
from tankdash.water.filling import pour, settled
from tankdash.water.model import Contents, Layout
from tankdash.water.pools import HAIR, REST, surfaces, volumes_in
from tankdash.water.priming import with_primes_lost
from tankdash.water.rising import height_that_holds
from tankdash.water.sills import Network, lowest_sills, network_of

__all__ = [
    "Drawn",
    "draw",
    "draw_from_tank",
    "transfer",
]


@dataclass(frozen=True)
class Drawn:
    """What became of water asked for."""

    contents: dict[str, float]
    """What each tank holds afterwards, [m3]."""
    drawn: float
    """What came, [m3]."""
    short: float
    """What was asked for and did not come; drawn + short = asked, [m3]."""
    spilled: dict[str, float]
    """What ran away over each tank's lip meanwhile, [m3]."""


def draw(
    layout: Layout, contents: Contents, outlet: str, volume: float, *, primed_if_unknown: bool = False
) -> Drawn:
    """Return what each tank holds after water has been drawn from an outlet (R10).

    The pool of the outlet's tank sinks. At a sill it parts, and what is cut off keeps its water. The outlet gives
    nothing once the surface is down at it.

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds before, [m3]. Where linked tanks are not level they find their level first.
    outlet : str
        The tap or pump.
    volume : float
        What is asked for, [m3].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    Drawn
        drawn + short = volume.

    Raises
    ------
    OutOfRange
        If there is no such outlet, or the volume is negative or no finite number.

    Examples
    --------
    >>> from tankdash.water.model import Link, Outlet, Tank
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {key: Tank(key, Straight(1.0, 1.0), brim=1.0) for key in ("a", "b")}
    >>> joined = Layout(tanks, {"hose": Link("hose", ("a", "b"), (0.25, 0.25))}, {"tap": Outlet("tap", "b", 0.125)})
    >>> draw(joined, {"a": 0.5, "b": 0.5}, "tap", 0.25)
    Drawn(contents={'a': 0.375, 'b': 0.375}, drawn=0.25, short=0.0, spilled={})
    >>> draw(joined, {"a": 0.5, "b": 0.5}, "tap", 1.0)
    Drawn(contents={'a': 0.25, 'b': 0.125}, drawn=0.625, short=0.375, spilled={})
    """
    tap = named(outlet, layout.outlets, "outlet")
    return draw_from_tank(
        layout, contents, tap.tank, volume, down_to=tap.at, primed_if_unknown=primed_if_unknown
    )


def draw_from_tank(
    layout: Layout,
    contents: Contents,
    tank: str,
    volume: float,
    *,
    down_to: float = 0.0,
    primed_if_unknown: bool = False,
) -> Drawn:
    """Return what each tank holds after water has been taken out of one of them, as by bucket or pump (R10).

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds before, [m3].
    tank : str
        Where it is taken out.
    volume : float
        What is asked for, [m3].
    down_to : float
        Height above the tank's floor below which it gives nothing, [m].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    Drawn
        drawn + short = volume.
    """
    not_negative(volume, "what is drawn", "m3")
    network = network_of(layout, primed_if_unknown=primed_if_unknown)
    node = network.node_of(tank)
    level = settled(layout, contents, primed_if_unknown=primed_if_unknown)
    held = volumes_in(network, level.contents)
    before = sum(held)
    if volume > 0.0:
        _sink(network, held, node, volume, network.tanks[node].base + down_to)
    drawn = min(volume, max(0.0, before - sum(held)))
    if volume - drawn <= 1e-12 * max(volume, before):
        drawn = volume
    return Drawn(dict(zip(network.names, held, strict=True)), drawn, volume - drawn, level.spilled)


def _sink(network: Network, held: list[float], node: int, volume: float, lowest: float) -> None:
    """Lower the pool of a tank in place until it has given a volume or stands at `lowest` above the datum, [m].

    A tank leaves the pool at its lowest path sill and keeps what stands there (R4). So the pool is taken down from
    one such height to the next, with the sum of the straight tanks' plan areas at hand; others are added up.
    """
    heights = surfaces(network.tanks, held)
    start = heights[node]
    if held[node] <= 0.0 or start <= lowest:
        return
    sills = lowest_sills(network, {node: -inf}, up_to=start + HAIR)
    leaves_at = {
        place: min(start, max(lowest, sills[place], tank.base + tank.silt))
        for place, tank in enumerate(network.tanks)
        if sills[place] < inf and held[place] > 0.0 and heights[place] >= start - REST
    }
    order = sorted(leaves_at, key=lambda place: -leaves_at[place])
    areas = {place: network.tanks[place].shape.plan_area for place in order}
    area = sum(flat for flat in areas.values() if flat is not None)
    shaped = [place for place in order if areas[place] is None]
    left = sum(held) - volume
    wanted, high = volume, start
    for turn, place in enumerate(order):
        low, tank = leaves_at[place], network.tanks[place]
        gives = area * (high - low) + sum(
            network.tanks[other].volume_at(high) - network.tanks[other].volume_at(low) for other in shaped
        )
        if gives > wanted:
            _stop_between(network, held, order[turn:], wanted, (low, high), left)
            return
        wanted, high = wanted - gives, low
        held[place] = min(held[place], tank.volume_at(low))
        flat = areas[place]
        if flat is None:
            shaped.remove(place)
        else:
            area -= flat


def _stop_between(
    network: Network,
    held: list[float],
    giving: list[int],
    wanted: float,
    between: tuple[float, float],
    left: float,
) -> None:
    """Take the last of what is wanted out of the tanks that still give; rounding goes to the one that has most."""
    low, high = between
    tanks = [network.tanks[place] for place in giving]
    flats = [tank.shape.plan_area for tank in tanks]
    if None in flats:
        height = height_that_holds(tanks, sum(tank.volume_at(high) for tank in tanks) - wanted, low, high)
    else:
        height = high - wanted / sum(flat for flat in flats if flat is not None)
    for place, tank in zip(giving, tanks, strict=True):
        held[place] = tank.volume_at(height)
    most = max(giving, key=held.__getitem__)
    held[most] = min(max(0.0, held[most] + left - sum(held)), network.tanks[most].capacity)


def transfer(
    layout: Layout,
    contents: Contents,
    source: str,
    target: str,
    volume: float,
    *,
    down_to: float = 0.0,
    primed_if_unknown: bool = False,
) -> Drawn:
    """Return what each tank holds after water has been pumped or carried from one to another (R9, R10).

    Parameters
    ----------
    layout : Layout
        What stands there. A siphon that loses its prime while the source sinks passes nothing back.
    contents : mapping of str to float
        What each tank holds before, [m3].
    source, target : str
        Tank ids.
    volume : float
        What is to be moved, [m3].
    down_to : float
        Height above the source's floor below which it gives nothing, [m].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    Drawn
        What was taken out, what the source lacked, and what ran away; before = after + spilled.
    """
    taken = draw_from_tank(
        layout, contents, source, volume, down_to=down_to, primed_if_unknown=primed_if_unknown
    )
    after = with_primes_lost(layout, taken.contents)
    put = pour(after, taken.contents, {target: taken.drawn}, primed_if_unknown=primed_if_unknown)
    return Drawn(put.contents, taken.drawn, taken.short, _sum_of(taken.spilled, put.spilled))


def _sum_of(one: Contents, other: Contents) -> dict[str, float]:
    """Add volumes tank by tank."""
    return {name: one.get(name, 0.0) + other.get(name, 0.0) for name in {**one, **other}}
