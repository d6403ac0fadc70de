"""Typed words to journal records: dips, rain, frost, chores and notes; a sentence for every mistake.

The door to all entering: water moved by hand and things set are in `drawing_off` and `setting`, and called from here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Literal

from tankdash.journal.codec import LONGEST_PERIOD
from tankdash.journal.entries import Dips, Done, Entry, Frost, Note, Rain, TankDip, TapClosed
from tankdash.keeping.chores.running import closing
from tankdash.keeping.chores.ticking import ChoreError, check_done
from tankdash.keeping.entering.drawing_off import (
    enter_move,
    enter_pour,
    enter_tap_close,
    enter_tap_open,
    enter_use,
)
from tankdash.keeping.entering.naming import EntryError, find, find_standing
from tankdash.keeping.entering.setting import enter_set
from tankdash.keeping.rain.events import RainEvent
from tankdash.keeping.rain.gauges import OWN_GAUGE, days_before, default_period
from tankdash.keeping.when import end_of_day, instant, local, local_day, moment_words, start_of_day
from tankdash.site.model import DipRule, Site, SiteTank
from tankdash.units import (
    QuantityError,
    format_length,
    parse_length_range,
    parse_rain,
    parse_temperature,
)
from tankdash.water.errors import OutOfRange
from tankdash.water.model import Layout, Tank
from tankdash.water.readings import depth_from_reading, gauge_through

__all__ = [
    "EntryError",
    "check_time",
    "enter_dip",
    "enter_done",
    "enter_frost",
    "enter_move",
    "enter_note",
    "enter_pour",
    "enter_rain",
    "enter_set",
    "enter_tap_close",
    "enter_tap_open",
    "enter_use",
]

A_HAIR = 1e-6
"""A gauge at its zero may fall this much below it by rounding, [m]."""
AHEAD_ALLOWED = timedelta(minutes=10)
"""By how much two clocks may differ; anything later lies in the future."""


def check_time(site: Site, at: datetime, now: datetime) -> datetime:
    """Return `at` if it is not in the future.

    Raises
    ------
    EntryError
        If it is: nobody can have read or done anything then.
    """
    if at > now + AHEAD_ALLOWED:
        words = moment_words(at, site.zone, now)
        raise EntryError(
            "at", f"{words} is still to come: the journal holds what has happened. Give the time it happened."
        )
    return at


def enter_dip(site: Site, layout: Layout, readings: Mapping[str, str], at: datetime) -> Dips:
    """Return a dip, or a survey of several tanks, from readings as typed.

    Parameters
    ----------
    site : Site
        Knows how each tank is dipped.
    layout : Layout
        The garden at `at`.
    readings : mapping of str to str
        Reading by tank id or label: `60 cm`, `20-30 cm`, and against the tank's own rule `gap 12 in`, `depth 40 cm`.
    at : datetime
        When it was read.

    Raises
    ------
    EntryError
        With the tank as its field.
    """
    if not readings:
        raise EntryError("reading", "Which tank, and what does the stick read? Write it as `north 60 cm`.")
    dips: dict[str, TankDip] = {}
    for name, text in readings.items():
        key = find_standing(name, "tank", name, site.tanks, site, at)
        if key in dips:
            raise EntryError(name, f"{key} is given twice: write one reading for each tank.")
        dips[key] = _tank_dip(site, site.tanks[key], layout.tanks.get(key, site.tanks[key].thing), name, text)
    return Dips(tuple(dips.values()))


def _tank_dip(site: Site, placed: SiteTank, tank: Tank, field: str, text: str) -> TankDip:
    rule = placed.dip
    measured_from: Literal["floor", "brim"] = rule.measured_from
    words = text.strip()
    first, _, rest = words.partition(" ")
    if first.lower() in ("gap", "depth"):
        measured_from, words = ("brim" if first.lower() == "gap" else "floor"), rest
    try:
        ends = parse_length_range(words, site.units)
    except QuantityError as refused:
        raise EntryError(field, str(refused)) from refused
    is_by_scale = rule.scale is not None and words == text.strip()
    depths = []
    for reading in ends:
        try:
            depths.append(
                _by_scale(tank, rule, reading)
                if is_by_scale
                else depth_from_reading(
                    reading,
                    brim=tank.brim,
                    measured_from=measured_from,
                    offset=rule.offset,
                    silt_under_stick=tank.silt if rule.on_silt else 0.0,
                )
            )
        except OutOfRange as refused:
            sentence = (
                _off_the_scale(site, placed, reading)
                if is_by_scale
                else _why_impossible(site, placed, tank, reading, measured_from)
            )
            raise EntryError(field, sentence) from refused
    low, high = sorted(depths)
    return TankDip(tank.id, (low + high) / 2.0, low, high)


def _by_scale(tank: Tank, rule: DipRule, mark: float) -> float:
    """Return the depth a gauge mark stands for, by the line through the two that are known (F21), [m]."""
    assert rule.scale is not None
    depth = gauge_through(*rule.scale).depth(mark) + rule.offset
    return depth_from_reading(0.0 if -A_HAIR < depth < 0.0 else depth, brim=tank.brim)


def _off_the_scale(site: Site, placed: SiteTank, mark: float) -> str:
    shown = format_length(mark, site.units)
    return f"The mark {shown} stands for no depth in {placed.label or placed.thing.id}: read the gauge again."


def _why_impossible(
    site: Site, placed: SiteTank, tank: Tank, reading: float, measured_from: Literal["floor", "brim"]
) -> str:
    """Return the sentence for a reading that does not fit into its tank."""
    name = placed.label or tank.id
    shown, brim = format_length(reading, site.units), format_length(tank.brim, site.units)
    if measured_from == "brim":
        return f"A gap of {shown} in {name} is deeper than its brim, {brim} above the floor: measure again."
    return f"A depth of {shown} in {name} lies above its brim at {brim}: measure again, or look at the unit."


def enter_rain(
    site: Site,
    text: str,
    at: datetime,
    now: datetime,
    *,
    entries: Iterable[Entry] = (),
    start: datetime | None = None,
    end: datetime | None = None,
    day: date | None = None,
    days: int | None = None,
    gauge: str = OWN_GAUGE,
    left_in: bool = False,
) -> Rain:
    """Return a gauge reading with its period.

    Parameters
    ----------
    site : Site
        For units, zone and booking rule.
    text : str
        `12 mm`, `60-90 mm`, `>5.5 in`, `trace`.
    at, now : datetime
        When it was read; the present.
    entries : iterable of Entry, optional
        The journal: without a period, the reading covers the time since that gauge was last read, one day at most.
    start, end : datetime, optional
        The period told.
    day : date, optional
        The local day it is told to be of.
    days : int, optional
        The number of days it is the sum of.
    gauge : str, optional
        Which gauge.
    left_in : bool, optional
        Whether it was not emptied.
    """
    try:
        depths = parse_rain(text, site.units)
    except QuantityError as refused:
        raise EntryError("depth", str(refused)) from refused
    check_time(site, at, now)
    name = " ".join(gauge.split())
    if not name:
        raise EntryError("gauge", f"A gauge needs a name; the garden's own is '{OWN_GAUGE}'.")
    told = [
        word for word, given in (("from", start or end), ("day", day), ("days", days)) if given is not None
    ]
    if len(told) > 1:
        raise EntryError(
            told[1], f"Give either {' or '.join(told)}, not both: they say the same thing twice."
        )
    start, end = _period(site, at, now, entries, start, end, day, days, name)
    return Rain(depths.low_mm, depths.high_mm, start, end, name, depths.trace, left_in, day)


def _period(
    site: Site,
    at: datetime,
    now: datetime,
    entries: Iterable[Entry],
    start: datetime | None,
    end: datetime | None,
    day: date | None,
    days: int | None,
    gauge: str,
) -> tuple[datetime, datetime]:
    zone = site.zone
    if day is not None:
        if day > local_day(at, zone):
            raise EntryError("day", f"{day.isoformat()} is still to come at the time of this reading.")
        return start_of_day(day, zone), min(end_of_day(day, zone), at, key=instant)
    if days is not None:
        if not 1 <= days <= 366:
            raise EntryError("days", "A gauge reading can be the sum of 1 to 366 days.")
        return days_before(at, days, zone), at
    if start is None and end is None:
        start, end = default_period(entries, gauge, at, zone)
        if start >= end:
            raise EntryError(
                "at",
                f"The gauge '{gauge}' was already read at {moment_words(at, zone, now)}: undo that reading, "
                f"give another time, or name another gauge.",
            )
        return start, end
    end = at if end is None else end
    start = local(end.astimezone(zone) - timedelta(days=1), zone) if start is None else start
    if start >= end:
        raise EntryError("from", "The period ends before it begins: give `from` before `to`.")
    if end - start > LONGEST_PERIOD:
        raise EntryError("from", "A gauge reading covers a year at most: read what is older as several.")
    if end > now + AHEAD_ALLOWED:
        raise EntryError(
            "to", f"{moment_words(end, zone, now)} is still to come: a gauge holds what has fallen."
        )
    return start, end


def enter_frost(site: Site, text: str, at: datetime, night: date | None = None) -> Frost:
    """Return a forecast low for the night that begins on `night`, today's unless told otherwise."""
    try:
        low = parse_temperature(text)
    except QuantityError as refused:
        raise EntryError("low", str(refused)) from refused
    if not -60.0 <= low <= 60.0:
        raise EntryError("low", f"{text.strip()} is no forecast for a garden: write it as -1 C or 30 F.")
    return Frost(low, night or local_day(at, site.zone))


