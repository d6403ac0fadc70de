"""From what was read to a depth: stick, tape, gauge, sight tube, and what a small error of it means in litres."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Literal

from tankdash.water.errors import OutOfRange, not_negative
from tankdash.water.model import Shape, Tank


def depth_from_gap(gap: float, reference: float | None) -> float:
    """Return the depth below a dry length measured from a mark.

    Depth is reference height less gap: API Manual of Petroleum Measurement Standards, ch. 2 terms.

    Parameters
    ----------
    gap : float
        Dry length from the mark down to the water, >= 0, [m].
    reference : float or None
        Height of the mark above the tank's floor, [m]; None when nobody measured it.

    Returns
    -------
    float
        Depth above the floor, [m].

    Raises
    ------
    OutOfRange
        If there is no reference height, or the gap is negative or deeper than it.

    Examples
    --------
    >>> round(depth_from_gap(0.3175, reference=1.1684), 4)
    0.8509
    """
    if reference is None:
        raise OutOfRange("a gap says nothing without the height of the mark it was measured from")
    if not_negative(gap, "a gap", "m") > reference:
        raise OutOfRange(
            f"a gap of {gap:g} m is deeper than the mark stands above the floor, {reference:g} m"
        )
    return reference - gap


def depth_from_reading(
    reading: float,
    *,
    brim: float,
    measured_from: Literal["floor", "brim"] = "floor",
    offset: float = 0.0,
    silt_under_stick: float = 0.0,
) -> float:
    """Return the depth above the floor that a dip means.

    Parameters
    ----------
    reading : float
        Wet length from the floor, or dry length below the brim, >= 0, [m].
    brim : float
        Top of the tank above its floor, [m].
    measured_from : {"floor", "brim"}, optional
        Depth or gap.
    offset : float, optional
        Added to every reading: a stick that starts above its zero, a leaning tank dipped off its middle, [m].
    silt_under_stick : float, optional
        Depth of silt the stick stands on, 0 when it goes through to the floor, [m].

    Returns
    -------
    float
        0 <= depth <= brim, [m].

    Raises
    ------
    OutOfRange
        If the reading is negative or not finite, lies above the brim, or the gap is deeper than the tank.

    Examples
    --------
    >>> depth_from_reading(0.6, brim=1.05)
    0.6
    >>> round(depth_from_reading(0.45, brim=1.05, measured_from="brim"), 4)
    0.6
    >>> round(depth_from_reading(0.55, brim=1.05, silt_under_stick=0.05), 4)
    0.6
    """
    not_negative(reading, "a reading", "m")
    if measured_from == "brim":
        # A tape held above the brim has a negative offset: only what is too deep either way is refused.
        if min(reading, reading + offset) > brim:
            raise OutOfRange(f"a gap of {reading:g} m is deeper than the tank, {brim:g} m from brim to floor")
        depth = brim - (reading + offset)
    else:
        depth = reading + offset + silt_under_stick
    if depth > brim * (1.0 + 1e-12):
        raise OutOfRange(f"a depth of {depth:g} m lies above the brim at {brim:g} m")
    # An offset may carry a stick that just touches the floor below it: the tank is dry.
    return min(brim, max(0.0, depth))


@dataclass(frozen=True)
class LinearGauge:
    """A gauge whose mark moves evenly with the water: depth = at_zero + per_mark x mark."""

    at_zero: float
    """Depth at mark 0, [m]."""
    per_mark: float
    """Rise of the water for one mark, negative where the weight sinks as the water rises, [m]."""

    def depth(self, mark: float) -> float:
        """Return the depth that a mark means, [m]; OutOfRange when the mark is no finite number."""
        if not isfinite(mark):
            raise OutOfRange(f"a mark must be a finite number, not {mark:g}")
        return self.at_zero + self.per_mark * mark

    def mark(self, depth: float) -> float:
        """Return the mark at which the gauge stands for a depth, [m]; OutOfRange when it is not finite."""
        if not isfinite(depth):
            raise OutOfRange(f"a depth must be a finite number, not {depth:g}")
        return (depth - self.at_zero) / self.per_mark


def gauge_through(one: tuple[float, float], other: tuple[float, float]) -> LinearGauge:
    """Return the gauge that two known levels settle.

    Parameters
    ----------
    one, other : tuple of float
        Mark and the depth it stood for, [m].

    Returns
    -------
    LinearGauge
        Rising or falling.

    Raises
    ------
    OutOfRange
        If both points have the same depth or the same mark: they say nothing about the scale.

    Examples
    --------
    A weight outside sinks from 1.6 to 0.4 as the tank fills:

    >>> gauge = gauge_through((1.6, 0.0), (0.4, 1.2))
    >>> round(gauge.depth(1.0), 6), round(gauge.per_mark, 6)
    (0.6, -1.0)
    """
    (mark_one, depth_one), (mark_other, depth_other) = one, other
    if not all(map(isfinite, (*one, *other))):
        raise OutOfRange("marks and depths of a gauge must be finite numbers")
    if depth_one == depth_other:
        raise OutOfRange(
            "two levels of the same depth cannot settle a gauge: read it once nearly empty, once full"
        )
    if mark_one == mark_other:
        raise OutOfRange(
            "the gauge stood at the same mark at two different depths: it is stuck or was misread"
        )
    per_mark = (depth_other - depth_one) / (mark_other - mark_one)
    return LinearGauge(depth_one - per_mark * mark_one, per_mark)


def share_of_steps(steps: float, total: float, widths: Shape | None = None) -> float:
    """Return how full a tank is that is read in rungs, ribs or stacked modules, as a share.

    Without a known volume a share is all that can be said; litres need a counted fill between two marks.

    Parameters
    ----------
    steps, total : float
        Rungs under water and rungs in all, 0 <= steps <= total.
    widths : Shape, optional
        Shape of the tank in any unit, its whole height standing for all rungs; None for straight sides.

    Returns
    -------
    float
        0 to 1, [-].

    Raises
    ------
    OutOfRange
        If the steps are not within the total.

    Examples
    --------
    >>> round(share_of_steps(2.5, 12), 3)
    0.208
    """
    if not (isfinite(total) and total > 0.0 and 0.0 <= steps <= total):
        raise OutOfRange(f"{steps:g} of {total:g} steps is not a level")
    if widths is None:
        return steps / total
    return widths.volume(steps / total * widths.height) / widths.volume(widths.height)


def sensitivity(tank: Tank, depth: float) -> float:
    """Return what a small change of the reading means: volume per depth at `depth`, [m3/m].

    Parameters
    ----------
    tank : Tank
        The tank.
    depth : float
        Above its floor, 0 <= depth <= brim, [m]; OutOfRange outside.

    Examples
    --------
    >>> from tankdash.water.shapes import Straight
    >>> tote = Tank("north", Straight(1.0, 1.0), brim=1.0)
    >>> round(sensitivity(tote, 0.6) * 0.0254 / 8 * 1000, 1)
    3.2
    """
    if not 0.0 <= depth <= tank.brim:
        raise OutOfRange(f"a depth of {depth:g} m is outside 0 to the brim at {tank.brim:g} m")
    return tank.shape.area(depth)
