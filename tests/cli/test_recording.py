"""Every command that records writes one entry, says what changed, and writes nothing when it refuses."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def dipped(garden: Path, types: Any) -> Path:
    """Return a garden whose north tote was dipped at 60 cm two days ago."""
    assert types("dip", "north", "60cm", "--at", "2026-06-08 18:00").code == 0
    return garden


def entries(types: Any, *words: str) -> list[dict[str, Any]]:
    listed: list[dict[str, Any]] = types("log", "--json", *words).json["entries"]
    return listed


GOOD: list[tuple[tuple[str, ...], str, dict[str, Any]]] = [
    (
        ("dip", "north", "60cm"),
        "dip",
        {"tanks": [{"tank": "north", "depth_m": 0.6, "low_m": 0.6, "high_m": 0.6}]},
    ),
    (("dip", "north", "23", "5/8", "in"), "dip", {}),
    (("dip", "north", "60cm", "south", "57", "cm"), "dip", {}),
    (("rain", "12mm"), "rain", {"low_mm": 12.0, "high_mm": 12.0, "gauge": "gauge", "left_in": False}),
    (("rain", "0.42", "in", "--day", "yesterday"), "rain", {"low_mm": 10.668, "day": "2026-06-09"}),
    (("rain", "60-90mm", "--days", "2"), "rain", {"low_mm": 60.0, "high_mm": 90.0}),
    (("rain", ">5.5 in"), "rain", {"high_mm": None}),
    (("rain", "trace"), "rain", {"trace": True, "low_mm": 0.0}),
    (("rain", "3mm", "--left-in", "--gauge", "far"), "rain", {"left_in": True, "gauge": "far"}),
    (
        ("rain", "3mm", "--from", "today 6:00", "--to", "today 8:00"),
        "rain",
        {"start": "2026-06-10T06:00:00+01:00", "end": "2026-06-10T08:00:00+01:00"},
    ),
    (("use", "9", "L"), "use", {"volume_l": 9.0, "outlet": "tap", "bed": None}),
    (("use", "20L", "--bed", "tomatoes"), "use", {"volume_l": 20.0, "bed": "tomatoes"}),
    (("use", "5 US gal", "--outlet", "tap"), "use", {"volume_l": 18.92705892}),
    (("use", "--start"), "tap-opened", {"outlet": "tap"}),
    (
        ("move", "100", "L", "north", "south"),
        "move",
        {"volume_l": 100.0, "source": "north", "target": "south"},
    ),
    (
        ("move", "--start", "north", "south", "--rate", "5 L/min"),
        "tap-opened",
        {"source": "north", "target": "south", "outlet": None},
    ),
    (("pour", "40L", "north"), "pour", {"volume_l": 40.0, "tank": "north", "what": "hose"}),
    (("pour", "15 L", "north", "--what", "melt"), "pour", {"what": "melt"}),
    (("pour", "?", "north"), "pour", {"volume_l": None}),
    (("set", "north-middle", "closed"), "set", {"item": "north-middle", "state": "closed", "base_m": None}),
    (("set", "south", "base", "-4cm"), "set", {"item": "south", "state": "base", "base_m": -0.04}),
    (("set", "south", "base", "-4", "cm"), "set", {"base_m": -0.04}),
    (("set", "shed", "plugged"), "set", {"state": "plugged"}),
    (("set", "site", "winter"), "set", {"item": "site", "state": "winter"}),
    (("set", "tap", "locked"), "set", {"item": "tap", "state": "locked"}),
    (("frost", "-1C"), "frost", {"low_c": -1.0, "night": "2026-06-10"}),
    (("frost", "-1", "C", "--night", "tomorrow"), "frost", {"low_c": -1.0, "night": "2026-06-11"}),
    (("frost", "-.5C"), "frost", {"low_c": -0.5}),
    (("done", "wipe-screen"), "done", {"chore": "wipe-screen"}),
    (("done", "wipe", "the", "leaf", "screen"), "done", {"chore": "wipe-screen"}),
    (("note", "green", "water"), "note", {"about": ""}),
    (("note", "--overflow", "yes"), "note", {"about": "overflow seen"}),
]


@pytest.mark.parametrize(("words", "kind", "record"), GOOD, ids=[" ".join(words) for words, _, _ in GOOD])
def test_a_command_writes_one_entry(
    dipped: Path, types: Any, words: tuple[str, ...], kind: str, record: dict[str, Any]
) -> None:
    answer = types(*words, "--note", "windy")
    assert (answer.code, answer.err) == (0, "")
    assert answer.out.startswith(f"Noted as entry 2, Wed 10 Jun 12:00: {words[0]} ")
    (_, entry) = sorted(entries(types), key=lambda one: one["number"])
    assert (entry["kind"], entry["note"], entry["at"]) == (kind, "windy", "2026-06-10T12:00:00+01:00")
    assert {key: entry["record"][key] for key in record} == {
        key: pytest.approx(value) if isinstance(value, float) else value for key, value in record.items()
    }
    typed = [word for word in words if not word.startswith("--night")]
    assert all(word in entry["words"] for word in typed), "the words typed are kept"


@pytest.mark.parametrize(
    ("words", "kind", "record"),
    GOOD[:8] + GOOD[10:12],
    ids=[" ".join(words) for words, _, _ in GOOD[:8] + GOOD[10:12]],
)
def test_the_json_answer_tells_the_entry_and_the_levels(
    dipped: Path, types: Any, words: tuple[str, ...], kind: str, record: dict[str, Any]
) -> None:
    answer = types(*words, "--json").json
    assert set(answer) == {"schema", "entry", "changed_l", "levels"}
    assert set(answer["entry"]) == {
        "number", "uid", "kind", "at", "entered", "words", "note", "voided_by", "record",
    }  # fmt: skip
    assert answer["entry"]["kind"] == kind
    assert answer["levels"]["schema"] == 1


BAD: list[tuple[tuple[str, ...], str]] = [
    (("dip",), "also wants"),
    (("dip", "nroth", "60cm"), "did you mean north"),
    (("dip", "north"), "north has no reading"),
    (("dip", "north", "60"), "unit"),
    (("dip", "north", "60cm", "soth", "57cm"), "did you mean south"),
    (("dip", "north", "60cm", "north", "61cm"), "twice"),
    (("dip", "north", "2 m"), "brim"),
    (("dip", "north", "-3cm"), "negative|below"),
    (("dip", "north", "3' 14 in"), "12"),
    (("dip", "north", "60cm", "--at", "tomorrow"), "still to come"),
    (("dip", "north", "60cm", "--at", "2026-03-29 01:30"), "does not exist"),
    (("dip", "north", "60cm", "--at", "2025-10-26 01:30"), "--fold"),
    (("dip", "north", "60cm", "--at", "someday"), "not understood"),
    (("dip", "north", "60cm", "--fold", "2"), "fold"),
    (("rain", "12"), "unit"),
    (("rain", "90-60mm"), "60"),
    (("rain", "-3mm"), "negative|below|rain"),
    (("rain", "3mm", "--days", "0"), "1 to 366"),
    (("rain", "3mm", "--days", "many"), "days"),
    (("rain", "3mm", "--day", "today", "--days", "2"), "not both"),
    (("rain", "3mm", "--day", "tomorrow"), "still to come"),
    (("use",), "How much"),
    (("use", "tap", "10L"), "use 10L --outlet tap"),
    (("use", "2", "US", "gal", "tomatoes"), "use 2 US gal --bed tomatoes"),
    (("use", "9"), "unit"),
    (("use", "1 gal"), "gal"),
    (("use", "9L", "--outlet", "tapp"), "did you mean tap"),
    (("use", "9L", "--bed", "rhubarb"), "rhubarb"),
    (("use", "9L", "--start"), "once it is closed"),
    (("use", "--start", "--stop"), "not allowed"),
    (("use", "--stop"), "No outlet"),
    (("use", "9L", "--rate", "10L/min"), "--stop"),
    (("move", "100L", "north"), "required|TO"),
    (("move", "100L", "north", "north"), "twice"),
    (("move", "5000L", "north", "south"), "at most"),
    (("move",), "VOLUME FROM TO"),
    (("move", "--start", "north"), "two tanks"),
    (("move", "--start", "5L", "north", "south"), "two tanks"),
    (("move", "--start", "north", "attic"), "attic"),
    (("move", "--start", "north", "south", "--rate", "5"), "volume per time"),
    (("move", "--start", "--stop", "north", "south"), "not allowed"),
    (("move", "--stop"), "noted as on"),
    (("move", "100L", "north", "south", "--rate", "5L/min"), "--start or --stop"),
    (("pour", "40", "north"), "unit"),
    (("pour", "40L", "attic"), "attic"),
    (("set", "north-middle"), "also wants"),
    (("set", "north-middle", "ajar"), "ajar"),
    (("set", "nowhere", "open"), "nowhere"),
    (("set", "south", "base"), "How high"),
    (("set", "south", "base", "4"), "unit"),
    (("frost", "-1"), "C or F"),
    (("done", "wipe-scren"), "did you mean wipe-screen"),
    (("note",), "empty"),
    (("undo", "77"), "no entry 77"),
    (("undo", "first"), "number|invalid"),
]


@pytest.mark.parametrize(("words", "sentence"), BAD, ids=[" ".join(words) for words, _ in BAD])
def test_a_mistake_is_one_sentence_and_nothing_is_written(
    dipped: Path, types: Any, words: tuple[str, ...], sentence: str
) -> None:
    before = dipped.with_name("tankdash.journal.db").read_bytes()
    answer = types(*words)
    assert answer.code == 2
    assert answer.out == ""
    assert answer.err.startswith("tankdash: ")
    assert answer.err.count("\n") == 1
    assert "Something went wrong inside" not in answer.err
    import re

    assert re.search(sentence, answer.err), answer.err
    assert len(entries(types)) == 1
    assert dipped.with_name("tankdash.journal.db").read_bytes() == before


def test_a_mistake_in_a_new_garden_makes_no_journal(garden: Path, types: Any) -> None:
    assert types("dip", "north", "60").code == 2
    assert types("levels").code == 0
    assert types("undo").code == 2
    assert sorted(path.name for path in garden.parent.iterdir()) == ["tankdash.yaml"]


def test_a_dip_says_what_changed_in_litres_and_words(dipped: Path, types: Any) -> None:
    """Three litres for each millimetre on three totes of 1 m2: 57 cm is 90 L below 60 cm."""
    out = types("dip", "north", "57cm").out
    assert "90 L less than at the last dip, Mon 8 Jun 18:00." in out
    assert "That is 90 L less than what was noted led to expect." in out
    assert "In all 1710 L" in out


def test_a_draw_says_by_how_much_the_surface_falls(dipped: Path, types: Any) -> None:
    out = types("use", "30L").out
    assert "30 L less; the surface falls by 1 cm" in out


def test_a_dip_after_a_draw_is_held_against_both(dipped: Path, types: Any) -> None:
    types("use", "60L", "--at", "2026-06-09 18:00")
    out = types("dip", "north", "57cm").out
    assert "90 L less than at the last dip, Mon 8 Jun 18:00." in out
    assert "That is 30 L less than what was noted led to expect." in out
    assert "just what was expected" in types("dip", "north", "57cm", now="2026-06-10 13:00").out


def test_what_a_later_dip_shows_already_changes_nothing_now(dipped: Path, types: Any) -> None:
    out = types("use", "60L", "--at", "2026-06-08 12:00").out
    assert "a later dip shows already" in out


def test_a_base_set_lower_makes_more_of_the_water_usable(dipped: Path, types: Any) -> None:
    """The outlet's tank moves from 23 to 20 cm: what stands below the outlet in each of three 1 m2 totes falls."""
    out = types("set", "south", "base", "20cm").out
    assert "No litre comes or goes" in out
    assert "more of it is usable" in out


