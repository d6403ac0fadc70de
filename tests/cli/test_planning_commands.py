"""Commands that look ahead or print paper: their keys, their words, what they refuse, and that they write nothing."""

from __future__ import annotations

import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tankdash.cli import sizing

SUPPLY_KEYS = {"usable_l", "need_l_per_day", "days_left", "last_full_day", "outlets", "beds"}


@pytest.fixture
def dipped(garden: Path, types: Any) -> Path:
    """Return the garden after one dip of 60 cm on the morning of the tenth."""
    assert types("dip", "north", "60cm", "--at", "2026-06-10 08:00").code == 0
    return garden


def rain_sheet(path: Path, years: int = 3, wet: int = 4) -> Path:
    """Write a daily sheet: 8 mm every so many days, from 2019 on."""
    first = date(2019, 1, 1)
    days = [first + timedelta(days=number) for number in range(365 * years + 1)]
    path.write_text(
        "date,rain mm\n" + "".join(f"{day},{8 if day.toordinal() % wet == 0 else 0}\n" for day in days)
    )
    return path


# Supply


def test_supply_has_the_keys_and_the_figures_of_levels(dipped: Path, types: Any) -> None:
    answer = types("supply", "--json").json
    levels = types("levels", "--json").json
    assert set(answer) >= SUPPLY_KEYS
    assert answer["usable_l"] == pytest.approx(levels["totals"]["usable_l"]) == pytest.approx(1410.0)
    need = 12 * 25 / 7
    assert answer["need_l_per_day"] == pytest.approx(need, abs=1e-3)
    assert answer["days_left"] == pytest.approx(1410 / need, abs=1e-4)
    assert answer["last_full_day"] == "2026-07-11"
    assert answer["full_days"] == 32
    for part in (answer["outlets"]["tap"], answer["beds"]["tomatoes"]):
        assert part["days_left"] == pytest.approx(answer["days_left"])
    assert answer["outlets"]["tap"]["head_m"] == pytest.approx(0.80 - 0.33)


def test_supply_in_words_names_days_heads_and_what_it_assumes(dipped: Path, types: Any) -> None:
    out = types("supply").out
    assert "Usable now 1410 L; the beds ask for 43 L a day." in out
    assert "32 days in full, the last on 11 Jul" in out
    assert "4.6 kPa (47 cm) now" in out
    assert "Assumes no more rain" in out


def test_before_the_first_dip_the_supply_is_unknown_and_not_zero(garden: Path, types: Any) -> None:
    answer = types("supply", "--json").json
    assert (answer["usable_l"], answer["days_left"], answer["basis"]) == (None, None, "none")
    assert "No dip yet" in types("supply").out


def test_no_bed_has_no_end_date(totes: Path, types: Any) -> None:
    types("dip", "north", "60cm", "--at", "2026-06-10 08:00")
    answer = types("supply", "--json").json
    assert (answer["days_left"], answer["last_full_day"], answer["need_l_per_day"]) == (None, None, 0.0)
    assert "no end date: nothing is asked for" in types("supply").out


def test_rain_of_the_week_lengthens_the_supply(dipped: Path, types: Any) -> None:
    """9 mm on 12 m2 are 108 L: two and a half days of 25 mm a week; 0.4 mm of yesterday are gone by today."""
    before = types("supply", "--json").json["days_left"]
    types("rain", "0.4mm", "--day", "yesterday")
    assert types("supply", "--json").json["beds"]["tomatoes"]["rain_covers_l"] == 0.0
    types("rain", "9mm", "--at", "2026-06-10 11:30", "--from", "2026-06-10 09:00", "--to", "2026-06-10 11:00")
    after = types("supply", "--json").json
    assert after["beds"]["tomatoes"]["rain_covers_l"] == pytest.approx(108.0)
    caught = after["usable_l"] - 1410.0
    assert after["days_left"] == pytest.approx(before + (108.0 + caught) / (12 * 25 / 7), abs=1e-3)


