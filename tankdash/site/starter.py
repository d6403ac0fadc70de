"""The text of a commented starter file from a few answers, and of the built-in demo site.

Answers that fit together make a text that loads without a problem: `tankdash new` and the guided setup write it as
it is.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from pathlib import Path

from tankdash.units import Units, parse_length

DEMO_TODAY = date(2025, 9, 1)
"""The day on which the dates of the demo's text are to be read as they stand."""


@dataclass(frozen=True)
class Kind:
    """A kind of tank that a gardener can name, with the inside of a common size of it."""

    label: str
    """What it is called."""
    metric: str
    """Shape of a common size, in centimetres and litres."""
    inches: str
    """Shape of a common size where people measure in inches."""
    brim: tuple[str, str] | None = None
    """Brim, metric and in inches, where it lies above the depth the shape names."""
    imperial: str | None = None
    """Shape where gallons are imperial; the one in inches when left out."""

    def shape(self, units: Units) -> str:
        """Return the shape as the site file writes it."""
        if units == "imperial" and self.imperial is not None:
            return self.imperial
        return self.metric if units == "metric" else self.inches


KINDS: dict[str, Kind] = {
    "tote": Kind(
        "tote in a cage",
        "{kind: straight, holds: 1000 L, at: 100 cm}",
        "{kind: straight, holds: 275 US gal, at: 39 1/2 in}",
        ("105 cm", "41 1/2 in"),
        "{kind: straight, holds: 220 imp gal, at: 39 1/2 in}",
    ),
    "barrel": Kind(
        "barrel or drum",
        "{kind: upright, diameter: 57 cm, height: 85 cm}",
        "{kind: upright, diameter: 22 1/2 in, height: 33 1/2 in}",
    ),
    "butt": Kind(
        "water butt, wider at the top",
        "{kind: taper, bottom: 45 cm, top: 58 cm, height: 90 cm}",
        "{kind: taper, bottom: 18 in, top: 23 in, height: 35 in}",
    ),
    "round": Kind(
        "big round tank",
        "{kind: upright, diameter: 130 cm, height: 160 cm}",
        "{kind: upright, diameter: 50 in, height: 64 in}",
    ),
    "lying": Kind(
        "round tank on its side",
        "{kind: lying, diameter: 100 cm, length: 150 cm}",
        "{kind: lying, diameter: 40 in, length: 60 in}",
    ),
    "box": Kind(
        "trough or box",
        "{kind: box, length: 120 cm, width: 60 cm, height: 60 cm}",
        "{kind: box, length: 48 in, width: 24 in, height: 24 in}",
    ),
    "cone": Kind(
        "tank with a cone below",
        "{kind: cone, diameter: 110 cm, cone: 40 cm, height: 150 cm}",
        "{kind: cone, diameter: 44 in, cone: 16 in, height: 60 in}",
    ),
}
"""Kinds offered, by the word that `Answers` takes."""


JOINS: dict[str, str] = {
    "link": "a link low down",
    "overflow": "the overflow alone",
    "apart": "nothing",
}
"""Ways in which a tank hangs together with the one before it, by the word that `Answers` takes."""


@dataclass(frozen=True)
class Answers:
    """What a gardener can say without a manual; every length is text as typed."""

    name: str = "My garden"
    """Name of the garden."""
    timezone: str = "UTC"
    """IANA name."""
    units: Units = "metric"
    """How they measure."""
    datum: str = "top of the paving by the first tank"
    """The mark all heights are measured from."""
    kinds: Sequence[str] = ("tote",)
    """Kind of each tank, keys of `KINDS`, from the first to the last of the row."""
    bases: Sequence[str] = ("0",)
    """Height of each tank's floor above the datum; the last stands for all that follow."""
    joins: Sequence[str] = ()
    """How each tank but the first hangs together with the one before, keys of `JOINS`; a link where nothing is said."""
    link_height: str | None = None
    """Where the links enter, above the floors; None when no tanks are joined by one."""
    tap_height: str = "0"
    """Height of the tap above the floor of the last tank of each row of joined ones."""
    roof_length: str | None = None
    """Of the roof that drains here, level on the ground; None when it was not measured."""
    roof_width: str | None = None
    """Likewise."""


