"""What the water stands in: tanks, links, outlets, roofs, and a layout of them on one day.

Frozen descriptions only, in SI: heights inside a tank are above its own floor, `base` and `crest` above the datum.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal, Protocol

Contents = Mapping[str, float]
"""Stored water by tank id, [m3]."""


class Shape(Protocol):
    """Inside of a tank: volume against depth, never falling (R17)."""

    @property
    def height(self) -> float:
        """Depth up to which the shape is described, [m]."""

    @property
    def plan_area(self) -> float | None:
        """Water surface of a shape whose walls are straight all the way up, [m2]; None when it changes with depth."""

    def volume(self, depth: float) -> float:
        """Return what the shape holds up to `depth`, 0 <= depth <= height, [m3]."""

    def depth(self, volume: float) -> float:
        """Return the lowest depth that holds `volume`, 0 <= volume <= volume(height), [m]."""

    def area(self, depth: float) -> float:
        """Return the water surface at `depth`, 0 <= depth <= height, [m2]."""


@dataclass(frozen=True)
class Tank:
    """One vessel on its base."""

    id: str
    """Name in the site file."""
    shape: Shape
    """Inside dimensions."""
    base: float = 0.0
    """Inside floor above the datum, may be negative, [m]."""
    brim: float = 0.0
    """Top of the tank above its floor, 0 < brim <= shape.height, [m]."""
    overflow: float | None = None
    """Invert of the overflow above the floor, 0 < overflow <= brim; None when the tank spills at its brim, [m]."""
    overflow_to: str | None = None
    """Tank that receives the overflow; None when it runs away."""
    overflow_bore: float | None = None
    """Inside diameter of the overflow pipe, [m]; None when not measured."""
    silt: float = 0.0
    """Depth of what is not water on the floor, 0 <= silt < lip, [m]."""
    vented: bool = True
    """Whether air can leave and enter; a tank that cannot breathe shares no level (R11)."""

    @property
    def lip(self) -> float:
        """Depth at which the tank spills: its overflow or its brim, whichever comes first, [m]."""
        return self.brim if self.overflow is None else min(self.overflow, self.brim)

    @property
    def lip_elevation(self) -> float:
        """Lip above the datum, [m]."""
        return self.base + self.lip

    @cached_property
    def silt_volume(self) -> float:
        """Room the silt takes, [m3]."""
        return self.shape.volume(self.silt) if self.silt > 0 else 0.0

    @cached_property
    def capacity(self) -> float:
        """Water held at the brim, [m3]."""
        return self.shape.volume(self.brim) - self.silt_volume

    @cached_property
    def lip_volume(self) -> float:
        """Water held at the lip, [m3]."""
        return self.volume(self.lip)

    def volume(self, depth: float) -> float:
        """Return the water held when it stands `depth` above the floor (R17).

        Parameters
        ----------
        depth : float
            Any height; below the silt the tank is dry, above the brim it holds its capacity, [m].

        Returns
        -------
        float
            Water, 0 <= volume <= capacity, [m3].
        """
        if depth <= self.silt:
            return 0.0
        return self.shape.volume(min(depth, self.brim)) - self.silt_volume

    def depth(self, volume: float) -> float:
        """Return the depth above the floor that holds `volume` of water; the silt's height when dry (R17).

        Parameters
        ----------
        volume : float
            Water, clamped to 0 <= volume <= capacity, [m3].
        """
        if volume <= 0.0:
            return self.silt
        return min(self.brim, self.shape.depth(min(volume, self.capacity) + self.silt_volume))

    def volume_at(self, elevation: float) -> float:
        """Return the water held when the surface stands at `elevation` above the datum (R1), [m3]."""
        return self.volume(elevation - self.base)


@dataclass(frozen=True)
class Link:
    """A pipe or hose that joins two tanks, or a header that joins more (R2)."""

    id: str
    """Name in the site file."""
    joins: tuple[str, ...]
    """The tanks it joins, two or more."""
    ports: tuple[float, ...]
    """Where it enters each of them, above that tank's own floor, [m]."""
    crest: float | None = None
    """Highest point above the datum, where it rises above its ports, [m]."""
    primed: bool | None = None
    """Whether the crest is known to be full of water; None when nobody knows (R5)."""
    bore: float | None = None
    """Inside diameter, [m]; None when not measured."""
    run: float | None = None
    """Length; of each leg for a header, [m]."""
    losses: float = 1.5
    """Sum of K: entrance 0.5 and exit 1.0 unless told otherwise."""
    is_open: bool = True
    """Whether its valve is open; a closed valve is no link (R3)."""


@dataclass(frozen=True)
class Outlet:
    """A tap or a pump intake."""

    id: str
    """Name in the site file."""
    tank: str
    """The tank it draws from."""
    at: float
    """Height above the tank's floor below which it gives nothing, [m]."""
    kind: Literal["tap", "pump"] = "tap"
    """A pump must not run below `at`."""


@dataclass(frozen=True)
class FirstFlush:
    """The pipe that takes the first dirty water of each rain (R13)."""

    holds: float
    """Room when empty, [m3]."""
    empties: float | None = None
    """Time a full pipe takes to drain by itself, [s]; None when it is emptied by hand."""


@dataclass(frozen=True)
class Roof:
    """A surface that drains to a tank (R13)."""

    id: str
    """Name in the site file."""
    area: float
    """Plan area that drains here, [m2]."""
    fills: str
    """The tank it runs into."""
    runoff: float = 0.9
    """Share of the rain that runs off, 0 < runoff <= 1.5."""
    first_loss: float = 0.0
    """Depth of each event that only wets the roof, [m]."""
    screen: float = 1.0
    """Share that passes the leaf screen, 0 < screen <= 1."""
    first_flush: FirstFlush | None = None
    """Its first-flush pipe, if it has one."""

    @property
    def yields(self) -> float:
        """Water that comes down its pipe for a depth of rain past the first loss: area x runoff x screen, [m3/m]."""
        return self.area * self.runoff * self.screen


@dataclass(frozen=True)
class Layout:
    """Everything that holds or carries water on one day: what the functions of this floor take."""

    tanks: Mapping[str, Tank]
    """By id, in the order of the site file."""
    links: Mapping[str, Link] = field(default_factory=dict)
    """By id; closed ones included, the functions leave them out."""
    outlets: Mapping[str, Outlet] = field(default_factory=dict)
    """By id."""
    roofs: Mapping[str, Roof] = field(default_factory=dict)
    """By id; a plugged or bypassed roof is left out by whoever builds the layout."""
    kept: dict[tuple[str, bool], Any] = field(default_factory=dict, init=False, repr=False, compare=False)
    """Answers that follow from the layout alone, kept by the functions that give them."""
