"""Whether a dip was taken in still water: what stirred the tanks shortly before it, and how long that takes to level.

R12: a dip taken sooner after rain, use or transfer than the links need is provisional.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from tankdash.water.flow import time_to_settle
from tankdash.water.model import Contents, Layout

LONGEST_LOOK_BACK = timedelta(days=3)
"""Nothing older is asked about: links that need longer are as good as blocked."""


@dataclass(frozen=True)
class Stir:
    """Something that put water into one place of a bank, or took it from there."""

    start: datetime
    end: datetime
    bump: Mapping[str, float]
    """What stood too high (or, negative, too low) in each tank before it levelled out, [m3]."""


def seconds_left(
    layout: Layout, contents: Contents, stirs: list[Stir], moment: datetime, accuracy: float
) -> float:
    """Return how long the water still needs at `moment` until the stick cannot see the unevenness, [s].

    Parameters
    ----------
    layout : Layout
        Links with their valves as they stand.
    contents : Contents
        Levelled contents around which the bumps run out, [m3].
    stirs : list of Stir
        Recent ones, in any order.
    moment : datetime
        Time of the dip, UTC.
    accuracy : float
        Of the stick, [m].

    Returns
    -------
    float
        0 when still, and where a link was never measured so that nobody can say, [s].
    """
    longest = 0.0
    for stir in stirs:
        since_end = (moment - stir.end).total_seconds()
        needed = _time_to_level(layout, contents, stir.bump, 1.0, accuracy)
        if needed <= since_end:
            continue
        period = (stir.end - stir.start).total_seconds()
        if period > 0.0:
            # Only what fell within the last `needed` seconds can still stand uneven.
            share = min(1.0, (needed - since_end) / period)
            needed = _time_to_level(layout, contents, stir.bump, share, accuracy)
        longest = max(longest, needed - since_end)
    return longest


def longest_wait(layout: Layout, accuracy: float) -> timedelta:
    """Return a time after which the links have levelled any stir: one tank full against the others empty, and back.

    Parameters
    ----------
    layout : Layout
        Links with their valves as they stand.
    accuracy : float
        Of the stick, [m].

    Returns
    -------
    timedelta
        With half as much again for what starts less simply; at most `LONGEST_LOOK_BACK`.
    """
    longest = 0.0
    for key, tank in layout.tanks.items():
        others = {name: other.lip_volume for name, other in layout.tanks.items() if name != key}
        for contents in ({key: tank.lip_volume}, others):
            needed = time_to_settle(layout, contents, accuracy)
            if needed is None:
                return LONGEST_LOOK_BACK
            longest = max(longest, needed)
    return min(LONGEST_LOOK_BACK, timedelta(seconds=1.5 * longest))


def _time_to_level(
    layout: Layout, contents: Contents, bump: Mapping[str, float], share: float, accuracy: float
) -> float:
    raised = dict(contents)
    for tank, amount in bump.items():
        if tank in layout.tanks:
            room = layout.tanks[tank].capacity
            raised[tank] = min(max(raised.get(tank, 0.0) + amount * share, 0.0), room)
    return time_to_settle(layout, raised, accuracy) or 0.0
