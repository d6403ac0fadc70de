"""The stick table: what every reading of one tank's stick means for the whole bank, to print and tape to the tank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, inf
from statistics import median

from tankdash.site.model import DipRule
from tankdash.water.holding import full, usable
from tankdash.water.model import Layout
from tankdash.water.readings import gauge_through
from tankdash.water.rest import at_rest
from tankdash.water.sills import banks

MOST_LINES = 2000
"""No printed table is longer."""
SAME_WATER = 1e-6
"""Volumes that differ by less are one, [m3]."""


@dataclass(frozen=True)
class StickRow:
    """One reading and what it means."""

    reading: float
    """As the stick shows it under the tank's dip rule, [m]."""
    depth: float
    """Water above the tank's floor, [m]."""
    total_low: float
    total_high: float
    """What the tanks of the bank hold together; the two differ where one is cut off, [m3]."""
    usable_low: float
    usable_high: float
    """Of that, what can reach an outlet, [m3]."""

    @property
    def is_sure(self) -> bool:
        """Whether the total is one figure."""
        return self.total_high - self.total_low <= SAME_WATER

    @property
    def usable_is_sure(self) -> bool:
        """Whether what is usable is one figure."""
        return self.usable_high - self.usable_low <= SAME_WATER


def stick_table(layout: Layout, tank: str, rule: DipRule, step: float) -> list[StickRow]:
    """Return the table from the floor of `tank` to where its pool spills, a line for every `step` (R4, R7).

    Parameters
    ----------
    layout : Layout
        The bank as it stands.
    tank : str
        The tank that is dipped.
    rule : DipRule
        How its stick is read.
    step : float
        From reading to reading, 0 < step; the lines at either end may lie closer, [m].

    Returns
    -------
    list of StickRow
        By rising depth.

    Raises
    ------
    ValueError
        If the step is not above zero, or makes more lines than anybody prints.
    """
    if not 0.0 < step < inf:
        raise ValueError("The step of a stick table must be above zero: write it as 1 cm or 1/2 in.")
    dipped, top = layout.tanks[tank], top_of(layout, tank)
    begins, ends = (reading_of(depth, rule, dipped.brim, dipped.silt) for depth in (0.0, top))
    low, high = max(0.0, min(begins, ends)), max(begins, ends)
    if (high - low) / step > MOST_LINES:
        raise ValueError(
            f"That step makes more than {MOST_LINES} lines: write a larger one, such as 1 cm or 1/2 in."
        )
    first, last = ceil(low / step - 1e-6), floor(high / step + 1e-6)
    readings = [number * step for number in range(first, last + 1)]
    readings += [end for end in (low, high) if all(abs(end - one) > 1e-6 for one in readings)]
    rows, bank = [], bank_of(layout, tank)
    for reading in readings:
        depth = min(top, max(0.0, top * (reading - begins) / (ends - begins)))
        rest = at_rest(layout, {tank: depth})
        held_low = {key: rest.tanks[key].low for key in bank}
        held_high = {key: rest.tanks[key].high for key in bank}
        rows.append(
            StickRow(
                reading=reading,
                depth=depth,
                total_low=sum(held_low.values()),
                total_high=sum(held_high.values()),
                usable_low=sum(usable(layout, held_low).values()),
                usable_high=sum(usable(layout, held_high).values()),
            )
        )
    return sorted(rows, key=lambda row: row.depth)


def bank_of(layout: Layout, tank: str) -> tuple[str, ...]:
    """Return the tanks that a dip of `tank` tells of: those joined to it by open links, itself among them."""
    return next(bank for bank in banks(layout) if tank in bank)


def top_of(layout: Layout, tank: str) -> float:
    """Return the depth at which `tank` stands when its pool spills; its own lip when its inlets never fill it, [m]."""
    vessel = layout.tanks[tank]
    holds = full(layout)[tank]
    return min(vessel.lip, vessel.depth(holds)) if holds > 0.0 else vessel.lip


def reading_of(depth: float, rule: DipRule, brim: float, silt: float) -> float:
    """Return what the stick shows when the water stands `depth` above the floor: the dip rule turned round, [m]."""
    if rule.scale is not None:
        return gauge_through(*rule.scale).mark(depth)
    if rule.measured_from == "brim":
        return brim - depth - rule.offset
    return depth - rule.offset - (silt if rule.on_silt else 0.0)


def litres_per_length(rows: Sequence[StickRow]) -> float | None:
    """Return what a length on the stick is worth over most of the table, [m3/m]; None where no two lines are sure.

    The middle of the slopes from line to line, so that the parts below a link do not count.
    """
    slopes = [
        (after.total_low - before.total_low) / abs(after.reading - before.reading)
        for before, after in pairwise(rows)
        if before.is_sure and after.is_sure and abs(after.reading - before.reading) > 1e-9
    ]
    return median(slopes) if slopes else None
