"""Figures and warnings as values, light enough for the first frame: nothing here works anything out."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """One warning: its code for programs, its sentence for people."""

    code: str
    text: str


WORTH_A_RANGE = 0.01
"""Share of what is held when full within which a figure stands alone."""


def needs_range(low_l: float, high_l: float, full_l: float) -> bool:
    """Return whether a likely figure would say more than is known: its ends lie apart by more than can be meant.

    Parameters
    ----------
    low_l, high_l : float
        What it is at least and at most, [L].
    full_l : float
        What is held when full, [L].

    Examples
    --------
    >>> needs_range(999.0, 1332.0, 6660.0), needs_range(620.0, 624.0, 950.0)
    (True, False)
    """
    return high_l - low_l > max(0.5, WORTH_A_RANGE * full_l)


@dataclass(frozen=True)
class Totals:
    """The whole garden; tanks that cannot breathe are left out (R11)."""

    volume_l: float | None
    low_l: float
    high_l: float
    usable_l: float | None
    below_outlet_l: float | None
    full_l: float
    usable_full_l: float
    headroom_l: float | None
    lost_to_bases_l: float
    percent: float | None
    """Usable of what is usable when full."""
    usable_low_l: float = 0.0
    usable_high_l: float = 0.0
