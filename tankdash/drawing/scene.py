"""What a side view shows, in numbers: tanks on their bases, what stands in them, what joins them.

All heights are above the datum, [m], unless a field says otherwise.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from tankdash.drawing.glyphs import Glyphs
from tankdash.units import Units, format_volume


@dataclass(frozen=True)
class Outline:
    """The side of a tank: how broad it is at each height above its own floor."""

    points: tuple[tuple[float, float], ...]
    """(height above the floor, breadth), rising, straight lines between them, [m]."""
    is_closed: bool = False
    """Whether it closes over the water like a lying cylinder."""

    def breadth(self, height: float) -> float:
        """Return the breadth at `height` above the floor, the nearest end's outside the outline, [m]."""
        if height <= self.points[0][0]:
            return self.points[0][1]
        if height >= self.points[-1][0]:
            return self.points[-1][1]
        row = bisect_right(self.points, (height, float("inf")))
        (lower, narrow), (upper, wide) = self.points[row - 1], self.points[row]
        return narrow + (wide - narrow) * (height - lower) / (upper - lower)

    @property
    def broadest(self) -> float:
        """Return the greatest breadth, [m]."""
        return max(breadth for _, breadth in self.points)


@dataclass(frozen=True)
class SceneTank:
    """One tank as it is drawn."""

    id: str
    label: str
    """What people call it; any text."""
    base: float
    """Inside floor."""
    brim: float
    """Top of the tank."""
    lip: float
    """Where it spills: overflow or brim."""
    outline: Outline
    low: float | None
    """Surface when it holds the least it may; None when that is dry."""
    surface: float | None
    """Likely surface; None when dry or unknown."""
    high: float | None
    """Surface when it holds the most it may; None when that is dry."""
    low_volume: float
    """[m3]."""
    volume: float | None
    """[m3]; None when only the ends are known."""
    high_volume: float
    """[m3]."""
    state: str
    """One of the contract's states: dipped, level, cut-off, carried, dry, full, vent-closed, unknown."""
    usable_from: float | None = None
    """Height above which its water can reach an outlet; None when it never can."""
    is_stranded: bool = False
    """Whether its water cannot get out through a link although it stands higher than an outlet."""
    overflow_to: str | None = None
    """Tank that takes what it spills."""
    ghost: float | None = None
    """Surface at the last dip, where it differs from now."""


@dataclass(frozen=True)
class SceneLink:
    """A pipe between two tanks or more."""

    id: str
    ends: tuple[tuple[str, float], ...]
    """(tank, height of its port)."""
    crest: float | None = None
    """Highest point, where it rises above its ports."""
    primed: bool | None = None
    is_open: bool = True
    label: str = ""
    """What people call it; empty where it has no name but its id."""


@dataclass(frozen=True)
class SceneOutlet:
    """A tap or a pump intake."""

    id: str
    label: str
    tank: str
    at: float
    """Its height."""
    is_pump: bool = False


@dataclass(frozen=True)
class ScenePool:
    """Tanks that share one surface now."""

    tanks: tuple[str, ...]
    surface: float
    spill: float | None = None
    """Where it spills when it rises; None when nothing lets it."""
    spills_at: str | None = None
    """The tank over whose lip it does."""


@dataclass(frozen=True)
class Totals:
    """What the tanks hold together, [m3]; None where only the ends are known."""

    volume: float | None
    low: float
    high: float
    usable: float | None
    usable_low: float
    usable_high: float
    below_outlet: float | None
    full: float
    usable_full: float
    headroom: float | None


@dataclass(frozen=True)
class Scene:
    """Everything a side view shows."""

    tanks: tuple[SceneTank, ...]
    """From left to right."""
    units: Units
    links: tuple[SceneLink, ...] = ()
    outlets: tuple[SceneOutlet, ...] = ()
    pools: tuple[ScenePool, ...] = ()
    totals: Totals | None = None


STATE_WORDS = {
    "dipped": "dipped",
    "level": "level",
    "cut-off": "cut off",
    "carried": "carried",
    "dry": "dry",
    "full": "full",
    "vent-closed": "vent closed",
    "unknown": "not known",
}
"""The word for each state."""

PLAIN_STATES = ("dipped", "level", "carried")
"""States that want no one's attention."""


def range_text(low: float, high: float, units: Units, dash: str = "–") -> str:
    """Return a volume or the range it lies in: `630 L`, `0–80 L`.

    Examples
    --------
    >>> range_text(0.63, 0.63, "metric"), range_text(0.0, 0.08, "metric")
    ('630 L', '0–80 L')
    """
    least, most = format_volume(low, units), format_volume(high, units)
    return most if least == most else f"{least.split(' ', 1)[0]}{dash}{most}"


def volume_text(tank: SceneTank, units: Units, dash: str = "–") -> str:
    """Return what a tank holds, as one figure where that is all there is to say, else as a range."""
    if tank.state == "unknown" and tank.volume is None and tank.low_volume == tank.high_volume == 0.0:
        return "?"
    return range_text(tank.low_volume, tank.high_volume, units, dash)


def state_text(tank: SceneTank, signs: Glyphs) -> str:
    """Return the state of a tank as its sign and its word; one whose water is held back counts as cut off."""
    state = "cut-off" if tank.is_stranded and tank.state in PLAIN_STATES else tank.state
    return f"{signs.states.get(state, '?')} {STATE_WORDS.get(state, state)}"
