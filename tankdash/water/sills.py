"""Which tanks a link joins, and the height below which it passes nothing (R2).

A layout becomes a network of nodes and passages once; every question about levels is asked of that network.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from heapq import heappop, heappush
from math import inf, isfinite

from tankdash.water.errors import OutOfRange, named
from tankdash.water.model import Layout, Link, Tank

__all__ = ["Network", "Passage", "banks", "leg_sills", "lowest_sills", "network_of", "sills_from"]


@dataclass(frozen=True, slots=True)
class Passage:
    """One way out of a node, seen from that node."""

    to: int
    """The node it leads to."""
    sill: float
    """Height above the datum below which it passes nothing, [m]."""
    link: Link
    """The pipe itself."""


@dataclass(frozen=True)
class Network:
    """A layout as nodes and passages: open links only, and only tanks that can breathe share them (R3, R11).

    The first nodes are the tanks, in the order of the layout. A header adds one node of its own behind them: a
    place without volume where its legs meet, so that the sill between two of its tanks is the higher of their
    two legs (R2) and a header of many tanks costs one passage for each of them.
    """

    names: tuple[str, ...]
    """Tank ids; their place here is their node."""
    tanks: tuple[Tank, ...]
    """The tanks themselves."""
    passages: tuple[tuple[Passage, ...], ...]
    """Ways out of each node, header nodes included."""
    meetings: tuple[tuple[tuple[int, float], ...], ...]
    """For each link the tanks that meet in it, each with the height above which its water is let in, [m]."""
    node: Mapping[str, int]
    """Node of each tank id."""

    def node_of(self, name: str) -> int:
        """Return the node of tank `name`; OutOfRange when the layout has no such tank."""
        return named(name, self.node, "tank")

    def bank_of(self, start: int) -> list[int]:
        """Return the nodes any chain of passages leads to from one, itself first."""
        bank, seen = [start], {start}
        for here in bank:
            for passage in self.passages[here]:
                if passage.to not in seen:
                    seen.add(passage.to)
                    bank.append(passage.to)
        return bank


def leg_sills(link: Link, tanks: Mapping[str, Tank], *, primed_if_unknown: bool = False) -> tuple[float, ...]:
    """Return the height above which each leg of a link lets its tank's water in (R2).

    A port buried in silt counts from the top of the silt: below it there is no water to pass.

    Parameters
    ----------
    link : Link
        Ports above each tank's own floor, crest above the datum, [m].
    tanks : mapping of str to Tank
        The tanks it joins, by id.
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    tuple of float
        One height above the datum for each tank of `link.joins`, [m].

    Examples
    --------
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {key: Tank(key, Straight(1.0, 1.0), base=base, brim=1.0) for key, base in (("a", 0.2), ("b", 0.0))}
    >>> leg_sills(Link("hose", ("a", "b"), (0.05, 0.1)), tanks)
    (0.25, 0.1)
    >>> leg_sills(Link("hose", ("a", "b"), (0.05, 0.1), crest=0.55), tanks)
    (0.55, 0.55)
    """
    primed = primed_if_unknown if link.primed is None else link.primed
    crest = -inf if link.crest is None or primed else link.crest
    return tuple(
        max(tanks[name].base + max(port, tanks[name].silt), crest)
        for name, port in zip(link.joins, link.ports, strict=True)
    )


def network_of(layout: Layout, *, primed_if_unknown: bool = False) -> Network:
    """Return the open links of a layout as a network.

    Parameters
    ----------
    layout : Layout
        What stands there.
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Raises
    ------
    OutOfRange
        If a height is not a finite number, or a link joins a tank that is not there.
    """
    kept = layout.kept.get(("network", primed_if_unknown))
    if kept is None:
        kept = layout.kept["network", primed_if_unknown] = _network(layout, primed_if_unknown)
    network: Network = kept
    return network


def _network(layout: Layout, primed_if_unknown: bool) -> Network:
    """Read the open links of a layout; see `network_of`."""
    names = tuple(layout.tanks)
    node = {name: place for place, name in enumerate(names)}
    for tank in layout.tanks.values():
        for what, height in (("base", tank.base), ("brim", tank.brim), ("overflow", tank.overflow or 0.0)):
            if not isfinite(height):
                raise OutOfRange(f"the {what} of {tank.id} must be a finite height, not {height:g}")
    ways: list[list[Passage]] = [[] for _ in names]
    meetings: list[tuple[tuple[int, float], ...]] = []
    for link in layout.links.values():
        if not link.is_open:
            continue
        _check_link(link, layout)
        sills = leg_sills(link, layout.tanks, primed_if_unknown=primed_if_unknown)
        legs = [
            (node[name], sill)
            for name, sill in zip(link.joins, sills, strict=True)
            if layout.tanks[name].vented
        ]
        if len(legs) == 2:
            (one, low), (other, high) = legs
            sill = max(low, high)
            ways[one].append(Passage(other, sill, link))
            ways[other].append(Passage(one, sill, link))
            meetings.append(((one, sill), (other, sill)))
        elif len(legs) > 2:
            header = len(ways)
            ways.append([Passage(place, leg, link) for place, leg in legs])
            for place, leg in legs:
                ways[place].append(Passage(header, leg, link))
            meetings.append(tuple(legs))
    return Network(
        names, tuple(layout.tanks.values()), tuple(tuple(way) for way in ways), tuple(meetings), node
    )


def _check_link(link: Link, layout: Layout) -> None:
    """Refuse a link with a height that is no number or a tank that is not there."""
    for name in link.joins:
        if name not in layout.tanks:
            raise OutOfRange(f"link {link.id} joins {name!r}, which is not in this layout")
    for height in (*link.ports, 0.0 if link.crest is None else link.crest):
        if not isfinite(height):
            raise OutOfRange(f"a port or the crest of link {link.id} must be a finite height, not {height:g}")


def lowest_sills(
    network: Network, starts: Mapping[int, float], *, up_to: float = inf, without: Collection[int] = ()
) -> list[float]:
    """Return how high water must stand to pass between each node and the best of the starts (R2, R4).

    The way taken is the one whose highest sill is lowest. Nodes are visited from the lowest such height up, so
    each passage is looked at once from either side.

    Parameters
    ----------
    network : Network
        Open links.
    starts : mapping of int to float
        Height that counts at each start itself, above the datum, [m]; -inf when nothing bounds it there.
    up_to : float
        Do not look above this height, [m].
    without : collection of int
        Nodes no water may pass.

    Returns
    -------
    list of float
        For each node its height above the datum, [m]; inf where no way leads, or none below `up_to`.
    """
    reached = [inf] * len(network.passages)
    waiting: list[tuple[float, int]] = []
    for start, height in starts.items():
        if height <= up_to:
            reached[start] = height
            heappush(waiting, (height, start))
    while waiting:
        height, here = heappop(waiting)
        if height > reached[here]:
            continue
        for passage in network.passages[here]:
            over = max(height, passage.sill)
            if over < reached[passage.to] and over <= up_to and passage.to not in without:
                reached[passage.to] = over
                heappush(waiting, (over, passage.to))
    return reached


def sills_from(layout: Layout, tank: str, *, primed_if_unknown: bool = False) -> dict[str, float]:
    """Return the lowest path sill from one tank to each tank of its bank (R2, R4).

    Parameters
    ----------
    layout : Layout
        What stands there.
    tank : str
        Where the water comes from.
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    dict of str to float
        Height above the datum, [m]; -inf for the tank itself, tanks no open link leads to are left out.

    Raises
    ------
    OutOfRange
        If there is no such tank.

    Examples
    --------
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {key: Tank(key, Straight(1.0, 1.0), base=base, brim=1.0)
    ...          for key, base in (("a", 0.2), ("b", 0.0), ("c", 0.5))}
    >>> header = Link("header", ("a", "b", "c"), (0.05, 0.05, 0.05))
    >>> sills_from(Layout(tanks, {"header": header}), "b")
    {'a': 0.25, 'b': -inf, 'c': 0.55}
    """
    network = network_of(layout, primed_if_unknown=primed_if_unknown)
    reached = lowest_sills(network, {network.node_of(tank): -inf})
    return {name: reached[place] for place, name in enumerate(network.names) if reached[place] < inf}


def banks(layout: Layout) -> list[tuple[str, ...]]:
    """Return the tanks joined by open links, bank by bank, in the order of the layout.

    A tank that no open link joins, or that cannot breathe (R11), is a bank of its own.
    """
    kept = layout.kept.get(("banks", False))
    if kept is None:
        kept = layout.kept["banks", False] = tuple(_banks(network_of(layout)))
    return list(kept)


def _banks(network: Network) -> list[tuple[str, ...]]:
    """Return the banks of a network; see `banks`."""
    seen: set[int] = set()
    found: list[tuple[str, ...]] = []
    for start in range(len(network.names)):
        if start not in seen:
            bank = network.bank_of(start)
            seen.update(bank)
            found.append(tuple(network.names[node] for node in sorted(bank) if node < len(network.names)))
    return found