def test_F34_a_tap_left_on_takes_half_of_the_days(folder: Path, types: Any) -> None:
    """2600 L at 50 L a day are 52 days; 14 h at 100 L/h leave 1200 L and 24 days, the accident no part of the need."""
    (folder / "tankdash.yaml").write_text(
        """
site: One tank
timezone: UTC
units: metric
datum: the slab
tanks: {tank: {base: 0 cm, shape: {kind: straight, holds: 2600 L, at: 130 cm}}}
outlets: {tap: {tank: tank, at: 0 cm}}
beds: {drip: {need: 50 L/day, from: tap}}
"""
    )
    types("dip", "tank", "130cm", "--at", "2026-06-09 16:00")
    before = types("supply", "--at", "2026-06-09 17:00", "--json").json
    assert (before["full_days"], before["days_left"]) == (52, 52.0)
    types("use", "--start", "--at", "2026-06-09 18:00")
    types("use", "--stop", "--rate", "100 L/h", "--at", "2026-06-10 08:00")
    after = types("supply", "--json").json
    assert after["usable_l"] == pytest.approx(1200.0)
    assert (after["full_days"], after["need_l_per_day"]) == (24, 50.0)


def test_F35_a_pump_that_must_stay_off_is_told_with_what_it_could_reach(folder: Path, types: Any) -> None:
    (folder / "tankdash.yaml").write_text(
        """
site: Pumped
timezone: UTC
units: metric
datum: the slab
tanks: {tank: {base: 0 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}}
outlets: {pump: {tank: tank, at: 30 cm, kind: pump}}
beds: {drip: {need: 50 L/day, from: pump, height: 4 m}}
"""
    )
    types("dip", "tank", "50cm", "--at", "2026-06-10 08:00")
    types("set", "pump", "locked", "--at", "2026-06-10 09:00")
    answer = types("supply", "--json").json
    assert answer["outlets"]["pump"]["usable_l"] == pytest.approx(200.0)
    assert answer["outlets"]["pump"]["locked"] is True
    assert answer["outlets"]["pump"]["locked_since"].startswith("2026-06-10T09:00")
    out = types("supply").out
    assert "! pump is locked out since" in out
    assert "drip: by pump" in out


def test_F42_away_tells_water_and_chores(dipped: Path, types: Any) -> None:
    answer = types("supply", "--away", "11", "--json").json["away"]
    need = 11 * 12 * 25 / 7
    assert answer["water"]["need_l"] == pytest.approx(need, abs=1e-3)
    assert answer["water"]["short_l"] == 0.0
    assert answer["water"]["spare_l"] == pytest.approx(1410 - need, abs=1e-3)
    assert answer["back"] == "2026-06-21"
    assert [chore["id"] for chore in answer["on_return"]].count("drain-first-flush") == 1
    out = types("supply", "--away", "11", "--leave-open", "tap").out
    assert "Away for 11 days" in out
    assert "the open outlet is the lip" in " ".join(out.split())
    assert "On return:" in out


def test_F30_room_to_make_before_a_forecast(folder: Path, types: Any) -> None:
    """20 mm on 60 m2 at 0.9 bring 1080 L; with 300 L of room free 780 have to go."""
    (folder / "tankdash.yaml").write_text(
        """
site: One roof
timezone: UTC
units: metric
datum: the slab
tanks: {tank: {base: 0 cm, shape: {kind: straight, holds: 2000 L, at: 100 cm}}}
outlets: {tap: {tank: tank, at: 5 cm}}
roofs: {house: {area: 60 m2, runoff: 0.9, fills: tank}}
"""
    )
    types("dip", "tank", "85cm", "--at", "2026-06-10 08:00")
    answer = types("supply", "--forecast", "20mm", "--json").json["forecast"]
    assert answer["caught_l"] == pytest.approx(1080.0)
    assert answer["room_l"] == pytest.approx(300.0)
    assert answer["release_l"] == pytest.approx(780.0)
    assert types("supply", "--forecast", "15-20 mm", "--json").json["forecast"] == answer
    assert "Make room for 780 L more" in " ".join(types("supply", "--forecast", "20mm").out.split())
    assert "nothing has to be let out" in " ".join(types("supply", "--forecast", "4mm").out.split())


