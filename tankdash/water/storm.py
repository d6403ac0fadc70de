"""A storm followed through the links: which tank spills first, and what is lost while others have room (R9, R12)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tankdash.water.carrying import inflow_rates
from tankdash.water.currents import Currents
from tankdash.water.errors import named, not_negative
from tankdash.water.filling import pour, settle
from tankdash.water.lips import landed
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
    if seconds is not None:
        not_negative(seconds, "the time a storm lasts", "s")
    for name, volume in contents.items():
        named(name, layout.tanks, "tank")
        not_negative(volume, f"what {name} holds", "m3")
    currents = Currents(layout, primed_if_unknown=primed_if_unknown)
    storm = _Storm(
        currents, inflow_rates(currents, inflow), _kept_slowly(layout, contents, inflow, primed_if_unknown)
    )
    return storm.run([contents.get(name, 0.0) for name in currents.ids], seconds)


def _kept_slowly(
    layout: Layout, contents: Contents, inflow: Mapping[str, float], primed_if_unknown: bool
) -> dict[str, float]:
    """Return what each tank would hold if the same inflow ran in slowly until all of it spilled, [m3]."""
    plenty = sum(tank.capacity for tank in layout.tanks.values())
    total = sum(inflow.values())
    if total <= 0.0:
        return settle(layout, contents, primed_if_unknown=primed_if_unknown)
    # Enough for every inflow to end in spill; a mere trickle is taken as a little more, to keep the numbers finite.
    slow = {name: plenty * max(1.0, 1e6 * (rate / total)) for name, rate in inflow.items() if rate > 0.0}
    return pour(layout, contents, slow, primed_if_unknown=primed_if_unknown).contents


class _Storm:
    """A storm as it is followed: what each tank has lost, and how much of that it lost while others had room."""

    def __init__(self, currents: Currents, inflow: Sequence[float], kept_slowly: Mapping[str, float]) -> None:
        self.currents = currents
        self.inflow = inflow
        self.kept = [kept_slowly[name] for name in currents.ids]
        joined = SteadyFlow(currents)
        self.bank = [joined.reached(tank) for tank in range(len(currents.ids))]
        self.least_room = currents.weights(0.001)

    def room_beside(self, tank: int, volumes: Sequence[float]) -> float:
        """Return what the bank of `tank` could still keep of a slow inflow, [m3]; under a millimetre is none."""
        room = 0.0
        for place in self.bank[tank]:
            spare = self.kept[place] - volumes[place]
            if place != tank and spare > self.least_room[place]:
                room += spare
        return room

    def run(self, start: Sequence[float], seconds: float | None) -> StormRun:
        """Follow it to the end, or to the first loss when `seconds` is None."""
        currents = self.currents
        volumes = list(start)
        lost = currents.over.spill(volumes)
        until = LONGEST_STORM if seconds is None else seconds
        march = March(
            currents, volumes, accuracy=STEP_ACCURACY, longest=max(until / 50.0, 1e-6), inflow=self.inflow
        )
        first = self._loses_at_once(volumes, lost)
        ended = 0.0
        with_room = 0.0
        while march.time < until and not (first and seconds is None):
            stride = march.stride(until)
            volumes, ended = march.volumes, march.time
            if first is None and any(stride.lost):
                share, first = self._first(stride)
                if seconds is None:
                    ended = first[1]
                    volumes = [
                        min(held, lip) for held, lip in zip(stride.at(share), currents.lips, strict=True)
                    ]
                    break
            for tank, amount in enumerate(stride.lost):
                if amount > 0.0:
                    with_room += min(amount, self.room_beside(tank, stride.before))
                    lost[tank] += amount
        return StormRun(
            seconds=ended,
            first_to_spill=None if first is None else first[0],
            first_spill_at=None if first is None else first[1],
            taken_before_spill=sum(self.inflow) * (ended if first is None else first[1]),
            room=max(0.0, sum(self.kept) - sum(start)),
            contents=dict(zip(currents.ids, volumes, strict=True)),
            spilled={name: amount for name, amount in zip(currents.ids, lost, strict=True) if amount > 0.0},
            spilled_with_room=with_room,
            unmeasured=tuple(way.link for way in currents.ways if way.pipe is None),
        )

    def _loses_at_once(self, volumes: Sequence[float], lost: Sequence[float]) -> tuple[str, float] | None:
        """Return a tank that loses water from the first moment on, and when that is: at 0 s."""
        net = self.currents.into_tanks(self.currents.surfaces(volumes))
        net = [links + roof for links, roof in zip(net, self.inflow, strict=True)]
        lands = self.currents.over.running(volumes, net)
        come = landed(net, lands)
        losing = {tank: come[tank] for tank, below in lands.items() if below == tank and come[tank] > 0.0}
        losing |= {tank: amount for tank, amount in enumerate(lost) if amount > 0.0}
        return (self.currents.ids[max(losing, key=losing.__getitem__)], 0.0) if losing else None

    def _first(self, stride: Stride) -> tuple[float, tuple[str, float]]:
        """Return the share of a step at which the first tank that lost water in it was full, which, and when."""
        lips = self.currents.lips
        losing = [tank for tank, amount in enumerate(stride.lost) if amount > 0.0]
        share = stride.last_share_before(lambda now: any(now[tank] >= lips[tank] for tank in losing))
        there = stride.at(share)
        tank = min(losing, key=lambda place: lips[place] - there[place])
        return share, (self.currents.ids[tank], stride.start + share * stride.length)
