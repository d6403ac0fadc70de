"""A storm followed through the links: which tank spills first, and what is lost while others have room (R9, R12)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite

from tankdash.water.carrying import inflow_rates
from tankdash.water.currents import Currents
from tankdash.water.errors import OutOfRange
from tankdash.water.filling import pour
from tankdash.water.model import Contents, Layout
from tankdash.water.steady import SteadyFlow
from tankdash.water.steps import March, Stride

STEP_ACCURACY = 2e-4
"""Depth by which one step of a storm may be wrong, [m]."""

LONGEST_STORM = 30 * 86400.0
"""No storm is followed longer, [s]."""


@dataclass(frozen=True)
class StormRun:
    """How a storm went; start + inflow = contents + spilled."""

    seconds: float
    """Followed so far, [s]."""
    first_to_spill: str | None
    """Tank that first lost water away; None when none did."""
    first_spill_at: float | None
    """When, [s]."""
    taken_before_spill: float
    """Storm capacity: run in before the first drop was lost, [m3]."""
    room: float
    """Static capacity: what the same tanks would have kept of a slow inflow without end, [m3]."""
    contents: dict[str, float]
    """At the end, not yet level, [m3]."""
    spilled: dict[str, float]
    """Lost away over each lip; what another tank takes up is not lost, [m3]."""
    spilled_with_room: float
    """Of that, lost while the bank could still have kept it, [m3]."""
    unmeasured: tuple[str, ...]
    """Links that were taken as passing nothing because nobody measured them."""


def run_storm(
    layout: Layout,
    contents: Contents,
    inflow: Mapping[str, float],
    seconds: float | None = None,
    *,
    primed_if_unknown: bool = False,
) -> StormRun:
    """Follow a steady inflow through links that carry only what they can (R12).

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        When it begins; a tank not named is empty, [m3].
    inflow : mapping of str to float
        Into each tank, >= 0, [m3/s].
    seconds : float, optional
        How long; None stops at the first spill, after 30 days at the latest, [s].
    primed_if_unknown : bool, optional
        Whether a crest nobody has looked at lets water over (R5).

    Returns
    -------
    StormRun
        First spill, losses, and what stands where at the end.

    Raises
    ------
    OutOfRange
        If a volume, an inflow or the duration is impossible, or a tank is not there.

    Examples
    --------
    >>> from tankdash.water.model import Link, Tank
    >>> from tankdash.water.shapes import Straight
    >>> barrels = {name: Tank(name, Straight(0.21, 0.9), brim=0.9) for name in "ab"}
    >>> tube = {"ab": Link("ab", ("a", "b"), (0.1, 0.1), bore=0.013, run=2.0)}
    >>> storm = run_storm(Layout(barrels, tube), {}, {"a": 0.00063})
    >>> storm.first_to_spill, round(storm.taken_before_spill, 2), round(storm.room, 3)
    ('a', 0.24, 0.378)
    """
    if seconds is not None and not (isfinite(seconds) and seconds >= 0.0):
        raise OutOfRange(f"a storm must last a finite time, not {seconds:g} s")
    currents = Currents(layout, primed_if_unknown=primed_if_unknown)
    storm = _Storm(
        currents, inflow_rates(currents, inflow), _kept_slowly(layout, contents, inflow, primed_if_unknown)
    )
    start = [contents.get(name, 0.0) for name in currents.ids]
    for name, volume in contents.items():
        if name not in currents.number or not (isfinite(volume) and volume >= 0.0):
            raise OutOfRange(f"{name!r} cannot hold {volume:g} m3 here")
    return storm.run(start, seconds)


def _kept_slowly(
    layout: Layout, contents: Contents, inflow: Mapping[str, float], primed_if_unknown: bool
) -> dict[str, float]:
    """Return what each tank would hold if the same inflow ran in slowly until all of it spilled, [m3]."""
    plenty = sum(tank.capacity for tank in layout.tanks.values())
    total = sum(inflow.values())
    if total <= 0.0:
        return {name: contents.get(name, 0.0) for name in layout.tanks}
    # Enough for every inflow to end in spill; a mere trickle is taken as a little more, to keep the numbers finite.
    slow = {name: plenty * max(1.0, 1e6 * (rate / total)) for name, rate in inflow.items() if rate > 0.0}
    return pour(layout, contents, slow, primed_if_unknown=primed_if_unknown).contents


class _Storm:
    """A storm as it is marched: volumes of the tanks, followed by what has run over each lip."""

    def __init__(self, currents: Currents, inflow: Sequence[float], kept_slowly: Mapping[str, float]) -> None:
        self.currents = currents
        self.inflow = inflow
        self.kept = [kept_slowly[name] for name in currents.ids]
        self.count = len(currents.ids)
        self.leads_away = [below is None for below in currents.spills_into]
        weights = currents.weights(STEP_ACCURACY)
        self.weights = weights + weights
        joined = SteadyFlow(currents)
        self.bank = [joined.reached(tank) for tank in range(self.count)]
        self.least_room = currents.weights(0.001)

    def rates(self, state: Sequence[float], still_below: Sequence[int] = ()) -> list[float]:
        """Return how fast each volume and each loss grows, [m3/s]; tanks `still_below` their lip keep all."""
        volumes = list(state[: self.count])
        net = self.currents.into_tanks(self.currents.surfaces(volumes))
        net = [links + roof for links, roof in zip(net, self.inflow, strict=True)]
        for tank in still_below:
            volumes[tank] = 0.0
        return net + self.currents.run_over(volumes, net)

    def lost(self, state: Sequence[float]) -> list[float]:
        """Return what each tank has lost away, [m3]."""
        return [
            loss if away else 0.0 for loss, away in zip(state[self.count :], self.leads_away, strict=True)
        ]

    def room_beside(self, tank: int, state: Sequence[float]) -> float:
        """Return what the bank of `tank` could still keep of a slow inflow, [m3]; under a millimetre is none."""
        room = [self.kept[place] - state[place] for place in self.bank[tank] if place != tank]
        least = [self.least_room[place] for place in self.bank[tank] if place != tank]
        return sum(spare for spare, small in zip(room, least, strict=True) if spare > small)

    def run(self, start: Sequence[float], seconds: float | None) -> StormRun:
        """March to the end, or to the first loss when `seconds` is None."""
        currents, count = self.currents, self.count
        volumes = list(start)
        over = currents.spill(volumes)
        began = sum(start)
        state = volumes + over
        until = LONGEST_STORM if seconds is None else seconds
        march = March(
            self.rates,
            lambda now: currents.stiffness(now[:count]),
            self.weights,
            state,
            max(until / 50.0, 1e-6),
        )
        first: tuple[str, float] | None = None
        with_room = 0.0
        loses = self._who_loses(state)
        if loses is not None:
            first = (currents.ids[loses], 0.0)
        while march.time < until and not (first and seconds is None):
            before = self.lost(march.volumes)
            stride = march.stride(until)
            state = list(march.volumes)
            volumes = state[:count]
            above = currents.spill(volumes)
            if any(above):
                state = volumes + [over + more for over, more in zip(state[count:], above, strict=True)]
                march.replace(state)
            lost = [now - then for now, then in zip(self.lost(state), before, strict=True)]
            if first is None and any(amount > 0.0 for amount in lost):
                there, first = self._first(march, stride, lost)
                if seconds is None:
                    state = there
                    break
            for tank, amount in enumerate(lost):
                if amount > 0.0:
                    with_room += min(amount, self.room_beside(tank, stride.before))
        taken = sum(self.inflow) * (march.time if first is None else first[1])
        ended = march.time if seconds is not None or first is None else first[1]
        return StormRun(
            seconds=ended,
            first_to_spill=None if first is None else first[0],
            first_spill_at=None if first is None else first[1],
            taken_before_spill=taken,
            room=max(0.0, sum(self.kept) - began),
            contents=dict(zip(currents.ids, state[:count], strict=True)),
            spilled={
                name: amount
                for name, amount in zip(currents.ids, self.lost(state), strict=True)
                if amount > 0.0
            },
            spilled_with_room=with_room,
            unmeasured=tuple(way.link for way in currents.ways if way.pipe is None),
        )

    def _who_loses(self, state: Sequence[float]) -> int | None:
        """Return a tank that loses water from the first moment on."""
        growing = self.rates(state)[self.count :]
        losing = [tank for tank, rate in enumerate(growing) if rate > 0.0 and self.leads_away[tank]]
        return max(losing, key=lambda tank: growing[tank]) if losing else None

    def _first(
        self, march: March, stride: Stride, lost: Sequence[float]
    ) -> tuple[list[float], tuple[str, float]]:
        """Return the state as the first of the tanks that lost water in a step comes to its lip, which, and when."""
        lips = self.currents.lips
        losing = [tank for tank, amount in enumerate(lost) if amount > 0.0]

        # The stages of a step look ahead of its end: up to the lip they must not know of it.
        def there(share: float) -> list[float]:
            return march.part_of(stride, share, lambda state: self.rates(state, still_below=losing))

        def one_is_full(state: list[float]) -> bool:
            return any(state[tank] >= lips[tank] for tank in losing)

        share = stride.last_share_before(one_is_full, there)
        state = there(share)
        tank = min(losing, key=lambda place: lips[place] - state[place])
        return state, (self.currents.ids[tank], stride.start + share * stride.length)
