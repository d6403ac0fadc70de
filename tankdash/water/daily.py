"""A store through days of rain and use: the daily balance, yield after or before spillage (R18)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Literal

from tankdash.water.errors import OutOfRange, not_negative

Rule = Literal["YAS", "YBS"]
"""Whether the day's use is drawn after the day's rain has spilled (YAS) or before (YBS)."""


ROUNDING = 1e-9
"""A day that lacks no more than this share of what it wants is served in full."""


@dataclass(frozen=True)
class DailyBalance:
    """What a store gave and lost, day by day; start + inflow = yields + spilled + what it holds."""

    demand: tuple[float, ...]
    """Wanted, [m3]."""
    yields: tuple[float, ...]
    """Given, [m3]."""
    spilled: tuple[float, ...]
    """Over the lip, [m3]."""
    stored: tuple[float, ...]
    """Held at the end of each day, [m3]."""

    @property
    def volume_reliability(self) -> float:
        """Share of what was wanted that was given, 1 when nothing was wanted, [-]."""
        wanted = sum(self.demand)
        return sum(self.yields) / wanted if wanted > 0.0 else 1.0

    @property
    def days_met(self) -> int:
        """Days with a demand that were served in full."""
        return sum(
            wanted > 0.0 and given >= wanted * (1.0 - ROUNDING)
            for wanted, given in zip(self.demand, self.yields, strict=True)
        )

    @property
    def days_wanted(self) -> int:
        """Days with a demand."""
        return sum(wanted > 0.0 for wanted in self.demand)

    @property
    def day_reliability(self) -> float:
        """Share of the days with a demand that were served in full, 1 when there were none, [-]."""
        return self.days_met / self.days_wanted if self.days_wanted else 1.0


def balance(
    storage: float, start: float, inflow: Sequence[float], demand: Sequence[float], rule: Rule = "YAS"
) -> DailyBalance:
    """Run a store through its days (R18).

    YAS: Y = min(D, V'), V = min(V' + Q - Y, S - Y): the safe rule, the day's rain is not used that day.
    YBS: Y = min(D, V' + Q), V = min(V' + Q - Y, S). V' is what it held the day before.

    Parameters
    ----------
    storage : float
        Usable water when full, >= 0, [m3].
    start : float
        Held before the first day, 0 <= start <= storage, [m3].
    inflow, demand : sequence of float
        Caught and wanted each day, of one length, >= 0, [m3].
    rule : {"YAS", "YBS"}, optional
        The order of spilling and drawing.

    Returns
    -------
    DailyBalance
        Day by day.

    Raises
    ------
    OutOfRange
        If a number is negative or not finite, `start` is above `storage`, the lengths differ, or the rule is
        not known.

    References
    ----------
    D. Jenkins and others, Feasibility of Rainwater Collection Systems in California, 1978; A. Fewkes and D. Butler,
    Building Services Engineering Research and Technology 21 (2), 2000.

    Examples
    --------
    >>> run = balance(200.0, 50.0, [0, 60, 0, 300, 0, 0], [40] * 6)
    >>> run.yields, round(run.volume_reliability, 4), run.days_met
    ((40.0, 10.0, 40.0, 20.0, 40.0, 40.0), 0.7917, 4)
    """
    if rule not in ("YAS", "YBS"):
        raise OutOfRange(f"the rule is YAS or YBS, not {rule!r}")
    if len(inflow) != len(demand):
        raise OutOfRange(f"there are {len(inflow)} days of inflow but {len(demand)} days of demand")
    if not (isfinite(storage) and 0.0 <= start <= storage):
        raise OutOfRange(f"a store of {storage:g} m3 cannot start with {start:g} m3")
    for value in (*inflow, *demand):
        not_negative(value, "inflow and demand", "m3")
    held = float(start)
    yields, spilled, stored = [], [], []
    for came, wanted in zip(inflow, demand, strict=True):
        given = float(min(wanted, held if rule == "YAS" else held + came))
        room = storage - given if rule == "YAS" else storage
        left = held + came - given
        held = min(left, room)
        yields.append(given)
        spilled.append(left - held)
        stored.append(held)
    return DailyBalance(tuple(map(float, demand)), tuple(yields), tuple(spilled), tuple(stored))
