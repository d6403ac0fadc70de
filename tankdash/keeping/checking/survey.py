"""Base heights told by the water itself: tanks dipped together in still water share one surface (R1, R3).

Each such survey gives every tank's base against one reference tank. A difference that stays is a base that has
moved; one that changes with the level is a link that does not pass.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import combinations, pairwise
from math import sqrt
from statistics import fmean, median
from typing import Any, Literal

from tankdash.journal.entries import Change
from tankdash.keeping.entering.naming import EntryError
from tankdash.keeping.state.standing import Standing, Together
from tankdash.keeping.state.words import label, moment_in_words
from tankdash.site.model import Site
from tankdash.units import format_length, format_volume
from tankdash.water.holding import lost_to_bases
from tankdash.water.model import Layout
from tankdash.water.sills import banks, sills_from

SurveyFinding = Literal["none", "settlement", "link-not-passing", "no-survey"]

TWO_STICKS = 1.7
"""Times a dip's accuracy, within which the difference of two dips lies in more than nineteen of twenty surveys, be
the stick's errors spread evenly up to its accuracy or normally with half of it as their standard deviation (D)."""
IN_DISCORD = 1.5
"""Times that doubt, when the surveys do not agree and the last alone has to count (D)."""
SECONDS_A_MONTH = 30.44 * 86400.0


@dataclass(frozen=True)
class Sounding:
    """What one survey says about one tank."""

    at: datetime
    base: float
    """[m]."""
    depth: float
    """Of this tank, [m]."""
    reference_depth: float
    """Of the reference tank, [m]."""
    plus_minus: float
    """By what two sticks may be off together, [m]."""


@dataclass(frozen=True)
class SurveyedTank:
    """The base of one tank by the water."""

    base_m: float
    was_m: float
    """As the site file and the journal have it."""
    moved_m: float
    plus_minus_m: float
    surveys: int
    """How many it rests on."""
    per_month_m: float | None
    """Settlement by a robust line through the surveys; None with fewer than three of them."""
    finding: SurveyFinding

    @property
    def has_moved(self) -> bool:
        """Return whether it differs from the known base by more than the sticks explain."""
        return abs(self.moved_m) > self.plus_minus_m


@dataclass(frozen=True)
class Lift:
    """What raising one base brings back."""

    tank: str
    by_m: float
    gains_l: float


@dataclass(frozen=True)
class Survey:
    """Bases by the water, and what they cost."""

    reference: str | None
    tanks: dict[str, SurveyedTank]
    lost_to_bases_l: float
    lifts: tuple[Lift, ...]
    finding: SurveyFinding
    text: str
    set_aside: int = 0
    """Surveys not used because the water was still moving."""

    def as_json(self) -> dict[str, Any]:
        """Return the JSON of `survey`."""
        return {
            "schema": 1,
            "reference": self.reference,
            "tanks": {
                key: {
                    "base_m": round(tank.base_m, 6) + 0.0,
                    "was_m": round(tank.was_m, 6) + 0.0,
                    "moved_m": round(tank.moved_m, 6) + 0.0,
                    "plus_minus_m": round(tank.plus_minus_m, 6),
                    "surveys": tank.surveys,
                    "per_month_m": None if tank.per_month_m is None else round(tank.per_month_m, 6) + 0.0,
                    "finding": tank.finding,
                }
                for key, tank in self.tanks.items()
            },
            "lost_to_bases_l": round(self.lost_to_bases_l, 4) + 0.0,
            "lifts": [
                {"tank": lift.tank, "by_m": round(lift.by_m, 6), "gains_l": round(lift.gains_l, 4)}
                for lift in self.lifts
            ],
            "finding": self.finding,
            "text": self.text,
            "set_aside": self.set_aside,
        }


