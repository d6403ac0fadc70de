"""The one error of the water floor, and the guards that raise it."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from typing import Literal, TypeVar

Thing = TypeVar("Thing")

ROUNDING = 1e-9
"""Rounding forgiven at either end of a range, a share of it or of one, whichever is larger."""


class OutOfRange(ValueError):
    """A number lies outside what the thing asked about can be; clamping is the caller's decision."""


def within(value: float, top: float, what: str, unit: str) -> float:
    """Return `value` if it lies in 0 <= value <= top, what is outside by rounding moved to the end.

    Parameters
    ----------
    value, top : float
        What is asked about and its largest possible value, in `unit`.
    what, unit : str
        Words for the error sentence.

    Returns
    -------
    float
        0 <= value <= top; never a negative zero.

    Raises
    ------
    OutOfRange
        If it lies further outside than `ROUNDING`, or is no finite number.
    """
    if 0.0 < value < top:
        return value
    rounding = ROUNDING * max(1.0, top)
    if -rounding <= value <= 0.0:
        return 0.0
    if top <= value <= top + rounding:
        return top
    raise OutOfRange(f"a {what} of {value:g} {unit} is outside 0 to {top:g} {unit}")


def not_negative(value: float, what: str, unit: str = "") -> float:
    """Return `value` if it is finite and 0 or more; else raise OutOfRange with words for what it is."""
    if not (isfinite(value) and value >= 0.0):
        raise OutOfRange(f"{what} must be finite and not negative, not {value:g} {unit}".rstrip())
    return value


def above_zero(value: float, what: str, unit: str = "") -> float:
    """Return `value` if it is finite and more than 0; else raise OutOfRange with words for what it is."""
    if not (isfinite(value) and value > 0.0):
        raise OutOfRange(f"{what} must be finite and above 0, not {value:g} {unit}".rstrip())
    return value


def named(name: str, things: Mapping[str, Thing], kind: Literal["tank", "outlet"]) -> Thing:
    """Return what a layout has under a name.

    Raises
    ------
    OutOfRange
        If it has no such thing; the sentence names those it has.

    Examples
    --------
    >>> named("north", {"north": 1, "south": 2}, "tank")
    1
    """
    if name not in things:
        raise OutOfRange(f"there is no {kind} {name!r} in this layout; it has {', '.join(things)}")
    return things[name]
