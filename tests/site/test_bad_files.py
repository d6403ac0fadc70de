"""A bad site file: every problem at once, each with its line and a sentence, whatever the bytes."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tankdash.site import Problem, SiteError, load, load_text
from tankdash.site.document import LARGEST_FILE
from tankdash.site.starter import demo_text

GOOD = """\
site: Small
timezone: Europe/Lisbon
units: metric
datum: step
accuracy: 5 mm
tanks:
  upper:
    base: 50 cm
    shape: {kind: straight, holds: 1000 L, at: 100 cm}
    brim: 105 cm
    overflow: 95 cm
    overflow_to: lower
    silt: 1 cm
    since: 2026-01-01
  lower:
    base: 0
    shape: {kind: box, length: 1 m, width: 1 m, height: 90 cm}
links:
  hose: {join: [upper, lower], ports: [8 cm, 80 cm]}
outlets:
  tap: {tank: lower, at: 10 cm}
roofs:
  shed: {area: 24 m2, fills: upper, first_flush: {holds: 10 L, empties: by hand}}
beds:
  beans: {area: 12 m2, need: 25 mm/week, from: tap}
rain: {gap: 6 h}
chores:
  flush: {after_rain: {at_least: 1 mm}, empties: shed}
  line: {every: 2 months, starting: 2023-12-31, counted_from: calendar}
