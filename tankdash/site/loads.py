"""What a full tank weighs, and what the ground under it is often taken to bear: a warning, never a certificate."""

from __future__ import annotations

from dataclasses import dataclass

from tankdash.site.model import SiteTank
from tankdash.units import GRAVITY, WATER_DENSITY, Units

_POUND_PER_SQUARE_FOOT = 47.880259
"""[Pa]."""


@dataclass(frozen=True)
class Ground:
    """A kind of ground with its presumptive bearing value."""

    name: str
    """In words."""
    pounds: float
    """Per square foot, as the code prints it."""

    @property
    def bearing(self) -> float:
        """The same, [Pa]."""
        return self.pounds * _POUND_PER_SQUARE_FOOT


GROUNDS = (Ground("gravel", 3000.0), Ground("sand", 2000.0), Ground("clay and silt", 1500.0))
"""International Building Code, Table 1806.2, the soils; fill, mud and peat have no value at all."""


def weight_when_full(placed: SiteTank) -> float:
    """Return what a tank weighs with water to its brim, silt counted as water, tare added where given, [kg]."""
    return placed.thing.shape.volume(placed.thing.brim) * WATER_DENSITY + (placed.tare or 0.0)


def pressure_when_full(placed: SiteTank) -> float | None:
    """Return the pressure of a full tank on what it stands on, [Pa]; None without a footprint.

    Examples
    --------
    >>> from tankdash.water.model import Tank
    >>> from tankdash.water.shapes import Straight
    >>> tote = SiteTank(Tank("a", Straight(1.0, 1.0), brim=1.0), "a", footprint=1.2, tare=60.0)
    >>> round(weight_when_full(tote)), round(pressure_when_full(tote))
    (1058, 8648)
    """
    if placed.footprint is None:
        return None
    return weight_when_full(placed) * GRAVITY / placed.footprint


def bearing_words(units: Units) -> str:
    """Return the presumptive values in words.

    Examples
    --------
    >>> bearing_words("metric")
    'gravel 144 kPa, sand 96 kPa, clay and silt 72 kPa'
    >>> bearing_words("us")
    'gravel 3000 lb/sq ft, sand 2000 lb/sq ft, clay and silt 1500 lb/sq ft'
    """
    if units == "metric":
        return ", ".join(f"{ground.name} {ground.bearing / 1000:.0f} kPa" for ground in GROUNDS)
    return ", ".join(f"{ground.name} {ground.pounds:.0f} lb/sq ft" for ground in GROUNDS)
