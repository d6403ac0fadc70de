"""What the design page is asked: the part looked at and the figures that keys change, and the command for the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tankdash.planning.paper import usual_step
from tankdash.planning.sizing import Rule
from tankdash.planning.storms import USUAL_RATE_MM_H
from tankdash.units import Units, format_length

PARTS = ("storm", "load", "reach", "size", "stick")
"""In the order of the arrows."""
RATES_MM_H = (20.0, 40.0, 60.0, 80.0, USUAL_RATE_MM_H, 120.0, 150.0, 200.0)
RATES_IN_H = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)
"""Rain rates that plus and minus go through."""
STEPS_M = (0.005, 0.01, 0.02, 0.05, 0.1)
STEPS_IN = (0.25, 0.5, 1.0, 2.0, 4.0)
"""Steps of a stick table that plus and minus go through."""
ROOF_SHARES = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 3.0)
"""Roofs looked at beside the present one, as shares of it."""
INCH = 0.0254


@dataclass(frozen=True)
class Wishes:
    """What is on the screen, and for which figures."""

    part: str
    rate_mm_h: float
    """Of the storm."""
    step: float
    """From line to line of the stick table, [m]."""
    from_now: bool = False
    """Whether the storm begins with what the tanks hold."""
    tank: str | None = None
    """Tank of the stick table; the one dipped last until another is chosen."""
    roof_share: float = 1.0
    """Roof looked at beside the present one, as a share of it; 1 for none."""
    rule: Rule = "YAS"

    def more(self, units: Units, step: int) -> Wishes:
        """Return the wishes with the figure of the part made larger, or with a negative `step` smaller."""
        is_metric = units == "metric"
        if self.part == "storm":
            rates = RATES_MM_H if is_metric else [25.4 * inches for inches in RATES_IN_H]
            return replace(self, rate_mm_h=next_of(rates, self.rate_mm_h, step))
        if self.part == "size":
            return replace(self, roof_share=next_of(ROOF_SHARES, self.roof_share, step))
        if self.part == "stick":
            steps = STEPS_M if is_metric else [INCH * inches for inches in STEPS_IN]
            return replace(self, step=next_of(steps, self.step, step))
        return self

    def other(self, tanks: Sequence[str], shown: str | None, step: int) -> Wishes:
        """Return the wishes with what the part is asked about changed: tank, rule, or how the storm begins.

        Parameters
        ----------
        tanks : sequence of str
            Those that stand there.
        shown : str or None
            The tank whose table is on the screen.
        step : int
            How many tanks further.
        """
        if self.part == "stick" and shown in tanks:
            return replace(self, tank=tanks[(tanks.index(shown) + step) % len(tanks)])
        if self.part == "storm":
            return replace(self, from_now=not self.from_now)
        if self.part == "size":
            return replace(self, rule="YBS" if self.rule == "YAS" else "YAS")
        return self

    def command(self, units: Units, tank: str | None, roof: float | None) -> str:
        """Return the command that prints what the part shows.

        Parameters
        ----------
        units : Units
            Of the garden.
        tank : str or None
            The tank whose table is shown.
        roof : float or None
            The roof looked at beside the present one, [m2].
        """
        if self.part == "storm":
            in_inches = f"{self.rate_mm_h / 25.4:g}in/h"
            rate = f"{self.rate_mm_h:g}mm/h" if units == "metric" else in_inches
            return f"tankdash storm --rate {rate}{' --from-now' if self.from_now else ''}"
        if self.part == "load":
            return "tankdash check"
        if self.part == "reach":
            return "tankdash supply"
        if self.part == "size":
            beside = "" if roof is None else f" --roof {roof:g}m2"
            return f"tankdash size{beside}{'' if self.rule == 'YAS' else ' --rule YBS'}"
        step = format_length(self.step, units).replace(" ", "")
        return f"tankdash stick {tank or 'TANK'} --step {step}"


def usual_wishes(units: Units) -> Wishes:
    """Return what the page begins with: the storm at its usual rate, or the round figure next to it in inches."""
    rate = USUAL_RATE_MM_H if units == "metric" else 4.0 * 25.4
    return Wishes(PARTS[0], rate, usual_step(units))


def next_of(ladder: Sequence[float], value: float, step: int) -> float:
    """Return the rung above or below a value; the last one stays.

    Examples
    --------
    >>> next_of((1.0, 2.0, 4.0), 2.0, 1), next_of((1.0, 2.0, 4.0), 1.0, -1), next_of((1.0, 2.0, 4.0), 3.0, 1)
    (4.0, 1.0, 4.0)
    """
    if step > 0:
        return next((rung for rung in ladder if rung > value * (1.0 + 1e-9)), ladder[-1])
    return next((rung for rung in reversed(ladder) if rung < value * (1.0 - 1e-9)), ladder[0])
