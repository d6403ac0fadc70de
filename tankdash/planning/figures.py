"""Figures as they go into JSON: litres, rounded to what can be meant by them, without a negative zero."""

from __future__ import annotations

from tankdash.keeping.state.levels import rounded

__all__ = ["litres", "rounded"]


def litres(volume: float) -> float:
    """Return a volume in litres, to the tenth of a millilitre, [m3] to [L].

    Examples
    --------
    >>> litres(0.41)
    410.0
    """
    return rounded(volume * 1000.0, 4)
