"""Holes, taps, overflows and emitters: what passes an opening, and the head it needs."""

from __future__ import annotations

from math import cos, inf, pi, sin, sqrt

from tankdash.water.errors import OutOfRange, above_zero, not_negative
from tankdash.water.friction import GRAVITY
from tankdash.water.model import Tank

SHARP_EDGE = 0.6
"""Discharge coefficient of a sharp-edged round opening: 0.60 to 0.62 in any hydraulics handbook."""

OVERFLOW = 0.6
"""Discharge coefficient taken for an overflow pipe that runs full at its mouth."""


STEPS = 64
"""Strips that the opening of a pipe that runs part full is cut into."""


def round_opening(bore: float) -> float:
    """Return the area of a round opening, bore > 0 in [m], [m2]."""
    return pi / 4.0 * above_zero(bore, "the bore") ** 2


def parallel(*areas: float) -> float:
    """Return the one opening that passes as much as several side by side: areas add, diameters do not, [m2].

    Examples
    --------
    Two pipes of 40 mm against one of 80 mm:

    >>> parallel(round_opening(0.040), round_opening(0.040)) / round_opening(0.080)
    0.5
    """
    return sum(not_negative(area, "the area") for area in areas)


def flow_through(area: float, head: float, coefficient: float = SHARP_EDGE) -> float:
    """Return what an opening passes: Cd a sqrt(2 g h).

    Parameters
    ----------
    area : float
        Of the opening, > 0, [m2].
    head : float
        Water above its middle, or difference of surfaces if drowned, >= 0, [m].
    coefficient : float, optional
        Discharge coefficient, > 0.

    Returns
    -------
    float
        [m3/s].

    Raises
    ------
    OutOfRange
        If a number is negative or not finite.

    Examples
    --------
    >>> round(flow_through(0.01, 0.30, 0.62), 5)
    0.01504
    """
    above_zero(area, "the area")
    above_zero(coefficient, "the coefficient")
    return coefficient * area * sqrt(2.0 * GRAVITY * not_negative(head, "the head"))


def head_for(area: float, flow: float, coefficient: float = SHARP_EDGE) -> float:
    """Return the head an opening needs to pass a flow, [m2], [m3/s] to [m]; OutOfRange when one is impossible.

    Examples
    --------
    One litre a second through 40 mm, and through 20 mm:

    >>> round(head_for(round_opening(0.040), 0.001), 2), round(head_for(round_opening(0.020), 0.001), 2)
    (0.09, 1.43)
    """
    above_zero(area, "the area")
    above_zero(coefficient, "the coefficient")
    return (not_negative(flow, "the flow") / (coefficient * area)) ** 2 / (2.0 * GRAVITY)


def part_full(bore: float, depth: float, coefficient: float = SHARP_EDGE) -> float:
    """Return what runs over the lower rim of a round opening that is not filled: Cd times the sum of b sqrt(2 g h).

    Every strip of the opening, b wide and h under the surface, passes water with its own head.

    Parameters
    ----------
    bore : float
        Inside diameter, > 0, [m].
    depth : float
        Water above the lowest point of the opening, 0 <= depth <= bore, [m].
    coefficient : float, optional
        Discharge coefficient, > 0.

    Returns
    -------
    float
        [m3/s].

    Raises
    ------
    OutOfRange
        If a number is not in its range: more than full it is an opening under a head.

    Examples
    --------
    A pipe of 100 mm, filled to the middle:

    >>> round(part_full(0.100, 0.050) * 1000, 2)
    1.42
    """
    above_zero(bore, "the bore")
    above_zero(coefficient, "the coefficient")
    if not_negative(depth, "the depth") > bore:
        raise OutOfRange(f"A depth of {depth} m fills an opening of {bore} m: it runs under a head.")
    # With y = depth cos2(a) the sum over all strips is that of a smooth periodic function: few steps give it exactly.
    turns = [(step + 0.5) * pi / (2.0 * STEPS) for step in range(STEPS)]
    strips = ((cos(turn) * sin(turn)) ** 2 * sqrt(bore - depth * cos(turn) ** 2) for turn in turns)
    return coefficient * sqrt(2.0 * GRAVITY) * 4.0 * depth**2 * sum(strips) * pi / (2.0 * STEPS)


def overflow_capacity(tank: Tank) -> float | None:
    """Return what a tank's overflow passes just before the brim spills too.

    The head is what the brim stands above the middle of the overflow pipe; where the brim does not stand above the
    top of the pipe, it runs part full.

    Parameters
    ----------
    tank : Tank
        With `overflow` as the invert and `overflow_bore`.

    Returns
    -------
    float or None
        [m3/s]; None when the bore was never measured, infinite when the tank spills over its brim all round.

    Examples
    --------
    >>> from tankdash.water.shapes import Straight
    >>> tote = Tank("north", Straight(1.0, 1.05), brim=1.05, overflow=0.95, overflow_bore=0.05)
    >>> round(overflow_capacity(tote) * 1000, 2)
    1.43
    """
    if tank.overflow is None:
        return inf
    if tank.overflow_bore is None:
        return None
    depth = tank.brim - tank.overflow
    if depth < tank.overflow_bore:
        return part_full(tank.overflow_bore, max(0.0, depth), OVERFLOW)
    return flow_through(round_opening(tank.overflow_bore), depth - 0.5 * tank.overflow_bore, OVERFLOW)


def emitter_head(wanted: float, known: float, known_head: float, exponent: float) -> float:
    """Return the head at which an emitter gives what is wanted: q = k H^x.

    Parameters
    ----------
    wanted, known : float
        Flow wanted and the flow it gives at `known_head`, > 0, in one unit.
    known_head : float
        > 0, [m].
    exponent : float
        x of the emitter, 0 < x <= 1.

    Returns
    -------
    float
        [m].

    Raises
    ------
    OutOfRange
        If a flow or the head is not finite and above 0, or the exponent lies outside.

    Examples
    --------
    >>> round(emitter_head(4.32, 4.0, 10.0, 0.42), 1)
    12.0
    """
    for what, value in (("flow wanted", wanted), ("flow known", known), ("head", known_head)):
        above_zero(value, f"the {what}")
    if not 0.0 < exponent <= 1.0:
        raise OutOfRange(f"the exponent of an emitter must lie above 0 and at 1 at most, not {exponent:g}")
    return float(known_head * (wanted / known) ** (1.0 / exponent))
