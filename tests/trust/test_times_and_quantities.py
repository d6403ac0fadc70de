"""Whatever is typed where a time or a quantity belongs, at every command and option: an answer, or one sentence.

What is accepted is said back, and what is said back is read as the same again.
"""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path

import pytest
from grammar import Grower
from hypothesis import HealthCheck, event, example, given, settings
from hypothesis import strategies as st
from trusting import Answer, keeps_its_promises, levels_are_sane, times, type_in

pytestmark = pytest.mark.usefixtures("quick")

NOW = ("--now", "2026-06-10T12:00")
BASES: dict[str, tuple[str, ...]] = {
    "dip": ("north", "60cm"),
    "rain": ("12mm",),
    "use": ("9L", "--outlet", "tap"),
    "move": ("9L", "north", "middle"),
    "pour": ("9L", "north"),
    "set": ("north", "base", "20 cm"),
    "frost": ("-1C",),
    "done": ("low",),
    "note": ("x",),
    "stick": ("north",),
    "calendar": ("c.ics", "--overwrite"),
    "export": ("out", "--overwrite"),
    "import": ("rain.csv",),
    "new": ("new.yaml", "--plain"),
    "demo": ("--folder", "play"),
}
"""What each command needs besides."""
TIMES_AND_DAYS = {"TIME", "DAY", "CLOCK"}
QUANTITIES = {
    "READING",
    "DEPTH",
    "VOLUME",
    "LENGTH",
    "RATE",
    "Q",
    "LOW",
    "AREA",
    "STEP",
    "N",
    "DAYS",
    "NUMBER",
}
PAIRED = {"TANK READING": "north ", "TANK=READING": "north=", "TANK=VOLUME": "north="}


def slots(kinds: set[str]) -> list[tuple[str, ...]]:
    """Return every line in which something of these kinds may stand, with TEXT in its place."""
    found: list[tuple[str, ...]] = []
    for command, parser in Grower._sub_parsers().items():
        base = BASES.get(command, ())
        for action in parser._actions:
            metavar = action.metavar if isinstance(action.metavar, str) else ""
            prefix = PAIRED.get(metavar, "")
            if metavar not in kinds and not (prefix and "READING" in kinds):
                continue
            if action.option_strings:
                found.append((command, *base, action.option_strings[-1], f"{prefix}TEXT"))
            elif prefix:
                found.append((command, "north", "TEXT"))
            else:
                found.append((command, "TEXT", *base[1:]))
    if "LENGTH" in kinds:
        found.append(("set", "north", "base", "TEXT"))
    return found


ODD_NUMBERS = (
    "0", "-0", "0,5", "1.5", "1,500", "1.500", ".5", "5.", "½", "1½", "1 1/2", "31-1/2", "3/0", "1/3", "1e3", "1e308",
    "9" * 400, "00012", "+4", "1_0", "٣", "１２", "nan", "inf", "-", "1 2", "3'4", "3' 4 1/2", "4'2-1/4", "0x1f",
)  # fmt: skip
NUMBERS = st.one_of(
    st.integers(-5, 2000).map(str),
    st.decimals(-2, 900, allow_nan=False, places=2).map(str),
    st.sampled_from(ODD_NUMBERS),
)
UNITS = st.sampled_from((
    "mm", "cm", "m", "in", "ft", "'", '"', "”", "′", "L", "l", "m3", "US gal", "imp gal", "gal", "cu ft", "C", "F",
    "°C", "kPa", "L/min", "L/s", "mm/h", "in/h", "m2", "sq ft", "h", "days", "weeks",
    "%", "", "parsecs", "mm/week", " mm ",
))  # fmt: skip
QUANTITY = st.one_of(
    st.tuples(NUMBERS, st.sampled_from(("", " ", "  ", "\u00a0", "\t")), UNITS).map("".join),
    st.tuples(NUMBERS, st.sampled_from(("-", "–", " to ", "..")), NUMBERS, UNITS).map("".join),
    st.tuples(st.sampled_from((">", ">=", "<", "~", "gap ", "depth ")), NUMBERS, UNITS).map("".join),
    st.tuples(NUMBERS, UNITS, NUMBERS, UNITS).map("".join),
    st.sampled_from(("trace", "T", "?", "none", "-4cm", "3' 14\"", "60cm 60cm")),
    st.text(max_size=8),
)
ODD_CLOCKS = (
    "7:30", "24:00", "25:00", "0:60", "7", "7.30", "12:00 am", "noon", "", "T7:30", " 7:30", "23:59:60",
)  # fmt: skip
CLOCKS = st.one_of(st.times().map(lambda clock: f"{clock:%H:%M}"), st.sampled_from(ODD_CLOCKS))
ODD_DAYS = (
    "today", "yesterday", "tomorrow", "monday", "SUN", "2026-02-30", "2024-02-29", "0000-01-01", "2026-6-1", "1 June",
    "01/02/2026", "20260601", "2026-W24-3", "now", "", "2026-03-29", "2025-10-26", "+1", "-3", "last week",
)  # fmt: skip
DAYS = st.one_of(st.dates().map(str), st.sampled_from(ODD_DAYS))
ZONES = st.sampled_from(("", "", "", "Z", "+14:00", "-12:00", "+99:99", " Europe/Lisbon", "+00:00:30"))
TIME = st.one_of(
    st.tuples(DAYS, st.sampled_from((" ", "T", "")), CLOCKS, ZONES).map("".join),
    DAYS,
    CLOCKS,
    st.datetimes().map(lambda moment: moment.isoformat()),
    st.text(max_size=10),
)


