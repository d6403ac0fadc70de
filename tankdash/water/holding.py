"""What a bank can hold, and what of it can be used (R6 to R8, R16)."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf

from tankdash.water.errors import OutOfRange
from tankdash.water.merging import Filling
from tankdash.water.model import Contents, Layout
from tankdash.water.pools import volumes_in
from tankdash.water.sills import Network, lowest_sills, network_of

__all__ = [
    "full",
    "headroom",
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
        if name not in layout.outlets:
            raise OutOfRange(
                f"there is no outlet {name!r} in this layout; it has {', '.join(layout.outlets)}"
            )
        outlet = layout.outlets[name]
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
    """Return what each tank holds when every inlet has run slowly until every further drop spills, [m3] (R6).

    A roof's tank is an inlet, and so is one that another overflows into. A bank that neither reaches is full at
    its lips, as if every tank of it were filled. A tank that the inlets of its bank can never reach holds nothing.

    Parameters
    ----------
    layout : Layout
        What stands there.
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Examples
    --------
    >>> from tankdash.water.model import Link, Roof, Tank
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {key: Tank(key, Straight(1.0, 1.0), base=base, brim=1.0) for key, base in (("a", 0.25), ("b", 0.0))}
    >>> joined = Layout(tanks, {"hose": Link("hose", ("a", "b"), (0.125, 0.125))}, roofs={"r": Roof("r", 10.0, "a")})
    >>> full(joined)
    {'a': 0.75, 'b': 1.0}
    """
    network = network_of(layout, primed_if_unknown=primed_if_unknown)
    filling = Filling(network, [0.0] * len(network.names), dict.fromkeys(_inlets(layout, network), 1.0))
    filling.run()
    return {
        name: volume if network.tanks[node].vented else 0.0
        for (node, name), volume in zip(enumerate(network.names), filling.held(), strict=True)
    }


def _inlets(layout: Layout, network: Network) -> list[int]:
    """Return the tank nodes that water comes to when the site fills: roofs', overflows', and all of other banks."""
    fed = {network.node[roof.fills] for roof in layout.roofs.values()}
    fed |= {
        network.node[tank.overflow_to]
        for tank in network.tanks
        if tank.overflow_to is not None and tank.overflow_to in network.node
    }
    reached = lowest_sills(network, dict.fromkeys(fed, -inf))
    return [
        node
        for node, tank in enumerate(network.tanks)
        if tank.vented and (node in fed or reached[node] == inf)
    ]


def never_fills(layout: Layout, *, primed_if_unknown: bool = False) -> list[str]:
    """Return the tanks that the inlets of their bank can never reach (R6)."""
    holds = full(layout, primed_if_unknown=primed_if_unknown)
    return [name for name, tank in layout.tanks.items() if tank.vented and holds[name] <= 0.0]


def lost_to_bases(layout: Layout, bank: Iterable[str] | None = None) -> float:
    """Return what a bank gives away because its lips do not line up (R8), [m3].

    That is the sum of what each tank could hold to its own lip, less what it holds when full.

    Parameters
    ----------
    layout : Layout
        What stands there.
    bank : iterable of str, optional
        The tanks counted; all that can breathe when not given.
    """
    holds = full(layout)
    counted = layout.tanks if bank is None else bank
    return sum(layout.tanks[name].lip_volume - holds[name] for name in counted if layout.tanks[name].vented)


def headroom(layout: Layout, contents: Contents, *, primed_if_unknown: bool = False) -> float:
    """Return the room left until the site is full (R6), [m3]; water above that counts as no room."""
    holds = full(layout, primed_if_unknown=primed_if_unknown)
    return sum(
        max(0.0, holds[name] - contents.get(name, 0.0)) for name, tank in layout.tanks.items() if tank.vented
    )
