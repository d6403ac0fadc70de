"""Siphons that lose their prime: a hose over a hump runs only while both its ends are under water (R2, R5)."""

from __future__ import annotations

from dataclasses import replace

from tankdash.water.model import Contents, Layout
from tankdash.water.pools import HAIR

__all__ = ["unprimed_by", "with_primes_lost"]


def unprimed_by(layout: Layout, contents: Contents) -> set[str]:
    """Return the links known to be primed whose prime these contents have broken.

    A hose over a hump runs while both its ends are under water. Once the surface at one of them is down at its
    port, air gets in, and the water coming back does not drive it out: the link stays unprimed until somebody says
    otherwise.

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        What each tank holds, at rest, [m3].

    Returns
    -------
    set of str
        Link ids.
    """
    lost = set()
    for link in layout.links.values():
        if link.crest is None or link.primed is not True:
            continue
        ends = [(layout.tanks[name], port) for name, port in zip(link.joins, link.ports, strict=True)]
        if link.crest > max(tank.base + port for tank, port in ends) and any(
            tank.depth(contents.get(tank.id, 0.0)) <= port + HAIR for tank, port in ends
        ):
            lost.add(link.id)
    return lost


def with_primes_lost(layout: Layout, contents: Contents) -> Layout:
    """Return the layout with the primes broken that these contents break; see `unprimed_by`."""
    lost = unprimed_by(layout, contents)
    if not lost:
        return layout
    return replace(
        layout,
        links={
            key: replace(link, primed=False) if key in lost else link for key, link in layout.links.items()
        },
    )