def test_past_years_tell_the_share_that_runs_dry(dipped: Path, types: Any) -> None:
    sheet = rain_sheet(dipped.parent / "village.csv", wet=9)
    assert types("supply", "--json").json["chance"] is None
    assert types("import", str(sheet), "--history", "--station", "village", "--yes").code == 0
    chance = types("supply", "--days", "100", "--json").json["chance"]
    assert chance["station"] == "village"
    assert chance["years"] == [2019, 2020, 2021]
    shares = [row["dry_share"] for row in chance["by_date"]]
    assert len(shares) == 100
    assert shares == sorted(shares)
    assert chance["by_date"][0]["date"] == "2026-06-10"
    out = types("supply", "--days", "100").out
    assert "With the rain of 3 past years (village)" in out
    assert "= middle year" in out
    assert out.isascii()
    refused = types("supply", "--station", "nowhere")
    assert refused.code == 2
    assert "village" in refused.err


def test_a_crop_without_temperatures_is_told_and_emitters_give_their_flow(dipped: Path, types: Any) -> None:
    dipped.write_text(
        dipped.read_text().replace("need: 25 mm/week", "crop: tomato").replace(
            "from: tap}", "from: tap, height: 0 cm, emitters: {gives: 2 L/h, at: 80 cm, count: 30}}"
        )
        + "climate: {latitude: 38.7}\n"
    )  # fmt: skip
    out = " ".join(types("supply").out.split())
    assert "! The need of tomatoes is not known and not counted" in out
    assert "The emitters of tomatoes give 1 L/min now" in out
    answer = types("supply", "--json").json
    assert answer["unknown_needs"] == ["tomatoes"]
    assert answer["beds"]["tomatoes"]["flow_l_h"] == pytest.approx(60.0)


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("--away", "0"), "whole number from 1"),
        (("--away", "x"), "whole number"),
        (("--away", "11", "--leave-open", "tub"), "no outlet 'tub'"),
        (("--leave-open", "tap"), "--away"),
        (("--days", "500"), "1 to 366"),
        (("--forecast", ">20mm"), "upper end"),
        (("--forecast", "20"), "unit"),
    ],
)
def test_supply_refuses_in_one_line(dipped: Path, types: Any, words: tuple[str, ...], hint: str) -> None:
    answer = types("supply", *words)
    assert (answer.code, answer.out, answer.err.count("\n")) == (2, "", 1)
    assert hint in answer.err


# Storm


def test_storm_has_the_keys_and_says_the_same_in_words(dipped: Path, types: Any) -> None:
    answer = types("storm", "--rate", "100", "mm/h", "--json").json
    assert set(answer) >= {"rate_mm_h", "links", "first_to_spill", "settle_s"}
    link = answer["links"]["north-middle"]
    assert set(link) >= {"carries_l_s", "must_l_s", "head_m"}
    assert link["must_l_s"] == pytest.approx(24 * 0.9 * 100 / 3600)
    assert answer["first_to_spill"] == "north"
    assert answer["static_capacity_l"] == pytest.approx(2850.0)
    assert answer["storm_capacity_l"] <= answer["static_capacity_l"]
    assert types("storm", "--json").json == answer
    out = types("storm").out
    assert "Rain of 100 mm an hour brings 0.6 L/s into north." in out
    assert "First to spill: north" in out


def test_F13_the_roof_is_the_requirement(folder: Path, types: Any) -> None:
    """60 m2 at 60 mm/h bring 1.0 L/s; a 40 mm link takes it, a 20 mm one is too narrow for a barrel of 0.9 m."""
    text = """
site: Two barrels
timezone: UTC
units: metric
datum: the paving
tanks:
  one: {{base: 0 cm, shape: {{kind: straight, holds: 200 L, at: 90 cm}}}}
  two: {{base: 0 cm, shape: {{kind: straight, holds: 200 L, at: 90 cm}}}}
links: {{hose: {{join: [one, two], ports: 5 cm, bore: {bore}, run: 30 cm}}}}
outlets: {{tap: {{tank: two, at: 5 cm}}}}
roofs: {{house: {{area: 60 m2, runoff: 1.0, fills: one}}}}
"""
    for bore, is_short in (("40 mm", False), ("20 mm", True)):
        (folder / "tankdash.yaml").write_text(text.format(bore=bore))
        answer = types("storm", "--rate", "60mm/h", "--json").json
        hose = answer["links"]["hose"]
        assert hose["must_l_s"] == pytest.approx(1.0)
        assert hose["is_short"] is is_short
        assert (hose["head_m"] > hose["available_m"]) is is_short
    assert "TOO NARROW" in types("storm", "--rate", "60mm/h").out


