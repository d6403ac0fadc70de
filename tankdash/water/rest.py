"""What stands in every tank when the water is still, told from one dip or several (R3 to R6, R11).

Unknown water is a low and a high figure, never a guess. Sentences about it are made on the floors above.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from math import inf, isfinite
from typing import Literal

from tankdash.water.air import most_behind_closed_vent
from tankdash.water.errors import OutOfRange, named
from tankdash.water.filling import settle
from tankdash.water.model import Contents, Layout, Tank
from tankdash.water.pools import HAIR, Pool, spill_heights
from tankdash.water.sills import Network, lowest_sills, network_of

__all__ = ["TOLERANCE", "AtRest", "State", "TankAtRest", "Warning", "at_rest"]

TOLERANCE = 0.001
"""Readings are compared at ports, lips and the floor within this, [m] (R17)."""

SAME_WATER = 1e-9
"""Volumes nearer than this are the same water, [m3]."""

State = Literal["dipped", "level", "cut-off", "carried", "dry", "full", "vent-closed", "unknown"]
"""How a tank's figure is known."""


@dataclass(frozen=True)
class Warning:
    """Something the figures alone do not say; its sentence is made above this floor."""

    code: Literal["above-spill", "cut-off", "crest", "not-settled", "vent-closed"]
    """Which."""
    tanks: tuple[str, ...]
    """Whom it is about."""
    figures: Mapping[str, float] = field(default_factory=dict)
    """What it says in numbers, SI."""


@dataclass(frozen=True)
class TankAtRest:
    """What one tank holds."""

    depth: float | None
    """Above its floor, [m]; None when unknown."""
    surface: float | None
    """Above the datum, [m]; None when unknown or dry."""
    volume: float | None
    """[m3]; None when only the bounds are known."""
    low: float
    """Holds at least this, [m3]."""
    high: float
    """Holds at most this, [m3]."""
    state: State
    """How the figure is known."""


@dataclass(frozen=True)
class AtRest:
    """All that one set of dips tells."""

    tanks: dict[str, TankAtRest]
    """By id, in the order of the layout."""
    pools: tuple[Pool, ...]
    """Tanks that share one surface."""
    spread: float
    """How far dips of linked tanks lie apart, [m]."""
    low: float
    """The whole site holds at least this, [m3]; tanks that cannot breathe are left out (R11)."""
    high: float
    """The whole site holds at most this, [m3]; less than the sum of the bounds where one tank's water is another's."""
    warnings: tuple[Warning, ...]
    """What the figures alone do not say."""

    @property
    def contents(self) -> dict[str, float]:
        """Return what is known, [m3]; tanks of unknown contents are left out."""
        return {name: tank.volume for name, tank in self.tanks.items() if tank.volume is not None}


def at_rest(
    layout: Layout,
    dips: Mapping[str, float],
    known: Contents | None = None,
    accuracy: float = 0.005,
    *,
    primed_if_unknown: bool | None = None,
) -> AtRest:
    """Return what every tank holds when the water is still, from the depth in one of them or in several (R4).

    Each dip stands for its own tank. A tank without one stands at the mean of the surfaces dipped in its pool.
    Where dips of linked tanks lie apart by more than twice the accuracy the water has not settled: each keeps its
    own and the spread is told.

    Parameters
    ----------
    layout : Layout
        What stands there.
    dips : mapping of str to float
        Depth of water above the tank's own floor, 0 <= depth <= brim, [m].
    known : mapping of str to float, optional
        What the journal knows tanks to have held before, [m3]. One that is cut off keeps that, up to its sill.
    accuracy : float
        Of one dip, [m].
    primed_if_unknown : bool, optional
        What to take for crests nobody knows the priming of; None reports both resting states as bounds, with a
        `crest` warning where they differ (R5).

    Returns
    -------
    AtRest
        Figures for every tank. The volume of one cut off is None, between nothing and what stands at its lowest
        path sill or the height at which its pool spills.

    Raises
    ------
    OutOfRange
        If a dip is negative, above the brim (by more than `TOLERANCE`), no finite number, or of no tank here.

    Examples
    --------
    >>> from tankdash.water.model import Link
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {key: Tank(key, Straight(1.0, 1.0), base=base, brim=1.0) for key, base in (("a", 0.25), ("b", 0.0))}
    >>> joined = Layout(tanks, {"hose": Link("hose", ("a", "b"), (0.125, 0.125))})
    >>> at_rest(joined, {"a": 0.5}).tanks["b"]
    TankAtRest(depth=0.75, surface=0.75, volume=0.75, low=0.75, high=0.75, state='level')
    >>> at_rest(joined, {"b": 0.25}).tanks["a"]
    TankAtRest(depth=None, surface=None, volume=None, low=0.0, high=0.125, state='cut-off')
    """
    checked = {name: _checked_dip(layout, name, depth) for name, depth in dips.items()}
    unprimed = _one_state(layout, checked, known or {}, accuracy, primed=primed_if_unknown is True)
    unknown = any(
        link.is_open and link.crest is not None and link.primed is None for link in layout.links.values()
    )
    if primed_if_unknown is not None or not unknown:
        return unprimed
    return _both_states(layout, unprimed, _one_state(layout, checked, known or {}, accuracy, primed=True))


