"""Drawing water off: a pool is lowered, splits at its sills, and what is cut off keeps its water (R10)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, isfinite

from tankdash.water.errors import OutOfRange
from tankdash.water.filling import pour, settled
from tankdash.water.model import Contents, Layout, Tank
from tankdash.water.pools import REST, surfaces, volumes_in
from tankdash.water.sills import lowest_sills, network_of

__all__ = ["Drawn", "draw", "transfer", "unprimed_by"]


@dataclass(frozen=True)
class Drawn:
    """What became of water asked for."""

    contents: dict[str, float]
    """What each tank holds afterwards, [m3]."""
    drawn: float
    """What came, [m3]."""
    short: float
    """What was asked for and did not come, [m3]; drawn + short is what was asked for."""
    spilled: dict[str, float]
    """What ran away over each tank's lip while a transfer was received, [m3]."""


def draw(
    layout: Layout, contents: Contents, outlet: str, volume: float, *, primed_if_unknown: bool = False
) -> Drawn:
    """Return what each tank holds after water has been drawn slowly from an outlet (R10).

    The pool of the outlet's tank falls to one height. A tank follows it down to the highest sill on its way to
    the outlet, and keeps what stands below that; the outlet gives nothing below its own height.

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds before, [m3]. Where linked tanks are not level they find their level first.
    outlet : str
        Where it is drawn.
    volume : float
        Asked for, >= 0, [m3].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    Drawn
        drawn + short = volume, to the rounding of the figures.

    Raises
    ------
    OutOfRange
        If there is no such outlet, or a volume is negative or no finite number.

    Examples
    --------
    >>> from tankdash.water.model import Link, Outlet
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {key: Tank(key, Straight(1.0, 1.0), brim=1.0) for key in ("a", "b")}
    >>> joined = Layout(tanks, {"hose": Link("hose", ("a", "b"), (0.25, 0.25))}, {"tap": Outlet("tap", "b", 0.125)})
    >>> draw(joined, {"a": 0.5, "b": 0.5}, "tap", 0.25).contents
    {'a': 0.375, 'b': 0.375}
    >>> draw(joined, {"a": 0.5, "b": 0.5}, "tap", 1.0)
    Drawn(contents={'a': 0.25, 'b': 0.125}, drawn=0.625, short=0.375, spilled={})
    """
    if outlet not in layout.outlets:
        raise OutOfRange(f"there is no outlet {outlet!r} in this layout; it has {', '.join(layout.outlets)}")
    tap = layout.outlets[outlet]
    lowest = layout.tanks[tap.tank].base + tap.at
    return _draw_down(layout, contents, tap.tank, lowest, volume, primed_if_unknown=primed_if_unknown)


def transfer(
    layout: Layout,
    contents: Contents,
    source: str,
    target: str,
    volume: float,
    *,
    primed_if_unknown: bool = False,
) -> Drawn:
    """Return what each tank holds after water was moved by pump or bucket from one tank into another.

    The source can be emptied to its floor, and its pool follows as far as the sills let it; the target fills as
    from a roof (R9).

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds before, [m3].
    source, target : str
        Tank ids.
    volume : float
        Asked for, >= 0, [m3].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    Drawn
        What was moved, what the source lacked, and what the target spilled.

    Raises
    ------
    OutOfRange
        If there is no such tank, or a volume is negative or no finite number.
    """
    for name in (source, target):
        if name not in layout.tanks:
            raise OutOfRange(f"there is no tank {name!r} in this layout; it has {', '.join(layout.tanks)}")
    lowest = layout.tanks[source].base
    taken = _draw_down(layout, contents, source, lowest, volume, primed_if_unknown=primed_if_unknown)
    poured = pour(layout, taken.contents, {target: taken.drawn}, primed_if_unknown=primed_if_unknown)
    spilled = {
        name: taken.spilled.get(name, 0.0) + poured.spilled.get(name, 0.0)
        for name in layout.tanks
        if name in taken.spilled or name in poured.spilled
    }
    return Drawn(poured.contents, taken.drawn, taken.short, spilled)