def scalar(text: str) -> str:
    """Return `text` as a YAML value, in quotes where it needs them.

    Examples
    --------
    >>> scalar("31 1/2 in"), scalar("3,5 cm"), scalar("a: b")
    ('31 1/2 in', '"3,5 cm"', '"a: b"')
    """
    is_plain = (
        re.fullmatch(r"(?:-?[0-9]|[A-Za-z])[A-Za-z0-9 ._/'\"-]*", text, re.ASCII) and text == text.strip()
    )
    if is_plain and text.lower() != "null":
        return text
    return json.dumps(text, ensure_ascii=False)


def starter(answers: Answers) -> str:
    """Return a commented site file.

    Parameters
    ----------
    answers : Answers
        Lengths that the site's units can read, and heights that fit the tanks: ports and tap below the brims.

    Raises
    ------
    ValueError
        If a length is not understood (`QuantityError`), or a kind of tank is not known.
    """
    for kind in answers.kinds:
        if kind not in KINDS:
            raise ValueError(f"{kind!r} is no kind of tank: write one of {', '.join(KINDS)}")
    if not answers.kinds:
        raise ValueError("a garden has at least one tank")
    for join in answers.joins:
        if join not in JOINS:
            raise ValueError(f"{join!r} joins no tanks: write one of {', '.join(JOINS)}")
    ids = [f"tank-{number}" for number in range(1, len(answers.kinds) + 1)]
    parts = [
        _head(answers),
        _tanks(answers, ids),
        _links(answers, ids),
        _outlets(answers, ids),
        _roofs(answers, ids),
        _beds(answers),
        _chores(answers),
    ]
    return "\n".join(part for part in parts if part)


def _join(answers: Answers, place: int) -> str:
    """Return how the tank at `place` hangs together with the one before it."""
    join = answers.joins[place - 1] if place <= len(answers.joins) else "link"
    return "apart" if join == "link" and answers.link_height is None else join


def _ends(answers: Answers) -> list[int]:
    """Return the places of the last tank of each row of joined ones: a tap sits there."""
    last = len(answers.kinds) - 1
    return [place for place in range(last + 1) if place == last or _join(answers, place + 1) != "link"]


def _head(answers: Answers) -> str:
    stick = "5 mm" if answers.units == "metric" else "1/4 in"
    return f"""\
# A tankdash site: what stands in your garden. Change anything; `tankdash check` tells what does not fit.
# Every length, area and volume carries its unit. Heights inside a tank are above its own floor;
# bases are above the datum, one fixed mark of your choice.
# Never drinking water; a full tote weighs more than a tonne, and lids keep children out: see the cautions, key !

site: {scalar(answers.name)}
timezone: {scalar(answers.timezone)}
units: {answers.units}
datum: {scalar(answers.datum)}
accuracy: {stick}  # of one dip with your stick
"""


def _tanks(answers: Answers, ids: list[str]) -> str:
    lines = ["# Measure the inside of each tank: the figures below are those of a common size.", "tanks:"]
    overflow = "95 cm" if answers.units == "metric" else "37 in"
    for place, (key, kind) in enumerate(zip(ids, answers.kinds, strict=True)):
        typed = answers.bases[min(place, len(answers.bases) - 1)] if answers.bases else "0"
        parse_length(typed, answers.units, negative=True)
        lines += [f"  {key}:  # {KINDS[kind].label}", f"    label: {scalar(f'Tank {place + 1}')}"]
        lines += [f"    base: {scalar(typed)}  # inside floor above the datum; may be negative"]
        lines += [f"    shape: {KINDS[kind].shape(answers.units)}"]
        brim = KINDS[kind].brim
        feeds = place + 1 < len(ids) and _join(answers, place + 1) == "overflow"
        if brim is not None:
            lines += [f"    brim: {brim[0] if answers.units == 'metric' else brim[1]}"]
            if feeds:
                lines += [f"    overflow: {overflow}  # lowest inside point of its overflow pipe"]
            else:
                lines += [
                    f"    # overflow: {overflow}  # lowest inside point of its overflow pipe, if it has one"
                ]
        if feeds:
            lines += [f"    overflow_to: {ids[place + 1]}  # what it spills runs in there"]
        if place == 0:
            lines += ["    # dip: {from: brim}  # if you read the gap from the brim down, not the depth"]
    return "\n".join([*lines, ""])