def _checked_dip(layout: Layout, name: str, depth: float) -> float:
    """Return a dip moved onto the floor or the brim where it misses them by no more than the tolerance."""
    brim = named(name, layout.tanks, "tank").brim
    if not isfinite(depth) or depth < -TOLERANCE or depth > brim + TOLERANCE:
        raise OutOfRange(
            f"a dip of {name} lies between its floor and its brim at {brim:g} m, not at {depth:g} m"
        )
    return min(max(0.0, depth), brim) + 0.0


def _one_state(
    layout: Layout, dips: Mapping[str, float], known: Contents, accuracy: float, *, primed: bool
) -> AtRest:
    """Read one resting state off the dips, with every crest of unknown priming taken as primed or not."""
    network = network_of(layout, primed_if_unknown=primed)
    figures: dict[int, TankAtRest] = {}
    dipped: dict[int, float] = {}
    for name, depth in dips.items():
        tank, node = layout.tanks[name], network.node[name]
        figures[node] = _figure(tank, depth, "dipped" if tank.vented else "vent-closed")
        if tank.vented:
            dipped[node] = tank.base + depth
    spills = spill_heights(network)
    pools: list[Pool] = []
    warnings: list[Warning] = []
    spread, read = 0.0, set[int]()
    for start in sorted(dipped, key=lambda node: (-dipped[node], node)):
        if start in read:
            continue
        members, surface = _members(network, dipped, start, accuracy)
        read.update(members)
        for node in members:
            if node not in dipped:
                figures[node] = _level(network.tanks[node], surface)
        wet = [node for node in members if figures[node].high > 0.0]
        if wet:
            spill, at = min(spills[node] for node in wet)
            pools.append(Pool(_names(network, wet), surface, spill, network.names[at]))
        seen = [dipped[node] for node in members if node in dipped]
        spread = max(spread, max(seen) - min(seen))
        warnings += _pool_warnings(network, dipped, members, spills, accuracy)
    warnings += _read_the_rest(layout, network, dipped, spills, known, figures)
    counted = [figure for node, figure in figures.items() if network.tanks[node].vented]
    return AtRest(
        tanks={name: figures[node] for node, name in enumerate(network.names)},
        pools=tuple(sorted(pools, key=lambda pool: network.node[pool.tanks[0]])),
        spread=spread,
        low=sum(figure.low for figure in counted),
        high=sum(figure.high for figure in counted),
        warnings=tuple(warnings),
    )


def _names(network: Network, nodes: Iterable[int]) -> tuple[str, ...]:
    """Return tank ids in the order of the layout."""
    return tuple(network.names[node] for node in sorted(nodes))


def _figure(tank: Tank, depth: float, state: State) -> TankAtRest:
    """Return what a tank holds whose depth is known, [m]."""
    volume = tank.volume(depth)
    return TankAtRest(depth, tank.base + depth, volume, volume, volume, state)


def _dry(tank: Tank) -> TankAtRest:
    """Return an empty tank."""
    return TankAtRest(tank.silt, None, 0.0, 0.0, 0.0, "dry")


def _wet_from(tank: Tank) -> float:
    """Return the height from which a reading shows water, above the datum, [m]; less than a hundredth of the tank."""
    return tank.base + tank.silt + min(TOLERANCE, 0.01 * tank.brim)


def _level(tank: Tank, surface: float) -> TankAtRest:
    """Return an undipped tank that stands at its pool's surface, clamped to its floor and its brim (R4)."""
    depth = min(surface - tank.base, tank.brim)
    if depth <= tank.silt:
        return _dry(tank)
    return _figure(tank, depth, "full" if depth >= tank.lip - TOLERANCE else "level")


def _members(
    network: Network, dipped: Mapping[int, float], start: int, accuracy: float
) -> tuple[list[int], float]:
    """Return the tanks that share the surface dipped in `start`, and that surface.

    A second dip in reach belongs to the pool if its surface agrees within twice the accuracy, or if the water
    stands clearly above the sill between them: then the two should be one and have not settled (R3). Dips of one
    pool that agree are averaged for the tanks nobody dipped: each is as good as the other. A dip of a dry tank is
    no surface: it only tells that the others stand no higher than their sills to it.
    """
    surface = dipped[start]
    if surface <= _wet_from(network.tanks[start]):
        return [start], surface
    doubt = 2.0 * accuracy + HAIR
    reached = lowest_sills(network, {start: -inf}, up_to=surface + TOLERANCE)
    apart = {
        node
        for node, height in dipped.items()
        if reached[node] < inf and surface - height > doubt >= surface - reached[node]
    }
    if apart:
        reached = lowest_sills(network, {start: -inf}, up_to=surface + TOLERANCE, without=apart)
    seen = [height for node, height in dipped.items() if reached[node] < inf]
    mean = sum(seen) / len(seen)
    return [
        node
        for node in range(len(network.names))
        if reached[node] < inf and (node in dipped or reached[node] <= mean + TOLERANCE)
    ], mean


