"""A storm upon the bank: what each link, overflow and first-flush pipe must pass and can, and what is lost (R12)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tankdash.planning.figures import litres, rounded
from tankdash.water.carrying import (
    LinkLoad,
    OverflowLoad,
    link_loads,
    overflow_loads,
    roof_flow,
    storm_inflow,
)
from tankdash.water.model import Contents, Layout
from tankdash.water.settling import time_to_settle
from tankdash.water.sills import banks
from tankdash.water.storm import StormRun, run_storm

USUAL_RATE_MM_H = 100.0
"""A cloudburst of many climates; the owner's own figure is better (T)."""
HALF_HOUR = 1800.0
"""How long the storm lasts whose losses are told, [s]."""


@dataclass(frozen=True)
class FlushLoad:
    """What a storm asks of one first-flush pipe."""

    must: float
    """What the roof sends it, [m3/s]."""
    holds: float
    """Room when empty, [m3]."""
    fills_in: float | None
    """Until an empty one is full and the rest runs to the tank, [s]; None when nothing comes."""


@dataclass(frozen=True)
class BankStorm:
    """What the rain on its own roofs does to one bank."""

    tanks: tuple[str, ...]
    first_to_spill: str | None
    static_capacity: float
    """What it keeps of a slow inflow, [m3]."""
    storm_capacity: float
    """What runs in before the first drop is lost, [m3]."""


@dataclass(frozen=True)
class StormReport:
    """What a storm of one rate does to the bank, begun with the tanks as told."""

    rate_mm_h: float
    inflow: Mapping[str, float]
    """From the roofs into each tank, [m3/s]."""
    links: Mapping[str, LinkLoad]
    overflows: Mapping[str, OverflowLoad]
    flushes: Mapping[str, FlushLoad]
    """By roof."""
    run: StormRun
    """Followed to its first loss."""
    half_hour: StormRun
    """The same storm for half an hour, whatever is lost."""
    banks: tuple[BankStorm, ...]
    """Each bank alone, where rain runs into more than one."""
    settle: float | None
    """From the first loss until a dip is good again, [s]; None when nobody measured a link that matters."""
    is_from_empty: bool
    """Whether it began with empty tanks."""
    unlooked_at: tuple[str, ...] = ()
    """Links over a crest that nobody knows to be full of water: taken as full of air (R5)."""

    @property
    def static_capacity(self) -> float:
        """What the bank would keep of a slow inflow, [m3]."""
        return self.run.room

    @property
    def storm_capacity(self) -> float:
        """What runs in before the first drop is lost, never more than what there is room for, [m3]."""
        return _before_loss(self.run)

    def as_json(self) -> dict[str, Any]:
        """Return the JSON of `storm`."""

        def flow(rate: float | None) -> float | None:
            return None if rate is None else rounded(rate * 1000.0, 6)

        return {
            "schema": 1,
            "rate_mm_h": rounded(self.rate_mm_h, 6),
            "from": "empty" if self.is_from_empty else "now",
            "inflow_l_s": {tank: flow(rate) for tank, rate in self.inflow.items()},
            "links": {
                key: {
                    "carries_l_s": flow(load.carries),
                    "must_l_s": flow(load.must),
                    "head_m": None if load.head is None else rounded(load.head, 6),
                    "available_m": rounded(load.available, 6),
                    "is_short": load.is_short,
                }
                for key, load in self.links.items()
            },
            "overflows": {
                key: {
                    "carries_l_s": flow(load.carries),
                    "must_l_s": flow(load.must),
                    "is_short": load.is_short,
                }
                for key, load in self.overflows.items()
            },
            "first_flush": {
                key: {
                    "must_l_s": flow(load.must),
                    "holds_l": litres(load.holds),
                    "fills_in_s": None if load.fills_in is None else rounded(load.fills_in, 1),
                }
                for key, load in self.flushes.items()
            },
            "first_to_spill": self.run.first_to_spill,
            "first_spill_s": None if self.run.first_spill_at is None else rounded(self.run.first_spill_at, 1),
            "static_capacity_l": litres(self.static_capacity),
            "storm_capacity_l": litres(self.storm_capacity),
            "banks": [
                {
                    "tanks": list(bank.tanks),
                    "first_to_spill": bank.first_to_spill,
                    "static_capacity_l": litres(bank.static_capacity),
                    "storm_capacity_l": litres(bank.storm_capacity),
                }
                for bank in self.banks
            ],
            "half_hour": {
                "spilled_l": litres(sum(self.half_hour.spilled.values())),
                "spilled_with_room_l": litres(self.half_hour.spilled_with_room),
            },
            "settle_s": None if self.settle is None else rounded(self.settle, 1),
            "unmeasured": list(self.run.unmeasured),
            "unlooked_at": list(self.unlooked_at),
        }


def storm_report(
    layout: Layout, rate_mm_h: float, accuracy: float, contents: Contents | None = None
) -> StormReport:
    """Return what steady rain of one rate does, its first flush past (R9, R12).

    Parameters
    ----------
    layout : Layout
        The bank.
    rate_mm_h : float
        Of the rain, >= 0, [mm/h].
    accuracy : float
        Of a dip, for the time to settle, [m].
    contents : mapping of str to float, optional
        What the tanks hold when it begins; empty when not given, [m3].

    Returns
    -------
    StormReport
        Flow figures carry about a third of doubt in a real garden.
    """
    rate = rate_mm_h / 3.6e6
    inflow = storm_inflow(layout, rate)
    begun = dict(contents or {})
    run = run_storm(layout, begun, inflow)
    return StormReport(
        rate_mm_h=rate_mm_h,
        inflow=inflow,
        links=link_loads(layout, inflow),
        overflows=overflow_loads(layout, inflow),
        flushes={
            key: _flush_load(roof_flow(roof, rate), roof.first_flush.holds)
            for key, roof in layout.roofs.items()
            if roof.first_flush is not None
        },
        run=run,
        half_hour=run_storm(layout, begun, inflow, HALF_HOUR),
        banks=_banks(layout, begun, inflow),
        settle=time_to_settle(layout, _within(layout, run.contents), accuracy),
        is_from_empty=contents is None,
        unlooked_at=tuple(
            key
            for key, link in layout.links.items()
            if link.is_open and link.crest is not None and link.primed is None
        ),
    )


def _banks(layout: Layout, begun: Contents, inflow: Mapping[str, float]) -> tuple[BankStorm, ...]:
    """Return each bank under the rain of its own roofs; nothing where there is only one such."""
    fed = [bank for bank in banks(layout) if any(inflow.get(tank, 0.0) > 0.0 for tank in bank)]
    if len(fed) < 2:
        return ()
    alone = []
    for bank in fed:
        run = run_storm(layout, begun, {tank: rate for tank, rate in inflow.items() if tank in bank})
        alone.append(BankStorm(bank, run.first_to_spill, run.room, _before_loss(run)))
    return tuple(alone)


def _before_loss(run: StormRun) -> float:
    """Return what runs in before the first drop is lost, never more than there is room for, [m3]."""
    return min(run.taken_before_spill, run.room)


def _flush_load(flow: float, holds: float) -> FlushLoad:
    return FlushLoad(flow, holds, holds / flow if flow > 0.0 else None)


def _within(layout: Layout, contents: Contents) -> dict[str, float]:
    """Return the contents without the hair of rounding by which a storm may pass a brim."""
    return {key: min(volume, layout.tanks[key].capacity) for key, volume in contents.items()}