def filled(line: tuple[str, ...], text: str) -> list[str]:
    return [word.replace("TEXT", text) for word in line]


def begin_anew() -> None:
    """Empty the garden's journal, and write one dip."""
    for file in Path().glob("tankdash.journal.db*"):
        file.unlink()
    Path("new.yaml").unlink(missing_ok=True)
    assert type_in("--now", "2026-06-08T12:00", "dip", "north", "60cm").code == 0


def hold(line: tuple[str, ...], text: str) -> Answer:
    words = filled(line, text)
    answer = type_in(*NOW, *words, "--json", patience=60.0)
    keeps_its_promises(answer)
    if answer.code == 0 and line[0] in (
        "levels",
        "try",
        "dip",
        "rain",
        "use",
        "move",
        "pour",
        "set",
        "frost",
    ):
        told = answer.json
        levels_are_sane(told.get("levels", told))
    event(f"{line[0]} {('is fine', 'found something', 'refuses')[answer.code]}")
    return answer


GENTLY = settings(
    max_examples=times(60, 6000), deadline=None, suppress_health_check=list(HealthCheck), database=None,
    derandomize=not times(False, True),
)  # fmt: skip
QUANTITY_SLOTS, TIME_SLOTS = slots(QUANTITIES), slots(TIMES_AND_DAYS)


def test_every_command_that_takes_a_quantity_or_a_time_is_attacked() -> None:
    assert {line[0] for line in QUANTITY_SLOTS} >= {
        "dip", "rain", "use", "move", "pour", "set", "frost", "try", "levels", "stick", "storm", "supply", "size",
    }  # fmt: skip
    assert {line[0] for line in TIME_SLOTS} >= {
        "dip",
        "rain",
        "levels",
        "chores",
        "rainfall",
        "frost",
        "balance",
    }
    assert len(QUANTITY_SLOTS) >= 20
    assert len(TIME_SLOTS) >= 20


@GENTLY
@given(line=st.sampled_from(QUANTITY_SLOTS), text=QUANTITY)
@example(line=("stick", "north", "--step", "TEXT"), text="0.001 mm")
@example(line=("rain", "TEXT"), text="9" * 400 + " mm")
def test_anything_where_a_quantity_belongs(garden: Path, line: tuple[str, ...], text: str) -> None:
    begin_anew()
    hold(line, text)


@GENTLY
@given(line=st.sampled_from(TIME_SLOTS), text=TIME)
@example(line=("rain", "12mm", "--from", "TEXT"), text="2026-06-10T12:00+00:00:30")
@example(line=("dip", "north", "60cm", "--at", "TEXT"), text="0001-01-01T00:00+14:00")
def test_anything_where_a_time_belongs(garden: Path, line: tuple[str, ...], text: str) -> None:
    begin_anew()
    hold(line, text)


