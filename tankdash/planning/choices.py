"""What more tanks or more roof would bring: the garden's own beds and roofs over years of daily rain (R18)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from statistics import median
from typing import Any

from tankdash.keeping.desk import Desk
from tankdash.planning.ensemble import caught_from
from tankdash.planning.figures import litres, rounded
from tankdash.planning.need import drawn_each_day, reaches
from tankdash.planning.past import LEAST_DAYS, MOST_GAPS, PastRain
from tankdash.planning.sizing import Rule, SizeResult, knee_in_words, run_sizes
from tankdash.site.model import Site
from tankdash.units import Units, format_volume
from tankdash.water.holding import full, usable
from tankdash.water.model import Layout, Roof

USUAL_STEPS = 6
"""Tanks added one by one when nobody says which."""
CURVE_SIZES = 40
"""Sizes of the curve of storage against reliability."""
LARGEST_CURVE = 4.0
"""The curve ends at so many times the largest store asked about."""


class NoRecord(ValueError):
    """There is nothing to run sizes on; the message is a sentence that says what to do."""


@dataclass(frozen=True)
class Choice:
    """One store under one roof and what it would have done."""

    name: str
    """In words: `as it is`, `1000 L more`."""
    roof: float
    """Plan area, [m2]."""
    result: SizeResult


@dataclass(frozen=True)
class Sizing:
    """All the choices, over one record."""

    record: PastRain
    rule: Rule
    choices: tuple[Choice, ...]
    """Those asked about, roof by roof, from small to large."""
    tank: float | None
    """Volume of each tank added, where the owner named none, [m3]."""
    curve: tuple[SizeResult, ...]
    """Sizes from small to large under the present roof."""
    need_per_year: float
    """Wanted from the tanks, rain on the beds taken off, [m3]."""
    caught_per_year: tuple[tuple[float, float], ...]
    """What the roofs bring a year, by plan area, [m2] and [m3]."""

    def of_roof(self, area: float) -> list[Choice]:
        """Return the choices under one roof."""
        return [choice for choice in self.choices if choice.roof == area]

    @property
    def roofs(self) -> list[float]:
        """Plan areas asked about, in their order, [m2]."""
        return list(dict.fromkeys(choice.roof for choice in self.choices))

    def knee(self, area: float) -> str:
        """Return in words what each step under one roof is worth."""
        chosen = self.of_roof(area)
        return knee_in_words([choice.result for choice in chosen], [choice.name for choice in chosen])

    def as_json(self) -> dict[str, Any]:
        """Return the JSON of `size`."""
        return {
            "schema": 1,
            "station": self.record.station,
            "from": self.record.first.isoformat(),
            "to": self.record.last.isoformat(),
            "missing_days": self.record.missing,
            "rule": self.rule,
            "step": "day",
            "start": "empty",
            "need_l_per_year": litres(self.need_per_year),
            "caught_l_per_year": [
                {"roof_m2": rounded(area, 6), "caught_l": litres(caught)}
                for area, caught in self.caught_per_year
            ],
            "rows": [
                {"name": choice.name, "roof_m2": rounded(choice.roof, 6), **_result_json(choice.result)}
                for choice in self.choices
            ],
            "curve": [_result_json(result) for result in self.curve],
            "knee": [self.knee(area) for area in self.roofs],
        }


def _result_json(result: SizeResult) -> dict[str, Any]:
    return {
        "storage_l": litres(result.storage),
        "volume_reliability": rounded(result.volume_reliability, 6),
        "day_reliability": rounded(result.day_reliability, 6),
        "dry_days_per_year": rounded(result.dry_days_per_year, 4),
        "spilled_l_per_year": litres(result.spilled_per_year),
    }


def sizing(
    site: Site,
    layout: Layout,
    record: PastRain,
    *,
    added: Sequence[float] = (),
    roof_area: float | None = None,
    rule: Rule = "YAS",
    progress: Callable[[float], bool] | None = None,
) -> Sizing:
    """Return what the garden's store, and larger ones, would have done over a record of daily rain (R18).

    The bank is one store of what its outlets reach when full. An added tank is taken to stand level with the
    others, all of it usable. First-flush pipes are taken as empty before each wet day.

    Parameters
    ----------
    site : Site
        Beds.
    layout : Layout
        The bank and its roofs.
    record : PastRain
        Daily rain, a year or more; a missing day counts as dry.
    added : sequence of float
        Tanks to add one after the other, each > 0; the usual size, several times, when empty, [m3].
    roof_area : float, optional
        Another plan area to look at beside the present one, > 0, [m2].
    rule : {"YAS", "YBS"}
        Yield after or before spillage.
    progress : callable, optional
        Told the share done; may return False to stop.

    Raises
    ------
    NoRecord
        If the record is too short or has too many gaps, no roof delivers, or no bed asks for anything.
    Cancelled
        If `progress` returned False.
    """
    _check(record)
    beds = [site.beds[key] for key in reaches(site, layout)]
    rain_mm = record.in_a_row()
    years = len(rain_mm) / 365.25
    demand = [0.0] * len(rain_mm)
    for bed in beds:
        demand = [a + b for a, b in zip(demand, drawn_each_day(bed, record.first, rain_mm), strict=True)]
    if not any(demand):
        raise NoRecord("No bed asks for water from these tanks: add `beds:` to the site file first.")
    present = sum(roof.area for roof in layout.roofs.values())
    if present <= 0.0 and roof_area is None:
        raise NoRecord("No roof runs into the tanks: add `roofs:` to the site file, or say --roof AREA.")
    storage = sum(usable(layout, full(layout)).values())
    names, storages = ladder(layout, storage, added, site.units)
    top = LARGEST_CURVE * max(storages)
    curve_sizes = [top * ((number + 1) / CURVE_SIZES) ** 2 for number in range(CURVE_SIZES)]
    areas = ([present] if present > 0.0 else []) + ([roof_area] if roof_area not in (None, present) else [])
    choices, curve, caught_per_year = [], [], []
    for place, area in enumerate(area for area in areas if area is not None):
        inflow = inflow_of(resized(layout, area), rain_mm)
        caught_per_year.append((area, sum(inflow) / years))
        asked = [*storages, *(curve_sizes if place == 0 else [])]
        results = run_sizes(inflow, demand, asked, rule=rule, progress=_part(progress, place, len(areas)))
        choices += [
            Choice(name, area, result) for name, result in zip(names, results[: len(storages)], strict=True)
        ]
        curve += results[len(storages) :]
    return Sizing(
        record=record,
        rule=rule,
        choices=tuple(choices),
        tank=None if added else storages[1] - storages[0],
        curve=tuple(curve),
        need_per_year=sum(demand) / years,
        caught_per_year=tuple(caught_per_year),
    )


def lasting_layout(desk: Desk, now: datetime) -> Layout:
    """Return the garden as it will stand for years: a bung or a winter state of today is not for them."""
    roofs = desk.site.layout(now.astimezone(desk.site.zone).date()).roofs
    return replace(desk.standing(now).layout, roofs=roofs)


def _check(record: PastRain) -> None:
    span = (record.last - record.first).days + 1 if record.mm else 0
    if span < LEAST_DAYS:
        raise NoRecord(
            f"The record of {record.station} covers {span} days: sizes take a year of daily rain or more."
        )
    if record.missing > MOST_GAPS * span:
        raise NoRecord(
            f"The record of {record.station} lacks {record.missing} of {span} days: a missing day is not a dry one, "
            "so it says too little. Write 0 for days that were dry, or use another station."
        )


def _part(progress: Callable[[float], bool] | None, place: int, count: int) -> Callable[[float], bool] | None:
    if progress is None:
        return None
    return lambda share: progress((place + share) / count)


def ladder(
    layout: Layout, storage: float, added: Sequence[float], units: Units
) -> tuple[list[str], list[float]]:
    """Return the names and usable volumes of the steps: as it is, then one tank after the other added, [m3]."""
    if added:
        steps, names = list(added), []
        so_far = 0.0
        for volume in steps:
            so_far += volume
            names.append(f"{format_volume(so_far, units)} more")
    else:
        usual = median(tank.lip_volume for tank in layout.tanks.values())
        steps = [usual] * USUAL_STEPS
        ordinals = [ordinal(len(layout.tanks) + number) for number in range(1, USUAL_STEPS + 1)]
        names = [
            f"{'an' if word.startswith(('e', '8', '11t', '18')) else 'a'} {word} tank" for word in ordinals
        ]
    volumes = [storage]
    for volume in steps:
        volumes.append(volumes[-1] + volume)
    return ["as it is", *names], volumes


_ORDINALS = (
    "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth",
)  # fmt: skip


def ordinal(number: int) -> str:
    """Return which one it is, number >= 2.

    Examples
    --------
    >>> ordinal(4), ordinal(21), ordinal(112)
    ('fourth', '21st', '112th')
    """
    if number < len(_ORDINALS) + 2:
        return _ORDINALS[number - 2]
    is_teen = 10 < number % 100 < 14
    return f"{number}{'th' if is_teen else {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th')}"


def resized(layout: Layout, area: float) -> list[Roof]:
    """Return the roofs with their plan areas scaled to `area` in all; one plain roof where there is none, [m2]."""
    roofs = list(layout.roofs.values())
    present = sum(roof.area for roof in roofs)
    if present <= 0.0:
        return [Roof("roof", area, fills=next(iter(layout.tanks)))]
    return [replace(roof, area=roof.area * area / present) for roof in roofs]


def inflow_of(roofs: Sequence[Roof], rain_mm: Sequence[float]) -> list[float]:
    """Return what the roofs bring on each day, [m3]."""
    by_depth: dict[float, float] = {}
    for depth in rain_mm:
        if depth not in by_depth:
            by_depth[depth] = caught_from(roofs, depth)
    return [by_depth[depth] for depth in rain_mm]
