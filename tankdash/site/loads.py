"""What a full tank weighs, and what the ground under it is often taken to bear: a warning, never a certificate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tankdash.site.model import SiteTank
from tankdash.units import GRAVITY, WATER_DENSITY, Units, format_mass

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


def together_words(tanks: Sequence[SiteTank], units: Units) -> str:
    """Return what all tanks weigh together, what ground is taken to bear, and the caution that goes with it."""
    total = sum(map(weight_when_full, tanks))
    hardest = max((pressure_when_full(tank) or 0.0 for tank in tanks), default=0.0)
    soft = [ground.name for ground in GROUNDS if hardest > ground.bearing]
    more = f" The hardest pressed base here is above that of {listed(soft)}." if soft else ""
    return (
        f"All together {format_mass(total, units)}. Ground is often taken to bear "
        f"{bearing_words(units)}; fill, mud and peat nothing.{more} This is a warning, never a certificate: "
        "a base that gives way tips a full tank over. Ask whoever knows your ground, your balcony or your stand, "
        "and ask about your local code."
    )


def listed(words: Sequence[str]) -> str:
    """Return words as people list them.

    Examples
    --------
    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
