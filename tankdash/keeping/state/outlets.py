"""Which outlet is meant when a draw names only a bed, or nothing at all."""

from __future__ import annotations

from tankdash.site.model import Site
from tankdash.water.model import Layout


def outlet_for(site: Site, layout: Layout, outlet: str | None, bed: str | None) -> str | None:
    """Return the outlet a draw goes through, None when the garden of that day has none that fits.

    Parameters
    ----------
    site : Site
        Knows from which outlet a bed is watered.
    layout : Layout
        The garden of that day.
    outlet, bed : str or None
        What the entry names; the outlet wins, then the bed's, then the one on the lowest height.
    """
    if outlet is None and bed is not None and bed in site.beds:
        outlet = site.beds[bed].outlet
    if outlet is not None:
        return outlet if outlet in layout.outlets else None
    heights = {key: layout.tanks[one.tank].base + one.at for key, one in layout.outlets.items()}
    return min(heights, key=lambda key: heights[key], default=None)
