"""Insides of tanks: volume against depth and back (R17).

Each shape is a frozen description in metres that satisfies `tankdash.water.model.Shape`.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from functools import cached_property
from math import asin, cbrt, pi, sin, sqrt

from tankdash.water.errors import OutOfRange, above_zero, not_negative, within
from tankdash.water.measured import Partly, Table

__all__ = ["Box", "Cone", "Lying", "Partly", "Straight", "Table", "Taper", "Upright"]


class _Prism(ABC):
    """What all shapes with straight walls share: volume proportional to depth."""

    height: float

    @property
    @abstractmethod
    def plan_area(self) -> float:
        """Water surface, the same at every depth, [m2]."""

    def volume(self, depth: float) -> float:
        """Return what the shape holds up to `depth`, 0 <= depth <= height, [m3]; else OutOfRange."""
        return self.plan_area * within(depth, self.height, "depth", "m")

    def depth(self, volume: float) -> float:
        """Return the depth that holds `volume`, 0 <= volume <= volume(height), [m]; else OutOfRange."""
        area = self.plan_area
        return min(self.height, within(volume, area * self.height, "volume", "m3") / area)

    def area(self, depth: float) -> float:
        """Return the water surface at `depth`, 0 <= depth <= height, [m2]; else OutOfRange."""
        within(depth, self.height, "depth", "m")
        return self.plan_area


@dataclass(frozen=True)
class Straight(_Prism):
    """Straight walls over any plan; "holds 1000 L at 100 cm" is an area of 1 m2.

    Examples
    --------
    >>> tote = Straight(area=1.0, height=1.05)
    >>> tote.volume(0.6), tote.depth(0.6)
    (0.6, 0.6)
    """

    area_inside: float
    """Plan area, [m2]."""
    height: float
    """[m]."""

    def __init__(self, area: float, height: float) -> None:
        above_zero(area, "area", "m2")
        above_zero(height, "height", "m")
        object.__setattr__(self, "area_inside", area)
        object.__setattr__(self, "height", height)

    @property
    def plan_area(self) -> float:
        """Water surface, the same at every depth, [m2]."""
        return self.area_inside


@dataclass(frozen=True)
class Box(_Prism):
    """Four upright walls.

    Examples
    --------
    >>> Box(length=1.2, width=1.0, height=1.0).volume(0.25)
    0.3
    """

    length: float
    """[m]."""
    width: float
    """[m]."""
    height: float
    """[m]."""

    def __post_init__(self) -> None:
        above_zero(self.length, "length", "m")
        above_zero(self.width, "width", "m")
        above_zero(self.height, "height", "m")

    @property
    def plan_area(self) -> float:
        """Water surface, the same at every depth, [m2]."""
        return self.length * self.width


@dataclass(frozen=True)
class Upright(_Prism):
    """A cylinder that stands.

    Examples
    --------
    >>> round(Upright(diameter=1.0, height=1.5).depth(0.5), 4)
    0.6366
    """

    diameter: float
    """[m]."""
    height: float
    """[m]."""

    def __post_init__(self) -> None:
        above_zero(self.diameter, "diameter", "m")
        above_zero(self.height, "height", "m")

    @cached_property
    def plan_area(self) -> float:
        """Water surface, the same at every depth, [m2]."""
        return pi / 4.0 * self.diameter**2


def _segment(angle: float) -> float:
    """Return angle - sin(angle) without losing digits when it is small, 0 <= angle <= pi."""
    if angle > 0.7:
        return angle - sin(angle)
    square = angle * angle
    term = total = angle * square / 6.0
    order = 3
    while abs(term) > 1e-17 * total:
        term *= -square / ((order + 1) * (order + 2))
        total += term
        order += 2
    return total


def _segment_angle(segment: float) -> float:
    """Return the angle whose angle - sin(angle) is `segment`, 0 <= segment <= pi, bracketed Newton."""
    if segment <= 0.0:
        return 0.0
    low, high = 0.0, pi
    angle = min(pi, cbrt(6.0 * segment))
    for _ in range(60):
        miss = _segment(angle) - segment
        if miss > 0.0:
            high = angle
        else:
            low = angle
        step = miss / (2.0 * sin(0.5 * angle) ** 2)
        following = angle - step
        if not low <= following <= high:
            following = 0.5 * (low + high)
        if abs(following - angle) <= 1e-15 * angle:
            return following
        angle = following
    return angle


@dataclass(frozen=True)
class Lying:
    """A cylinder on its side, with flat ends.

    Volume = length x radius^2 / 2 x (angle - sin angle), where `angle` is what the wet arc subtends at the
    axis: the circular segment of any handbook of mensuration.

    Examples
    --------
    >>> barrel = Lying(diameter=2.0, length=1.0)
    >>> round(barrel.volume(0.5) / barrel.volume(2.0), 4)
    0.1955
    >>> round(barrel.depth(barrel.volume(0.5)), 12)
    0.5
    """

    diameter: float
    """[m]."""
    length: float
    """[m]."""

    def __post_init__(self) -> None:
        above_zero(self.diameter, "diameter", "m")
        above_zero(self.length, "length", "m")

    @property
    def height(self) -> float:
        """Its diameter, [m]."""
        return self.diameter

    @property
    def plan_area(self) -> None:
        """None: the surface widens up to the axis and narrows above."""

    @cached_property
    def _full(self) -> float:
        return pi / 4.0 * self.diameter**2 * self.length

    def _lower(self, depth: float) -> float:
        """Return the volume up to a depth not above the axis, [m3]."""
        angle = 4.0 * asin(sqrt(depth / self.diameter))
        return self.length * self.diameter**2 / 8.0 * _segment(angle)

    def volume(self, depth: float) -> float:
        """Return what the shape holds up to `depth`, 0 <= depth <= diameter, [m3]; else OutOfRange."""
        depth = within(depth, self.diameter, "depth", "m")
        if depth <= 0.5 * self.diameter:
            return self._lower(depth)
        return self._full - self._lower(self.diameter - depth)

    def depth(self, volume: float) -> float:
        """Return the depth that holds `volume`, 0 <= volume <= volume(diameter), [m]; else OutOfRange."""
        volume = within(volume, self._full, "volume", "m3")
        lower = min(volume, self._full - volume)
        angle = _segment_angle(8.0 * lower / (self.length * self.diameter**2))
        depth = self.diameter * sin(0.25 * angle) ** 2
        return depth if volume <= 0.5 * self._full else self.diameter - depth

    def area(self, depth: float) -> float:
        """Return the water surface at `depth`, 0 <= depth <= diameter, [m2]; else OutOfRange."""
        depth = within(depth, self.diameter, "depth", "m")
        return 2.0 * self.length * sqrt(depth * (self.diameter - depth))


@dataclass(frozen=True)
class Taper:
    """A round tank that widens or narrows evenly upward: a frustum.

    Examples
    --------
    >>> bucket = Taper(bottom=0.254, top=0.3048, height=0.3556)
    >>> round(bucket.volume(0.3556), 6)
    0.021862
    >>> round(bucket.depth(0.01), 4)
    0.1788
    """

    bottom: float
    """Diameter at the floor; 0 for a point, [m]."""
    top: float
    """Diameter at the brim, [m]."""
    height: float
    """[m]."""

    def __post_init__(self) -> None:
        not_negative(self.bottom, "bottom", "m")
        above_zero(self.top, "top", "m")
        above_zero(self.height, "height", "m")

    @property
    def plan_area(self) -> float | None:
        """Water surface if top and bottom are equal, else None, [m2]."""
        return pi / 4.0 * self.top**2 if self.top == self.bottom else None

    @cached_property
    def _full(self) -> float:
        return self.volume(self.height)

    def _radius(self, depth: float) -> float:
        return 0.5 * (self.bottom + (self.top - self.bottom) * depth / self.height)

    def volume(self, depth: float) -> float:
        """Return what the shape holds up to `depth`, 0 <= depth <= height, [m3]; else OutOfRange."""
        depth = within(depth, self.height, "depth", "m")
        floor, surface = 0.5 * self.bottom, self._radius(depth)
        return pi / 3.0 * depth * (floor * floor + floor * surface + surface * surface)

    def depth(self, volume: float) -> float:
        """Return the depth that holds `volume`, 0 <= volume <= volume(height), [m]; else OutOfRange."""
        volume = within(volume, self._full, "volume", "m3")
        if volume == 0.0:
            return 0.0
        floor = 0.5 * self.bottom
        slope = 0.5 * (self.top - self.bottom) / self.height
        cubes = 3.0 * volume / pi
        surface = cbrt(floor**3 + slope * cubes)
        # Dividing the difference of the cubes by the sum of their parts keeps all digits when the walls are
        # nearly upright, where (surface - floor) / slope would lose them.
        return min(self.height, cubes / (floor * floor + floor * surface + surface * surface))

    def area(self, depth: float) -> float:
        """Return the water surface at `depth`, 0 <= depth <= height, [m2]; else OutOfRange."""
        return pi * self._radius(within(depth, self.height, "depth", "m")) ** 2


@dataclass(frozen=True)
class Cone:
    """A cylinder that stands on a cone, point down.

    Examples
    --------
    >>> silo = Cone(diameter=1.0, cone=0.3, height=1.3)
    >>> round(silo.volume(0.3), 6), round(silo.volume(1.3), 6)
    (0.07854, 0.863938)
    >>> round(silo.depth(silo.volume(0.15)), 12)
    0.15
    """

    diameter: float
    """Of the cylinder, [m]."""
    cone: float
    """Height of the cone below it, [m]."""
    height: float
    """Of both together, cone <= height, [m]."""

    def __post_init__(self) -> None:
        above_zero(self.diameter, "diameter", "m")
        not_negative(self.cone, "cone", "m")
        above_zero(self.height, "height", "m")
        if self.cone > self.height:
            raise OutOfRange(f"the cone ({self.cone:g} m) is higher than the whole tank ({self.height:g} m)")

    @property
    def plan_area(self) -> float | None:
        """Water surface if there is no cone, else None, [m2]."""
        return self._round if self.cone == 0.0 else None

    @cached_property
    def _round(self) -> float:
        return pi / 4.0 * self.diameter**2

    @cached_property
    def _full(self) -> float:
        return self.volume(self.height)

    def volume(self, depth: float) -> float:
        """Return what the shape holds up to `depth`, 0 <= depth <= height, [m3]; else OutOfRange."""
        depth = within(depth, self.height, "depth", "m")
        if depth < self.cone:
            return self._round * depth / 3.0 * (depth / self.cone) ** 2
        return self._round * (depth - self.cone * 2.0 / 3.0)

    def depth(self, volume: float) -> float:
        """Return the depth that holds `volume`, 0 <= volume <= volume(height), [m]; else OutOfRange."""
        volume = within(volume, self._full, "volume", "m3")
        straight = volume / self._round
        if straight < self.cone / 3.0:
            return cbrt(3.0 * straight * self.cone**2)
        return min(self.height, straight + self.cone * 2.0 / 3.0)

    def area(self, depth: float) -> float:
        """Return the water surface at `depth`, 0 <= depth <= height, [m2]; else OutOfRange."""
        depth = within(depth, self.height, "depth", "m")
        return self._round * (depth / self.cone) ** 2 if depth < self.cone else self._round
