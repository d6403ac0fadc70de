"""The load on each base, now and full, beside what ground is often taken to bear: a warning, never a certificate."""

from __future__ import annotations

from dataclasses import dataclass

from tankdash.keeping.state.levels import Levels
from tankdash.site.loads import pressure_when_full, together_words, weight_when_full
from tankdash.site.model import Site
from tankdash.units import WATER_DENSITY
from tankdash.water.model import Layout


@dataclass(frozen=True)
class BaseLoad:
    """What one tank puts on its base."""

    tank: str
    full_kg: float
    """With water to its brim, silt counted as water, the empty tank added where its weight is known."""
    now_kg: float | None
    """With what it holds now; None where that is not known."""
    has_tare: bool
    """Whether the empty tank is counted."""
    footprint: float | None
    """Area it rests on, [m2]; None when it was never measured."""
    pressure: float | None
    """When full, [Pa]; None without a footprint."""


@dataclass(frozen=True)
class Loads:
    """Every base, and the caution for all of them."""

    tanks: tuple[BaseLoad, ...]
    caution: str
    """The sum, presumptive bearing values, and whom to ask."""

    @property
    def total_kg(self) -> float:
        """All tanks full."""
        return sum(one.full_kg for one in self.tanks)

    @property
    def hardest(self) -> float | None:
        """The highest pressure of those known, [Pa]."""
        return max((one.pressure for one in self.tanks if one.pressure is not None), default=None)


def loads_of(site: Site, layout: Layout, levels: Levels | None = None) -> Loads:
    """Return the load on each base of the garden as it stands.

    Parameters
    ----------
    site : Site
        Footprints and the weights of empty tanks.
    layout : Layout
        What stands there.
    levels : Levels, optional
        What the tanks hold now.
    """
    found = []
    for key, tank in layout.tanks.items():
        placed = site.tanks[key]
        held = None if levels is None or key not in levels.tanks else levels.tanks[key].volume_l
        silt = tank.shape.volume(tank.silt)
        found.append(
            BaseLoad(
                tank=key,
                full_kg=weight_when_full(placed),
                now_kg=None
                if held is None
                else (held / 1000.0 + silt) * WATER_DENSITY + (placed.tare or 0.0),
                has_tare=placed.tare is not None,
                footprint=placed.footprint,
                pressure=pressure_when_full(placed),
            )
        )
    return Loads(tuple(found), together_words([site.tanks[key] for key in layout.tanks], site.units))
