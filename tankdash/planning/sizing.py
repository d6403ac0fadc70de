"""Storage against reliability: a bank run through years of daily rain at many sizes at once (R18).

The whole bank is taken as one store of the water its outlets can reach.
numpy is imported when a question is asked.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from tankdash.water.daily import ROUNDING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Daily = NDArray[np.float64]

Rule = Literal["YAS", "YBS"]
BLOCK_DAYS = 365
"""Days of a block; a store usually fills or empties within one, which is what makes blocks cheap to join."""


class Cancelled(Exception):
    """The owner stopped a long run."""


@dataclass(frozen=True)
class SizeResult:
    """What one size of store would have done over the whole record."""

    storage: float
    """Usable water when full, [m3]."""
    volume_reliability: float
    """Share of the water wanted that the store gave, 0 to 1."""
    day_reliability: float
    """Share of the days with a need on which it was met in full, 0 to 1."""
    dry_days_per_year: float
    """Days a year on which some need went unmet."""
    spilled_per_year: float
    """Water lost over the lip a year, [m3]."""
    years: float
    """Length of the record."""


def run_sizes(
    inflow: Sequence[float] | Daily,
    demand: Sequence[float] | Daily,
    storages: Sequence[float],
    *,
    start: Literal["empty", "full"] = "empty",
    rule: Rule = "YAS",
    progress: Callable[[float], bool] | None = None,
) -> list[SizeResult]:
    """Run every storage through the daily record and return what each would have given (R18).

    YAS, yield after spillage: Y = min(D, V'), V = min(V' + Q - Y, S - Y).
    YBS, yield before spillage: Y = min(D, V' + Q), V = min(V' + Q - Y, S).

    Each day depends on the day before, so the record cannot simply be spread out. But a store forgets: once
    it has been full or empty, what it held before no longer matters. The record is cut into blocks that are
    run side by side from a guessed start; those whose guess was wrong are run again from where the block
    before them ended, until every block begins where the last one stopped. Each day is computed by the rule
    itself, so the answer is that of the plain day-by-day run.

    Parameters
    ----------
    inflow, demand : array of shape (days,)
        Water that arrives and water wanted on each day, >= 0, [m3].
    storages : sequence of float
        Usable water when full, >= 0, [m3].
    start : str
        What the store holds on the first morning.
    rule : str
        YAS or YBS.
    progress : callable, optional
        Given the share done, 0 to 1; returns False to stop the run.

    Returns
    -------
    list of SizeResult
        In the order of `storages`.

    Raises
    ------
    ValueError
        If the arrays differ in length, are empty, or hold a negative or missing number.
    Cancelled
        If `progress` returned False.

    References
    ----------
    Jenkins et al. (1978); Fewkes and Butler (2000), Building Serv. Eng. Res. Technol. 21(2) (M).

    Examples
    --------
    >>> [result] = run_sizes([0, 60, 0, 300, 0, 0], [40] * 6, [200.0], start="empty")
    >>> round(result.day_reliability, 3)
    0.5
    """
    import numpy as np

    water_in = np.ascontiguousarray(inflow, dtype=float)
    wanted = np.ascontiguousarray(demand, dtype=float)
    if water_in.ndim != 1 or water_in.shape != wanted.shape or water_in.size == 0:
        raise ValueError("inflow and demand must be two rows of days of the same length")
    if (
        not (np.isfinite(water_in).all() and np.isfinite(wanted).all())
        or min(water_in.min(), wanted.min()) < 0
    ):
        raise ValueError("inflow and demand must be numbers of 0 or more on every day")
    sizes = np.asarray(storages, dtype=float)
    days = water_in.size
    blocks = -(-days // BLOCK_DAYS)
    by_day_in, by_day_want = np.zeros((2, blocks * BLOCK_DAYS))
    by_day_in[:days], by_day_want[:days] = water_in, wanted
    by_day_in = np.ascontiguousarray(by_day_in.reshape(blocks, BLOCK_DAYS).T)[:, :, None]
    by_day_want = np.ascontiguousarray(by_day_want.reshape(blocks, BLOCK_DAYS).T)[:, :, None]

    begins = np.repeat(sizes[None, :] * 0.5, blocks, axis=0)
    begins[0] = sizes if start == "full" else 0.0
    ends, given, served = np.empty((3, blocks, sizes.size))
    stale = np.arange(blocks)
    while stale.size:
        ends[stale], given[stale], served[stale] = _run_blocks(
            by_day_in[:, stale], by_day_want[:, stale], begins[stale], sizes, rule
        )
        stale = 1 + np.nonzero((begins[1:] != ends[:-1]).any(axis=1))[0]
        begins[1:] = ends[:-1]
        if progress is not None and not progress(1.0 - stale.size / blocks):
            raise Cancelled
    spilled = begins[0] + water_in.sum() - given.sum(axis=0) - ends[-1]
    served_days = served.sum(axis=0) - (blocks * BLOCK_DAYS - int((wanted > 0).sum()))
    wanted_total, wanted_days = float(wanted.sum()), int((wanted > 0).sum())
    years = days / 365.25
    return [
        SizeResult(
            storage=float(sizes[i]),
            volume_reliability=float(given[:, i].sum()) / wanted_total if wanted_total else 1.0,
            day_reliability=float(served_days[i]) / wanted_days if wanted_days else 1.0,
            dry_days_per_year=float(wanted_days - served_days[i]) / years,
            spilled_per_year=max(0.0, float(spilled[i])) / years,
            years=years,
        )
        for i in range(sizes.size)
    ]


def _run_blocks(
    water_in: Daily, wanted: Daily, begins: Daily, sizes: Daily, rule: Rule
) -> tuple[Daily, Daily, Daily]:
    """Run blocks side by side, (days, blocks, 1) in; return ends, given and days served, (blocks, sizes).

    A day without a need counts as served; the caller takes those off.
    """
    import numpy as np

    held = begins.copy()
    gave, room = np.empty((2, *held.shape))
    enough = np.empty(held.shape, dtype=bool)
    given, served = np.zeros((2, *held.shape))
    for arrives, want, met_from in zip(water_in, wanted, wanted * (1.0 - ROUNDING), strict=True):
        if rule == "YAS":
            np.minimum(want, held, out=gave)
            np.subtract(sizes, gave, out=room)
            held += arrives
            held -= gave
            np.minimum(held, room, out=held)
        else:
            held += arrives
            np.minimum(want, held, out=gave)
            held -= gave
            np.minimum(held, sizes, out=held)
        given += gave
        np.greater_equal(gave, met_from, out=enough)
        served += enough
    return held, given, served


def knee_in_words(results: Sequence[SizeResult], names: Sequence[str]) -> str:
    """Say what each further step of storage is worth in dry days, and where it stops being worth much.

    Parameters
    ----------
    results : sequence of SizeResult
        From small to large.
    names : sequence of str
        What to call each ("as it is", "one tote more").

    Returns
    -------
    str
        One or two sentences.
    """
    if not results:
        return "There is nothing to compare."
    if results[0].dry_days_per_year < 0.5:
        return f"{names[0].capitalize()}, under one day of need a year is missed; more would only spill less."
    parts = [f"{names[0]}: {results[0].dry_days_per_year:.0f} dry days a year"]
    parts += [
        f"{name}: {result.dry_days_per_year:.0f}" for name, result in zip(names[1:], results[1:], strict=True)
    ]
    gains = [
        (before.dry_days_per_year - after.dry_days_per_year) for before, after in itertools.pairwise(results)
    ]
    # Once no day is missed, or no step saves one any more, further storage is not worth a word of its own.
    enough = next((place for place, one in enumerate(results) if one.dry_days_per_year < 0.5), len(results))
    useful = max((place + 1 for place, gain in enumerate(gains) if gain >= 0.5), default=0)
    sentence = "; ".join(parts[: min(enough, useful) + 1])
    sentence += "; more saves no further day." if 0 < useful < min(enough, len(results) - 1) else "."
    if gains and max(gains) > 0.5:
        worth = max(index for index, gain in enumerate(gains) if gain >= 0.5 * max(gains))
        if worth + 1 < len(results) - 1:
            sentence += f" After {names[worth + 1]} each further step brings less than half as much."
    elif gains:
        sentence += " More storage changes little: the roof, not the store, is the limit."
    return sentence[0].upper() + sentence[1:]