def _links(answers: Answers, ids: list[str]) -> str:
    pairs = [pair for place, pair in enumerate(pairwise(ids), start=1) if _join(answers, place) == "link"]
    if answers.link_height is None or not pairs:
        return ""
    parse_length(answers.link_height, answers.units)
    bore, run = ("32 mm", "60 cm") if answers.units == "metric" else ("1 1/4 in", "2 ft")
    lines = [
        "# Pipes and hoses that join the tanks. Bore and length tell how long they take to level.",
        "links:",
    ]
    for one, other in pairs:
        lines += [f"  {one}-to-{other.removeprefix('tank-')}:", f"    join: [{one}, {other}]"]
        lines += [f"    ports: {scalar(answers.link_height)}", f"    # bore: {bore}", f"    # run: {run}"]
    return "\n".join([*lines, ""])


def _outlets(answers: Answers, ids: list[str]) -> str:
    parse_length(answers.tap_height, answers.units)
    height = scalar(answers.tap_height)
    lines = ["# Taps and pump intakes. Water below them cannot be used.", "outlets:"]
    for place in _ends(answers):
        if ids[place] == ids[-1]:
            lines += [f"  tap: {{tank: {ids[place]}, at: {height}}}"]
        else:
            number = place + 1
            lines += [f"  tap-{number}: {{label: Tap of tank {number}, tank: {ids[place]}, at: {height}}}"]
    return "\n".join([*lines, ""])


def _roofs(answers: Answers, ids: list[str]) -> str:
    metric = answers.units == "metric"
    pipe = (
        "{bore: 100 mm, length: 1.5 m, empties: by hand}"
        if metric
        else "{bore: 4 in, length: 5 ft, empties: by hand}"
    )
    if answers.roof_length is None or answers.roof_width is None:
        area = "6 x 4 m" if metric else "20 x 12 ft"
        return f"""\
# The roof that drains here, measured level on the ground, not along the slope.
# roofs:
#   roof:
#     area: {area}
#     runoff: 0.9
#     fills: {ids[0]}
#     first_flush: {pipe}
"""
    parse_length(answers.roof_length, answers.units)
    parse_length(answers.roof_width, answers.units)
    return f"""\
# The roof that drains here, measured level on the ground, not along the slope.
roofs:
  roof:
    area: {scalar(f"{answers.roof_length} x {answers.roof_width}")}
    runoff: 0.9  # metal about 0.95, tiles 0.75 to 0.90, gravel 0.5 to 0.8
    fills: {ids[0]}
    # first_flush: {pipe}
"""


def _beds(answers: Answers) -> str:
    metric = answers.units == "metric"
    area, need = ("10 m2", "25 mm/week") if metric else ("100 sq ft", "1 in/week")
    return f"""\
# What is watered, to learn how long the water lasts.
# beds:
#   tomatoes: {{area: {area}, need: {need}, from: tap, months: [5, 6, 7, 8, 9]}}  # in the south [11, 12, 1, 2, 3]
"""


def _chores(answers: Answers) -> str:
    rain, least = ("10 mm", "0.5 mm") if answers.units == "metric" else ("0.4 in", "0.02 in")
    frost = "32 F" if answers.units == "us" else "0 C"
    return f"""\
# Jobs, and what brings them on. A first-flush pipe that is emptied by hand wants a chore of its own:
#   first-flush: {{label: Empty the first-flush pipe, after_rain: {{at_least: {least}}}, empties: roof}}
chores:
  screen:
    label: Wipe the leaf screen
    after_rain: {{at_least: {rain}}}  # after each rain of that depth,
    every: 2 weeks  # and at the latest so long after the last time
    # season: 1 March to 30 November  # where leaves and pollen rest in winter; in the south 1 September to 31 May
  vents:
    label: Look for wrigglers and mend the vent mesh
    every: 1 week
    # season: 1 April to 31 October  # where the nights are cold in winter; in the south 1 October to 30 April
  gutters: {{label: Clear gutters and look into the tanks, every: 6 months}}
  fittings: {{label: Wrap or drain the fittings, frost: {frost}}}
"""


def demo_text(today: date = DEMO_TODAY) -> str:
    """Return the built-in demo site, its dates moved so that it stands as of `today`."""
    text = (Path(__file__).parent / "demo.yaml").read_text(encoding="utf-8")
    moved = today - DEMO_TODAY
    return re.sub(r"\d{4}-\d\d-\d\d", lambda found: str(date.fromisoformat(found[0]) + moved), text)
