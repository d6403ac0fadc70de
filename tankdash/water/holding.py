"""What a bank can hold, and what of it can be used (R6 to R8, R16)."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf

from tankdash.water.errors import named
from tankdash.water.filling import settle
from tankdash.water.joining import Joined
from tankdash.water.merging import Filling
from tankdash.water.model import Contents, Layout
from tankdash.water.pools import volumes_in
from tankdash.water.sills import banks, lowest_sills, network_of

__all__ = [
    "full",
    "headroom",
    "inlets",
    "lost_to_bases",
    "never_fills",
    "usable",
    "usable_from",
    "volume_below_outlet",
]


def usable_from(
    layout: Layout,
    outlets: Iterable[str] | None = None,
    *,
    above: float = -inf,
    primed_if_unknown: bool = False,
) -> dict[str, float]:
    """Return the height in each tank above which its water can reach one of the outlets (R7).

    Parameters
    ----------
    layout : Layout
        What stands there.
    outlets : iterable of str, optional
        Outlet ids; all when not given.
    above : float
        For a bed: its height plus the least head it needs, above the datum, [m].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    dict of str to float
        Above the datum, [m]; inf for a tank from which no way leads to any of them.

    Raises
    ------
    OutOfRange
        If there is no such outlet.
    """
    network = network_of(layout, primed_if_unknown=primed_if_unknown)
    starts: dict[int, float] = {}
    for name in layout.outlets if outlets is None else outlets:
        outlet = named(name, layout.outlets, "outlet")
        node = network.node_of(outlet.tank)
        height = max(network.tanks[node].base + outlet.at, above)
        starts[node] = min(height, starts.get(node, inf))
    reached = lowest_sills(network, starts)
    return {name: reached[node] for node, name in enumerate(network.names)}


def usable(
    layout: Layout,
    contents: Contents,
    outlets: Iterable[str] | None = None,
    *,
    above: float = -inf,
    primed_if_unknown: bool = False,
) -> dict[str, float]:
    """Return the water of each tank that can still reach one of the outlets (R7).

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds, [m3].
    outlets : iterable of str, optional
        Outlet ids; all when not given.
    above : float
        For a bed: its height plus the least head it needs, above the datum, [m].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    dict of str to float
        For each tank of the layout, 0 <= usable <= held, [m3].

    Examples
    --------
    >>> from tankdash.water.model import Link, Outlet, Tank
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {key: Tank(key, Straight(1.0, 1.0), base=base, brim=1.0) for key, base in (("a", 0.5), ("b", 0.25))}
    >>> joined = Layout(tanks, {"hose": Link("hose", ("a", "b"), (0.125, 0.125))}, {"tap": Outlet("tap", "b", 0.125)})
    >>> usable(joined, {"a": 0.25, "b": 0.5})
    {'a': 0.125, 'b': 0.375}
    """
    heights = usable_from(layout, outlets, above=above, primed_if_unknown=primed_if_unknown)
    network = network_of(layout)
    held = volumes_in(network, contents)
    return {
        name: max(0.0, held[node] - network.tanks[node].volume_at(heights[name]))
        for node, name in enumerate(network.names)
    }


def volume_below_outlet(
    layout: Layout, contents: Contents, outlets: Iterable[str] | None = None, *, above: float = -inf
) -> dict[str, float]:
    """Return the water of each tank that can no longer reach any of the outlets, [m3] (R7): held less usable."""
    reachable = usable(layout, contents, outlets, above=above)
    return {name: contents.get(name, 0.0) - volume for name, volume in reachable.items()}


def full(layout: Layout, *, primed_if_unknown: bool = False) -> dict[str, float]:
    """Return what each tank holds when every inlet has run slowly until every further drop spills (R6).

    The inlets are the tanks roofs drain to, each roof running at the rate of its area; an `overflow_to` is an inlet
    of the tank below. A bank that no roof and no overflow reaches, a header filled by pump for one, is filled at
    each of its tanks.

    Parameters
    ----------
    layout : Layout
        What stands there, all its roofs included.
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    dict of str to float
        For each tank, [m3]; 0 for one that its bank's inlets never reach and for one that cannot breathe (R11).

    Examples
    --------
    >>> from tankdash.water.model import Link, Tank
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {key: Tank(key, Straight(1.0, 1.0), base=base, brim=1.0) for key, base in (("a", 0.5), ("b", 0.25))}
    >>> full(Layout(tanks, {"hose": Link("hose", ("a", "b"), (0.125, 0.125))}))
    {'a': 0.75, 'b': 1.0}
    """
    kept = layout.kept.get(("full", primed_if_unknown))
    if kept is None:
        network = network_of(layout, primed_if_unknown=primed_if_unknown)
        filling = Filling(network, [0.0] * len(network.names), inlets(layout))
        filling.run()
        kept = layout.kept["full", primed_if_unknown] = {
            name: volume if network.tanks[node].vented else 0.0
            for node, (name, volume) in enumerate(zip(network.names, filling.held(), strict=True))
        }
    return dict(kept)


def inlets(layout: Layout) -> dict[int, float]:
    """Return the rate at which water comes to each tank node when it rains slowly, in plan area times runoff, [m2].

    The tanks of a bank that no roof and no overflow reaches count as inlets each, at the same rate (R6).
    """
    node = {name: place for place, name in enumerate(layout.tanks)}
    rates: dict[int, float] = {}
    for roof in layout.roofs.values():
        if layout.tanks[roof.fills].vented:
            place = node[roof.fills]
            rates[place] = rates.get(place, 0.0) + roof.yields
    for bank in _reached_by_nothing(layout):
        rates |= {node[name]: 1.0 for name in bank if layout.tanks[name].vented}
    return rates


def _reached_by_nothing(layout: Layout) -> list[tuple[str, ...]]:
    """Return the banks to which neither a roof nor the overflow of another bank leads (R6).

    An overflow that stays within its bank brings it nothing, and neither do those of banks that only feed each
    other in a ring.
    """
    all_banks = banks(layout)
    bank_of = {name: place for place, bank in enumerate(all_banks) for name in bank}
    leads_to: dict[int, list[int]] = {place: [] for place in range(len(all_banks))}
    fed_by: dict[int, list[int]] = {place: [] for place in range(len(all_banks))}
    for name, tank in layout.tanks.items():
        if tank.vented and tank.overflow_to in bank_of:
            above, below = bank_of[name], bank_of[tank.overflow_to]
            if above != below:
                leads_to[above].append(below)
                fed_by[below].append(above)
    reached: set[int] = set()

    def reach(start: int) -> None:
        waiting = [start]
        while waiting:
            here = waiting.pop()
            if here not in reached:
                reached.add(here)
                waiting += leads_to[here]

    for roof in layout.roofs.values():
        if layout.tanks[roof.fills].vented:
            reach(bank_of[roof.fills])
    first: list[int] = []
    for place in sorted(range(len(all_banks)), key=lambda place: bool(fed_by[place])):
        if place in reached:
            continue
        # Upstream to a bank that nothing feeds, or once round the ring that only feeds itself.
        upstream, source = dict[int, None](), place
        while fed_by[source] and source not in upstream:
            upstream[source] = None
            source = fed_by[source][0]
        walked = list(upstream)
        first += walked[walked.index(source) :] if source in upstream else [source]
        reach(source)
    return [all_banks[place] for place in first]


def lost_to_bases(layout: Layout, bank: Iterable[str] | None = None) -> float:
    """Return what uneven bases cost: what each tank could hold to its own lip, less what it holds when full (R8).

    A tank whose overflow leads to water that stands higher than itself is fuller than to its lip, and loses nothing.

    Parameters
    ----------
    layout : Layout
        What stands there.
    bank : iterable of str, optional
        The tanks counted; all when not given. Tanks that cannot breathe are left out (R11).

    Returns
    -------
    float
        Never below 0, [m3].
    """
    when_full = full(layout)
    counted = [layout.tanks[name] for name in (layout.tanks if bank is None else bank)]
    return sum(max(0.0, tank.lip_volume - when_full[tank.id]) for tank in counted if tank.vented)


def never_fills(layout: Layout, *, primed_if_unknown: bool = False) -> list[str]:
    """Return the tanks that stay empty when the site is full: no inlet's water ever comes to them (R6)."""
    when_full = full(layout, primed_if_unknown=primed_if_unknown)
    return [name for name, tank in layout.tanks.items() if tank.vented and when_full[name] <= 0.0]