def survey_of(site: Site, history: Standing, reference: str | None = None) -> Survey:
    """Return the bases by the water from all surveys in the journal.

    Parameters
    ----------
    site : Site
        The garden.
    history : Standing
        The whole journal replayed.
    reference : str, optional
        The tank whose base is taken as true; by default the one that was dipped together with others most often.

    Raises
    ------
    EntryError
        If `reference` is no tank of today's garden.
    """
    layout = history.layout
    still = [taken for taken in history.together if taken.unsettled <= 0.0]
    set_aside = len(history.together) - len(still)
    if reference is None:
        counts = {key: sum(key in taken.depths.mid for taken in still) for key in layout.tanks}
        reference = max(counts, key=lambda key: counts[key], default=None)
        if reference is None or counts[reference] == 0:
            reference = None
    elif reference not in layout.tanks:
        raise EntryError("reference", f"There is no tank '{reference}' in the garden today.")
    tanks: dict[str, SurveyedTank] = {}
    if reference is not None:
        for key in layout.tanks:
            soundings = _soundings(site, still, layout, reference, key)
            if key == reference and any(reference in taken.depths.mid for taken in still):
                base = layout.tanks[key].base
                tanks[key] = SurveyedTank(base, base, 0.0, 0.0, len(still), None, "none")
            elif soundings:
                tanks[key] = _surveyed(layout.tanks[key].base, soundings)
    surveyed = replace(
        layout,
        tanks={
            key: replace(tank, base=tanks[key].base_m) if key in tanks and _is_base(tanks[key]) else tank
            for key, tank in layout.tanks.items()
        },
    )
    finding = _overall(tanks)
    lost = lost_to_bases(surveyed)
    lifts = _lifts(surveyed, lost)
    text = _text(site, reference, tanks, finding, lost, lifts, set_aside, still)
    return Survey(reference, tanks, lost * 1000.0, lifts, finding, text, set_aside)


def accept_base(survey: Survey, tank: str) -> Change:
    """Return the record that takes the surveyed base of `tank` as true from now on.

    Raises
    ------
    EntryError
        If the survey says nothing about it.
    """
    found = survey.tanks.get(tank)
    if found is None or tank == survey.reference:
        raise EntryError(
            "tank", f"The survey tells no base of '{tank}': dip it together with its neighbours."
        )
    return Change(tank, "base", round(found.base_m, 4))


def _soundings(
    site: Site, still: Sequence[Together], layout: Layout, reference: str, key: str
) -> list[Sounding]:
    """Return what each survey since either base was last set says about `key`."""
    found: list[Sounding] = []
    for taken in still:
        then = taken.layout.tanks
        if key == reference or not {key, reference} <= taken.depths.mid.keys():
            continue
        if then[key].base != layout.tanks[key].base or then[reference].base != layout.tanks[reference].base:
            found.clear()
            continue
        depth, reference_depth = taken.depths.mid[key], taken.depths.mid[reference]
        surface = then[reference].base + reference_depth
        sill = sills_from(taken.layout, reference).get(key)
        tank = then[key]
        # Below the sill the two have parted; a dry tank or one at its lip tells only a bound.
        if sill is None or surface <= sill + site.accuracy or not tank.silt < depth < tank.brim:
            continue
        ranges = sum((taken.depths.high[name] - taken.depths.low[name]) / 2.0 for name in (key, reference))
        plus_minus = TWO_STICKS * site.accuracy + ranges
        found.append(Sounding(taken.at, surface - depth, depth, reference_depth, plus_minus))
    return found


def _surveyed(was: float, soundings: Sequence[Sounding]) -> SurveyedTank:
    last = soundings[-1]
    slope = theil_sen([(one.at.timestamp(), one.base) for one in soundings]) if len(soundings) > 2 else None
    bases = [one.base for one in soundings]
    base, plus_minus = last.base, last.plus_minus * (IN_DISCORD if len(soundings) > 1 else 1.0)
    if max(bases) - min(bases) <= 2.0 * max(one.plus_minus for one in soundings):
        # They agree: the mean is surer than any one of them.
        base, plus_minus = fmean(bases), fmean(one.plus_minus for one in soundings) / sqrt(len(soundings))
    if _is_not_passing(soundings):
        finding: SurveyFinding = "link-not-passing"
    else:
        finding = "settlement" if abs(base - was) > plus_minus else "none"
    per_month = None if slope is None else slope * SECONDS_A_MONTH
    return SurveyedTank(base, was, base - was, plus_minus, len(soundings), per_month, finding)


