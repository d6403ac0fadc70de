"""The design page: five parts by the arrows, what plus, minus and the brackets change, sizes in a thread, paper."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from contextlib import redirect_stdout
from datetime import date, timedelta
from io import BytesIO, TextIOWrapper
from pathlib import Path
from typing import Any

import pytest
from plots import NOW, Garden, keys, settle
from textual.pilot import Pilot

from tankdash.cli.main import main
from tankdash.planning.sizing import Cancelled
from tankdash.tui.app import TankdashApp
from tankdash.tui.pages import design
from tankdash.tui.pages.design import DesignPage
from tankdash.tui.pages.designwishes import PARTS
from tankdash.tui.pages.home import HomePage
from tankdash.tui.widgets.notice import NoticeLine
from tankdash.tui.widgets.partbar import PartBar
from tankdash.tui.widgets.picture import row_width
from tankdash.tui.widgets.sheet import Sheet
from tankdash.units import format_flow, format_volume

Typed = Callable[..., dict[str, Any]]
SIZE = (80, 24)
SIZES = [(80, 24), (120, 36), (60, 18), (56, 16)]


def sheet(app: TankdashApp) -> str:
    """Return the whole sheet on one line, blanks run together."""
    return " ".join(app.screen.query_one(Sheet).whole_text.split())


def rained(garden: Garden, folder: Path, years: int = 3) -> Path:
    """Bring years of daily rain in, 8 mm every seventh day, and return the file."""
    path = folder / "hill.csv"
    days = [date(2019, 1, 1) + timedelta(days=number) for number in range(365 * years + 1)]
    path.write_text(
        "date,rain mm\n" + "".join(f"{day},{8 if day.toordinal() % 7 == 0 else 0}\n" for day in days)
    )
    assert (
        main(
            ["--site", str(garden.path), "--now", NOW.isoformat(), "import", str(path), "--history", "--yes"]
        )
        == 0
    )
    return path


@pytest.fixture
def typed(garden: Garden) -> Typed:
    """Return a way to type a command at the garden and read its JSON, also while the app has the terminal."""

    def type_in(*words: str) -> dict[str, Any]:
        with redirect_stdout(TextIOWrapper(BytesIO(), encoding="utf-8")) as out:
            assert main(["--site", str(garden.path), "--now", NOW.isoformat(), *words, "--json"]) == 0
            out.seek(0)
            answer: dict[str, Any] = json.loads(out.read())
        return answer

    return type_in


async def at_part(pilot: Pilot[int], part: str) -> None:
    """Open the page and go to a part."""
    await keys(pilot, "8", *["right"] * PARTS.index(part))


async def test_each_part_is_an_arrow_away_and_the_ring_closes(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "8")
        assert isinstance(app.screen, DesignPage)
        said = []
        for _ in PARTS:
            said.append(sheet(app))
            bar = app.screen.query_one(PartBar).text
            assert bar.count("▸") == 1
            await keys(pilot, "right")
        for words, page in zip(
            ("an hour brings", "All together", "head now", "years of daily rain", "Stand the stick"),
            said,
            strict=True,
        ):
            assert words in page
        assert sheet(app) == said[0]
        await keys(pilot, "left")
        assert sheet(app) == said[-1]
        await keys(pilot, "escape")
        assert isinstance(app.screen, HomePage)


@pytest.mark.parametrize("size", SIZES)
async def test_no_line_of_any_part_is_wider_than_its_place(
    garden: Garden, tmp_path: Path, size: tuple[int, int]
) -> None:
    rained(garden, tmp_path)
    app = garden.app()
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await keys(pilot, "8")
        for part in PARTS:
            place = app.screen.query_one(Sheet)
            assert place.size.height >= 8
            for row in app.screen.query_one(Sheet).write(place.size.width):
                assert row_width(row) <= place.size.width, (part, row)
            bar = app.screen.query_one(PartBar)
            assert all(row_width(row) <= bar.size.width for row in bar.rows)
            await keys(pilot, "right")


async def test_a_click_on_a_part_shows_it(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "8")
        bar = app.screen.query_one(PartBar)
        await pilot.click(PartBar, offset=(bar.text.index("Reach") + 1, 0))
        await settle(pilot)
        assert "head now" in sheet(app)


async def test_where_there_is_room_every_part_has_its_answer_beside_it(
    garden: Garden, tmp_path: Path
) -> None:
    rained(garden, tmp_path)
    app = garden.app()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await at_part(pilot, "size")
        said = " ".join(app.screen.query_one(PartBar).text.split())
        assert "First to spill: North tote" in said
        assert "kg in all" in said
        assert "dry days a year as it is" in said
        assert "on the stick is about 30 L" in said


async def test_the_storm_is_what_the_command_says_at_every_rate(garden: Garden, typed: Typed) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "8")
        for pressed, words in (
            ((), ("storm",)),
            (("plus",), ("storm", "--rate", "120mm/h")),
            (("minus", "minus"), ("storm", "--rate", "80mm/h")),
            (("right_square_bracket",), ("storm", "--rate", "80mm/h", "--from-now")),
        ):
            await keys(pilot, *pressed)
            answer, page = typed(*words), sheet(app)
            assert " ".join(words[1:]) in page
            for load in answer["links"].values():
                assert format_flow(load["must_l_s"] / 1000, "metric") in page
                assert format_flow(load["carries_l_s"] / 1000, "metric") in page
            assert (
                f"filled slowly they take {format_volume(answer['static_capacity_l'] / 1000, 'metric')}"
                in page
            )
            assert f"in this rain {format_volume(answer['storm_capacity_l'] / 1000, 'metric')} before" in page
            assert answer["first_to_spill"] == "north"
            assert "First to spill: North tote" in page


async def test_a_narrow_link_is_told_by_word_and_sign(garden: Garden) -> None:
    garden.path.write_text(garden.path.read_text().replace("bore: 50 mm", "bore: 8 mm"))
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "8")
        assert "▲ too narrow" in sheet(app)
        assert "Storm!" in app.screen.query_one(PartBar).text


async def test_the_load_is_that_of_check_with_its_caution(garden: Garden, typed: Typed) -> None:
    text = garden.path.read_text().replace(
        "brim: 105 cm\n", "brim: 105 cm\n    footprint: 1.0 x 1.2 m\n    tare: 60 kg\n"
    )
    garden.path.write_text(text)
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await at_part(pilot, "load")
        page, answer = sheet(app), typed("check")
    for tank in answer["tanks"].values():
        assert f"{tank['load_kg']:.0f} kg" in page
        assert f"{tank['pressure_kpa']:.1f} kPa" in page
    assert [one["text"] for one in answer["warnings"] if one["code"] == "load"][-1] in page
    assert "never a certificate" in page


async def test_reach_tells_the_head_and_what_the_water_cannot_reach(garden: Garden, typed: Typed) -> None:
    more = """\