@GENTLY
@given(text=TIME)
@example(text="yesterday 18:00")
@example(text="1911-01-01T00:00:00")
def test_an_accepted_time_is_said_back_and_read_as_the_same(garden: Path, text: str) -> None:
    begin_anew()
    first = type_in(*NOW, "note", "x", "--at", text, "--json")
    keeps_its_promises(first)
    if first.code == 0:
        said = first.json["entry"]["at"]
        again = type_in(*NOW, "note", "x", "--at", said, "--json")
        assert again.code == 0, again
        assert datetime.fromisoformat(again.json["entry"]["at"]) == datetime.fromisoformat(said)


SAYS = (
    (
        ("dip", "north", "TEXT"),
        lambda record: [record["tanks"][0]["low_m"], record["tanks"][0]["high_m"]],
        5.1e-5,
    ),
    (("set", "north", "base", "TEXT"), lambda record: [record["base_m"]], 5.1e-5),
    (("rain", "TEXT"), lambda record: [record["low_mm"], record["high_mm"]], 5.1e-3),
    (("use", "TEXT", "--outlet", "tap"), lambda record: [record["volume_l"]], 5.1e-3),
    (("pour", "TEXT", "north"), lambda record: [record["volume_l"]], 5.1e-3),
    (("move", "TEXT", "north", "middle"), lambda record: [record["volume_l"]], 5.1e-3),
    (("frost", "TEXT"), lambda record: [record["low_c"]], 5.1e-2),
)
"""A line, the figures it writes down, and how finely they are said."""
MEANT = st.one_of(
    st.tuples(
        st.one_of(
            st.decimals(0, 90, places=2).map(str),
            st.integers(0, 90).map(str),
            st.sampled_from(("31 1/2", "½", "1/3", "0,5")),
        ),
        st.just(" "),
        st.sampled_from(("mm", "cm", "m", "in", "L", "US gal", "imp gal", "cu ft", "C", "F")),
    ).map("".join),
    st.sampled_from(("60-61 cm", "12-14 mm", ">5.5 in", "3' 4\"", "0.42 in", "trace", "-1 C", "-4 cm", "0")),
)


@pytest.mark.parametrize("units", ["metric", "us", "imperial"])
@settings(GENTLY, max_examples=times(15, 1500))
@given(says=st.sampled_from(SAYS), text=MEANT)
@example(says=SAYS[2], text=">5.5 in")
def test_an_accepted_quantity_is_said_back_and_read_as_the_same(
    garden: Path, units: str, says: tuple[tuple[str, ...], object, float], text: str
) -> None:
    line, figures, fine = says
    garden.write_text(garden.read_text().replace("units: metric", f"units: {units}"))
    begin_anew()
    first = type_in(*NOW, *filled(line, text), "--json")
    keeps_its_promises(first)
    if first.code:
        return
    wanted = figures(first.json["entry"]["record"])  # type: ignore[operator]
    begin_anew()
    said = type_in(*NOW, *filled(line, text))
    told = re.search(r"^Read as (?:north: depth )?(.*)\.$", said.out, re.MULTILINE)
    if told is None:
        assert wanted in ([None], [0.0]) or line[0] == "pour", said
        return
    si = [part[part.find("(") + 1 : -1] if "(" in part else part for part in told[1].split(" to ")]
    back = si[0].replace("at least ", ">").replace("a trace", "trace")
    if told[1].startswith("at least") and not back.startswith(">"):  # the words stand before the other unit
        back = f">{back}"
    if len(si) == 2:
        back = f"{si[0].split(' ')[0]}-{si[1]}"
    begin_anew()
    again = type_in(*NOW, *filled(line, back), "--json")
    assert again.code == 0, (text, told[0], back, again.err)
    for one, other in zip(wanted, figures(again.json["entry"]["record"]), strict=True):  # type: ignore[operator]
        assert (one is None) == (other is None), (text, back)
        assert one is None or abs(one - other) <= fine, (text, told[0], back, one, other)
