"""Everything a page or a command about the supply shows, gathered in one call."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from tankdash.keeping.desk import Desk
from tankdash.keeping.state.levels import Levels
from tankdash.planning.absence import Absence, away
from tankdash.planning.ensemble import Ensemble, run_years
from tankdash.planning.figures import litres, rounded
from tankdash.planning.gravity import Head, heads
from tankdash.planning.need import SOIL_DAYS
from tankdash.planning.past import choose, past_rains
from tankdash.planning.supply import ASSUMES, Lasting, Supply, supply
from tankdash.site.crops import without_temperatures
from tankdash.site.model import Site
from tankdash.water.holding import full
from tankdash.water.model import Contents, Layout


@dataclass(frozen=True)
class Outlook:
    """How long the water lasts, what it reaches, and how past years would have gone on from today."""

    site: Site
    at: datetime
    today: date
    layout: Layout
    levels: Levels
    contents: Contents
    """Counted as there: a tank of which only a range is known at its low end, [m3]."""
    supply: Supply | None
    """None before the first dip."""
    heads: Mapping[str, Head]
    """By outlet, and by bed as `bed:tomatoes`."""
    locked: Mapping[str, datetime | None]
    """Outlets that must stay off, with the time since when."""
    chance: Ensemble | None
    """None without past rain, or before the first dip."""
    station: str | None
    """Whose past rain it is."""

    @property
    def is_low_end(self) -> bool:
        """Whether some water was left out because nobody can know in which tank it is; a total may be known even so."""
        layout = self.levels.standing.layout
        return any(
            tank.usable_l is None for key, tank in self.levels.tanks.items() if layout.tanks[key].vented
        )

    @property
    def unknown_needs(self) -> list[str]:
        """Beds whose crop has no need yet, because nobody knows the temperatures."""
        return without_temperatures(self.site)

    def absence(self, days: int, left_open: str | None = None) -> Absence | None:
        """Return whether the water lasts for `days` days without anybody, >= 1; None before the first dip.

        An outlet that stands open already stays so, unless another is named.
        """
        if self.supply is None:
            return None
        taps = [tap for tap in self.levels.standing.open_taps if not tap.is_pump]
        if left_open is None and taps:
            left_open = taps[0].outlet
        return away(self.site, self.layout, self.contents, self.today, days, self.supply.credit, left_open)

    def flows(self, bed: str) -> tuple[float | None, float | None]:
        """Return what the emitters of a bed give by gravity, now and when full; None for unknown, [m3/s]."""
        emitters, head = self.site.beds[bed].emitters, self.heads.get(f"bed:{bed}")
        if emitters is None or head is None or head.by_pump:
            return None, None
        if head.over_outlet is not None and head.over_outlet <= 0.0:
            return 0.0, emitters.flow(head.full)
        return None if head.now is None else emitters.flow(head.now), emitters.flow(head.full)

    def as_json(self) -> dict[str, Any]:
        """Return the JSON of `supply`."""
        known = self.supply
        together = _lasting_json(None if known is None else known.together)
        return {
            "schema": 1,
            "site": self.site.name,
            "at": self.at.isoformat(),
            "basis": self.levels.basis,
            **together,
            "outlets": {key: self._outlet_json(key) for key in self.layout.outlets},
            "beds": {key: self._bed_json(key) for key in self.site.beds},
            "unknown_needs": self.unknown_needs,
            "assumes": ASSUMES,
            "chance": None if self.chance is None else _chance_json(self.chance, self.station or ""),
        }

    def _outlet_json(self, key: str) -> dict[str, Any]:
        outlet = self.layout.outlets[key]
        since = self.locked.get(key)
        return {
            **_lasting_json(None if self.supply is None else self.supply.outlets.get(key)),
            "kind": outlet.kind,
            "tank": outlet.tank,
            **_head_json(self.heads.get(key)),
            "locked": key in self.locked,
            "locked_since": None if since is None else since.isoformat(),
        }

    def _bed_json(self, key: str) -> dict[str, Any]:
        bed = self.site.beds[key]
        flows = self.flows(key)
        credit = None if self.supply is None else self.supply.credit.get(key)
        spared = None if credit is None else credit / bed.efficiency
        head = self.heads.get(f"bed:{key}")
        is_unknown = self.supply is None or key in self.unknown_needs
        return {
            **_lasting_json(None if is_unknown or self.supply is None else self.supply.beds.get(key)),
            "outlet": bed.outlet,
            "rain_covers_l": None if spared is None else litres(spared),
            **_head_json(head),
            "needed_head_m": rounded(bed.min_head, 6),
            "reached": None if head is None else head.is_reached,
            "crop": bed.crop,
            "flow_l_h": None if flows[0] is None else rounded(flows[0] * 3.6e6, 4),
            "flow_full_l_h": None if flows[1] is None else rounded(flows[1] * 3.6e6, 4),
        }


def outlook(
    desk: Desk, now: datetime, *, station: str | None = None, days: int = 365, with_years: bool = True
) -> Outlook:
    """Return everything about the supply at `now`.

    Parameters
    ----------
    desk : Desk
        The garden and its journal.
    now : datetime
        The present.
    station : str, optional
        Whose past rain to use; the longest record when not given.
    days : int, optional
        How far ahead past years are run, 1 to 366.
    with_years : bool, optional
        Whether to run them at all; it takes numpy and a moment.

    Raises
    ------
    EntryError
        If there is no past rain of that name.
    """
    site, levels = desk.site, desk.levels(now)
    standing = levels.standing
    layout, today = standing.layout, now.astimezone(site.zone).date()
    contents = counted_contents(levels)
    known = levels.basis != "none"
    answer = supply(site, layout, contents, today, recent_rain(desk, now, today)) if known else None
    brim_full = full(layout)
    surfaces = {key: tank.surface_m for key, tank in levels.tanks.items()}
    full_surfaces = {key: tank.base + tank.depth(brim_full[key]) for key, tank in layout.tanks.items()}
    chance = record = None
    if with_years:
        record = choose(past_rains(desk, now), station)
    if record is not None and answer is not None:
        # Past years run over every roof: a bung or a winter state of today is not for a whole year.
        chance = run_years(
            record.mm,
            tuple(site.layout(today).roofs.values()),
            tuple(site.beds[key] for key in answer.beds),
            usable=answer.together.usable,
            usable_full=max(levels.totals.usable_full_l / 1000.0, 0.0),
            today=today,
            days=days,
            credit=answer.credit,
        )
    return Outlook(
        site=site,
        at=now.astimezone(site.zone),
        today=today,
        layout=layout,
        levels=levels,
        contents=contents,
        supply=answer,
        heads=heads(site, layout, surfaces, full_surfaces),
        locked={key: since for key, since in standing.arrangement.locked.items() if key in layout.outlets},
        chance=chance if chance is not None and chance.traces else None,
        station=record.station if record is not None else None,
    )


def counted_contents(levels: Levels) -> dict[str, float]:
    """Return the water to count on: a range at its low end, a tank that cannot breathe not at all (R11), [m3]."""
    layout = levels.standing.layout
    return {
        key: 0.0
        if not layout.tanks[key].vented
        else (tank.low_l if tank.volume_l is None else tank.volume_l) / 1000.0
        for key, tank in levels.tanks.items()
    }


def recent_rain(desk: Desk, now: datetime, today: date) -> dict[date, float]:
    """Return the rain of the days that the beds may still have from, days nobody read left out, [mm]."""
    start = today - timedelta(days=2 * SOIL_DAYS)
    return {total.first: total.mm for total in desk.rain_by_day(now, start, today) if total.mm is not None}


def _lasting_json(lasting: Lasting | None) -> dict[str, Any]:
    if lasting is None:
        keys = ("usable_l", "need_l_per_day", "days_left", "full_days", "last_full_day", "short_l")
        return dict.fromkeys(keys)
    last = lasting.last_full_day
    return {
        "usable_l": litres(lasting.usable),
        "need_l_per_day": litres(lasting.need),
        "days_left": None if lasting.days is None else rounded(lasting.days, 6),
        "full_days": lasting.full_days,
        "last_full_day": None if last is None else last.isoformat(),
        "short_l": litres(lasting.short),
    }


def _head_json(head: Head | None) -> dict[str, Any]:
    if head is None:
        return {"head_m": None, "head_full_m": None}
    return {
        "head_m": None if head.now is None else rounded(head.now, 6),
        "head_full_m": rounded(head.full, 6),
    }


def _chance_json(chance: Ensemble, station: str) -> dict[str, Any]:
    worst = chance.worst
    middle, spilled = chance.band(0.5), chance.spilled(0.5)
    lowest = chance.band(0.0)
    soonest = chance.first_dry(1e-6)
    half = chance.first_dry(0.5)
    return {
        "station": station,
        "years": [trace.year for trace in chance.traces],
        "left_out": list(chance.left_out),
        "days": chance.days,
        "dry_share": chance.dry_share(chance.days - 1),
        "soonest_dry": None if soonest is None else soonest.isoformat(),
        "half_dry": None if half is None else half.isoformat(),
        "worst_year": None if worst is None else worst.year,
        "worst_dry_days": None if worst is None else worst.dry_days,
        "spilled_l": {
            "median": None if spilled is None else litres(spilled),
            "most": litres(chance.spilled(1.0) or 0.0),
        },
        "by_date": [
            {
                "date": (chance.start + timedelta(days=day)).isoformat(),
                "dry_share": rounded(chance.dry_share(day) or 0.0, 6),
                "median_l": litres(middle[day]),
                "worst_l": litres(lowest[day]),
            }
            for day in range(chance.days)
        ],
    }
