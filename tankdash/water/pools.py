"""Tanks that share one surface now, whether they stand at rest, and where they spill (R3, R6).

A pool is read off what the tanks hold; nothing moves here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import inf, isfinite

from tankdash.water.errors import OutOfRange
from tankdash.water.joining import Joined
from tankdash.water.model import Contents, Layout, Tank
from tankdash.water.sills import Network, lowest_sills, network_of

__all__ = ["HAIR", "REST", "Pool", "is_at_rest", "pools", "spill_heights", "surfaces", "volumes_in"]

HAIR = 1e-9
"""Two computed heights nearer than this are the same height, [m]; far below anything a stick can show."""


REST = 1e-6
"""Surfaces of linked tanks nearer than this count as level already, [m]."""


@dataclass(frozen=True)
class Pool:
    """Tanks that share one surface."""

    tanks: tuple[str, ...]
    """Ids, in the order of the layout."""
    surface: float
    """Above the datum, [m]."""
    spill: float
    """Height at which it spills when it rises, above the datum, [m] (R6)."""
    spills_at: str
    """The tank over whose lip it then spills."""


def volumes_in(network: Network, contents: Contents) -> list[float]:
    """Return what each tank node holds, [m3], checked.

    Raises
    ------
    OutOfRange
        If a volume is negative, above what its tank holds at the brim (by more than rounding), or no finite
        number; or if a tank is not in this layout. A tank not named holds nothing.
    """
    held = [0.0] * len(network.names)
    for name, volume in contents.items():
        place = network.node_of(name)
        capacity = network.tanks[place].capacity
        if not isfinite(volume) or volume < -1e-9 * capacity or volume > capacity * (1 + 1e-9):
            raise OutOfRange(f"{name} holds 0 to {capacity:g} m3, not {volume:g}")
        held[place] = min(max(0.0, volume), capacity)
    return held


def surfaces(tanks: Iterable[Tank], held: Iterable[float]) -> list[float]:
    """Return the surface of each tank above the datum (R1), [m]; of a dry one its floor or its silt."""
    return [tank.base + tank.depth(volume) for tank, volume in zip(tanks, held, strict=True)]


def unlevel(network: Network, held: list[float], heights: list[float], within: float) -> list[int]:
    """Return the tank nodes where water still wants to pass a link: surfaces differ, one above the sill (R3).

    Parameters
    ----------
    network : Network
        Open links.
    held, heights : list of float
        Water in each tank, [m3], and its surface above the datum, [m].
    within : float
        Surfaces nearer than this count as equal, [m].
    """
    restless = []
    for legs in network.meetings:
        over = [
            (heights[tank], tank, sill) for tank, sill in legs if held[tank] > 0.0 and heights[tank] > sill
        ]
        if not over:
            continue
        highest, source, first = max(over)
        for tank, sill in legs:
            below = network.tanks[tank]
            gap = highest - max(heights[tank], sill, first)
            takes_more = below.volume_at(highest) > held[tank] or held[tank] >= below.capacity
            if gap > within and takes_more:
                restless.append(source)
                break
    return restless


def is_at_rest(
    layout: Layout, contents: Contents, *, within: float = REST, primed_if_unknown: bool = False
) -> bool:
    """Return whether no open link has water to pass: both surfaces equal, or neither above the sill (R3).

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds, [m3].
    within : float
        Surfaces nearer than this count as equal, [m].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).
    """
    network = network_of(layout, primed_if_unknown=primed_if_unknown)
    held = volumes_in(network, contents)
    return not unlevel(network, held, surfaces(network.tanks, held), within)


def spill_heights(network: Network) -> list[tuple[float, int]]:
    """Return where the water of each tank spills when it rises, and over whose lip (R6).

    Passages are taken from the lowest sill up, as rising water would find them. A pool that meets a lip before
    the next sill spills there; one that meets a sill with a spilling pool behind it spills at that sill. A lip
    whose overflow leads back into its own pool is no way out: there the brim counts.

    Returns
    -------
    list of (float, int)
        For each tank node: height above the datum, [m], and the node whose lip it is.
    """
    count = len(network.names)
    lips = [_lip(network, node) for node in range(count)]
    lowest: list[tuple[float, int]] = [(lip, node) for node, lip in enumerate(lips)]
    lowest += [(inf, node) for node in range(count, len(network.passages))]
    rising: list[list[int]] = [[node] for node in range(len(network.passages))]
    spills: list[tuple[float, int]] = list(lowest)
    sets = Joined(len(network.passages))
    ways = sorted((way.sill, node, way.to) for node, row in enumerate(network.passages) for way in row)
    for sill, one, other in ways:
        first, second = sets.top(one), sets.top(other)
        if first == second:
            continue
        if len(rising[first]) < len(rising[second]):
            first, second = second, first
        for here, there in ((first, second), (second, first)):
            if lowest[here][0] > sill >= lowest[there][0]:
                lowest[here] = (sill, lowest[there][1])
        for here in (first, second):
            if lowest[here][0] <= sill:
                for node in rising[here]:
                    spills[node] = lowest[here]
                rising[here] = []
        sets.join(first, second)
        rising[first] += rising[second]
        lowest[first] = min(lowest[first], lowest[second])
    for node in range(len(network.passages)):
        for member in rising[node] if sets.top(node) == node else ():
            spills[member] = lowest[node]
    return spills[:count]


def _lip(network: Network, node: int) -> float:
    """Return the height at which a tank lets water go out of its own pool, above the datum, [m]."""
    tank = network.tanks[node]
    below = network.node.get(tank.overflow_to) if tank.overflow_to is not None else None
    if below is not None and tank.lip < tank.brim:
        back = lowest_sills(network, {node: -inf}, up_to=tank.lip_elevation)
        if back[below] < inf:
            return tank.base + tank.brim
    return tank.lip_elevation


def pools(
    layout: Layout, contents: Contents, *, within: float = REST, primed_if_unknown: bool = False
) -> tuple[Pool, ...]:
    """Return the tanks that share one surface now (R3, R6).

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds, [m3].
    within : float
        Surfaces nearer than this count as one, [m].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    tuple of Pool
        In the order of the layout; a dry tank and one that cannot breathe (R11) stand in none. The surface of a
        pool is that of its first tank.

    Examples
    --------
    >>> from tankdash.water.model import Link
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {key: Tank(key, Straight(1.0, 1.0), base=base, brim=1.0) for key, base in (("a", 0.25), ("b", 0.0))}
    >>> joined = Layout(tanks, {"hose": Link("hose", ("a", "b"), (0.1, 0.1))})
    >>> pools(joined, {"a": 0.5, "b": 0.75})
    (Pool(tanks=('a', 'b'), surface=0.75, spill=1.0, spills_at='b'),)
    """
    network = network_of(layout, primed_if_unknown=primed_if_unknown)
    held = volumes_in(network, contents)
    heights = surfaces(network.tanks, held)
    count = len(network.names)
    sets = Joined(count)
    for legs in network.meetings:
        wet = sorted((heights[tank], tank) for tank, sill in legs if heights[tank] >= sill - HAIR)
        for (lower, one), (higher, other) in pairwise(wet):
            if higher - lower <= within:
                sets.join(one, other)
    spills = spill_heights(network)
    found = []
    for members in sets.sets(n for n in range(count) if held[n] > 0.0 and network.tanks[n].vented):
        spill, at = min(spills[node] for node in members)
        found.append(
            Pool(
                tuple(network.names[node] for node in members), heights[members[0]], spill, network.names[at]
            )
        )
    return tuple(found)