def _is_not_passing(soundings: Sequence[Sounding]) -> bool:
    """Return whether the tank stayed behind when the others rose or fell, instead of moving with them."""
    for before, after in pairwise(soundings):
        rise, reference_rise = after.depth - before.depth, after.reference_depth - before.reference_depth
        doubt = before.plus_minus + after.plus_minus
        if abs(reference_rise - rise) > doubt and abs(rise) < 0.5 * abs(reference_rise):
            return True
        if abs(reference_rise - rise) > doubt and abs(reference_rise) < 0.5 * abs(rise):
            return True
    return False


def theil_sen(points: Sequence[tuple[float, float]]) -> float | None:
    """Return the slope of a line through `points` that no single bad one can tilt: the median of all pairs' slopes.

    Theil 1950, Sen 1968; None when all points stand at one place.

    Examples
    --------
    >>> theil_sen([(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0), (4.0, 40.0)])
    1.0
    """
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(points, 2) if b[0] != a[0]]
    return median(slopes) if slopes else None


def _is_base(tank: SurveyedTank) -> bool:
    """Return whether the surveyed figure is that of a base, and not of water that does not level."""
    return tank.finding != "link-not-passing"


def _overall(tanks: dict[str, SurveyedTank]) -> SurveyFinding:
    findings = {tank.finding for tank in tanks.values()}
    for finding in ("link-not-passing", "settlement"):
        if finding in findings:
            return "link-not-passing" if finding == "link-not-passing" else "settlement"
    return "none" if len(tanks) > 1 else "no-survey"


def _lifts(layout: Layout, lost: float) -> tuple[Lift, ...]:
    """Return, for each bank, what raising the tank with the lowest lip to the next one brings back (R8)."""
    lifts = []
    for bank in banks(layout):
        lips = sorted((layout.tanks[key].lip_elevation, key) for key in bank)
        if len(lips) < 2:
            continue
        (lowest, key), (following, _) = lips[0], lips[1]
        by = following - lowest
        tank = layout.tanks[key]
        raised = replace(layout, tanks={**layout.tanks, key: replace(tank, base=tank.base + by)})
        gains = lost - lost_to_bases(raised)
        if by > 0.0 and gains > 0.0005:
            lifts.append(Lift(key, by, gains * 1000.0))
    return tuple(sorted(lifts, key=lambda lift: -lift.gains_l))


def _text(
    site: Site,
    reference: str | None,
    tanks: dict[str, SurveyedTank],
    finding: SurveyFinding,
    lost: float,
    lifts: tuple[Lift, ...],
    set_aside: int,
    still: Sequence[Together],
) -> str:
    said: list[str] = []
    if set_aside:
        said.append(f"{set_aside} set aside: the water was still levelling when those dips were taken.")
    if finding == "no-survey" or reference is None:
        said.append(
            "No survey yet: dip all linked tanks together when the water stands still, well above the links, "
            "and enter the readings as one dip."
        )
        return " ".join(said)
    said.append(f"Measured against {label(site, reference)}, last on {moment_in_words(site, still[-1].at)}.")
    for key, tank in tanks.items():
        name, by = label(site, key), format_length(abs(tank.moved_m), site.units)
        doubt = format_length(tank.plus_minus_m, site.units)
        if tank.finding == "link-not-passing":
            said.append(f"{name} does not follow the others up and down: its link does not pass, or hardly.")
        elif tank.finding == "settlement":
            way = "lower" if tank.moved_m < 0.0 else "higher"
            said.append(f"{name} stands {by} {way} than noted (within {doubt}).")
            if tank.surveys == 1:
                said.append(
                    "Survey once more at another level: a base that moved shows the same again, a link that does "
                    "not pass shows something else."
                )
    if finding == "none":
        said.append("The bases are as noted, as far as a stick can show.")
    if lost > 0.0005:
        said.append(f"Uneven bases cost {format_volume(lost, site.units)}.")
    for lift in lifts:
        said.append(
            f"Raising {label(site, lift.tank)} by {format_length(lift.by_m, site.units)} brings back "
            f"{format_volume(lift.gains_l / 1000.0, site.units)}."
        )
    return " ".join(said)