beds:
  high: {need: 5 L/day, from: tap, height: 2 m}
  low: {need: 5 L/day, from: tap, height: 0 cm, min_head: 70 cm}
"""
    garden.path.write_text(garden.path.read_text().replace("beds:\n", more))
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await at_part(pilot, "reach")
        page, answer = sheet(app), typed("supply")
    assert answer["beds"]["low"]["reached"] is True
    lines = page.split("high")[1]
    assert "▲ never by gravity" in lines.split("low")[0]
    assert "✓ reached" in lines.split("low")[1]
    assert "No `height` in the site file, so no head: tomatoes." in page


async def test_without_past_rain_the_sizes_say_how_to_bring_it_in(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await at_part(pilot, "size")
        assert "`tankdash import FILE --history`" in sheet(app)


async def test_sizes_are_what_the_command_says_with_the_other_roof_and_the_other_rule(
    garden: Garden, tmp_path: Path, typed: Typed
) -> None:
    rained(garden, tmp_path)
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await at_part(pilot, "size")
        for pressed, words in (
            ((), ("size",)),
            (("plus",), ("size", "--roof", "30m2")),
            (("right_square_bracket",), ("size", "--roof", "30m2", "--rule", "YBS")),
        ):
            await keys(pilot, *pressed)
            answer, page = typed(*words), sheet(app)
            assert f"tankdash {' '.join(words)}" in page
            for row in answer["rows"]:
                assert format_volume(row["storage_l"] / 1000, "metric") in page
                assert f"{100 * row['volume_reliability']:.1f} %" in page
                assert f"{100 * row['day_reliability']:.1f} %" in page
            for knee in answer["knee"]:
                assert knee in page
            assert "100 %" in page
            assert "days served in full" in page


async def test_a_long_run_tells_how_far_it_is_and_is_stopped_by_escape(
    garden: Garden, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The run waits for the test: it goes on to 40 %, is looked at, then told to stop, and comes back when asked."""
    rained(garden, tmp_path)
    whole, goes_on, runs = design.sizing, threading.Event(), []

    def slow(*args, progress, **more):
        runs.append(more)
        if len(runs) > 1:
            return whole(*args, progress=progress, **more)
        while progress(0.4):
            goes_on.wait(0.02)
        raise Cancelled

    monkeypatch.setattr(design, "sizing", slow)
    monkeypatch.setattr(design, "TOLD_EVERY", 0.0)
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "8", "right", "right")
        await pilot.press("right")
        while "40 %" not in sheet(app):
            await pilot.pause(0.02)
        assert "3 years of hill: 40 %. Esc stops." in sheet(app)
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(app.screen, DesignPage)
        assert "Stopped" in sheet(app)
        await keys(pilot, "left", "right")
        assert len(runs) == 2
        assert "dry days a year" in sheet(app)
        await keys(pilot, "escape")
        assert isinstance(app.screen, HomePage)


