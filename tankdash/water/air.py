"""Air that cannot get out: how far water rises in a tank or sight tube that is closed at the top (R11)."""

from __future__ import annotations

from math import isfinite, sqrt

from tankdash.water.errors import OutOfRange, named
from tankdash.water.model import Contents, Layout, Tank

ATMOSPHERE = 10.33
"""Standard atmosphere as a height of water: 101 325 Pa over 1000 kg/m3 and 9.80665 m/s2, [m]."""


def rise_under_trapped_air(height: float, outside: float) -> float:
    """Return how far water rises in a straight vessel that is closed at the top and was empty when closed (R11).

    Boyle: atmosphere x height / (height - rise) - atmosphere = outside - rise, at one temperature.

    Parameters
    ----------
    height : float
        Of the air inside, > 0, [m].
    outside : float
        Surface outside above the vessel's floor or foot, [m].

    Returns
    -------
    float
        0 <= rise < height, [m]; 0 when the water outside does not reach its foot.

    Raises
    ------
    OutOfRange
        If `height` is not above 0, or a number is not finite.

    Examples
    --------
    A barrel 0.9 m high with its lid on tight, its neighbours full:

    >>> round(rise_under_trapped_air(0.9, 0.9), 3)
    0.067

    A sight tube of 1.2 m with its top plugged shows a tenth of the metre beside it:

    >>> round(rise_under_trapped_air(1.2, 1.0), 3)
    0.097
    """
    if not (isfinite(height) and height > 0.0 and isfinite(outside)):
        raise OutOfRange(
            f"trapped air needs a height above 0 and a finite surface, not {height:g}, {outside:g} m"
        )
    if outside <= 0.0:
        return 0.0
    # rise^2 - b rise + height x outside = 0; the product over the larger root keeps all digits.
    b = height + outside + ATMOSPHERE
    return 2.0 * height * outside / (b + sqrt(b * b - 4.0 * height * outside))


def depth_under_trapped_air(tank: Tank, outside: float) -> float:
    """Return how deep water stands in a closed tank of any shape that was empty when closed (R11).

    Parameters
    ----------
    tank : Tank
        Closed at its brim.
    outside : float
        Surface of what pushes in, above the datum, [m].

    Returns
    -------
    float
        Depth above the tank's floor, silt when dry <= depth < brim, [m].

    Raises
    ------
    OutOfRange
        If `outside` is not a finite number.

    Examples
    --------
    >>> from tankdash.water.shapes import Straight
    >>> barrel = Tank("barrel", Straight(area=0.26, height=0.9), brim=0.9, vented=False)
    >>> round(depth_under_trapped_air(barrel, 0.9), 3)
    0.067
    """
    if not isfinite(outside):
        raise OutOfRange(f"the surface outside must be a finite height, not {outside:g}")
    air = tank.capacity
    push = outside - tank.base
    low, high = tank.silt, min(tank.brim, push)
    if high <= low:
        return low
    for _ in range(200):
        middle = 0.5 * (low + high)
        if not low < middle < high:
            break
        left = air - tank.volume(middle)
        if left > 0.0 and ATMOSPHERE * (air / left - 1.0) < push - middle:
            low = middle
        else:
            high = middle
    return low


def most_behind_closed_vent(layout: Layout, tank: str, contents: Contents) -> float:
    """Return the most that links can have pushed into a tank that cannot breathe (R11).

    It is taken as empty when it was closed. Its own pool level says nothing about it.

    Parameters
    ----------
    layout : Layout
        What stands there.
    tank : str
        The closed tank.
    contents : mapping of str to float
        Water in its neighbours: as full as they can have been, [m3].

    Returns
    -------
    float
        Upper bound, [m3]. What it holds at its lip, when a roof or an overflow fills it from above.

    Raises
    ------
    OutOfRange
        If there is no such tank.

    Examples
    --------
    >>> from tankdash.water.model import Link
    >>> from tankdash.water.shapes import Straight
    >>> barrels = {
    ...     "a": Tank("a", Straight(0.26, 0.9), brim=0.9),
    ...     "b": Tank("b", Straight(0.26, 0.9), brim=0.9, vented=False),
    ... }
    >>> layout = Layout(barrels, {"a-b": Link("a-b", ("a", "b"), (0.0, 0.0))})
    >>> round(most_behind_closed_vent(layout, "b", {"a": 0.234}) * 1000, 1)
    17.5
    """
    closed = named(tank, layout.tanks, "tank")
    from_above = any(roof.fills == tank for roof in layout.roofs.values()) or any(
        other.overflow_to == tank for other in layout.tanks.values()
    )
    if from_above:
        return closed.lip_volume
    surfaces = [
        neighbour.base + neighbour.depth(contents.get(name, 0.0))
        for link in layout.links.values()
        if link.is_open and tank in link.joins
        for name in link.joins
        if name != tank
        for neighbour in (layout.tanks[name],)
    ]
    if not surfaces:
        return 0.0
    return min(closed.lip_volume, closed.volume(depth_under_trapped_air(closed, max(surfaces))))
