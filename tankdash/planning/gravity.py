"""Head at each outlet and bed, and which beds the water can still reach without a pump (R7)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from tankdash.site.model import Site
from tankdash.water.model import Layout


@dataclass(frozen=True)
class Head:
    """Height of water that drives one place, now and when full."""

    now: float | None
    """Surface above the place, negative when it lies below; None when the surface is unknown, [m]."""
    full: float
    """The same when the bank is full, [m]."""
    needed: float
    """What the place asks for, [m]."""
    by_pump: bool = False
    """Whether a pump lifts the water, so that the head does not decide."""
    over_outlet: float | None = inf
    """Surface above the outlet that the place is watered from: from below it nothing comes, however low the place
    lies; endless for an outlet itself, [m]."""
    over_outlet_full: float = inf
    """The same when the bank is full, [m]."""

    @property
    def is_reached(self) -> bool | None:
        """Whether the water reaches it now; None when unknown."""
        if self.by_pump:
            return True
        if self.now is None or self.over_outlet is None:
            return None
        return self.now > 0.0 and self.now >= self.needed and self.over_outlet > 0.0

    @property
    def is_ever_reached(self) -> bool:
        """Whether it is reached when the bank is full."""
        return self.by_pump or (self.full > 0.0 and self.full >= self.needed and self.over_outlet_full > 0.0)


def heads(
    site: Site, layout: Layout, surfaces: Mapping[str, float | None], full_surfaces: Mapping[str, float]
) -> dict[str, Head]:
    """Return the head at each outlet (`tap`) and bed (`bed:tomatoes`), still water, pipe losses left out.

    Parameters
    ----------
    site : Site
        Beds with their heights.
    layout : Layout
        Outlets and tanks.
    surfaces, full_surfaces : mapping
        Water surface above the datum by tank, now and when full, [m].

    Returns
    -------
    dict
        A bed without a height has none.
    """
    found = {}
    for key, outlet in layout.outlets.items():
        elevation = layout.tanks[outlet.tank].base + outlet.at
        surface = surfaces.get(outlet.tank)
        found[key] = Head(
            now=None if surface is None else surface - elevation,
            full=full_surfaces[outlet.tank] - elevation,
            needed=0.0,
            by_pump=outlet.kind == "pump",
        )
    for key, bed in site.beds.items():
        source = layout.outlets.get(bed.outlet)
        if source is None or bed.height is None:
            continue
        surface, draws_at = surfaces.get(source.tank), layout.tanks[source.tank].base + source.at
        found[f"bed:{key}"] = Head(
            now=None if surface is None else surface - bed.height,
            full=full_surfaces[source.tank] - bed.height,
            needed=bed.min_head,
            by_pump=source.kind == "pump",
            over_outlet=None if surface is None else surface - draws_at,
            over_outlet_full=full_surfaces[source.tank] - draws_at,
        )
    return found
