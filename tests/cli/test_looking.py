"""Commands that look: their JSON has the keys of the contract, their text says the same, and they write nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

TANK_KEYS = {
    "depth_m", "surface_m", "volume_l", "low_l", "high_l", "usable_l", "full_l", "lip_m", "state",
}  # fmt: skip
TOTAL_KEYS = {
    "volume_l", "low_l", "high_l", "usable_l", "below_outlet_l", "full_l", "usable_full_l", "headroom_l",
    "lost_to_bases_l", "percent",
}  # fmt: skip
MOVED_KEYS = {
    "caught_l", "caught_low_l", "caught_high_l", "first_flush_l", "spilled_l", "used_l", "short_l",
}  # fmt: skip
CHORE_KEYS = {"id", "label", "state", "since", "due", "missed", "reason", "rains_unflushed"}


@pytest.fixture
def season(garden: Path, types: Any) -> Path:
    """Return a garden with a dip, two rains, a draw and a tick."""
    for words in (
        ("dip", "north", "60cm", "--at", "2026-06-05 18:00"),
        ("rain", "12mm", "--at", "2026-06-07 08:00"),
        ("done", "drain-first-flush", "--at", "2026-06-07 09:00"),
        ("rain", "4mm", "--at", "2026-06-08 08:00"),
        ("use", "50L", "--at", "2026-06-08 18:00"),
        ("rain", "6mm", "--at", "2026-06-09 08:00"),
    ):
        assert types(*words).code == 0
    return garden


def assert_is_levels(answer: dict[str, Any]) -> None:
    assert list(answer) == [
        "schema", "site", "at", "basis", "tanks", "pools", "totals", "settled", "moved", "warnings",
    ]  # fmt: skip
    assert all(set(tank) >= TANK_KEYS for tank in answer["tanks"].values())
    assert all(set(pool) == {"tanks", "surface_m", "spill_m", "spills_at"} for pool in answer["pools"])
    assert set(answer["totals"]) >= TOTAL_KEYS
    assert set(answer["settled"]) == {"spread_m", "settle_s"}
    assert set(answer["moved"]) >= MOVED_KEYS
    assert all(set(warning) == {"code", "text"} for warning in answer["warnings"])


@pytest.mark.parametrize(
    ("words", "basis"),
    [
        (("levels",), "estimate"),
        (("levels", "--at", "2026-06-05 18:00"), "dip"),
        (("levels", "--at", "2026-06-01"), "none"),
        (("levels", "--dip", "north=60cm"), "what-if"),
        (("try", "--rain", "12", "mm"), "what-if"),
        (("try", "--use", "20L", "--pour", "north=40L", "--flush", "full"), "what-if"),
        (("try", "--set", "north-middle=closed", "--dip", "north=60cm"), "what-if"),
    ],
)
def test_levels_have_the_keys_of_the_contract(
    season: Path, types: Any, words: tuple[str, ...], basis: str
) -> None:
    before = season.with_name("tankdash.journal.db").read_bytes()
    answer = types(*words, "--json")
    assert (answer.code, answer.err) == (0, "")
    assert_is_levels(answer.json)
    assert answer.json["basis"] == basis
    text = types(*words)
    assert (text.code, text.err) == (0, "")
    assert "north" in text.out
    assert "\x1b" not in text.out
    assert season.with_name("tankdash.journal.db").read_bytes() == before


def test_a_rain_tried_brings_what_the_roof_owes(season: Path, types: Any) -> None:
    """(20 - 0.5) mm x 24 m2 x 0.9 = 421.2 L, all of it past a full first-flush pipe, 413.2 L past an empty one."""
    now = types("levels", "--json").json["totals"]["volume_l"]
    full = types("try", "--rain", "20mm", "--flush", "full", "--json").json["totals"]["volume_l"]
    empty = types("try", "--rain", "20mm", "--flush", "empty", "--json").json["totals"]["volume_l"]
    assert full - now == pytest.approx(421.2, abs=0.01)
    assert empty - now == pytest.approx(413.2, abs=0.01)


def test_a_dip_tried_with_a_draw_holds_the_draw_against_the_dip(garden: Path, types: Any) -> None:
    answer = types("try", "--dip", "north=60cm", "--use", "300L", "--json")
    assert answer.json["totals"]["volume_l"] == pytest.approx(1500.0)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("try",), "Try what"),
        (("try", "--rain", "12"), "unit"),
        (("try", "--dip", "60cm"), "TANK|name"),
        (("try", "--dip", "nroth=60cm"), "did you mean north"),
        (("try", "--pour", "north="), "no value"),
        (("try", "--set", "north-middle"), "ITEM|item"),
        (("try", "--outlet", "tap"), "--use"),
        (("levels", "--dip", "north=3 m"), "brim"),
        (("levels", "--at", "soon"), "not understood"),
        (("chores", "--until", "soon"), "not understood"),
        (("log", "--last", "0"), "--last"),
        (("levels", "north"), "'north': see .tankdash levels --help"),
        (("--now", "soon", "levels"), "not understood"),
        (("use", "9L", "--from", "-tap"), "'--from -tap': see .tankdash use --help"),
    ],
)
def test_a_mistake_is_one_sentence(garden: Path, types: Any, words: tuple[str, ...], sentence: str) -> None:
    import re

    answer = types(*words)
    assert (answer.code, answer.out) == (2, "")
    assert answer.err.count("\n") == 1
    assert "Something went wrong" not in answer.err
    assert re.search(sentence, answer.err), answer.err


def test_chores_tell_state_and_reason(season: Path, types: Any) -> None:
    answer = types("chores", "--json").json
    assert all(set(chore) >= CHORE_KEYS for chore in answer["chores"])
    by_id = {chore["id"]: chore for chore in answer["chores"]}
    assert set(by_id) == {"drain-first-flush", "wipe-screen", "fittings"}
    flush = by_id["drain-first-flush"]
    assert flush["state"] == "late"
    assert flush["since"] == "2026-06-08T08:00:00+01:00"
    assert flush["due"] == "2026-06-09T08:00:00+01:00"
    assert flush["rains_unflushed"] == 1
    out = types("chores").out
    assert out.startswith("Late\n")
    assert "Empty the first-flush pipe (drain-first-flush)" in out


def test_ticking_a_chore_and_undoing_it(season: Path, types: Any) -> None:
    before = types("chores", "--json").out
    types("done", "drain-first-flush")
    assert "late" not in {chore["state"] for chore in types("chores", "--json").json["chores"]}
    types("undo")
    assert types("chores", "--json").out == before


def test_a_frost_typed_in_opens_its_chore(garden: Path, types: Any) -> None:
    assert "Wrap the fittings" not in types("chores").out.split("Coming")[0]
    types("frost", "-1C")
    states = {chore["id"]: chore["state"] for chore in types("chores", "--json").json["chores"]}
    assert states["fittings"] in ("due", "late")


def test_chores_until_a_day_leave_out_what_is_later(season: Path, types: Any) -> None:
    assert "wipe-screen" not in {
        chore["id"] for chore in types("chores", "--until", "tomorrow", "--json").json["chores"]
    }
    assert "wipe-screen" in {
        chore["id"] for chore in types("chores", "--until", "2026-07-30", "--json").json["chores"]
    }


def test_rainfall_tells_events_and_months(season: Path, types: Any) -> None:
    answer = types("rainfall", "--json").json
    assert all(set(event) >= {"start", "end", "depth_mm", "low_mm", "high_mm"} for event in answer["events"])
    assert all(
        set(month) >= {"month", "mm", "low_mm", "high_mm", "days_read", "days"} for month in answer["months"]
    )
    assert sum(event["depth_mm"] for event in answer["events"]) == pytest.approx(22.0)
    assert [(month["month"], month["mm"], month["days"]) for month in answer["months"]] == [
        ("2026-06", 22.0, 30)
    ]
    assert "22" in types("rainfall").out


def test_rainfall_without_readings_is_no_drought(garden: Path, types: Any) -> None:
    assert types("rainfall", "--json").json["months"] == []
    assert "No gauge reading yet" in types("rainfall").out


def test_the_log_lists_by_time_with_words(season: Path, types: Any) -> None:
    lines = types("log", "--last", "2").out.splitlines()
    assert len(lines) == 3
    assert "2026-06-08 18:00" in lines[1]
    assert "use 50L" in lines[1]
    assert "rain 6mm" in lines[2]
    assert types("log", "--json", "--last", "1").json["entries"][0]["words"] == "rain 6mm"


def test_check_prints_every_problem_at_once_and_exits_2(folder: Path, types: Any) -> None:
    path = folder / "tankdash.yaml"
    path.write_text("site: x\ntimezone: Nowhere/Land\nunits: metric\ntanks:\n  a: {shpae: 1}\n")
    answer = types("check")
    assert answer.code == 2
    assert answer.out == ""
    lines = answer.err.splitlines()
    assert len(lines) >= 3
    assert all(line.startswith("tankdash.yaml:") for line in lines)
    assert any("did you mean `shape`" in line for line in lines)
    as_json = types("check", "--json")
    assert as_json.code == 2
    assert len(as_json.json["problems"]) == len(lines)
    assert as_json.json["warnings"] == []
    for words in (("levels",), ("dip", "a", "60cm"), ("chores",)):
        assert (types(*words).code, types(*words).err) == (2, answer.err)


def test_check_of_a_sound_site_lists_tanks_and_warnings(totes: Path, types: Any) -> None:
    answer = types("check")
    assert (answer.code, answer.err) == (0, "")
    assert "the site file is sound" in answer.out
    assert "Lost to uneven bases: 200 L." in answer.out
    assert "! " in answer.out
    assert {warning["code"] for warning in types("check", "--json").json["warnings"]} >= {"lips-differ"}


def test_control_characters_are_shown_and_never_sent(garden: Path, types: Any) -> None:
    types("dip", "north", "60cm", "--note", "bell \x07 and \x1b]0;title\x07 \u202eturned")
    out = types("log").out
    assert "\\x07" in out
    assert "\\x1b" in out
    assert not set(out) & {"\x1b", "\x07", "\u202e"}
    garden.write_text(
        garden.read_text().replace("  north:\n", '  north:\n    label: "bad\\e[2J\\u202elabel"\n')
    )
    for words in (("levels",), ("check",), ("chores",), ("log",), ("dip", "b\x1b[2Jd", "60cm")):
        answer = types(*words)
        assert not set(answer.out + answer.err) & {"\x1b", "\x07", "\u202e"}


def test_a_pump_may_draw_in_a_try_what_the_tried_dip_or_pour_gives_it(totes: Path, types: Any) -> None:
    """The draw is held against the water after what is tried before it, as the journal would hold it."""
    tap, pump = "  tap: {tank: south, at: 10 cm}", "  pump: {tank: south, at: 30 cm, kind: pump}"
    totes.write_text(totes.read_text().replace(tap, pump))
    assert types("dip", "south", "20cm").code == 0
    refused = types("try", "--use", "100L")
    assert refused.code == 2
    assert "runs dry" in refused.err
    for before in (("--dip", "south=80cm"), ("--pour", "south=1500L")):
        tried = types("try", *before, "--use", "100L", "--json")
        assert tried.code == 0, tried.err
        assert tried.json["moved"]["used_l"] == pytest.approx(100.0)
    # And the other way round: a dip that shows less than the journal leads one to expect takes the water away.
    assert types("dip", "south", "80cm").code == 0
    assert types("try", "--use", "100L").code == 0
    assert types("try", "--dip", "south=20cm", "--use", "100L").code == 2


APART = """
site: Two apart
timezone: UTC
units: metric
datum: the pad
tanks:
  north: {base: 0, shape: {kind: straight, holds: 3330 L, at: 1 m}}
  south: {base: 0, shape: {kind: straight, holds: 3330 L, at: 1 m}}
