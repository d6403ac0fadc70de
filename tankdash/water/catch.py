"""What of a rain reaches the tank: first loss, runoff, leaf screen and first flush of one roof (R13)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite, pi

from tankdash.water.errors import OutOfRange
from tankdash.water.model import FirstFlush, Roof

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

FLUSH_DEPTHS: Mapping[str, float] = {
    "20 to 25 L on an average roof": 0.10e-3,
    "10 US gal per 1000 sq ft": 10 * 3.785411784e-3 / (1000 * 0.3048**2),
    "clean roof, 0.5 US gal per 100 sq ft": 0.5 * 3.785411784e-3 / (100 * 0.3048**2),
    "usual roof, 1 US gal per 100 sq ft": 1.0 * 3.785411784e-3 / (100 * 0.3048**2),
    "dirty roof, 2 US gal per 100 sq ft": 2.0 * 3.785411784e-3 / (100 * 0.3048**2),
    "longest recommended": 2.0e-3,
}
"""Depths of rain that first-flush pipes are advised to take, [m]: they differ twentyfold.

enHealth, Guidance on use of rainwater tanks (Australia, 2010), s. 5.4; Texas Manual on Rainwater Harvesting, 3rd ed.
2005, ch. 2; extension practice.
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
    >>> runs_off(Roof("shed", area=24.0, fills="north", runoff=0.9, first_loss=0.0005), 0.0105)
    0.216
    """
    if not (isfinite(depth) and depth >= 0.0):
        raise OutOfRange(f"a depth of rain must be finite and not negative, not {depth:g} m")
    return max(0.0, depth - roof.first_loss) * roof.area * roof.runoff * roof.screen


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
    if not (isfinite(room) and room >= 0.0):
        raise OutOfRange(f"room in a first-flush pipe must be finite and not negative, not {room:g} m3")
    came = runs_off(roof, depth)
    flushed = min(room, came)
    caught = came - flushed
    return Catch(caught, flushed, depth * roof.area - came)


def room_after(flush: FirstFlush, held: float, seconds: float) -> float:
    """Return the room in a pipe some dry time after it held `held`, if it drips at an even rate (R13).

    Parameters
    ----------
    flush : FirstFlush
        Emptied by hand, or draining by itself.
    held : float
        Water in it then, 0 <= held <= holds, [m3].
    seconds : float
        Dry time since, >= 0, [s].

    Returns
    -------
    float
        Room, [m3].

    Raises
    ------
    OutOfRange
        If `held` is more than it holds, or a number is negative.

    Examples
    --------
    >>> round(room_after(FirstFlush(holds=0.008, empties=6 * 3600), held=0.008, seconds=3 * 3600), 4)
    0.004
    >>> room_after(FirstFlush(holds=0.008), held=0.008, seconds=86400.0)
    0.0
    """
    if not (0.0 <= held <= flush.holds * (1.0 + 1e-9)) or not seconds >= 0.0:
        raise OutOfRange(f"a pipe of {flush.holds:g} m3 cannot hold {held:g} m3 for {seconds:g} s")
    return min(flush.holds, flush.holds - held + _leak(flush, seconds))


def _leak(flush: FirstFlush, seconds: float) -> float:
    """Return the most that drips out of a self-emptying pipe in `seconds`, [m3]."""
    if flush.empties is None:
        return 0.0
    return flush.holds * seconds / flush.empties if flush.empties > 0.0 else flush.holds


def catch_between(roof: Roof, depth: float, room: float, seconds: float) -> tuple[Catch, Catch]:
    """Return the least and the most a roof brings when the rain may have fallen at any time in a period (R13).

    A self-emptying pipe also leaks while it rains, so a total for a day leaves open how much ran away through it:
    nothing more than its room if all came at once, its room and the leak of the whole period if it drizzled.

    Parameters
    ----------
    roof : Roof
        The roof with its first-flush pipe.
    depth : float
        Rain of the period, [m].
    room : float
        Room in the pipe when it began, [m3].
    seconds : float
        Length of the period, [s].

    Returns
    -------
    tuple of Catch
        Least and most caught; the same for a pipe emptied by hand or none.

    Examples
    --------
    >>> shed = Roof("shed", 20.0, "north", 1.0, first_flush=FirstFlush(holds=0.008, empties=6 * 3600))
    >>> least, most = catch_between(shed, 0.005, room=0.008, seconds=86400.0)
    >>> round(least.caught, 3), round(most.caught, 3)
    (0.06, 0.092)
    """
    most = catch(roof, depth, room)
    leak = _leak(roof.first_flush, seconds) if roof.first_flush is not None else 0.0
    return catch(roof, depth, room + leak), most


def flush_room(bore: float, length: float) -> float:
    """Return what a first-flush pipe of a bore and length holds, [m] to [m3].

    Examples
    --------
    >>> round(flush_room(0.075, 1.8) * 1000, 2)
    7.95
    """
    for what, value in (("bore", bore), ("length", length)):
        if not (isfinite(value) and value > 0.0):
            raise OutOfRange(f"the {what} of a first-flush pipe must be finite and above 0, not {value:g} m")
    return pi / 4.0 * bore * bore * length


def flush_length(area: float, depth: float, bore: float) -> float:
    """Return the length of pipe that takes the first `depth` of rain off a roof, [m2], [m], [m] to [m].

    Examples
    --------
    >>> round(flush_length(98.0, 0.001, 0.110), 2)
    10.31
    """
    return area * depth / flush_room(bore, 1.0)


def dirt_left(flushed_depth: float) -> float:
    """Return the share of the roof's dirt still in the water after a depth was flushed away, [m].

    It halves for each millimetre: Martinson and Thomas, 12th Int. Rainwater Catchment Systems Conf., 2005.

    Examples
    --------
    >>> dirt_left(0.003)
    0.125
    """
    if not (isfinite(flushed_depth) and flushed_depth >= 0.0):
        raise OutOfRange(f"a flushed depth must be finite and not negative, not {flushed_depth:g} m")
    return float(0.5 ** (flushed_depth * 1000.0))
