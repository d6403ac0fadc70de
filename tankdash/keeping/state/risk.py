"""What can run out through one failing joint, with every valve shut that can be shut."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from tankdash.water.holding import usable
from tankdash.water.model import Contents, Layout, Outlet


def at_risk(
    layout: Layout, contents: Contents, tank: str, height: float = 0.0, stuck: Collection[str] = ()
) -> float:
    """Return the water that a leak in `tank` can take, once all valves but the stuck ones are shut (R7).

    Parameters
    ----------
    layout : Layout
        The garden as it stands.
    contents : mapping of str to float
        What each tank holds, [m3].
    tank : str
        Where the joint is.
    height : float, optional
        Of the joint above that tank's floor, [m].
    stuck : collection of str, optional
        Links that nobody can shut.

    Returns
    -------
    float
        [m3].
    """
    links = {key: replace(link, is_open=link.is_open and key in stuck) for key, link in layout.links.items()}
    joint = Outlet("joint", tank, height)
    shut = replace(layout, links=links, outlets={joint.id: joint})
    return sum(usable(shut, contents).values())
