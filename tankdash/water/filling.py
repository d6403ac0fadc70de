"""Filling: water rises in its pool, runs over the lowest sill, merges, and spills at a lip (R6, R9).

All inflows run together at constant rates, slowly enough that every pool keeps one surface.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from tankdash.water.errors import not_negative
from tankdash.water.merging import Filling
from tankdash.water.model import Contents, Layout
from tankdash.water.pools import REST, surfaces, unlevel, volumes_in
from tankdash.water.rising import height_that_holds
from tankdash.water.sills import Network, lowest_sills, network_of

__all__ = ["Poured", "pour", "settle", "settled"]


@dataclass(frozen=True)
class Poured:
    """What became of water poured in."""

    contents: dict[str, float]
    """What each tank holds afterwards, [m3]."""
    spilled: dict[str, float]
    """What ran away over each tank's lip, [m3]; tanks that lost nothing are left out."""


def pour(layout: Layout, contents: Contents, inflow: Contents, *, primed_if_unknown: bool = False) -> Poured:
    """Return what each tank holds after water has run in slowly, and what spilled on the way (R9).

    Water rises in its pool. At the lowest sill it runs over into the lower neighbour until that reaches the sill,
    then the two rise as one; at a lip it spills, into `overflow_to` if given, else away. Over equal sills it
    divides by the links' capacity to carry, over equal lips evenly; where a sill and a lip are equal the link
    takes it. An overflow that leads back to where its own water comes from lets nothing out: both tanks rise as one
    once the lower has come up to the lip, and nothing runs through it uphill. Litres never appear or vanish.

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds before, [m3]. Where linked tanks are not level they find their level first.
    inflow : mapping of str to float
        What runs into each tank, all in the same time and each at a constant rate, [m3].
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    Poured
        Contents and spill; in = stored + spilled to 1e-9 of the larger.

    Raises
    ------
    OutOfRange
        If a volume is negative, no finite number, or belongs to no tank here.

    Examples
    --------
    >>> from tankdash.water.model import Link, Tank
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {key: Tank(key, Straight(1.0, 1.0), brim=1.0) for key in ("a", "b")}
    >>> joined = Layout(tanks, {"hose": Link("hose", ("a", "b"), (0.25, 0.25))})
    >>> pour(joined, {}, {"a": 0.375})
    Poured(contents={'a': 0.25, 'b': 0.125}, spilled={})
    >>> pour(joined, {"a": 0.25, "b": 0.125}, {"a": 0.625})
    Poured(contents={'a': 0.5, 'b': 0.5}, spilled={})
    >>> pour(joined, {"a": 1.0, "b": 1.0}, {"a": 0.5})
    Poured(contents={'a': 1.0, 'b': 1.0}, spilled={'a': 0.25, 'b': 0.25})
    """
    network = network_of(layout, primed_if_unknown=primed_if_unknown)
    held = volumes_in(network, contents)
    rates: dict[int, float] = {}
    for name, volume in inflow.items():
        node = network.node_of(name)
        if not_negative(volume, f"what runs into {name}", "m3") > 0.0:
            rates[node] = volume
    lost = _find_level(network, held)
    if rates:
        filling = Filling(network, held, rates)
        filling.run(until=1.0)
        held = filling.held()
        _add_to(lost, filling.spilled())
    return _poured(network, held, lost)


def settled(layout: Layout, contents: Contents, *, primed_if_unknown: bool = False) -> Poured:
    """Return what each tank holds once the water has found its level, and what spilled meanwhile (R3).

    What matters is only where each tank's water can go, so the tanks of a bank that is not at rest are emptied
    and each given its own water again, all together. That is the end physics gives wherever it gives one. Where
    water could leave by a high link and a low one at once, the lowest sill takes it first.

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds before, [m3]; banks at rest keep theirs to the last drop.
    primed_if_unknown : bool
        What to take for a crest nobody knows the priming of (R5).

    Returns
    -------
    Poured
        Contents and spill.
    """
    network = network_of(layout, primed_if_unknown=primed_if_unknown)
    held = volumes_in(network, contents)
    return _poured(network, held, _find_level(network, held))


def settle(layout: Layout, contents: Contents, *, primed_if_unknown: bool = False) -> dict[str, float]:
    """Return what each tank holds once the water has found its level, [m3] (R3); see `settled` for what spilled."""
    return settled(layout, contents, primed_if_unknown=primed_if_unknown).contents


def _poured(network: Network, held: list[float], lost: Mapping[int, float]) -> Poured:
    """Return contents and spill by tank id."""
    return Poured(
        dict(zip(network.names, held, strict=True)),
        {network.names[node]: volume for node, volume in sorted(lost.items()) if volume > 0.0},
    )


def _add_to(total: dict[int, float], more: Mapping[int, float]) -> None:
    """Add volumes node by node."""
    for node, volume in more.items():
        total[node] = total.get(node, 0.0) + volume


def _find_level(network: Network, held: list[float]) -> dict[int, float]:
    """Let restless banks find their level in place, and return what they spill."""
    moving: list[int] = []
    seen: set[int] = set()
    for start in unlevel(network, held, surfaces(network.tanks, held), REST):
        if start in seen:
            continue
        bank = network.bank_of(start)
        seen.update(bank)
        tanks = [node for node in bank if node < len(held)]
        if not _level_at_once(network, held, tanks):
            moving += tanks
    rates = {node: held[node] for node in sorted(moving) if held[node] > 0.0}
    if not rates:
        return {}
    filling = Filling(network, [0.0 if node in rates else volume for node, volume in enumerate(held)], rates)
    filling.run(until=1.0)
    held[:] = filling.held()
    return filling.spilled()


def _level_at_once(network: Network, held: list[float], bank: list[int]) -> bool:
    """Level a bank in place if its water can stand at one surface, above its sills and below its lips; tell whether.

    Nowhere else can it then come to rest, so there is no need to follow it.
    """
    tanks = [network.tanks[node] for node in bank]
    volume = sum(held[node] for node in bank)
    floor, lip = min(tank.base + tank.silt for tank in tanks), min(tank.lip_elevation for tank in tanks)
    if floor >= lip or sum(tank.volume_at(lip) for tank in tanks) < volume:
        return False
    surface = height_that_holds(tanks, volume, floor, lip)
    sills = lowest_sills(network, {bank[0]: -inf}, up_to=surface)
    if any(sills[node] == inf for node in bank):
        return False
    for node, tank in zip(bank, tanks, strict=True):
        held[node] = tank.volume_at(surface)
    most = max(bank, key=held.__getitem__)
    rest = volume - sum(held[node] for node in bank)
    held[most] = min(max(0.0, held[most] + rest), network.tanks[most].capacity)
    return True
