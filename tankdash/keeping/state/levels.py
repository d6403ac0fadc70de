"""What is in the tanks now, in the figures both faces show: the JSON of `levels` and `try`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from math import isfinite
from typing import Any

from tankdash.keeping.state.figures import Caution, Totals
from tankdash.keeping.state.reach import reach_of
from tankdash.keeping.state.standing import Basis, Standing
from tankdash.keeping.state.tracks import SAME_WATER, Three
from tankdash.keeping.state.words import cautions_of
from tankdash.site.model import Site
from tankdash.water.air import most_behind_closed_vent
from tankdash.water.holding import full, headroom, lost_to_bases, usable
from tankdash.water.model import Contents
from tankdash.water.pools import Pool, pools
from tankdash.water.settling import time_to_settle
from tankdash.water.sills import banks


@dataclass(frozen=True)
class TankLevel:
    """One tank; None where nobody can know."""

    depth_m: float | None
    surface_m: float | None
    volume_l: float | None
    low_l: float
    high_l: float
    usable_l: float | None
    full_l: float
    lip_m: float
    """Above the datum."""
    state: str
    """dipped, level, cut-off, carried, dry, full, vent-closed or unknown."""
    usable_low_l: float = 0.0
    usable_high_l: float = 0.0


@dataclass(frozen=True)
class PoolLevel:
    """Tanks that share one surface."""

    tanks: tuple[str, ...]
    surface_m: float
    spill_m: float
    spills_at: str


@dataclass(frozen=True)
class Settled:
    """Whether dips taken together agree."""

    spread_m: float
    settle_s: float | None
    """What the links need to level it; None where a link was never measured."""


@dataclass(frozen=True)
class MovedLitres:
    """What came and went after the dip; None for no upper bound."""

    caught_l: float
    caught_low_l: float
    caught_high_l: float | None
    first_flush_l: float
    spilled_l: float
    used_l: float
    short_l: float
    poured_l: float


@dataclass(frozen=True)
class Levels:
    """What `levels` prints and the home page draws."""

    site: str
    at: datetime
    basis: Basis
    tanks: Mapping[str, TankLevel]
    pools: tuple[PoolLevel, ...]
    totals: Totals
    settled: Settled
    moved: MovedLitres
    warnings: tuple[Caution, ...]
    standing: Standing
    """What they were worked out from."""

    def as_json(self) -> dict[str, Any]:
        """Return the `levels` JSON of schema 1."""
        return {
            "schema": 1,
            "site": self.site,
            "at": self.at.isoformat(),
            "basis": self.basis,
            "tanks": {key: _figures(tank) for key, tank in self.tanks.items()},
            "pools": [
                {
                    "tanks": list(pool.tanks),
                    "surface_m": rounded(pool.surface_m, 6),
                    "spill_m": rounded(pool.spill_m, 6),
                    "spills_at": pool.spills_at,
                }
                for pool in self.pools
            ],
            "totals": _figures(self.totals),
            "settled": _figures(self.settled),
            "moved": _figures(self.moved),
            "warnings": [{"code": warning.code, "text": warning.text} for warning in self.warnings],
        }


def levels_of(
    site: Site, standing: Standing, *, extra: Iterable[Caution] = (), is_what_if: bool = False
) -> Levels:
    """Return the figures of one standing.

    Parameters
    ----------
    site : Site
        The garden.
    standing : Standing
        The replayed journal, or what a what-if made of it.
    extra : iterable of Caution
        Warnings that others have found: lips that differ, a first-flush pipe left full.
    is_what_if : bool
        Whether it is not what the journal says.
    """
    layout = standing.layout
    brim_full = full(layout)
    held = _bounded(standing, brim_full)
    reach, either_way = reach_of(standing, held, site.accuracy)
    shared = _pools(standing, held)
    tanks = {
        key: _tank_level(standing, key, held, reach, brim_full, shared, is_reach_open=key in either_way)
        for key in layout.tanks
    }
    settle = (
        0.0 if standing.spread <= 2.0 * site.accuracy else time_to_settle(layout, held.mid, site.accuracy)
    )
    basis: Basis = "what-if" if is_what_if else standing.basis
    moved = standing.moved
    return Levels(
        site=site.name,
        at=standing.at.astimezone(site.zone),
        basis=basis,
        tanks=tanks,
        pools=tuple(PoolLevel(pool.tanks, pool.surface, pool.spill, pool.spills_at) for pool in shared),
        totals=_totals(standing, tanks, held, brim_full),
        settled=Settled(standing.spread, settle),
        moved=MovedLitres(
            caught_l=moved.caught * 1000.0,
            caught_low_l=moved.caught_low * 1000.0,
            caught_high_l=moved.caught_high * 1000.0 if isfinite(moved.caught_high) else None,
            first_flush_l=moved.first_flush * 1000.0,
            spilled_l=moved.spilled * 1000.0,
            used_l=moved.used * 1000.0,
            short_l=moved.short * 1000.0,
            poured_l=moved.poured * 1000.0,
        ),
        warnings=tuple(cautions_of(site, standing, held, reach, shared, settle)) + tuple(extra),
        standing=replace(standing, basis=basis),
    )


def _bounded(standing: Standing, brim_full: Contents) -> Three[Contents]:
    """Return the contents, with trapped air as the bound of tanks that cannot breathe (R11)."""
    layout, contents = standing.layout, standing.contents
    sealed = [key for key, tank in layout.tanks.items() if not tank.vented and key in standing.unknown]
    if not sealed:
        return contents
    low, mid, high = dict(contents.low), dict(contents.mid), dict(contents.high)
    for key in sealed:
        high[key] = min(high[key], most_behind_closed_vent(layout, key, brim_full))
        low[key] = min(low[key], high[key])
        mid[key] = (low[key] + high[key]) / 2.0
    return Three(low, mid, high)


def _pools(standing: Standing, held: Three[Contents]) -> tuple[Pool, ...]:
    """Return the pools whose surface is known: as the dips have it, and as the journal has it for banks without one."""
    known = {key: volume for key, volume in held.mid.items() if key not in standing.unknown}
    if standing.rest is None:
        return pools(standing.layout, known)
    dipped = standing.rest.pools
    told = {key for pool in dipped for key in pool.tanks}
    apart = {key for bank in banks(standing.layout) if told.isdisjoint(bank) for key in bank}
    carried = pools(standing.layout, {key: volume for key, volume in known.items() if key in apart})
    return (*dipped, *carried)


def _tank_level(
    standing: Standing,
    key: str,
    held: Three[Contents],
    reach: Three[dict[str, float]],
    brim_full: Contents,
    shared: tuple[Pool, ...],
    *,
    is_reach_open: bool,
) -> TankLevel:
    tank = standing.layout.tanks[key]
    is_known = key not in standing.unknown
    volume = held.mid[key]
    depth = tank.depth(volume)
    ends = (reach.low[key], reach.high[key])
    is_reach_known = (is_known and not is_reach_open) or max(ends) - min(ends) <= SAME_WATER
    return TankLevel(
        depth_m=depth if is_known else None,
        surface_m=tank.base + depth if is_known and volume > 0.0 else None,
        volume_l=volume * 1000.0 if is_known else None,
        low_l=held.low[key] * 1000.0,
        high_l=held.high[key] * 1000.0,
        usable_l=reach.mid[key] * 1000.0 if is_reach_known else None,
        full_l=brim_full.get(key, 0.0) * 1000.0,
        lip_m=tank.lip_elevation,
        state=state_of(standing, key, volume, reach.mid[key], shared),
        usable_low_l=min(ends) * 1000.0,
        usable_high_l=max(ends) * 1000.0,
    )


def state_of(standing: Standing, key: str, volume: float, reachable: float, shared: tuple[Pool, ...]) -> str:
    """Return how a tank stands, in the words of the contract.

    Parameters
    ----------
    standing : Standing
        The replayed journal.
    key : str
        The tank.
    volume, reachable : float
        What it holds, and what of that an outlet still gets, [m3].
    shared : tuple of Pool
        Tanks that share a surface.
    """
    layout, told = standing.layout, standing.states.get(key)
    tank = layout.tanks[key]
    if not tank.vented:
        return "vent-closed"
    if standing.basis == "none":
        return "unknown"
    if standing.rest is not None and told is not None:
        return told
    if key in standing.unknown:
        return "cut-off" if told == "cut-off" else "unknown"
    if volume <= SAME_WATER:
        return "dry"
    if volume >= tank.lip_volume - SAME_WATER:
        return "full"
    if any(key in pool.tanks and len(pool.tanks) > 1 for pool in shared):
        return "level"
    is_alone = next((len(bank) == 1 for bank in banks(layout) if key in bank), True)
    return "carried" if is_alone or reachable > 0.0 or not layout.outlets else "cut-off"


def _totals(
    standing: Standing, tanks: Mapping[str, TankLevel], held: Three[Contents], brim_full: Contents
) -> Totals:
    layout = standing.layout
    counted = [key for key, tank in layout.tanks.items() if tank.vented]
    low, high = (sum(track[key] for key in counted) for track in (held.low, held.high))
    reach_low, reach_high = (sum(getattr(tanks[key], name) for key in counted) for name in _REACH)
    if len(counted) == len(layout.tanks):
        # The same litres may be in this tank or in that one: their sum is known better than they are.
        low, high = low + standing.overlap.under, high - standing.overlap.over
        reach_low, reach_high = _reach_within(tanks, low, high, reach_low, reach_high)
    is_each_known = not any(key in standing.unknown for key in counted)
    is_known = is_each_known or high - low <= SAME_WATER
    volume = sum(held.mid[key] for key in counted) if high - low > SAME_WATER else low
    parts = [tanks[key].usable_l for key in counted]
    reachable = None if None in parts else sum(part for part in parts if part is not None)
    when_full = usable(layout, {key: brim_full.get(key, 0.0) for key in counted})
    usable_full = sum(when_full[key] for key in counted) * 1000.0
    return Totals(
        volume_l=volume * 1000.0 if is_known else None,
        low_l=low * 1000.0,
        high_l=high * 1000.0,
        usable_l=reachable,
        below_outlet_l=volume * 1000.0 - reachable if is_known and reachable is not None else None,
        full_l=sum(brim_full.get(key, 0.0) for key in counted) * 1000.0,
        usable_full_l=usable_full,
        headroom_l=headroom(layout, held.mid) * 1000.0 if is_each_known else None,
        lost_to_bases_l=lost_to_bases(layout) * 1000.0,
        percent=100.0 * reachable / usable_full if reachable is not None and usable_full > 0.0 else None,
        usable_low_l=reach_low,
        usable_high_l=reach_high,
    )


_REACH = ("usable_low_l", "usable_high_l")


def _reach_within(
    tanks: Mapping[str, TankLevel], low: float, high: float, reach_low: float, reach_high: float
) -> tuple[float, float]:
    """Return the ends of what is usable, [L], where in all there are between `low` and `high`, [m3].

    Of what a tank holds at least some reaches no outlet, and the less it holds the less there is of that.
    """
    if any(tank.volume_l is not None and tank.usable_l is None for tank in tanks.values()):
        # A crest nobody looked at decides what reaches: nothing more can be said than that there is no more water.
        return reach_low, min(reach_high, high * 1000.0)
    out_of_reach = sum(tank.low_l - tank.usable_low_l for tank in tanks.values())
    left = sum(tank.high_l - tank.usable_high_l for tank in tanks.values())
    most = min(reach_high, max(reach_low, high * 1000.0 - out_of_reach))
    return min(most, max(reach_low, low * 1000.0 - left)), most


def _figures(record: object) -> dict[str, Any]:
    """Return a record's fields with floating figures rounded to what can be meant by them."""
    figures: dict[str, Any] = {}
    for name, value in vars(record).items():
        if isinstance(value, float):
            figures[name] = rounded(value, 6 if name.endswith("_m") else 1 if name == "percent" else 4)
        else:
            figures[name] = value
    return figures


def rounded(value: float, places: int) -> float:
    """Return `value` rounded, never a negative zero.

    Examples
    --------
    >>> rounded(-0.00001, 3)
    0.0
    """
    return round(value, places) + 0.0