def headroom(layout: Layout, contents: Contents, *, primed_if_unknown: bool = False) -> float:
    """Return how much more can come in by the inlets before the first drop runs away (R6).

    Tanks joined by links and overflows are one system; each fills from its own inlets (see `full`) at the rates
    of its roofs, and the room of all systems is added.

    Parameters
    ----------
    layout : Layout
        What stands there, all its roofs included.
    contents : mapping of str to float
        What each tank holds, [m3].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    float
        Room, >= 0, [m3]. Tanks that cannot breathe have none (R11).
    """
    settled_contents = settle(layout, contents, primed_if_unknown=primed_if_unknown)
    network = network_of(layout, primed_if_unknown=primed_if_unknown)
    held = volumes_in(network, settled_contents)
    rates = inlets(layout)
    system = Joined(len(network.passages))
    for node, ways in enumerate(network.passages):
        for way in ways:
            system.join(node, way.to)
    for node, tank in enumerate(network.tanks):
        if tank.overflow_to is not None and tank.overflow_to in network.node:
            system.join(node, network.node[tank.overflow_to])
    room = 0.0
    for nodes in system.sets(rates):
        filling = Filling(network, held, {node: rates[node] for node in nodes})
        filling.run(to_first_spill=True)
        room += filling.taken_in()
    return room