outlets:
  tap: {tank: north, at: 40 cm}
roofs:
  barn: {area: 100 m2, fills: north}
"""


def test_what_was_read_as_a_range_is_told_as_a_range_in_words_too(folder: Path, types: Any) -> None:
    """F10: 30-40 cm and 20-30 cm on 3.33 m2 are 1665 to 2331 L, the likely 1998 L in between."""
    (folder / "tankdash.yaml").write_text(APART)
    answer = types("dip", "north", "30-40cm", "south", "20-30cm").out
    assert "In all 1998 L (1665 L to 2331 L)" in answer
    assert "About 1998 L no outlet can reach; room for about 4662 L more." in answer
    assert "666 L to 999 L there can only be moved" in " ".join(answer.split())
    told = types("levels").out
    assert "999 L to 1332 L" in told and "666 L to 999 L" in told
    # What a single reading tells stays a single figure, and so does the range of a hair.
    types("dip", "north", "35cm", "south", "25cm")
    assert "In all 1998 L; usable 0 L" in types("levels").out


def test_rain_known_only_from_below_leaves_an_open_end_in_words_too(folder: Path, types: Any) -> None:
    (folder / "tankdash.yaml").write_text(APART)
    types("dip", "north", "10cm", "south", "10cm", "--at", "2026-06-05 18:00")
    answer = types("rain", ">10mm").out
    assert "In all 1566 L (1566 L to 3663 L)" in answer


def test_the_sums_of_levels_fit_a_plain_terminal(folder: Path, types: Any) -> None:
    (folder / "tankdash.yaml").write_text(APART.replace("units: metric", "units: us"))
    types("dip", "north", "30-90cm", "south", "20-80cm")
    told = types("rain", "60-90mm").out.splitlines()
    assert all(len(line) <= 80 for line in told)


def test_turns_missed_are_told_once(folder: Path, types: Any) -> None:
    chore = "chores: {line: {every: 1 week, starting: 2026-05-01, counted_from: calendar}}\n"
    (folder / "tankdash.yaml").write_text(APART + chore)
    types("dip", "north", "10cm", "--at", "2026-05-01 08:00")
    told = " ".join(types("chores").out.split())
    assert "5 turns missed" in told and "Missed" not in told