def test_the_first_dip_says_so(garden: Path, types: Any) -> None:
    assert "This is the first dip." in types("dip", "north", "60cm").out


def test_a_rain_says_what_it_brought(dipped: Path, types: Any) -> None:
    """(12 - 0.5) mm x 24 m2 x 0.9 = 248.4 L, less 8 L into the empty first-flush pipe."""
    answer = types("rain", "12mm", "--json").json
    assert answer["changed_l"] == pytest.approx(240.4)
    assert answer["levels"]["moved"]["caught_l"] == pytest.approx(240.4)


def test_undo_takes_back_the_last_entry_and_says_which(dipped: Path, types: Any) -> None:
    before = types("levels", "--json").json
    types("use", "100L")
    answer = types("undo")
    assert answer.code == 0
    assert "use 100L" in answer.out
    assert "100 L more" in answer.out
    assert types("levels", "--json").json == before
    assert [one["words"] for one in entries(types)] == ["dip north 60cm"]
    assert [one["voided_by"] for one in entries(types, "--all")] == [None, 3, None]


def test_undo_of_everything_ends_with_a_sentence(dipped: Path, types: Any) -> None:
    assert types("undo").code == 0
    answer = types("undo")
    assert (answer.code, answer.out) == (2, "")
    assert "nothing in the journal to take back" in answer.err


