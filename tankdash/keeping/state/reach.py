"""What of the water held still gets to an outlet, in the three accounts; a crest nobody has looked at leaves two."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tankdash.keeping.state.standing import Standing
from tankdash.keeping.state.tracks import SAME_WATER, Three
from tankdash.water.holding import usable
from tankdash.water.model import Contents, Layout, Link


def reach_of(
    standing: Standing, held: Three[Contents], accuracy: float
) -> tuple[Three[dict[str, float]], frozenset[str]]:
    """Return what of each tank can still reach an outlet (R7), and the tanks where a crest leaves it open (R5).

    Parameters
    ----------
    standing : Standing
        The replayed journal.
    held : Three
        What each tank holds, [m3].
    accuracy : float
        Of one dip, [m].

    Returns
    -------
    tuple
        The usable water, its ends wide enough for a crest that is full of water and for one that is full of air; and
        the tanks of which those two say different things.
    """
    layout = standing.layout
    as_air = held.map(lambda contents: usable(layout, contents))
    undecided = {
        key: replace(link, primed=True)
        for key, link in layout.links.items()
        if link.is_open
        and link.crest is not None
        and link.primed is None
        and not _stands_apart(layout, link, held.mid, standing.unknown, accuracy)
    }
    if not undecided or standing.basis == "none":
        return as_air, frozenset()
    primed = replace(layout, links={**layout.links, **undecided})
    as_water = held.map(lambda contents: usable(primed, contents))
    reach = Three(
        {key: min(volume, as_water.low[key]) for key, volume in as_air.low.items()},
        as_air.mid,
        {key: max(volume, as_water.high[key]) for key, volume in as_air.high.items()},
    )
    open_for = {
        key
        for one, other in (
            (as_air.low, as_water.low),
            (as_air.mid, as_water.mid),
            (as_air.high, as_water.high),
        )
        for key, volume in one.items()
        if abs(volume - other[key]) > SAME_WATER
    }
    return reach, frozenset(open_for)


def _stands_apart(
    layout: Layout, link: Link, held: Mapping[str, float], unknown: frozenset[str], accuracy: float
) -> bool:
    """Return whether the water itself shows that the crest is full of air: its ends were read, and differ (R3)."""
    if not unknown.isdisjoint(link.joins):
        return False
    tanks = [layout.tanks[name] for name in link.joins]
    sill = max(tank.base + port for tank, port in zip(tanks, link.ports, strict=True))
    surfaces = [max(sill, tank.base + tank.depth(held[tank.id])) for tank in tanks]
    return max(surfaces) - min(surfaces) > 2.0 * accuracy
