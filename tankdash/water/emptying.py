"""How long a tank takes to run down through an opening, and two to draw level, over their real shapes."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import pairwise
from math import sqrt

from tankdash.water.errors import OutOfRange
from tankdash.water.model import Shape
from tankdash.water.openings import SHARP_EDGE, flow_through
from tankdash.water.shapes import Cone, Partly, Table

_NODES = (
    (0.0, 128.0 / 225.0),
    (sqrt(5.0 - 2.0 * sqrt(10.0 / 7.0)) / 3.0, (322.0 + 13.0 * sqrt(70.0)) / 900.0),
    (sqrt(5.0 + 2.0 * sqrt(10.0 / 7.0)) / 3.0, (322.0 - 13.0 * sqrt(70.0)) / 900.0),
)
"""Places and weights of Gauss and Legendre's five-point rule, on either side of the middle."""


def _panel(function: Callable[[float], float], low: float, high: float) -> float:
    """Return the integral over one panel by the five-point rule."""
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    total = _NODES[0][1] * function(middle)
    for place, weight in _NODES[1:]:
        total += weight * (function(middle - half * place) + function(middle + half * place))
    return half * total


def kinks(shape: Shape) -> tuple[float, ...]:
    """Return the depths at which a shape's water surface changes its law: table rows, the top of a cone, [m]."""
    while isinstance(shape, Partly):
        shape = shape.shape
    if isinstance(shape, Table):
        return tuple(depth for depth, _ in shape.rows)
    return (shape.cone,) if isinstance(shape, Cone) else ()


def integral(
    function: Callable[[float], float],
    low: float,
    high: float,
    *,
    breaks: Iterable[float] = (),
    precision: float = 1e-9,
) -> float:
    """Return the integral of `function`, in its unit times that of `low` and `high`, [-] where both are plain numbers.

    Panels are halved until they agree to `precision` of the whole; they begin and end at `breaks`, where it may jump.
    """
    ends = [low, *sorted(place for place in set(breaks) if low < place < high), high]
    waiting = [(start, end, _panel(function, start, end), 0) for start, end in pairwise(ends) if start < end]
    whole = sum(abs(value) for _, _, value, _ in waiting)
    total = 0.0
    while waiting:
        start, end, coarse, halvings = waiting.pop()
        middle = 0.5 * (start + end)
        left, right = _panel(function, start, middle), _panel(function, middle, end)
        agree = abs(left + right - coarse) <= precision * whole * (end - start) / (high - low)
        # Two rules may agree by chance on a wide panel: never stop before it is cut in eight.
        if (agree and halvings >= 2) or halvings >= 40:
            total += left + right
        else:
            waiting.append((start, middle, left, halvings + 1))
            waiting.append((middle, end, right, halvings + 1))
    return total


def time_to_run_down(
    shape: Shape,
    area: float,
    start: float,
    end: float,
    *,
    at: float = 0.0,
    coefficient: float = SHARP_EDGE,
) -> float:
    """Return how long a tank takes to run from one depth to another through an opening.

    The integral of water surface over flow, dt = A dh / (Cd a sqrt(2 g h)), over the real shape.

    Parameters
    ----------
    shape : Shape
        Inside of the tank.
    area : float
        Of the opening, > 0, [m2].
    start, end : float
        Depths, at <= end <= start <= shape.height, [m].
    at : float, optional
        Height of the opening above the floor, [m].
    coefficient : float, optional
        Discharge coefficient.

    Returns
    -------
    float
        [s].

    Raises
    ------
    OutOfRange
        If the depths are not in that order, or a number is impossible.

    Examples
    --------
    >>> from tankdash.water.openings import round_opening
    >>> from tankdash.water.shapes import Upright
    >>> round(time_to_run_down(Upright(1.2, 3.0), round_opening(0.050), 3.0, 0.0), 1)
    750.9
    """
    if not 0.0 <= at <= end <= start <= shape.height:
        raise OutOfRange(
            f"a tank cannot run down from {start:g} m to {end:g} m through an opening at {at:g} m"
        )
    strength = flow_through(area, 1.0, coefficient)

    # With the root of the head as the variable the integrand stays finite down to the opening.
    def slow(root: float) -> float:
        return 2.0 * shape.area(min(shape.height, at + root * root)) / strength

    breaks = [sqrt(depth - at) for depth in kinks(shape) if depth > at]
    return integral(slow, sqrt(end - at), sqrt(start - at), breaks=breaks)


def time_to_level(
    high: Shape,
    low: Shape,
    area: float,
    high_surface: float,
    low_surface: float,
    *,
    high_base: float = 0.0,
    low_base: float = 0.0,
    until: float = 0.0,
    coefficient: float = SHARP_EDGE,
) -> float:
    """Return how long two tanks take to draw level through a drowned opening, over their real shapes.

    For straight walls it is t = 2 A1 A2 (sqrt d1 - sqrt d2) / (Cd a sqrt(2 g) (A1 + A2)).

    Parameters
    ----------
    high, low : Shape
        The tank that gives and the one that takes.
    area : float
        Of the opening, > 0, [m2].
    high_surface, low_surface : float
        Above the datum, low_surface <= high_surface, [m].
    high_base, low_base : float, optional
        Floors above the datum, [m].
    until : float, optional
        Difference at which to stop, [m].
    coefficient : float, optional
        Discharge coefficient.

    Returns
    -------
    float
        [s]; 0 if they are no further apart than `until`.

    Raises
    ------
    OutOfRange
        If a surface lies outside its tank, or the lower stands higher.

    Examples
    --------
    >>> from tankdash.water.shapes import Box
    >>> round(time_to_level(Box(4, 2, 3), Box(2, 2, 3), 0.01, 1.3, 1.0, until=0.1, coefficient=0.62), 1)
    45.0
    """
    if low_surface > high_surface:
        raise OutOfRange(f"the tank that gives stands lower: {high_surface:g} m against {low_surface:g} m")
    given, taken = high.volume(high_surface - high_base), low.volume(low_surface - low_base)
    most = min(given, low.volume(low.height) - taken)

    def difference(moved: float) -> float:
        giving = high_base + high.depth(max(0.0, given - moved))
        return giving - (low_base + low.depth(min(taken + moved, low.volume(low.height))))

    if difference(0.0) <= until:
        return 0.0
    if difference(most) > until:
        raise OutOfRange("one tank runs empty or full before the two are level")
    least = 0.0
    for _ in range(200):
        middle = 0.5 * (least + most)
        if not least < middle < most:
            break
        least, most = (middle, most) if difference(middle) > until else (least, middle)
    moved = least
    strength = flow_through(area, 1.0, coefficient)

    # The last drops move ever slower; the root of what is still to move keeps the integrand finite.
    def slow(root: float) -> float:
        apart = difference(moved * (1.0 - root * root))
        return 2.0 * moved * root / (strength * sqrt(apart)) if apart > 0.0 else 0.0

    return integral(slow, 0.0, 1.0, precision=1e-7)
