"""One dip laid over what was known before it: the water of every tank it speaks for, and what stays a range (R4)."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from tankdash.journal.entries import Dips
from tankdash.keeping.state.tracks import SAME_WATER, Three, ordered
from tankdash.water.model import Contents, Layout
from tankdash.water.rest import AtRest, at_rest
from tankdash.water.sills import banks

SPEAKS_FOR = frozenset({"level", "dry", "full"})
"""States of a tank whose water a dip of its bank has decided."""


@dataclass(frozen=True)
class DipResult:
    """The water after a dip."""

    contents: Three[Contents]
    """[m3]."""
    unknown: frozenset[str]
    """Tanks of which the dip and the journal leave only a range."""
    anchored: frozenset[str]
    """Tanks whose estimate the dip has replaced."""
    states: dict[str, str]
    """dipped, level, cut-off, carried, dry, full, vent-closed or unknown, by tank."""
    sticks: dict[str, float]
    """What the stick's accuracy comes to in each anchored tank, [m3]."""
    spread: float
    """By how much linked tanks dipped together disagree, [m]."""
    rest: AtRest
    """The resting state of the likely readings, with its pools and warnings."""


def dipped_depths(
    layout: Layout, dips: Dips, void_shapes: Collection[str] = frozenset()
) -> Three[dict[str, float]]:
    """Return the depths read in tanks that stand in `layout` and whose shape holds, by tank, [m]."""
    ends: list[dict[str, float]] = [{}, {}, {}]
    for dip in dips.tanks:
        tank = layout.tanks.get(dip.tank)
        if tank is None or dip.tank in void_shapes:
            continue
        # A base or a shape changed in the file later must not make an old reading impossible.
        for depths, depth in zip(ends, (dip.low_m, dip.depth_m, dip.high_m), strict=True):
            depths[dip.tank] = min(max(depth, 0.0), tank.brim)
    return Three(*ends)


def dip_tracks(
    layout: Layout,
    depths: Three[dict[str, float]],
    before: Three[Contents] | None,
    unknown: frozenset[str],
    accuracy: float,
) -> DipResult:
    """Return the water after a dip, at the ends of its range and of what was known before.

    Parameters
    ----------
    layout : Layout
        The garden of that time.
    depths : Three of dict
        Depths read, by tank, [m].
    before : Three of Contents or None
        What was known; None before the first dip, [m3].
    unknown : frozenset of str
        Tanks of which only the ends of `before` count.
    accuracy : float
        Of the stick, [m].
    """
    known: Three[Contents | None]
    if before is None:
        known = Three(None, None, None)
    elif unknown:
        sure = {tank: volume for tank, volume in before.mid.items() if tank not in unknown}
        known = Three(dict(before.low), sure, dict(before.high))
    else:
        known = Three(before.low, before.mid, before.high)
    rests = depths.pair(known).map(lambda both: at_rest(layout, both[0], known=both[1], accuracy=accuracy))
    low, mid, high = {}, {}, {}
    still_unknown = set()
    for tank in layout.tanks:
        likely = rests.mid.tanks[tank]
        low[tank], high[tank] = rests.low.tanks[tank].low, rests.high.tanks[tank].high
        if likely.volume is not None:
            mid[tank] = likely.volume
            continue
        mid[tank] = (low[tank] + high[tank]) / 2.0
        if high[tank] - low[tank] > SAME_WATER:
            still_unknown.add(tank)
    states = {tank: str(rested.state) for tank, rested in rests.mid.tanks.items()}
    anchored = _spoken_for(layout, depths.mid, states) - still_unknown
    return DipResult(
        contents=ordered(Three(low, mid, high)),
        unknown=frozenset(still_unknown),
        anchored=anchored,
        states=states,
        sticks={tank: stick_volume(layout, tank, mid[tank], accuracy) for tank in anchored},
        spread=rests.mid.spread,
        rest=rests.mid,
    )


def _spoken_for(layout: Layout, dipped: Mapping[str, float], states: Mapping[str, str]) -> frozenset[str]:
    """Return the tanks that were dipped, and those whose water follows from it through the links."""
    joined = {tank for bank in banks(layout) if not dipped.keys().isdisjoint(bank) for tank in bank}
    return frozenset(dipped) | {tank for tank in joined if states[tank] in SPEAKS_FOR}


def stick_volume(layout: Layout, tank: str, volume: float, accuracy: float) -> float:
    """Return the water that lies within the stick's accuracy in `tank` when it holds `volume`, [m3]."""
    vessel = layout.tanks[tank]
    depth = vessel.depth(volume)
    return (vessel.volume(depth + accuracy) - vessel.volume(depth - accuracy)) / 2.0