def test_storm_from_now_needs_a_dip(garden: Path, types: Any) -> None:
    assert types("storm", "--from-now").code == 2
    types("dip", "north", "60cm", "--at", "2026-06-10 08:00")
    answer = types("storm", "--from-now", "--json").json
    assert answer["static_capacity_l"] == pytest.approx(1050.0)
    assert answer["from"] == "now"
    assert "what the tanks hold now" in " ".join(types("storm", "--from-now").out.split())


@pytest.mark.parametrize("rate", ["100", "100 mm", "-5 mm/h", "heavy"])
def test_storm_refuses_a_rate_it_does_not_understand(garden: Path, types: Any, rate: str) -> None:
    answer = types("storm", "--rate", rate)
    assert (answer.code, answer.out, answer.err.count("\n")) == (2, "", 1)


# Stick table


def test_stick_lines_are_what_levels_would_say(garden: Path, types: Any) -> None:
    rows = types("stick", "north", "--step", "10 cm", "--json").json["rows"]
    assert set(rows[0]) >= {"reading", "depth_m", "total_l", "usable_l"}
    for row in rows[1:]:
        levels = types("levels", "--dip", f"north={row['reading']}", "--json").json["totals"]
        assert row["total_l"] == pytest.approx(levels["volume_l"])
        assert row["usable_l"] == pytest.approx(levels["usable_l"])
    assert rows[0]["total_l"] is None
    assert [row["reading"] for row in rows][-2:] == ["90 cm", "95 cm"]


def test_stick_takes_a_centimetre_or_half_an_inch_unless_told(garden: Path, types: Any) -> None:
    assert len(types("stick", "north", "--json").json["rows"]) == 96
    garden.write_text(garden.read_text().replace("units: metric", "units: us"))
    rows = types("stick", "north", "--json").json["rows"]
    assert rows[1]["reading"] == "1/2 in"
    assert rows[1]["depth_m"] == pytest.approx(0.0127)
    assert "US gal" in types("stick", "north").out


def test_stick_says_how_the_stick_is_read(garden: Path, types: Any) -> None:
    out = types("stick", "north", "--step", "20cm").out
    assert "Stand the stick on the floor" in out
    assert "1 cm on the stick is about 30 L" in " ".join(out.split())
    assert "60 cm        1800 L  1410 L" in out


def test_a_page_is_written_whole_and_never_over_another_unasked(garden: Path, types: Any) -> None:
    page = garden.parent / "stick.html"
    assert types("stick", "north", "--html", str(page)).code == 0
    first = page.read_text(encoding="utf-8")
    assert first.startswith("<!DOCTYPE html>")
    page.write_text("<!DOCTYPE html> an earlier one")
    refused = types("stick", "north", "--html", str(page))
    assert (refused.code, refused.err.count("\n")) == (2, 1)
    assert page.read_text() == "<!DOCTYPE html> an earlier one"
    assert types("stick", "north", "--html", str(page), "--overwrite").code == 0
    assert page.read_text(encoding="utf-8") == first
    page.write_text("mine")
    assert types("stick", "north", "--html", str(page), "--overwrite").code == 2
    assert page.read_text() == "mine"
    assert types("stick", "north", "--html", str(garden.parent)).code == 2
    assert types("stick", "north", "--html", str(garden.parent / "no" / "where.html")).code == 2
    assert sorted(path.name for path in garden.parent.iterdir() if path.suffix == ".html") == ["stick.html"]


@pytest.mark.parametrize(
    "words", [("attic",), ("north", "--step", "0"), ("north", "--step", "5"), ("north", "--step", "0.01 mm")]
)
def test_stick_refuses_in_one_line(garden: Path, types: Any, words: tuple[str, ...]) -> None:
    answer = types("stick", *words)
    assert (answer.code, answer.out, answer.err.count("\n")) == (2, "", 1)


