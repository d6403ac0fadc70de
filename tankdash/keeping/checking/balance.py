"""What the dips show against what rain and use led one to expect, and what a difference points to (R14, R15).

A difference is a finding only where the stick, the gauge's range, the first-flush pipe and the runoff cannot
explain it together. Causes are told apart by their pattern, never by their size.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from tankdash.keeping.checking.findings import sentence
from tankdash.keeping.checking.learning import LearnedRunoff, learned_runoffs
from tankdash.keeping.state.standing import Residual, Standing
from tankdash.site.model import Site

Finding = Literal[
    "none", "leak", "inlet", "unrecorded-use", "more-than-rain", "below-resolution", "not-settled"
]

RUNOFF_SPREAD = 0.10
"""Share by which one rain's runoff departs from the roof's usual figure: half the width of the ranges that handbooks
give for one kind of roof."""
TOTAL_MISS = 0.2
"""Of an expected catch no more than this share arrived: the inlet, not the runoff figure, is to blame."""


@dataclass(frozen=True)
class Stretch:
    """From one dip to the next, in one bank."""

    residual: Residual
    low: float
    """Least that would not be surprising at its end, [m3]."""
    high: float
    """Most that would not be surprising, [m3]."""
    finding: Finding
    text: str

    @property
    def days(self) -> float:
        """Return its length."""
        return (self.residual.end - self.residual.start).total_seconds() / 86400.0

    @property
    def missing(self) -> float:
        """Return what the dip shows too little; negative for too much, [m3]."""
        return self.residual.expected.mid - self.residual.seen.mid


@dataclass(frozen=True)
class Balance:
    """All stretches of the journal, in the order in which they ended."""

    stretches: tuple[Stretch, ...]
    learned: tuple[LearnedRunoff, ...]
    """Offered to the owner, never applied."""
    site: Site

    def as_json(self) -> dict[str, Any]:
        """Return the JSON of `balance`."""
        zone = self.site.zone
        return {
            "schema": 1,
            "stretches": [_stretch_json(stretch, zone) for stretch in self.stretches],
            "learned": [learned.as_json() for learned in self.learned],
        }


def balance_of(site: Site, history: Standing) -> Balance:
    """Return every stretch between dips with its finding.

    Parameters
    ----------
    site : Site
        For labels and units.
    history : Standing
        The whole journal replayed.
    """
    residuals = sorted(history.residuals, key=lambda residual: (residual.end, residual.entry))
    measured = [_measured(residual) for residual in residuals]
    dry_days = DryDays(measured)
    stretches = [_told(site, stretch, _finding(stretch, dry_days)) for stretch in measured]
    return Balance(
        tuple(stretches), learned_runoffs(site, [s.residual for s in stretches if _teaches(s)]), site
    )


def _measured(residual: Residual) -> Stretch:
    """Return the stretch with the range its end may lie in, before anything is made of it."""
    runoff = RUNOFF_SPREAD * residual.moved.caught
    # Less runoff takes from what spilled first, and only then from what was kept.
    low = residual.expected.low - residual.stick - max(0.0, runoff - residual.moved.spilled)
    high = residual.expected.high + residual.stick + runoff
    return Stretch(residual, max(0.0, low), high, "none", "")


def _finding(stretch: Stretch, dry_days: DryDays) -> Finding:
    residual = stretch.residual
    if residual.is_winter:
        return "none"
    if not residual.is_settled:
        return "not-settled"
    if is_overflow_missed(residual):
        return "inlet"
    if is_short(stretch):
        return _shortfall(stretch, dry_days)
    if residual.seen.low > stretch.high:
        return "more-than-rain"
    moved = residual.moved
    happened = moved.caught + moved.used + moved.poured
    return "below-resolution" if 0.0 < happened <= residual.stick else "none"


def is_short(stretch: Stretch) -> bool:
    """Return whether less is there than anything known can explain (R15)."""
    return stretch.residual.seen.high < stretch.low


def is_overflow_missed(residual: Residual) -> bool:
    """Return whether water should have left by an overflow at which nobody saw any (F26).

    A tank that is full before and after tells nothing by its level; only the overflow can.
    """
    looked_dry = any(seen.what == "overflow dry" for seen in residual.sightings)
    return looked_dry and residual.moved.spilled > residual.stick + RUNOFF_SPREAD * residual.moved.caught


def is_dry(stretch: Stretch) -> bool:
    """Return whether nothing came in that could hide a loss."""
    return stretch.residual.moved.caught_high <= 0.0 and stretch.residual.rain_mm <= 0.0


def _shortfall(stretch: Stretch, dry_days: DryDays) -> Finding:
    """Return the likely cause of a loss: a leak goes on in dry days, a blocked inlet misses a whole rain (F23)."""
    dry_losses = dry_days.losses_near(stretch)
    if is_dry(stretch):
        goes_on = any(_rates_agree(stretch, other) for other in dry_losses)
        return "leak" if goes_on else "unrecorded-use"
    if len(dry_losses) >= 2 and any(_rates_agree(stretch, other) for other in dry_losses):
        return "leak"
    caught = stretch.residual.moved.caught
    arrived = caught - stretch.missing
    if caught <= 0.0 or arrived < -_noise(stretch):
        return "unrecorded-use"  # an inlet cannot have kept back more than the rain owed
    return "inlet" if arrived <= max(TOTAL_MISS * caught, _noise(stretch)) else "unrecorded-use"


class DryDays:
    """The dry stretches of the journal by tank, to find the nearest ones to any other stretch."""

    def __init__(self, stretches: Sequence[Stretch]) -> None:
        self._by_tank: dict[str, list[Stretch]] = {}
        for stretch in stretches:
            if is_dry(stretch) and stretch.residual.is_settled:
                for tank in stretch.residual.tanks:
                    self._by_tank.setdefault(tank, []).append(stretch)

    def losses_near(self, stretch: Stretch) -> list[Stretch]:
        """Return those of the two dry stretches before and the two after it in which water went for no known reason.

        They are in order of their ends, as all stretches are.
        """
        dry = self._by_tank.get(stretch.residual.tanks[0], [])
        until = bisect_right(dry, stretch.residual.start, key=lambda other: other.residual.end)
        after = bisect_left(dry, stretch.residual.end, key=lambda other: other.residual.start)
        near = dry[max(0, until - 2) : until] + dry[max(after, until) : max(after, until) + 2]
        return [other for other in near if is_short(other)]


def _rates_agree(one: Stretch, other: Stretch) -> bool:
    """Return whether both lost water at a rate that could be the same, within what their sticks show."""
    if min(one.days, other.days) <= 0.0:
        return False
    ends = [
        (
            (stretch.missing - _noise(stretch)) / stretch.days,
            (stretch.missing + _noise(stretch)) / stretch.days,
        )
        for stretch in (one, other)
    ]
    return max(low for low, _ in ends) <= min(high for _, high in ends)


def _noise(stretch: Stretch) -> float:
    """Return how far chance alone may part the dip from the estimate, [m3]."""
    return max(stretch.residual.expected.mid - stretch.low, stretch.high - stretch.residual.expected.mid)


def _teaches(stretch: Stretch) -> bool:
    """Return whether a stretch says something about runoff: a clear catch, all of it kept, nothing else going on."""
    residual = stretch.residual
    return (
        residual.is_settled
        and not residual.is_winter
        and stretch.finding in ("none", "more-than-rain", "unrecorded-use")
        and residual.moved.caught - stretch.missing > 0.0
        and residual.moved.caught > 2.0 * residual.stick
        and residual.moved.spilled <= 0.0
        and not any(seen.what in ("tap-open", "pump-on", "unmeasured") for seen in residual.sightings)
    )


def _told(site: Site, stretch: Stretch, finding: Finding) -> Stretch:
    rate = stretch.missing / stretch.days if stretch.days > 0.0 else None
    text = sentence(site, stretch.residual, finding, stretch.low, stretch.high, rate)
    return Stretch(stretch.residual, stretch.low, stretch.high, finding, text)


def _stretch_json(stretch: Stretch, zone: Any) -> dict[str, Any]:
    residual, moved = stretch.residual, stretch.residual.moved

    def at(moment: datetime) -> str:
        return moment.astimezone(zone).isoformat()

    def litres(volume: float) -> float:
        return round(volume * 1000.0, 4) + 0.0

    return {
        "from": at(residual.start),
        "to": at(residual.end),
        "tanks": list(residual.tanks),
        "was_l": litres(residual.was),
        "expected_l": litres(residual.expected.mid),
        "low_l": litres(stretch.low),
        "high_l": litres(stretch.high),
        "seen_l": litres(residual.seen.mid),
        "rain_mm": round(residual.rain_mm, 4),
        "caught_l": litres(moved.caught),
        "used_l": litres(moved.used),
        "spilled_l": litres(moved.spilled),
        "poured_l": litres(moved.poured),
        "harvested_l": litres(harvested(residual)),
        "finding": stretch.finding,
        "text": stretch.text,
    }


def harvested(residual: Residual) -> float:
    """Return what the roofs truly brought: change in store plus what left, less what came from elsewhere (F30).

    It may exceed what the tanks can hold: water drawn during the rain made room.
    """
    moved = residual.moved
    gone = moved.used + moved.spilled + moved.removed
    return residual.seen.mid - residual.was + gone - moved.poured - moved.transferred
