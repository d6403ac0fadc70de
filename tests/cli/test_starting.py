"""A new site file is sound whatever was answered, and nothing is overwritten."""

from __future__ import annotations

import io
import sys
import types as kinds
from pathlib import Path
from typing import Any

import pytest

from tankdash.cli.new_site import own_zone
from tankdash.site import load


def test_a_new_site_is_sound_and_says_what_next(folder: Path, types: Any) -> None:
    answer = types("new", "mine.yaml", now=None)
    assert (answer.code, answer.err) == (0, "")
    assert "tankdash check --site mine.yaml" in answer.out
    assert len(load(folder / "mine.yaml").tanks) == 2
    assert types("check", "--site", "mine.yaml").code == 0
    assert types("dip", "tank-1", "60cm", "--site", "mine.yaml").code == 0


@pytest.mark.parametrize("units", ["metric", "us", "imperial"])
def test_options_say_what_stands_in_the_row(folder: Path, types: Any, units: str) -> None:
    words = (
        "--units",
        units,
        "--tanks",
        "tote",
        "butt",
        "lying",
        "--name",
        "A: b # c",
        "--timezone",
        "Asia/Tokyo",
    )
    assert types("new", "mine.yaml", *words, "--json", now=None).json["tanks"] == 3
    site = load(folder / "mine.yaml")
    assert (site.name, site.units, site.zone.key) == ("A: b # c", units, "Asia/Tokyo")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("there.yaml",), "is there already"),
        (("gone/mine.yaml",), "is no folder"),
        (("mine.yaml", "--tanks", "bucket"), "'bucket' is no kind of tank"),
        (("mine.yaml", "--tanks", *["tote"] * 51), "by hand"),
        (("mine.yaml", "--timezone", "../../etc/passwd"), "no time zone"),
        (("mine.yaml", "--units", "cubits"), "invalid choice"),
    ],
)
def test_a_mistake_is_one_sentence_and_no_file(
    folder: Path, types: Any, words: tuple[str, ...], sentence: str
) -> None:
    (folder / "there.yaml").write_text("mine")
    answer = types("new", *words, now=None)
    assert (answer.code, answer.out) == (2, "")
    assert answer.err.count("\n") == 1
    assert sentence in answer.err
    assert [path.name for path in folder.iterdir()] == ["there.yaml"]
    assert (folder / "there.yaml").read_text() == "mine"


def test_at_a_terminal_it_asks_until_it_understands(
    folder: Path, types: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = [
        "Plot 9",
        "furlongs",
        "imperial",
        "",
        "the kerb",
        "none",
        "2",
        "barrel",
        "20",
        "20 in",
        "",
        "-2 in",
        "",
        "",
        "5in",
        "",
    ]
    stdin = io.StringIO("\n".join(said) + "\n")
    monkeypatch.setattr(stdin, "isatty", lambda: True)
    monkeypatch.setattr(sys, "stdin", stdin)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    answer = types("new", "mine.yaml", now=None)
    assert (answer.code, answer.err) == (0, "")
    assert "Write metric, us or imperial." in answer.out
    site = load(folder / "mine.yaml")
    assert (site.name, site.units, site.datum) == ("Plot 9", "imperial", "the kerb")
    assert [round(tank.thing.base / 0.0254, 3) for tank in site.tanks.values()] == [20.0, -2.0]
    assert round(site.outlets["tap"].thing.at / 0.0254, 3) == 5.0


def test_two_terraces_and_a_roof_are_asked_about_at_a_terminal(
    folder: Path, types: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = ["Bank", "metric", "UTC", "the kerb", "3", "round", "120 cm", "tote", "118 cm", "sideways", "link"]
    said += ["lying", "10 cm", "overflow", "8 cm", "10 cm", "6 m", "4 m"]
    stdin = io.StringIO("\n".join(said) + "\n")
    monkeypatch.setattr(stdin, "isatty", lambda: True)
    monkeypatch.setattr(sys, "stdin", stdin)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    answer = types("new", "mine.yaml", now=None)
    assert (answer.code, answer.err) == (0, "")
    assert "Write one of link, overflow, apart." in answer.out
    site = load(folder / "mine.yaml")
    assert list(site.links) == ["tank-1-to-2"]
    assert site.tanks["tank-2"].thing.overflow_to == "tank-3"
    assert {outlet.thing.tank for outlet in site.outlets.values()} == {"tank-2", "tank-3"}
    assert round(site.roofs["roof"].thing.area, 6) == 24.0


def test_questions_left_before_the_end_write_nothing(
    folder: Path, types: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    stdin = io.StringIO("Plot 9\n")
    monkeypatch.setattr(stdin, "isatty", lambda: True)
    monkeypatch.setattr(sys, "stdin", stdin)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    answer = types("new", "mine.yaml", now=None)
    assert answer.code == 2
    assert "nothing is written" in answer.err
    assert list(folder.iterdir()) == []


def test_the_own_zone_is_an_iana_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    assert own_zone() == "Pacific/Auckland"
    monkeypatch.setenv("TZ", "Nowhere/Land")
    assert own_zone() != "Nowhere/Land"


def test_the_demo_says_where_it_lies_and_what_stands_in_it(folder: Path, types: Any) -> None:
    answer = types("demo")
    assert (answer.code, answer.err) == (0, "")
    home = folder.parent / "home" / ".local" / "share" / "tankdash" / "demo"
    assert str(home) in answer.out
    assert "share one surface" in answer.out
    assert list(folder.iterdir()) == [], "nothing is written where one stands"
    again = types("demo", "--json").json
    assert set(again) == {"schema", "folder", "site_file", "journal", "is_new", "levels"}
    assert again["is_new"] is False
    assert again["folder"] == str(home)
    assert again["levels"]["basis"] == "estimate"
    assert types("chores", "--site", again["site_file"]).code == 0


def test_the_demo_goes_into_a_named_folder_once(folder: Path, types: Any) -> None:
    assert types("demo", "--folder", "play", "--json").json["is_new"] is True
    before = (folder / "play" / "tankdash.journal.db").read_bytes()
    answer = types("demo", "--folder", "play")
    assert (answer.code, answer.out) == (2, "")
    assert "is there already" in answer.err
    assert (folder / "play" / "tankdash.journal.db").read_bytes() == before
    (folder / "mine").mkdir()
    (folder / "mine" / "letter.txt").write_text("mine")
    answer = types("demo", "--folder", "mine")
    assert (answer.code, answer.out) == (2, "")
    assert "not empty" in answer.err


def test_the_demo_has_a_site_of_its_own(folder: Path, types: Any) -> None:
    answer = types("demo", "--site", "other.yaml")
    assert (answer.code, answer.out) == (2, "")
    assert "leave out --site" in answer.err


def test_at_a_terminal_the_demo_opens_the_screen(
    folder: Path, types: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Any] = []
    fake = kinds.ModuleType("tankdash.tui.app")
    fake.run_screen = lambda *given: opened.append(given) or 0  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "tankdash.tui.app", fake)
    for stream in (sys.stdin, sys.stdout):
        monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    assert "remove the folder when you are done" in types("demo", now=None).out
    ((site, journal, now),) = opened
    assert site.name == "tankdash.yaml"
    assert journal == site.with_name("tankdash.journal.db")
    assert now is None