def test_one_entry_is_taken_back_by_its_number(dipped: Path, types: Any) -> None:
    types("use", "1L")
    types("use", "2L")
    assert types("undo", "2", "--json").json["entry"]["words"] == "use 1L"
    assert [one["words"] for one in entries(types)] == ["dip north 60cm", "use 2L"]


def test_a_tap_left_open_is_told_until_it_is_closed(dipped: Path, types: Any) -> None:
    types("use", "--start", "--at", "today 9:00")
    assert "tap-open" in {one["code"] for one in types("levels", "--json").json["warnings"]}
    answer = types("use", "--stop", "--rate", "1 L/min", "--at", "today 10:00", "--json").json
    assert answer["levels"]["moved"]["used_l"] == pytest.approx(60.0)


def test_a_doubled_time_is_told_apart_by_fold(garden: Path, types: Any) -> None:
    for fold, offset in (("0", "+01:00"), ("1", "+00:00")):
        answer = types("dip", "north", "60cm", "--at", "2025-10-26 01:30", "--fold", fold, "--json").json
        assert answer["entry"]["at"].endswith(offset)


def test_options_may_stand_before_or_after_the_command(garden: Path, types: Any, tmp_path: Path) -> None:
    elsewhere = tmp_path / "other.db"
    before = types("--json", "--journal", str(elsewhere), "--site", str(garden), "dip", "north", "60cm")
    after = types("levels", "--json", "--journal", str(elsewhere), "--site", str(garden))
    assert before.json["levels"]["tanks"] == after.json["tanks"]
    assert elsewhere.exists()


