"""Whether a dip was taken in still water: what stirred the tanks shortly before it, and how long that takes to level.

R12: a dip taken sooner after rain, use or transfer than the links need is provisional.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from math import inf

from tankdash.water.model import Contents, Layout, Link, Tank
from tankdash.water.settling import time_to_settle

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
    known: dict[frozenset[tuple[str, float]], float] = {}  # buckets of one size are many, and level alike
    for stir in sorted(stirs, key=lambda one: one.end, reverse=True):
        since_end = (moment - stir.end).total_seconds()
        bump = frozenset(stir.bump.items())
        if bump not in known:
            larger = (needed for other, needed in known.items() if _is_within(stir.bump, dict(other)))
            if min(larger, default=inf) - since_end <= longest:
                continue  # a stir at least as large would have levelled sooner than what is known to last longest
            known[bump] = _time_to_level(layout, contents, stir.bump, 1.0, accuracy)
        needed = known[bump]
        if needed - since_end <= longest:
            continue
        period = (stir.end - stir.start).total_seconds()
        if period > 0.0:
            # Only what fell within the last `needed` seconds can still stand uneven.
            share = min(1.0, (needed - since_end) / period)
            needed = _time_to_level(layout, contents, stir.bump, share, accuracy)
        longest = max(longest, needed - since_end)
    return longest


def _is_within(bump: Mapping[str, float], larger: Mapping[str, float]) -> bool:
    """Return whether a stir moved no tank further, nor the other way, than a larger one did."""
    return all(
        min(0.0, larger.get(tank, 0.0)) <= moved <= max(0.0, larger.get(tank, 0.0))
        for tank, moved in bump.items()
    )


def longest_wait(layout: Layout, tank: str, *, is_rise: bool, accuracy: float) -> timedelta:
    """Return a time after which the links have levelled any stir of one tank: it full against the others, or empty.

    Parameters
    ----------
    layout : Layout
        Links with their valves as they stand.
    tank : str
        The tank that was stirred.
    is_rise : bool
        Whether water came into it, instead of leaving it.
    accuracy : float
        Of the stick, [m].

    Returns
    -------
    timedelta
        With half as much again for what starts less simply; at most `LONGEST_LOOK_BACK`.
    """
    return _longest_wait(
        tuple(layout.tanks.items()), tuple(layout.links.items()), tank, is_rise=is_rise, accuracy=accuracy
    )


@lru_cache(maxsize=1024)
def _longest_wait(
    tanks: tuple[tuple[str, Tank], ...],
    links: tuple[tuple[str, Link], ...],
    tank: str,
    *,
    is_rise: bool,
    accuracy: float,
) -> timedelta:
    """Work it out once for the same tanks and links: every walk through a journal asks for it anew."""
    layout = Layout(dict(tanks), dict(links))
    contents = {name: one.lip_volume for name, one in tanks if (name == tank) == is_rise}
    needed = time_to_settle(layout, contents, accuracy)
    return LONGEST_LOOK_BACK if needed is None else min(LONGEST_LOOK_BACK, timedelta(seconds=1.5 * needed))


def _time_to_level(
    layout: Layout, contents: Contents, bump: Mapping[str, float], share: float, accuracy: float
) -> float:
    raised = dict(contents)
    for tank, amount in bump.items():
        if tank in layout.tanks:
            room = layout.tanks[tank].capacity
            raised[tank] = min(max(raised.get(tank, 0.0) + amount * share, 0.0), room)
    return time_to_settle(layout, raised, accuracy) or 0.0


class Stirs:
    """What stirred the water lately, and whether a dip found it still."""

    def __init__(self, accuracy: float) -> None:
        self.accuracy = accuracy
        """Of the stick, [m]."""
        self._recent: list[Stir] = []
        self._waits: dict[tuple[int, str, bool], tuple[timedelta, Layout]] = {}

    def add(self, layout: Layout, start: datetime, end: datetime, bump: Mapping[str, float]) -> None:
        """Remember that water was put into, or (negative) taken from, single tanks of `layout`, [m3]."""
        if layout.links:
            oldest = end - LONGEST_LOOK_BACK
            self._recent = [stir for stir in self._recent if stir.end >= oldest]
            self._recent.append(Stir(start, end, dict(bump)))

    def seconds_left(self, layout: Layout, contents: Contents, moment: datetime) -> float:
        """Return how long the links still need to level what was stirred before a dip at `moment` (R12), [s]."""
        recent = [stir for stir in self._recent if moment - stir.end < LONGEST_LOOK_BACK]
        recent = [stir for stir in recent if moment - stir.end < self._wait(layout, stir)]
        return seconds_left(layout, contents, recent, moment, self.accuracy)

    def is_still(self, layout: Layout, moment: datetime) -> bool:
        """Return whether whatever was stirred has levelled by `moment`, however much water there is."""
        return all(moment - stir.end >= self._wait(layout, stir) for stir in self._recent)

    def _wait(self, layout: Layout, stir: Stir) -> timedelta:
        """Return a time after which a stir has levelled, worked out once for each tank that was ever stirred."""
        longest = timedelta()
        for tank, amount in stir.bump.items():
            if tank not in layout.tanks:
                continue
            key = (id(layout), tank, amount > 0.0)
            if key not in self._waits:
                wait = longest_wait(layout, tank, is_rise=amount > 0.0, accuracy=self.accuracy)
                # The layout is kept beside it so that its identity cannot be given to another one.
                self._waits[key] = (wait, layout)
            longest = max(longest, self._waits[key][0])
        return longest