def test_the_chore_sheet_is_a_page(garden: Path, types: Any) -> None:
    types("rain", "12mm", "--at", "2026-06-09 08:00")
    page = garden.parent / "chores.html"
    assert types("chores", "--html", str(page)).code == 0
    text = page.read_text(encoding="utf-8")
    assert "Empty the first-flush pipe" in text
    assert text.count('class="box"') == sum(
        chore["state"] in ("due", "late") for chore in types("chores", "--json").json["chores"]
    )
    assert types("chores", "--html", str(page)).code == 2


# Size


def test_size_has_the_keys_and_takes_a_sheet_without_importing_it(garden: Path, types: Any) -> None:
    sheet = rain_sheet(garden.parent / "village.csv")
    answer = types(
        "size", "--rain", str(sheet), "--add-tank", "1000", "L", "640L", "--roof", "40", "m2", "--json"
    ).json
    rows = answer["rows"]
    assert set(rows[0]) >= {
        "storage_l",
        "roof_m2",
        "volume_reliability",
        "day_reliability",
        "spilled_l_per_year",
    }
    assert [(row["storage_l"], row["roof_m2"]) for row in rows] == [
        (pytest.approx(storage), area) for area in (24.0, 40.0) for storage in (2460.0, 3460.0, 4100.0)
    ]
    assert (answer["rule"], answer["missing_days"]) == ("YAS", 0)
    assert types("log", "--json").json["entries"] == []
    assert not (garden.parent / "tankdash.journal.db").exists()


def test_size_uses_imported_rain_and_says_the_knee(garden: Path, types: Any) -> None:
    refused = types("size")
    assert refused.code == 2
    assert "--history" in refused.err
    sheet = rain_sheet(garden.parent / "village.csv")
    types("import", str(sheet), "--history", "--yes")
    answer = types("size")
    assert answer.code == 0
    assert "Rain of village, 2019-01-01 to 2021-12-31, 3.0 years." in " ".join(answer.out.split())
    assert "a fourth tank" in answer.out
    assert "Days served in full:" in answer.out
    assert "yield after spillage (YAS)" in answer.out
    assert "yield before spillage (YBS)" in types("size", "--rule", "YBS").out


def test_size_reads_open_station_files(garden: Path, types: Any) -> None:
    """GHCN-Daily rows: tenths of a millimetre, a rejected value is missing."""
    first = date(2019, 1, 1)
    path = garden.parent / "2019.csv"
    path.write_text(
        "".join(
            f"AE000041196,{first + timedelta(days=n):%Y%m%d},PRCP,{80 if n % 4 == 0 else 0},,{'X' * (n == 9)},S,\n"
            for n in range(366)
        )
    )
    answer = types("size", "--rain", str(path), "--json").json
    assert (answer["station"], answer["missing_days"]) == ("AE000041196", 1)
    assert answer["from"] == "2019-01-01"


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("--rain", "nowhere.csv"), "is not there"),
        (("--rain", "short.csv"), "a year of daily rain"),
        (("--add-tank", "0"), "more than nothing"),
        (("--add-tank", "1000"), "unit"),
        (("--add-tank", "275 gal"), "gal"),
        (("--roof", "0"), "roof"),
        (("--roof", "big"), "big"),
        (("--rule", "both"), "YAS"),
        (("--station", "nowhere"), "no past rain"),
    ],
)
def test_size_refuses_in_one_line(garden: Path, types: Any, words: tuple[str, ...], hint: str) -> None:
    (garden.parent / "short.csv").write_text("date,rain mm\n2019-01-01,3\n2019-01-02,0\n")
    answer = types("size", *words)
    assert (answer.code, answer.out, answer.err.count("\n")) == (2, "", 1)
    assert hint in answer.err


