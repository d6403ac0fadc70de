"""The stick table: what every reading of one tank's stick means for the whole bank, to print and tape to the tank."""

from __future__ import annotations

from dataclasses import dataclass

from tankdash.site.model import DipRule
from tankdash.water.holding import usable
from tankdash.water.model import Layout
from tankdash.water.rest import at_rest


@dataclass(frozen=True)
class StickRow:
    """One reading and what it means."""

    reading: float
    """As the stick shows it under the tank's dip rule, [m]."""
    depth: float
    """Water above the tank's floor, [m]."""
    total_low: float
    total_high: float
    """What all tanks together hold; the two differ where a tank is cut off, [m3]."""
    usable_low: float
    usable_high: float
    """Of that, what can reach an outlet, [m3]."""


def stick_table(layout: Layout, tank: str, rule: DipRule, step: float) -> list[StickRow]:
    """Return the table from the floor of `tank` to its lip, every `step`, the lip itself last (R4, R7).

    Parameters
    ----------
    layout : Layout
        The bank as it stands.
    tank : str
        The tank that is dipped.
    rule : DipRule
        How its stick is read.
    step : float
        0 < step, [m].

    Returns
    -------
    list of StickRow
        By rising depth.

    Raises
    ------
    ValueError
        If the step is not above zero or asks for more than ten thousand rows.
    """
    dipped = layout.tanks[tank]
    if not step > 0.0 or dipped.lip / step > 10_000:
        raise ValueError(
            "the step of a stick table must be above zero and not finer than the table is useful"
        )
    depths = [number * step for number in range(int(dipped.lip / step + 1e-9) + 1)]
    if dipped.lip - depths[-1] > 1e-6:
        depths.append(dipped.lip)
    rows = []
    for depth in depths:
        rest = at_rest(layout, {tank: depth})
        low = {key: found.low for key, found in rest.tanks.items()}
        high = {key: found.high for key, found in rest.tanks.items()}
        rows.append(
            StickRow(
                reading=reading_of(depth, rule, dipped.brim, dipped.silt),
                depth=depth,
                total_low=sum(low.values()),
                total_high=sum(high.values()),
                usable_low=sum(usable(layout, low).values()),
                usable_high=sum(usable(layout, high).values()),
            )
        )
    return rows


def reading_of(depth: float, rule: DipRule, brim: float, silt: float) -> float:
    """Return what the stick shows when the water stands `depth` above the floor: the dip rule turned round, [m]."""
    if rule.measured_from == "brim":
        return brim - depth - rule.offset
    return depth - rule.offset - (silt if rule.on_silt else 0.0)
