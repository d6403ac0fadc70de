"""Figures and warnings as values, light enough for the first frame: nothing here works anything out."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """One warning: its code for programs, its sentence for people."""

    code: str
    text: str


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
