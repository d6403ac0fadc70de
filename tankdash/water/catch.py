"""What of a rain reaches the tank: first loss, runoff, leaf screen and first flush of one roof (R13)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tankdash.water.errors import not_negative
from tankdash.water.model import Roof

RUNOFF: Mapping[str, tuple[float, float]] = {
    "metal": (0.95, 0.95),
    "asphalt shingle": (0.90, 0.90),
    "tile": (0.75, 0.90),
    "flat gravel": (0.50, 0.80),
    "corrugated iron": (0.80, 0.85),
    "green": (0.30, 0.50),
}
"""Share of the rain that runs off, lowest and highest figure, by surface.

Over Gould and Nissen-Petersen, Rainwater Catchment Systems (1999), the Centre for Alternative Technology and
BS EN 16941-1. They differ: a starting point to edit, not a measurement.
"""


@dataclass(frozen=True)
class Catch:
    """Where the rain on one roof went; the three add up to what fell on it, [m3]."""

    caught: float
    """Ran into the tank."""
    flushed: float
    """Kept by the first-flush pipe, or dripped out of it."""
    lost: float
    """Wetted the roof, blew off, passed over the screen; negative for a roof that yields more than its gauge saw."""


def runs_off(roof: Roof, depth: float) -> float:
    """Return what comes down the pipe in one event, before the first flush (R13).

    Parameters
    ----------
    roof : Roof
        Plan area, runoff, first loss and screen.
    depth : float
        Rain of the whole event, >= 0, [m].

    Returns
    -------
    float
        max(0, depth - first loss) x area x runoff x screen, [m3].

    Raises
    ------
    OutOfRange
        If `depth` is negative or no finite number.

    Examples
    --------
    >>> round(runs_off(Roof("shed", area=24.0, fills="north", runoff=0.9, first_loss=0.0005), 0.0105), 6)
    0.216
    """
    return max(0.0, not_negative(depth, "a depth of rain", "m") - roof.first_loss) * roof.yields


def catch(roof: Roof, depth: float, room: float = 0.0) -> Catch:
    """Return what one roof brings its tank in one event (R13).

    Parameters
    ----------
    roof : Roof
        The roof.
    depth : float
        Rain of the whole event, >= 0, [m].
    room : float, optional
        Room left in its first-flush pipe, 0 when it stands full or there is none, [m3].

    Returns
    -------
    Catch
        In the tank, in the first-flush pipe, and lost.

    Raises
    ------
    OutOfRange
        If `depth` or `room` is negative or no finite number.

    Examples
    --------
    Ten millimetres on 100 m2, a pipe that takes 70 L:

    >>> round(catch(Roof("house", area=100.0, fills="north", runoff=1.0), 0.010, room=0.070).caught, 6)
    0.93
    """
    came = runs_off(roof, depth)
    flushed = min(not_negative(room, "room in a first-flush pipe", "m3"), came)
    caught = came - flushed
    return Catch(caught, flushed, depth * roof.area - came)