def test_ctrl_c_ends_a_long_run_quietly(garden: Path, types: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = rain_sheet(garden.parent / "village.csv")

    def stopped(*args: object, **more: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("tankdash.planning.choices.run_sizes", stopped)
    answer = types("size", "--rain", str(sheet))
    assert (answer.code, answer.out, answer.err) == (130, "", "")


def test_progress_is_shown_on_a_terminal_only_and_cleared(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with sizing.progress_shown() as progress:
        assert progress is None
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    with sizing.progress_shown() as progress:
        assert progress is not None
        assert progress(0.1)
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(sizing, "WORTH_SHOWING", -1.0)
    with pytest.raises(KeyboardInterrupt), sizing.progress_shown() as progress:
        assert progress is not None
        assert progress(0.25)
        raise KeyboardInterrupt
    err = capsys.readouterr().err
    assert "running the years:  25 %" in err
    assert err.endswith("\r\x1b[K")


# Balance and survey


def test_balance_has_the_keys_and_a_sentence(dipped: Path, types: Any) -> None:
    assert "It takes two dips" in types("balance").out or "two dips" in types("balance").out
    types("dip", "north", "50cm", "--at", "2026-06-10 11:00")
    answer = types("balance", "--json").json
    [stretch] = answer["stretches"]
    assert set(stretch) >= {"from", "to", "expected_l", "low_l", "high_l", "seen_l", "finding", "text"}
    assert stretch["seen_l"] == pytest.approx(1500.0)
    assert stretch["finding"] == "unrecorded-use"
    assert "unrecorded use" in types("balance").out
    assert types("balance", "--last", "0").code == 2


def test_the_two_checks_tell_by_their_exit_code_whether_there_is_something_to_look_at(
    dipped: Path, types: Any
) -> None:
    """1 is `a check found something`: use that was not noted, a base that sank; nothing to see is 0."""
    assert types("balance").code == 0
    assert types("survey").code == 0
    types("dip", "north", "59.8cm", "--at", "2026-06-10 09:00")
    assert types("balance", "--json").json["stretches"][0]["finding"] in ("none", "below-resolution")
    assert types("balance").code == 0
    types("dip", "north", "50cm", "--at", "2026-06-10 11:00")
    assert (types("balance").code, types("balance", "--json").code) == (1, 1)
    assert types("check").code == 0
    types("dip", "north", "50cm", "middle", "53cm", "south", "50cm", "--at", "2026-06-10 11:30")
    assert (types("survey").code, types("survey", "--json").code) == (1, 1)
    assert types("survey", "--accept", "south").code == 0
    assert types("survey").code == 0


def test_every_survey_and_every_noted_base_is_told_over_time(garden: Path, types: Any) -> None:
    for month, south in ((1, 57), (2, 58), (3, 59), (4, 60)):
        words = ("north", "60cm", "middle", "63cm", "south", f"{south}cm")
        assert types("dip", *words, "--at", f"2026-0{month}-10 08:00").code == 0
    types("set", "south", "base", "21cm", "--at", "2026-03-10 09:00")
    found = types("survey")
    assert "Survey by survey" in found.out
    assert "2026-01-10" in found.out
    assert "23 cm ± 8.5 mm" in found.out
    assert "noted 21 cm" in found.out
    assert "sinks by about" in " ".join(found.out.split())
    answer = types("survey", "--json").json
    told = answer["tanks"]["south"]
    assert [round(one["base_m"], 3) for one in told["soundings"]] == [0.23, 0.22, 0.21, 0.2]
    assert told["is_settling"] is True
    assert told["per_month_m"] == pytest.approx(-0.010, abs=0.002)
    assert answer["noted"]["south"][1]["base_m"] == 0.21
    assert answer["levelling"]["gains_l"] == pytest.approx(answer["lost_to_bases_l"])


def test_a_survey_is_accepted_only_when_named(garden: Path, types: Any) -> None:
    types("dip", "north", "60cm", "middle", "63cm", "south", "60cm", "--at", "2026-06-10 08:00")
    answer = types("survey", "--json").json
    assert set(answer) >= {"reference", "tanks", "lost_to_bases_l", "finding"}
    south = answer["tanks"]["south"]
    assert set(south) >= {"base_m", "was_m", "moved_m", "plus_minus_m"}
    assert (south["base_m"], south["was_m"], south["moved_m"]) == (0.2, 0.23, -0.03)
    assert (answer["finding"], answer["accepted"]) == ("settlement", {})
    out = types("survey").out
    assert "MOVED" in out
    assert "tankdash survey --accept south" in out
    assert len(types("log", "--json").json["entries"]) == 1

    accepted = types("survey", "--accept", "south", "--note", "after the wet week")
    assert "the base of south is 20 cm from now on" in accepted.out
    entries = types("log", "--json").json["entries"]
    assert [entry["words"] for entry in entries] == [
        "dip north 60cm middle 63cm south 60cm",
        "set south base 20 cm",
    ]
    assert entries[1]["note"] == "after the wet week"
    assert types("levels", "--json", now="2026-06-10T12:30").json["tanks"]["south"]["lip_m"] == pytest.approx(
        1.25
    )
    types("undo")
    assert types("levels", "--json", now="2026-06-10T12:30").json["tanks"]["south"]["lip_m"] == pytest.approx(
        1.28
    )


@pytest.mark.parametrize(
    "words",
    [
        ("--accept", "north"),
        ("--accept", "south", "attic"),
        ("--accept", "south", "south"),
        ("--reference", "attic"),
    ],
)
def test_a_survey_takes_over_all_or_nothing(garden: Path, types: Any, words: tuple[str, ...]) -> None:
    types("dip", "north", "60cm", "middle", "63cm", "south", "60cm", "--at", "2026-06-10 08:00")
    answer = types("survey", *words)
    assert (answer.code, answer.out, answer.err.count("\n")) == (2, "", 1)
    assert len(types("log", "--json").json["entries"]) == 1


def test_a_tank_that_does_not_follow_is_not_taken_over(garden: Path, types: Any) -> None:
    types("dip", "north", "60cm", "middle", "63cm", "south", "57cm", "--at", "2026-06-08 08:00")
    types("dip", "north", "40cm", "middle", "43cm", "south", "56cm", "--at", "2026-06-10 08:00")
    answer = types("survey", "--accept", "south")
    assert answer.code == 2
    assert "does not follow" in answer.err
    assert "LINK DOES NOT PASS" in types("survey").out


# All of them


@pytest.mark.parametrize("command", [("supply",), ("storm",), ("stick", "north"), ("balance",), ("survey",)])
def test_looking_ahead_writes_nothing_and_needs_no_numpy(garden: Path, command: tuple[str, ...]) -> None:
    script = (
        "import sys\n"
        "from tankdash.cli.main import main\n"
        "code = main(sys.argv[1:])\n"
        "print(code, 'numpy' in sys.modules, 'textual' in sys.modules, file=sys.stderr)\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script, *command],
        cwd=garden.parent,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert result.stderr.splitlines()[-1] == "0 False False"
    assert not (garden.parent / "tankdash.journal.db").exists()


def test_check_tells_the_load_of_each_tank(garden: Path, types: Any) -> None:
    """1050 L at 998.2 kg/m3 (D)."""
    north = types("check", "--json").json["tanks"]["north"]
    assert north["load_kg"] == pytest.approx(1048.1)
    assert north["pressure_kpa"] is None
    assert "1048 kg" in types("check").out


def test_what_rain_covers_is_counted_at_the_outlet_like_all_else_of_a_bed(folder: Path, types: Any) -> None:
    """35 mm on 100 m2 are 3500 L at the roots; with 0.8 of the water arriving they spare the tank 4375 L."""
    text = """
site: Palms
timezone: UTC
units: metric
datum: the pad
tanks: {c: {base: 0, shape: {kind: straight, holds: 20 m3, at: 2 m}}}
outlets: {p: {tank: c, at: 0}}
beds: {palms: {area: 100 m2, need: 60 mm/week, from: p, efficiency: 0.8}}
rain: {booked: same day}
"""
    (folder / "tankdash.yaml").write_text(text)
    types("dip", "c", "100cm", "--at", "2026-06-05 18:00")
    types("rain", "35mm")
    spared = types("supply", "--json").json["beds"]["palms"]
    assert spared["rain_covers_l"] == pytest.approx(4375.0)
    assert "still covers 4375 L of palms" in types("supply").out
    # Ten thousand litres and those: 14 375 L at 60 x 100 / 7 / 0.8 a day are 13.4 days.
    assert spared["days_left"] == pytest.approx(14_375.0 / (60 * 100 / 7 / 0.8), rel=1e-5)
