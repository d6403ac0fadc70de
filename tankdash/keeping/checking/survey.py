"""Base heights told by the water itself: tanks dipped together in still water share one surface (R1, R3).

Each such survey gives every tank's base against one reference tank. A difference that stays is a base that has
moved; one that changes with the level is a link that does not pass.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import sqrt
from statistics import fmean
from typing import Any, Literal

from tankdash.journal.entries import Change
from tankdash.keeping.checking.soundings import Sounding, Soundings, soundings_of, trend_of
from tankdash.keeping.entering.naming import EntryError
from tankdash.keeping.state.standing import Standing, Together
from tankdash.keeping.state.words import label, moment_in_words
from tankdash.site.loads import listed
from tankdash.site.model import Site
from tankdash.units import format_length, format_volume
from tankdash.water.holding import lost_to_bases
from tankdash.water.model import Layout
from tankdash.water.sills import banks

SurveyFinding = Literal["none", "settlement", "link-not-passing", "no-survey"]

IN_DISCORD = 1.5
"""Times that doubt, when the surveys do not agree and the last alone has to count (D)."""
FAR_BEYOND = 2.0
"""Times the doubt of two surveys, by which the water must have risen or fallen between them to tell of a link (D)."""
SECONDS_A_MONTH = 30.44 * 86400.0
WORTH_SAYING = 0.0005
"""Room not worth a word, [m3]."""
LEAST_LIFT = 0.001
"""A height nobody packs under a tank, [m]."""


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
    is_settling: bool = False
    """Whether that line says more than the sticks explain."""
    soundings: tuple[Sounding, ...] = ()
    """What each survey said, since the base was last moved."""


@dataclass(frozen=True)
class Lift:
    """What raising one base brings back."""

    tank: str
    by_m: float
    gains_l: float


@dataclass(frozen=True)
class Levelling:
    """What brings all lips of each bank to one height."""

    by_m: Mapping[str, float]
    """How far each tank has to be raised; those with the highest lips stay."""
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
    levelling: Levelling | None = None
    """Raising several tanks, where raising one does not bring all of it back."""

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
                    "is_settling": tank.is_settling,
                    "finding": tank.finding,
                    "soundings": [
                        {
                            "at": one.at.isoformat(),
                            "base_m": round(one.base, 6) + 0.0,
                            "plus_minus_m": round(one.plus_minus, 6),
                        }
                        for one in tank.soundings
                    ],
                }
                for key, tank in self.tanks.items()
            },
            "lost_to_bases_l": round(self.lost_to_bases_l, 4) + 0.0,
            "lifts": [
                {"tank": lift.tank, "by_m": round(lift.by_m, 6), "gains_l": round(lift.gains_l, 4)}
                for lift in self.lifts
            ],
            "levelling": None
            if self.levelling is None
            else {
                "by_m": {key: round(more, 6) for key, more in self.levelling.by_m.items()},
                "gains_l": round(self.levelling.gains_l, 4),
            },
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
            soundings = soundings_of(site, still, layout, reference, key)
            if key == reference and any(reference in taken.depths.mid for taken in still):
                base = layout.tanks[key].base
                tanks[key] = SurveyedTank(base, base, 0.0, 0.0, len(still), None, "none")
            elif soundings.current:
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
    lifts, levelling = _lifts(surveyed, lost), _levelling(surveyed, lost)
    found = Survey(reference, tanks, lost * 1000.0, lifts, finding, "", set_aside, levelling)
    return replace(found, text=_text(site, found, still, layout))


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


def _surveyed(was: float, told: Soundings) -> SurveyedTank:
    soundings = told.current
    last = soundings[-1]
    trend = trend_of(told.followed)
    bases = [one.base for one in soundings]
    base, plus_minus = last.base, last.plus_minus * (IN_DISCORD if len(soundings) > 1 else 1.0)
    if trend is not None and trend.is_sure:
        # A base that sinks is where its line has come to, not where it was in the middle of the time.
        base, plus_minus = trend.now, last.plus_minus
    elif max(bases) - min(bases) <= 2.0 * max(one.plus_minus for one in soundings):
        # They agree: the mean is surer than any one of them.
        base, plus_minus = fmean(bases), fmean(one.plus_minus for one in soundings) / sqrt(len(soundings))
    if _is_not_passing(soundings):
        finding: SurveyFinding = "link-not-passing"
    else:
        finding = "settlement" if abs(base - was) > plus_minus else "none"
    return SurveyedTank(
        base_m=base,
        was_m=was,
        moved_m=base - was,
        plus_minus_m=plus_minus,
        surveys=len(soundings),
        per_month_m=None if trend is None else trend.per_second * SECONDS_A_MONTH,
        finding=finding,
        is_settling=trend is not None and trend.is_sure and finding != "link-not-passing",
        soundings=told.followed,
    )


def _is_not_passing(soundings: Sequence[Sounding]) -> bool:
    """Return whether the tank stayed behind when the others rose or fell, instead of moving with them."""
    for before, after in pairwise(soundings):
        rise, reference_rise = after.depth - before.depth, after.reference_depth - before.reference_depth
        smaller, larger = sorted((abs(rise), abs(reference_rise)))
        # Four sticks and a base that sinks meanwhile must not look like it: only a change well beyond them counts.
        doubt = before.plus_minus + after.plus_minus
        is_apart = larger > FAR_BEYOND * doubt and abs(reference_rise - rise) > doubt
        if is_apart and (smaller < 0.5 * larger or rise * reference_rise < 0.0):
            return True
    return False


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
        gains = lost - lost_to_bases(_raised(layout, {key: by}))
        if by > 0.0 and gains > WORTH_SAYING:
            lifts.append(Lift(key, by, gains * 1000.0))
    return tuple(sorted(lifts, key=lambda lift: -lift.gains_l))


def _levelling(layout: Layout, lost: float) -> Levelling | None:
    """Return what brings the lips of every bank to one height, by raising alone, and what that brings back (R8)."""
    by: dict[str, float] = {}
    for bank in banks(layout):
        highest = max(layout.tanks[key].lip_elevation for key in bank)
        for key in bank:
            if highest - layout.tanks[key].lip_elevation > LEAST_LIFT:
                by[key] = highest - layout.tanks[key].lip_elevation
    gains = lost - lost_to_bases(_raised(layout, by))
    return Levelling(by, gains * 1000.0) if len(by) > 1 and gains > WORTH_SAYING else None


def _raised(layout: Layout, by: Mapping[str, float]) -> Layout:
    """Return the garden with some tanks raised, [m]."""
    raised = {key: replace(layout.tanks[key], base=layout.tanks[key].base + more) for key, more in by.items()}
    return replace(layout, tanks={**layout.tanks, **raised})


def _text(site: Site, survey: Survey, still: Sequence[Together], layout: Layout) -> str:
    units = site.units
    said: list[str] = []
    if survey.set_aside:
        said.append(
            f"{survey.set_aside} set aside: the water was still levelling when those dips were taken."
        )
    if survey.finding == "no-survey" or survey.reference is None:
        said.append(
            "No survey yet: dip all linked tanks together when the water stands still, well above the links, "
            "and enter the readings as one dip."
        )
        return " ".join(said)
    when = moment_in_words(site, still[-1].at)
    said.append(f"Measured against {label(site, survey.reference)}, last on {when}.")
    for key, tank in survey.tanks.items():
        said += _tank_text(site, key, tank)
    said += _apart(site, survey, still, layout)
    if survey.finding == "none":
        said.append("The bases are as noted, as far as a stick can show.")
    if survey.lost_to_bases_l > WORTH_SAYING * 1000.0:
        said.append(f"Uneven bases cost {format_volume(survey.lost_to_bases_l / 1000.0, units)}.")
    for lift in survey.lifts:
        said.append(
            f"Raising {label(site, lift.tank)} by {format_length(lift.by_m, units)} brings back "
            f"{format_volume(lift.gains_l / 1000.0, units)}."
        )
    if survey.levelling is not None:
        raised = listed(
            [
                f"{label(site, key)} by {format_length(more, units)}"
                for key, more in survey.levelling.by_m.items()
            ]
        )
        gains = format_volume(survey.levelling.gains_l / 1000.0, units)
        said.append(f"Raising {raised} brings back {gains}.")
    if survey.lifts or survey.levelling is not None:
        said.append("Empty a tank before you raise it, and see that what it then stands on carries it full.")
    return " ".join(said)


def _apart(site: Site, survey: Survey, still: Sequence[Together], layout: Layout) -> list[str]:
    """Return which tanks dipped together are left out, because no open link joins them to the reference."""
    said = []
    for bank in banks(layout):
        dipped = [key for key in bank if any(key in taken.depths.mid for taken in still)]
        if survey.reference not in bank and len(dipped) > 1:
            names = listed([label(site, key) for key in dipped])
            said.append(
                f"{names} share no water with it and are told by themselves: `survey --reference {dipped[0]}`."
            )
    return said


def _tank_text(site: Site, key: str, tank: SurveyedTank) -> list[str]:
    """Return what the survey says of one tank."""
    name, units = label(site, key), site.units
    said = []
    if tank.finding == "link-not-passing":
        said.append(f"{name} does not follow the others up and down: its link does not pass, or hardly.")
    elif tank.finding == "settlement":
        way = "lower" if tank.moved_m < 0.0 else "higher"
        by, doubt = format_length(abs(tank.moved_m), units), format_length(tank.plus_minus_m, units)
        said.append(f"{name} stands {by} {way} than noted (within {doubt}).")
        if tank.surveys == 1 and len(tank.soundings) == 1:
            said.append(
                "Survey once more at another level: a base that moved shows the same again, a link that does "
                "not pass shows something else."
            )
    if tank.is_settling and tank.per_month_m is not None:
        way = "sinks" if tank.per_month_m < 0.0 else "rises"
        by = format_length(abs(tank.per_month_m), units)
        said.append(
            f"{name} {way} by about {by} a month over {len(tank.soundings)} surveys: look at its base."
        )
    return said