def enter_done(
    site: Site,
    chore: str,
    at: datetime,
    entries: Sequence[Entry],
    now: datetime,
    rains: Sequence[RainEvent] | None = None,
) -> Done | TapClosed:
    """Return a chore ticked; `rains` are the journal's events up to `now`, where the caller has them already.

    The chore of a tap or pump left running is ticked by closing it.

    Raises
    ------
    EntryError
        If there is no such chore, or `at` lies before what brought it on: what was done then cannot have answered
        that rain (F41).
    """
    closed = closing(site, entries, chore, min(at, now, key=instant))
    if closed is not None:
        check_time(site, at, now)
        return closed
    key = find("chore", "chore", chore, {name: one.label for name, one in site.chores.items()})
    check_time(site, at, now)
    try:
        check_done(site, entries, key, min(at, now, key=instant), now, rains)
    except ChoreError as refused:
        raise EntryError("at", str(refused)) from refused
    return Done(key)


def enter_note(text: str, overflow: str | None = None) -> Note:
    """Return a note; `overflow` says whether water was seen at the overflow: yes, no, or None for not looked."""
    if overflow is not None:
        seen = {"yes": "overflow seen", "seen": "overflow seen", "no": "overflow dry", "dry": "overflow dry"}
        about = seen.get(overflow.strip().lower())
        if about is None:
            raise EntryError("overflow", "Was water seen at the overflow? Write yes or no, or leave it out.")
        return Note("overflow seen" if about == "overflow seen" else "overflow dry")
    words = " ".join(text.lower().split())
    if not words:
        raise EntryError("note", "The note is empty: write what you saw.")
    if words.startswith(("overflow seen", "overflow ran", "overflow yes")):
        return Note("overflow seen")
    if words.startswith(("overflow dry", "overflow no")):
        return Note("overflow dry")
    if words.startswith("gauge missed"):
        return Note("gauge missed")
    return Note()