"""


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(SiteError) as refused:
        load_text(text, "garden.yaml")
    return refused.value.problems


def changed(old: str, new: str) -> str:
    assert GOOD.count(old) == 1, old
    return GOOD.replace(old, new)


def test_the_file_that_the_others_are_spoilt_from_is_good() -> None:
    assert load_text(GOOD).name == "Small"


BOX = "{kind: box, length: 1 m, width: 1 m, height: 90 cm}"

# Each row: what stands in the good file, what replaces it, the line and key blamed, and a word of the sentence.
BLAMES = [
    ("site: Small\n", "", 1, "", "`site` is missing"),
    ("site: Small", "site:", 1, "site", "no value"),
    ("site: Small", "site: ''", 1, "site", "blank"),
    ("site: Small", 'site: "a\\u202eb"', 1, "site", "control character"),
    ("site: Small", 'site: "a\\eb"', 1, "site", "control character"),
    ("site: Small", "site: [a, b]", 1, "site", "not a list"),
    ("site: Small", "site: Small\nlink: {}", 2, "link", "did you mean `links`?"),
    ("site: Small", "site: Small\nrhubarb: {}", 2, "rhubarb", "its keys are site, timezone"),
    ("Europe/Lisbon", "Europe/Lisbom", 2, "timezone", "did you mean `Europe/Lisbon`?"),
    ("Europe/Lisbon", "lisbon", 2, "timezone", "did you mean `Europe/Lisbon`?"),
    ("Europe/Lisbon", "Europe", 2, "timezone", "not a known"),
    ("Europe/Lisbon", "../../etc/passwd", 2, "timezone", "not a known"),
    ("units: metric", "units: metrc", 3, "units", "did you mean `metric`?"),
    ("units: metric\n", "", 1, "", "`units` is missing"),
    ("datum: step", "datum: {x: 1}", 4, "datum", "not a group"),
    ("accuracy: 5 mm", "accuracy: 5", 5, "accuracy", "no unit"),
    ("accuracy: 5 mm", "accuracy: 0 mm", 5, "accuracy", "above zero"),
    ("accuracy: 5 mm", "accuracy: 5 m", 5, "accuracy", "coarse"),
    ("base: 50 cm", "base: 50", 8, "tanks.upper.base", "no unit"),
    ("    base: 50 cm\n", "", 7, "tanks.upper", "`base` is missing"),
    ("base: 50 cm", "bass: 50 cm", 8, "tanks.upper.bass", "did you mean `base`?"),
    ("kind: straight", "kind: strait", 9, "tanks.upper.shape.kind", "did you mean `straight`?"),
    ("kind: straight, ", "", 9, "tanks.upper.shape", "`kind` is missing"),
    ("holds: 1000 L, ", "", 9, "tanks.upper.shape", "`holds` is missing"),
    ("holds: 1000 L", "holds: 275 gal", 9, "tanks.upper.shape.holds", "US gal or imp gal"),
    ("holds: 1000 L", "holds: 0 L", 9, "tanks.upper.shape.holds", "above zero"),
    ("holds: 1000 L", "hold: 1000 L", 9, "tanks.upper.shape.hold", "did you mean `holds`?"),
    ("at: 100 cm", "at: 100 cm, fill: 1.2", 9, "tanks.upper.shape.fill", "at most 1"),
    ("at: 100 cm", "at: 100 cm, fill: 0", 9, "tanks.upper.shape.fill", "above 0"),
    ("{kind: straight, holds: 1000 L, at: 100 cm}", "tote", 9, "tanks.upper.shape", "group of keys"),
    ("{kind: straight, holds: 1000 L, at: 100 cm}", "", 9, "tanks.upper.shape", "no value"),
    ("{kind: straight, holds: 1000 L, at: 100 cm}", "[1, 2]", 9, "tanks.upper.shape", "group of keys"),
    ("brim: 105 cm", "brim: -5 cm", 10, "tanks.upper.brim", "never negative"),
    ("overflow: 95 cm", "overflow: 120 cm", 11, "tanks.upper.overflow", "above the brim"),
    ("overflow_to: lower", "overflow_to: lowr", 12, "tanks.upper.overflow_to", "did you mean `lower`?"),
    ("overflow_to: lower", "overflow_to: upper", 12, "tanks.upper.overflow_to", "its own tank"),
    ("silt: 1 cm", "silt: 95 cm", 13, "tanks.upper.silt", "no room for water"),
    ("since: 2026-01-01", "since: 2026-02-30", 14, "tanks.upper.since", "not a day of the calendar"),
    ("since: 2026-01-01", "since: 1 May 2026", 14, "tanks.upper.since", "not a date"),
    ("since: 2026-01-01", "since: 2026-01-01\n    until: 2025-12-31", 15, "tanks.upper.until", "before since"),
    ("since: 2026-01-01", "vented: yes", 14, "tanks.upper.vented", "neither true nor false"),
    ("since: 2026-01-01", "dip: {from: lid}", 14, "tanks.upper.dip.from", "write floor or brim"),
    ("since: 2026-01-01", "dip: {form: brim}", 14, "tanks.upper.dip.form", "did you mean `from`?"),
    ("since: 2026-01-01", "dip: {scale: [[1 cm, 5 cm], [2 cm, 5 cm]]}", 14, "tanks.upper.dip.scale", "two different"),
    ("since: 2026-01-01", "dip: {scale: [[1 cm, 5 cm]]}", 14, "tanks.upper.dip.scale", "two pairs"),
    ("  lower:\n    base: 0", "  low er:\n    base: 0", 15, "tanks.low er", "not a fit id"),
    ("height: 90 cm}", "height: 90 cm}\n    brim: 95 cm", 18, "tanks.lower.brim", "above the top of its shape"),
    ("height: 90 cm}", "height: 90 cm}\n    overflow_to: upper", 18, "tanks.lower.overflow_to", "ring"),
    (BOX, "{kind: table, rows: [[0, 0], [50 cm, 400 L], [50 cm, 500 L]]}",
     17, "tanks.lower.shape.rows", "does not rise"),
    (BOX, "{kind: table, rows: [[0, 0], [50 cm, 400 L], [90 cm, 300 L]]}",
     17, "tanks.lower.shape.rows", "falls"),
    (BOX, "{kind: table, rows: [[5 cm, 0], [50 cm, 400 L]]}",
     17, "tanks.lower.shape.rows", "begin with [0, 0]"),
    (BOX, "{kind: cone, diameter: 1 m, cone: 1 m, height: 90 cm}",
     17, "tanks.lower.shape", "higher than the whole tank"),
    ("join: [upper, lower]", "join: [upper, lowre]", 19, "links.hose.join[2]", "did you mean `lower`?"),
    ("join: [upper, lower]", "join: [upper, upper]", 19, "links.hose.join[2]", "twice"),
    ("join: [upper, lower]", "join: [upper]", 19, "links.hose.join", "two tanks"),
    ("join: [upper, lower]", "join: upper", 19, "links.hose.join", "list"),
    ("[8 cm, 80 cm]", "[8 cm, 95 cm]", 19, "links.hose.ports[2]", "above the brim of `lower`"),
    ("[8 cm, 80 cm]", "95 cm", 19, "links.hose.ports", "above the brim of `lower`"),
    ("[8 cm, 80 cm]", "[8 cm]", 19, "links.hose.ports", "one for each of the 2"),
    ("[8 cm, 80 cm]}", "[8 cm, 80 cm], valve: on}", 19, "links.hose.valve", "write open or closed"),
    ("[8 cm, 80 cm]}", "[8 cm, 80 cm], primed: maybe}", 19, "links.hose.primed", "write true, false or unknown"),
    ("[8 cm, 80 cm]}", "[8 cm, 80 cm], losses: -1}", 19, "links.hose.losses", "plain number"),
    ("[8 cm, 80 cm]}", "[8 cm, 80 cm], losses: nan}", 19, "links.hose.losses", "plain number"),
    ("[8 cm, 80 cm]}", "[8 cm, 80 cm], bore: 0 mm}", 19, "links.hose.bore", "above zero"),
    ("tank: lower, at", "tank: upperr, at", 21, "outlets.tap.tank", "did you mean `upper`?"),
    ("at: 10 cm", "at: 90 cm", 21, "outlets.tap.at", "at or above the lip"),
    ("at: 10 cm", "at: 10 cm, kind: valve", 21, "outlets.tap.kind", "write tap or pump"),
    ("  tap: {tank: lower, at: 10 cm}\n", "  {}\n", 20, "outlets", "at least one outlet"),
    ("outlets:\n  tap: {tank: lower, at: 10 cm}\n", "", 1, "", "`outlets` is missing"),
    ("area: 24 m2", "area: 24 m", 23, "roofs.shed.area", "unit of area"),
    ("area: 24 m2", "area: 24 m2, runoff: 1.6", 23, "roofs.shed.runoff", "at most 1.5"),
    ("area: 24 m2", "area: 24 m2, screen: 0", 23, "roofs.shed.screen", "above 0"),
    ("fills: upper", "fills: uper", 23, "roofs.shed.fills", "did you mean `upper`?"),
    ("holds: 10 L, ", "holds: 10 L, bore: 75 mm, length: 1 m, ", 23, "roofs.shed.first_flush", "twice"),
    ("holds: 10 L, ", "bore: 75 mm, ", 23, "roofs.shed.first_flush", "does not say its room"),
    ("empties: by hand", "empties: sometimes", 23, "roofs.shed.first_flush.empties", "by hand"),
    ("need: 25 mm/week", "need: 25 mm", 25, "beds.beans.need", "not a rate"),
    ("area: 12 m2, ", "", 25, "beds.beans", "`area` is missing"),
    ("from: tap", "from: tapp", 25, "beds.beans.from", "did you mean `tap`?"),
    ("from: tap", "from: tap, months: [0]", 25, "beds.beans.months", "not a month"),
    ("from: tap", "from: tap, months: [13]", 25, "beds.beans.months", "not a month"),
    ("from: tap", "from: tap, months: []", 25, "beds.beans.months", "empty season"),
    ("from: tap", "from: tap, months: [4, 4]", 25, "beds.beans.months", "twice"),
    ("from: tap", "from: tap, efficiency: 110 %", 25, "beds.beans.efficiency", "at most 1"),
    ("gap: 6 h", "gap: 6", 26, "rain.gap", "no unit"),
    ("gap: 6 h", "gap: 6 h, booked: next day", 26, "rain.booked", "previous day or same day"),
    ("gap: 6 h", "gapp: 6 h", 26, "rain.gapp", "did you mean `gap`?"),
    ("rain: {gap: 6 h}", "rain: wet", 26, "rain", "group of keys"),
    ("{at_least: 1 mm}", "{at_least: 1 mm, rains: 3}", 28, "chores.flush.after_rain", "exactly one"),
    ("{at_least: 1 mm}", "{}", 28, "chores.flush.after_rain", "exactly one"),
    ("{at_least: 1 mm}", "{at_least: trace}", 28, "chores.flush.after_rain.at_least", "one depth"),
    ("{at_least: 1 mm}", "{rains: 2.5}", 28, "chores.flush.after_rain.rains", "whole number"),
    ("{at_least: 1 mm}", "{total: 0 mm}", 28, "chores.flush.after_rain.total", "above zero"),
    ("empties: shed", "empties: sheds", 28, "chores.flush.empties", "did you mean `shed`?"),
    (", first_flush: {holds: 10 L, empties: by hand}", "", 28, "chores.flush.empties", "without a first flush"),
    ("after_rain: {at_least: 1 mm}, ", "", 28, "chores.flush", "nothing that brings it on"),
    ("starting: 2023-12-31, ", "", 29, "chores.line.counted_from", "add `starting`"),
    ("every: 2 months", "every: 0 days", 29, "chores.line.every", "longer than nothing"),
    ("every: 2 months", "every: 12 h", 29, "chores.line.every", "whole days"),
    ("every: 2 months, ", "on: 1 May, ", 29, "chores.line.counted_from", "goes with `every`"),
    ("every: 2 months", "every: 2 months, by: 2026-01-01", 29, "chores.line.by", "done once"),
    ("every: 2 months", "every: 2 months, season: summer", 29, "chores.line.season", "not a season"),
    ("every: 2 months", "every: 2 months, season: ''", 29, "chores.line.season", "not a season"),
    ("every: 2 months", "every: 2 months, on: 31 April", 29, "chores.line.on", "no day 31"),
    ("every: 2 months", "every: 2 months, on: 1 May, season: June to July", 29, "chores.line.on", "outside its own"),
    ("every: 2 months", "every: 2 months, frost: 0", 29, "chores.line.frost", "C or F"),
    ("every: 2 months", "every: 2 months, level_below: 30", 29, "chores.line.level_below", "percentage"),
    ("every: 2 months", "every: 2 months, level_below: 100 %", 29, "chores.line.level_below", "below 1"),
    ("every: 2 months", "every: 2 months, within: soon", 29, "chores.line.within", "length of time"),
    ("  line: {every", "  flush: {every", 29, "chores.flush", "twice, first on line 28"),
    ("  line: {every: 2 months, starting: 2023-12-31, counted_from: calendar}", "  line: daily", 29, "chores.line",
     "not a group of keys"),
    ("  hose: {join", "  shed: {join", 23, "roofs.shed", "also the id of a link"),
    ("  tap: {tank", "  site: {tank", 21, "outlets.site", "whole site"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "words"), BLAMES, ids=[f"{key}: {words}" for *_, key, words in BLAMES]
)
def test_one_problem_one_line(old: str, new: str, line: int, key: str, words: str) -> None:
    problems = problems_of(changed(old, new))
    blamed = [problem for problem in problems if problem.key == key and words in problem.sentence]
    assert blamed, [str(problem) for problem in problems]
    assert blamed[0].line == line
    assert str(blamed[0]) == ": ".join(filter(None, (f"garden.yaml:{line}", key, blamed[0].sentence)))
    assert all(str(problem).isprintable() for problem in problems)


@pytest.mark.parametrize(("old", "new", "line", "key", "words"), BLAMES[::4])
def test_one_slip_is_not_reported_many_times(old: str, new: str, line: int, key: str, words: str) -> None:
    problems = [
        problem for problem in problems_of(changed(old, new)) if "there is no" not in problem.sentence
    ]
    assert len(problems) <= 2, [str(problem) for problem in problems]


def test_every_problem_comes_at_once_in_the_order_of_the_file() -> None:
    slips = {
        "Europe/Lisbon": ("Lisbon", "timezone", 2),
        "accuracy: 5 mm": ("accuracy: 5", "accuracy", 5),
        "base: 50 cm": ("base: 50", "tanks.upper.base", 8),
        "overflow: 95 cm": ("overflow: 120 cm", "tanks.upper.overflow", 11),
        "overflow_to: lower": ("overflow_to: lowr", "tanks.upper.overflow_to", 12),
        "silt: 1 cm": ("silt: 2 m", "tanks.upper.silt", 13),
        "since: 2026-01-01": ("since: today", "tanks.upper.since", 14),
        "kind: box": ("kind: bx", "tanks.lower.shape.kind", 17),
        "80 cm]}": ("80 cm, 1 cm], valve: on}", "links.hose.ports", 19),
        "tank: lower": ("tank: lwer", "outlets.tap.tank", 21),
        "fills: upper": ("fills: uper", "roofs.shed.fills", 23),
        "by hand": ("sometimes", "roofs.shed.first_flush.empties", 23),
        "25 mm/week": ("25 mm", "beds.beans.need", 25),
        "gap: 6 h": ("gap: 6", "rain.gap", 26),
        "at_least: 1 mm": ("at_most: 1 mm", "chores.flush.after_rain.at_most", 28),
        "starting: 2023-12-31, ": ("", "chores.line.counted_from", 29),
    }
    spoilt = GOOD
    for old, (new, _, _) in slips.items():
        assert spoilt.count(old) == 1
        spoilt = spoilt.replace(old, new)
    problems = problems_of(spoilt)
    found = [(problem.key, problem.line) for problem in problems]
    assert {(key, line) for _, key, line in slips.values()} <= set(found)
    assert ("links.hose.valve", 19) in found
    lines = [problem.line or 0 for problem in problems]
    assert lines == sorted(lines)


def test_a_broken_tank_is_still_there_for_its_links() -> None:
    problems = problems_of(changed("base: 50 cm", "base: high"))
    assert [problem.key for problem in problems] == ["tanks.upper.base"]


def test_the_error_reads_as_one_line_a_problem() -> None:
    with pytest.raises(SiteError) as refused:
        load_text(changed("base: 50 cm", "base: 50").replace("gap: 6 h", "gap: 6"), "garden.yaml")
    lines = str(refused.value).split("\n")
    assert [line.split(": ")[:2] for line in lines] == [
        ["garden.yaml:8", "tanks.upper.base"],
        ["garden.yaml:26", "rain.gap"],
    ]


def test_a_key_offered_as_the_nearest_cannot_speak_to_the_terminal() -> None:
    spoilt = changed("  lower:\n    base: 0", '  "lo\\ewer":\n    base: 0')
    problems = problems_of(spoilt)
    assert any("did you mean `lo?wer`" in problem.sentence for problem in problems)
    assert all(str(problem).isprintable() for problem in problems)


# --- Not even YAML --------------------------------------------------------------------------------------------

TEXTS = [
    ("", 1, "is empty"),
    ("# only a comment\n", 1, "is empty"),
    ("- a\n- b\n", 1, "key: value"),
    ("just words", 1, "key: value"),
    ("site: a\nsite: b\n", 2, "twice, first on line 1"),
    ("site: a\n  b: c\n", 2, "indent"),
    ("site: a: b\n", 1, "quotes"),
    ("site: a\ntanks:\n\tnorth: 1\n", 3, "tab"),
    ("site: 'a\n", None, "not readable YAML"),
    ("site: a\n---\nsite: b\n", 2, "second document"),
    ("site: *gone\n", 1, "undefined alias"),
    ("site: &a [*a]\n", 1, "holds itself"),
    ("site: !!python/object/apply:os.system [ls]\n", 1, "tag"),
    ("? [a, b]\n: c\n", 1, "list or a mapping as a key"),
    ('site: "\\q"\n', 1, "escape"),
    ("{" * 5000, None, "nested too deeply"),
    ("site: a\nb: " + "[" * 5000, 2, "nested too deeply"),
    ("site: a\nb:\n" + "- " * 5000, 3, "nested too deeply"),
    ("\n".join(" " * level + "a:" for level in range(700)), None, "nested too deeply"),
]


@pytest.mark.parametrize(
    ("text", "line", "words"), TEXTS, ids=[words + str(place) for place, (*_, words) in enumerate(TEXTS)]
)
def test_text_that_is_no_site(text: str, line: int | None, words: str, tmp_path: Path) -> None:
    path = tmp_path / "garden.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SiteError) as refused:
        load(path)
    blamed = [problem for problem in refused.value.problems if words in problem.sentence]
    assert blamed, str(refused.value)
    if line is not None:
        assert blamed[0].line == line


def test_an_alias_bomb_is_refused_at_once() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{level}: &a{level} [{', '.join([f'*a{level - 1}'] * 9)}]" for level in range(1, 20)]
    start = time.perf_counter()
    problems = problems_of("\n".join(lines))
    assert any("aliases" in problem.sentence for problem in problems)
    assert time.perf_counter() - start < 10


RAW = [
    (b"site: a\ndatum: caf\xe9\n", 2, "not UTF-8"),
    (b"site: a\n\x00datum: b\n", 2, "control character"),
    (b"\xff\xfes\x00i\x00t\x00e\x00", 1, "not UTF-8"),
    (b"site: a\x1b[31m\n", 1, "control character"),
    (b"SQLite format 3\x00" + bytes(range(256)), None, ""),
    (b"x" * (LARGEST_FILE + 1), None, "larger than"),
    (bytes(range(256)) * 40, None, ""),
]


@pytest.mark.parametrize(("raw", "line", "words"), RAW)
def test_bytes_that_are_no_site(raw: bytes, line: int | None, words: str, tmp_path: Path) -> None:
    path = tmp_path / "garden.yaml"
    path.write_bytes(raw)
    with pytest.raises(SiteError) as refused:
        load(path)
    assert words in str(refused.value)
    if line is not None:
        assert refused.value.problems[0].line == line


def test_a_byte_order_mark_and_windows_lines_are_welcome(tmp_path: Path) -> None:
    path = tmp_path / "garden.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert load(path).name == "Small"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("gap: 6 h", "gap: 6").replace("\n", "\r\n").encode())
    with pytest.raises(SiteError) as refused:
        load(path)
    assert refused.value.problems[0].line == 26


def test_paths_that_are_no_file(tmp_path: Path) -> None:
    for path, words in (
        (tmp_path, "folder"),
        (tmp_path / "gone.yaml", "not there"),
        (Path("a\x00b"), "name"),
        (Path("/dev/null"), "ordinary file"),
        (tmp_path / ("x" * 4000), ""),
    ):
        with pytest.raises(SiteError) as refused:
            load(path)
        assert words in str(refused.value)
        assert str(refused.value).isprintable()
    loop = tmp_path / "loop.yaml"
    loop.symlink_to(loop)
    with pytest.raises(SiteError):
        load(loop)


def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "garden.yaml"
    os.mkfifo(path)
    with pytest.raises(SiteError, match="ordinary file"):
        load(path)


def test_the_file_name_cannot_speak_to_the_terminal(tmp_path: Path) -> None:
    path = tmp_path / "a\x1b[31mb.yaml"
    path.write_text("site: a\n", encoding="utf-8")
    with pytest.raises(SiteError) as refused:
        load(path)
    assert "\x1b" not in str(refused.value)


# --- Fuzz -----------------------------------------------------------------------------------------------------

MARKS = [*"-:{}[],|>'\"#0%\té\u202e?", "\n", "\n  ", "\n    ", "&x", "*x", "!t", "<<", "---", "~"]
NAMES = [
    "site",
    "tanks",
    "links",
    "a",
    "base",
    "shape",
    "kind",
    "rows",
    "join",
    "ports",
    "from",
    "chores",
    "every",
    "on",
]
VALUES = ["null", "true", "5 cm", "1 m", "1000 L", "2026-01-01", "1e999", "nan", "table", "straight"]
WORDS = st.sampled_from([*MARKS, *NAMES, *VALUES])


def never_raises_anything_else(text: str) -> None:
    try:
        load_text(text, "fuzz.yaml")
    except SiteError as refused:
        assert refused.problems
        assert all(str(problem).isprintable() for problem in refused.problems)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(WORDS, max_size=40).map(" ".join))
def test_any_jumble_of_yaml_is_a_sentence(text: str) -> None:
    never_raises_anything_else(text)


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_a_sentence(tmp_path_factory: pytest.TempPathFactory, raw: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "fuzz.yaml"
    path.write_bytes(raw)
    with pytest.raises(SiteError):
        load(path)


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_a_good_file_with_a_few_letters_changed(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from([GOOD, demo_text()]))
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, len(text) - 1))
        end = min(len(text), place + data.draw(st.integers(0, 12)))
        text = text[:place] + data.draw(WORDS) + text[end:]
    never_raises_anything_else(text)


@settings(max_examples=120, deadline=None)
@given(st.data())
def test_a_good_file_with_a_value_put_out_of_kind(data: st.DataObject) -> None:
    lines = GOOD.split("\n")
    place = data.draw(st.integers(0, len(lines) - 2))
    key, colon, _ = lines[place].partition(": ")
    odd = [
        "",
        "[]",
        "{}",
        "[[]]",
        "[{}]",
        "{a: 1}",
        "~",
        "1e400",
        "-1 cm",
        "!!binary aGk=",
        "&a 5",
        "[1, [2, 3]]",
        "'\\0'",
        '"\\0"',
        "|\n      words",
        "{kind: table, rows: 5}",
        "{kind: [a]}",
        "{kind: {a: 1}}",
        "{kind: table, rows: [[0, 0], 5]}",
    ]
    lines[place] = f"{key}: {data.draw(st.sampled_from(odd))}" if colon else key
    never_raises_anything_else("\n".join(lines))
