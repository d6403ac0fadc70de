"""Figures as they go into JSON: litres, rounded to what can be meant by them, without a negative zero."""

from __future__ import annotations


def rounded(value: float, places: int) -> float:
    """Return `value` rounded, never a negative zero.

    Examples
    --------
    >>> rounded(-0.00001, 3)
    0.0
    """
    return round(value, places) + 0.0


def litres(volume: float) -> float:
    """Return a volume in litres, to the tenth of a millilitre, [m3] to [L].

    Examples
    --------
    >>> litres(0.41)
    410.0
    """
    return rounded(volume * 1000.0, 4)