def _pool_warnings(
    network: Network,
    dipped: Mapping[int, float],
    members: list[int],
    spills: list[tuple[float, int]],
    accuracy: float,
) -> Iterator[Warning]:
    """Yield what is odd about one pool: dips that disagree, water above its lip (R3, R6)."""
    seen = {node: dipped[node] for node in members if node in dipped}
    spread = max(seen.values()) - min(seen.values())
    if spread > 2.0 * accuracy + HAIR:
        yield Warning("not-settled", _names(network, seen), {"spread": spread})
    above = [node for node, height in seen.items() if height > spills[node][0] + TOLERANCE]
    if above:
        spill = min(spills[node][0] for node in above)
        yield Warning(
            "above-spill",
            _names(network, above),
            {"surface": max(seen[node] for node in above), "spill": spill},
        )


def _read_the_rest(
    layout: Layout,
    network: Network,
    dipped: Mapping[int, float],
    spills: list[tuple[float, int]],
    known: Contents,
    figures: dict[int, TankAtRest],
) -> Iterator[Warning]:
    """Fill in the tanks no dip reaches: cut off, carried, unknown, or unable to breathe (R4, R11).

    None stands above its lowest sill to a dipped tank, nor above the height at which its own pool spills (R6).
    """
    sills = lowest_sills(network, dict.fromkeys(dipped, -inf))
    cut_off: list[int] = []
    for node, tank in enumerate(network.tanks):
        if node in figures or not tank.vented:
            continue
        top = min(sills[node], spills[node][0])
        most = tank.volume_at(top)
        before = known.get(tank.id)
        if most == 0.0 or top <= _wet_from(tank):
            figures[node] = _dry(tank)
        elif before is not None:
            kept = min(max(0.0, before), most if sills[node] < inf else tank.capacity)
            figures[node] = _figure(tank, tank.depth(kept), "carried") if kept > 0.0 else _dry(tank)
        elif sills[node] < inf:
            figures[node] = TankAtRest(None, None, None, 0.0, most, "cut-off")
            cut_off.append(node)
        else:
            figures[node] = TankAtRest(None, None, None, 0.0, most, "unknown")
    if cut_off:
        high = sum(figures[node].high for node in cut_off)
        yield Warning("cut-off", _names(network, cut_off), {"low": 0.0, "high": high})
    for node, tank in enumerate(network.tanks):
        if not tank.vented:
            if node not in figures:
                around = {
                    name: figures[place].high for name, place in network.node.items() if place in figures
                }
                most = most_behind_closed_vent(layout, tank.id, around)
                figures[node] = TankAtRest(None, None, None, 0.0, most, "vent-closed")
            yield Warning("vent-closed", (tank.id,), {"low": figures[node].low, "high": figures[node].high})


def _both_states(layout: Layout, unprimed: AtRest, primed: AtRest) -> AtRest:
    """Report two resting states as bounds, until an observation decides between them (R5).

    Dips that could not stand beside each other if the crest were primed stay what they are: each for its own tank.
    Their bounds take in the level the tanks would come to.
    """
    others = {name: (tank.low, tank.high) for name, tank in primed.tanks.items()}
    other_low, other_high = primed.low, primed.high
    if primed.spread > unprimed.spread and unprimed.contents.keys() == unprimed.tanks.keys():
        level = settle(layout, unprimed.contents, primed_if_unknown=True)
        others = {name: (volume, volume) for name, volume in level.items()}
        other_low = other_high = sum(level.values())
    tanks: dict[str, TankAtRest] = {}
    differ: list[str] = []
    for name, one in unprimed.tanks.items():
        low, high = min(one.low, others[name][0]), max(one.high, others[name][1])
        if one.state == primed.tanks[name].state and high - low <= one.high - one.low + SAME_WATER:
            tanks[name] = one
            continue
        differ.append(name)
        if one.state == "dipped":
            tanks[name] = replace(one, low=low, high=high)
        else:
            tanks[name] = TankAtRest(None, None, None, low, high, "unknown")
    low, high = min(unprimed.low, other_low), max(unprimed.high, other_high)
    warnings = list(unprimed.warnings)
    if differ:
        warnings.append(Warning("crest", tuple(differ), {"low": low, "high": high}))
    return replace(unprimed, tanks=tanks, low=low, high=high, warnings=tuple(warnings))