def _draw_down(
    layout: Layout, contents: Contents, name: str, lowest: float, volume: float, *, primed_if_unknown: bool
) -> Drawn:
    """Draw from one tank no lower than a height above the datum."""
    if not isfinite(volume) or volume < 0.0:
        raise OutOfRange(f"what is drawn is a volume of 0 m3 or more, not {volume:g}")
    network = network_of(layout, primed_if_unknown=primed_if_unknown)
    level = settled(layout, contents, primed_if_unknown=primed_if_unknown)
    held = volumes_in(network, level.contents)
    heights = surfaces(network.tanks, held)
    start = network.node_of(name)
    top = heights[start]
    ways = lowest_sills(network, {start: lowest}, up_to=top)
    follow = {
        node: ways[node]
        for node in range(len(network.names))
        if ways[node] < inf and held[node] > 0.0 and (node == start or abs(heights[node] - top) <= REST)
    }
    if start not in follow or volume == 0.0:
        return Drawn(dict(zip(network.names, held, strict=True)), 0.0, volume, level.spilled)
    tanks = {node: network.tanks[node] for node in follow}
    height = _height_after(tanks, held, follow, lowest, max(heights[node] for node in follow), volume)
    given = 0.0
    for node, tank in tanks.items():
        kept = min(held[node], tank.volume_at(max(height, follow[node])))
        given += held[node] - kept
        held[node] = kept
    drawn = min(volume, given)
    # Rounding of the height is worth a hair of water: the outlet's own tank takes it, so that litres close.
    held[start] = min(network.tanks[start].capacity, max(0.0, held[start] + given - drawn))
    return Drawn(dict(zip(network.names, held, strict=True)), drawn, volume - drawn, level.spilled)


def _height_after(
    tanks: Mapping[int, Tank],
    held: list[float],
    bottoms: Mapping[int, float],
    lowest: float,
    top: float,
    volume: float,
) -> float:
    """Return the height to which a pool falls when it gives `volume`, or `lowest` when it has not that much, [m].

    Between two sills, straight walls give it at once; other shapes by false position inside the bracket.
    """

    def given_at(height: float) -> float:
        return sum(
            max(0.0, held[node] - tank.volume_at(max(height, bottoms[node]))) for node, tank in tanks.items()
        )

    if given_at(lowest) <= volume:
        return lowest
    high, low = top, lowest
    for height in sorted({bottom for bottom in bottoms.values() if lowest < bottom < top}, reverse=True):
        if given_at(height) >= volume:
            low = height
            break
        high = height
    more, less = given_at(low), given_at(high)
    stale = 0
    for _ in range(200):
        if more - less <= 1e-15 * volume:
            break
        middle = high - (volume - less) * (high - low) / (more - less)
        if not low < middle < high:
            middle = 0.5 * (low + high)
        if not low < middle < high:
            break
        gives = given_at(middle)
        if abs(gives - volume) <= 1e-15 * max(1e-3, volume):
            return middle
        if gives > volume:
            low, more = middle, gives
            less, stale = (volume - 0.5 * (volume - less), 1) if stale == 1 else (less, 1)
        else:
            high, less = middle, gives
            more, stale = (volume + 0.5 * (more - volume), -1) if stale == -1 else (more, -1)
    return low


def unprimed_by(layout: Layout, contents: Contents) -> set[str]:
    """Return the primed links over a crest that have lost their prime: the water at one end fell below its port.

    A lost prime does not come back with the level; somebody has to say so (F03).

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds, [m3].

    Returns
    -------
    set of str
        Link ids.
    """
    lost = set()
    for link in layout.links.values():
        if link.crest is None or link.primed is not True:
            continue
        for name, port in zip(link.joins, link.ports, strict=True):
            tank = layout.tanks[name]
            if tank.depth(contents.get(name, 0.0)) <= port or contents.get(name, 0.0) <= 0.0:
                lost.add(link.id)
    return lost
