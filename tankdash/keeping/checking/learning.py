"""Runoff of each roof as the tanks themselves tell it, once enough rains allow; offered, never applied by itself."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import Any

from tankdash.keeping.state.standing import Residual
from tankdash.site.model import Site

LEAST_STRETCHES = 4
"""Fewer rains than this say nothing about a roof."""
MOSTLY = 0.9
"""Share of a stretch's catch that one roof must have brought for the stretch to speak of that roof."""


@dataclass(frozen=True)
class LearnedRunoff:
    """What the dips say about one roof."""

    roof: str
    runoff: float
    """Share of the rain that ran off, over all the stretches."""
    spread: float
    """Standard deviation from stretch to stretch."""
    was: float
    """The site file's figure."""
    stretches: int
    """How many it rests on."""

    def as_json(self) -> dict[str, Any]:
        """Return it for the JSON of `balance`."""
        return {
            "roof": self.roof,
            "runoff": round(self.runoff, 3),
            "spread": round(self.spread, 3),
            "was": self.was,
            "stretches": self.stretches,
        }


def learned_runoffs(site: Site, residuals: Iterable[Residual]) -> tuple[LearnedRunoff, ...]:
    """Return the runoff of every roof that enough stretches speak of.

    Parameters
    ----------
    site : Site
        Knows the figures in use.
    residuals : iterable of Residual
        Stretches with a clear catch in which nothing else went on.
    """
    pairs: dict[str, list[tuple[float, float]]] = {}
    for residual in residuals:
        moved = residual.moved
        roof = max(residual.by_roof, key=lambda key: residual.by_roof[key], default=None)
        if roof is None or residual.by_roof[roof] < MOSTLY * moved.caught:
            continue
        arrived = moved.caught + residual.seen.mid - residual.expected.mid
        # What the first-flush pipe kept ran off the roof too.
        pairs.setdefault(roof, []).append((arrived + moved.first_flush, moved.caught + moved.first_flush))
    learned = []
    for roof, seen in pairs.items():
        if len(seen) < LEAST_STRETCHES or roof not in site.roofs:
            continue
        was = site.roofs[roof].thing.runoff
        overall = was * sum(ran for ran, _ in seen) / sum(owed for _, owed in seen)
        each = [was * ran / owed for ran, owed in seen]
        learned.append(LearnedRunoff(roof, overall, stdev(each, fmean(each)), was, len(seen)))
    return tuple(learned)