async def test_the_stick_table_is_that_of_the_command_and_marks_the_present_reading(
    garden: Garden, typed: Typed
) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await at_part(pilot, "stick")
        await keys(pilot, "plus", "plus", "right_square_bracket")
        answer, page = typed("stick", "middle", "--step", "5cm"), app.screen.query_one(Sheet).whole_text
        assert "tankdash stick middle --step 5cm" in " ".join(page.split())
        cells = " ".join(page.replace("▸", " ").split())
        sure = [row for row in answer["rows"] if None not in (row["total_l"], row["usable_l"])]
        assert len(sure) > 15
        for row in sure:
            total, usable = (f"{row[key]:.0f}" for key in ("total_l", "usable_l"))
            assert f"{row['reading']} {total} {usable}" in cells
        assert "▸" in page


async def test_w_writes_the_stick_page_and_replaces_an_earlier_one_only_when_pressed_again(
    garden: Garden,
) -> None:
    page = garden.path.parent / "stick-north.html"
    app = garden.app()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await at_part(pilot, "stick")
        await keys(pilot, "w")
        first = page.read_text(encoding="utf-8")
        assert first.startswith("<!DOCTYPE html>")
        assert "Written" in app.screen.query_one(NoticeLine).text
        page.write_text("<!DOCTYPE html> older", encoding="utf-8")
        await keys(pilot, "w")
        assert "w once more replaces it" in " ".join(app.screen.query_one(NoticeLine).text.split())
        assert page.read_text(encoding="utf-8") == "<!DOCTYPE html> older"
        await keys(pilot, "w")
        assert page.read_text(encoding="utf-8") == first
        page.write_text("a letter to my aunt", encoding="utf-8")
        await keys(pilot, "w", "w")
        assert page.read_text(encoding="utf-8") == "a letter to my aunt"


async def test_w_elsewhere_writes_the_chore_sheet(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "4", "w")
    assert "Wipe the leaf screen" in (garden.path.parent / "chores.html").read_text(encoding="utf-8")


async def test_an_ascii_terminal_gets_ascii_on_every_part(garden: Garden, tmp_path: Path) -> None:
    rained(garden, tmp_path)
    app = garden.app(ascii_only=True)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "8")
        for part in PARTS:
            for picture in (app.screen.query_one(Sheet), app.screen.query_one(PartBar)):
                for line in range(picture.size.height):
                    assert picture.render_line(line).text.isascii(), (part, picture, line)
            await keys(pilot, "right")