def test_the_last_of_two_times_of_now_counts(garden: Path, types: Any) -> None:
    answer = types("--now", "2020-01-01", "levels", "--now", "2026-06-01 12:00", "--json", now=None)
    assert answer.json["at"] == "2026-06-01T12:00:00+01:00"


def test_a_pump_is_noted_as_on_told_of_and_switched_off_again(dipped: Path, types: Any) -> None:
    begun = types("move", "--start", "north", "south", "--rate", "5L/min", now="2026-06-10T12:00")
    assert begun.code == 0, begun.err
    levels = types("levels", "--json", now="2026-06-10T12:30").json
    [told] = [one["text"] for one in levels["warnings"] if one["code"] == "pump-on"]
    assert "(30 min)" in told
    stopped = types("move", "--stop", "30", "L", "north", "south", now="2026-06-10T13:00")
    assert stopped.code == 0, stopped.err
    entry = types("log", "--json", now="2026-06-10T13:00").json["entries"][-1]
    assert entry["words"] == "move --stop 30 L north south"
    assert entry["record"]["volume_l"] == 30.0
    after = types("levels", "--json", now="2026-06-10T13:00").json
    assert "pump-on" not in [one["code"] for one in after["warnings"]]


def test_a_dip_by_a_shape_that_no_longer_holds_is_kept_and_tells_no_litres(garden: Path, types: Any) -> None:
    """F16: a crushed tank's stick table is void from that date on."""
    types("dip", "north", "60cm", "--at", "2026-06-05 18:00")
    types("set", "north", "shape-void", "--at", "2026-06-06 18:00")
    answer = types("dip", "north", "50cm")
    assert answer.code == 0 and "tells no litres" in answer.out and "expected" not in answer.out


def test_an_entry_that_makes_a_tank_run_over_says_how_much_is_lost(dipped: Path, types: Any) -> None:
    """Otherwise the litres that came and the litres that are there do not fit together, with no word why."""
    before = types("levels", "--json").json["totals"]
    answer = types("pour", "9000L", "north")
    assert answer.code == 0
    (told,) = [line for line in answer.out.splitlines() if "ran over a lip" in line]
    more = types("levels", "--json").json["totals"]["volume_l"] - before["volume_l"]
    assert 0.0 < more < 9000.0
    assert told == f"{9000.0 - more:.0f} L ran over a lip and is lost."


@pytest.mark.parametrize("word", ["garden", "winter", "everything"])
def test_the_whole_garden_is_told_by_its_word_in_the_commands(garden: Path, types: Any, word: str) -> None:
    answer = types("set", word, "winter")
    assert answer.code == 2 and "set site winter" in answer.err
    assert "site" in types("set", "zzzz", "winter").err


@pytest.mark.parametrize(
    ("depth", "sure"), [("12mm", ""), (">12mm", "at least "), ("10-14mm", "about "), ("trace", None)]
)
def test_what_a_rain_brought_is_told_no_surer_than_its_reading(
    garden: Path, types: Any, depth: str, sure: str | None
) -> None:
    types("dip", "north", "60cm", now="2026-06-01T08:00")
    told = types("rain", depth, now="2026-06-01T18:00").out.splitlines()[2].lower()
    if sure is None:
        assert told == "the water stays as it is."
    else:
        assert re.fullmatch(f"{sure}\\d+ l more; the surface rises by .*", told)
