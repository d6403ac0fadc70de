"""The first start, without a site: the demo, or the guided setup."""

from __future__ import annotations

from pathlib import Path

import pytest
from plots import NOW, keys, settle

from tankdash.site import load, load_text
from tankdash.site.starter import starter
from tankdash.tui.app import TankdashApp, run_screen
from tankdash.tui.forms.setup import SetupForm, SitePicture
from tankdash.tui.pages.home import HomePage, HomeWords
from tankdash.tui.pages.welcome import WelcomePage
from tankdash.tui.wants import WANTS
from tankdash.tui.widgets.field import FieldText
from tankdash.tui.widgets.notice import NoticeLine
from tankdash.units import Units

SIZE = (80, 24)


def first_start() -> TankdashApp:
    return TankdashApp(None, lambda: NOW, theme="dusk", ascii_only=False)


async def test_the_demo_is_one_key_away_and_says_where_it_lies(own_home: Path) -> None:
    app = first_start()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert isinstance(app.screen, WelcomePage)
        await keys(pilot, "1")
        assert isinstance(app.screen, HomePage)
        assert "usable" in app.screen.query_one(HomeWords).text
        assert app.keeper is not None
        assert own_home in app.keeper.site_path.parents
        said = app.screen.query_one(NoticeLine).text.replace("\n", "").replace(" ", "")
        assert "demo" in said


async def test_the_setup_draws_the_tanks_as_they_are_described_and_writes_a_file_that_loads(
    own_home: Path,
) -> None:
    app = first_start()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await keys(pilot, "2")
        form = app.screen
        assert isinstance(form, SetupForm)
        assert form.query_one(".form-fields").scroll_offset.y == 0
        assert "Tank 2" in form.query_one(SitePicture).text
        assert "Tank 3" not in form.query_one(SitePicture).text
        await keys(pilot, "tab", "tab", "backspace", "3")
        assert "Tank 3" in form.query_one(SitePicture).text
        assert form.field_named("base-3") is not None
        await keys(pilot, "enter")
        assert isinstance(app.screen, HomePage)
        assert app.keeper is not None
        site = load(app.keeper.site_path)
        assert len(site.tanks) == 3
        assert len(site.links) == 2
        assert "#" in app.keeper.site_path.read_text(encoding="utf-8")
        assert "No dip yet" in app.screen.query_one(HomeWords).text
        await keys(pilot, "d", *"60", "enter")
        assert "usable" in app.screen.query_one(HomeWords).text


async def test_the_setup_tells_an_unreadable_answer_and_keeps_it() -> None:
    app = first_start()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await keys(pilot, "2")
        form = app.screen
        assert isinstance(form, SetupForm)
        base = form.field_named("base-1")
        assert base is not None
        base.take("twenty")
        await settle(pilot)
        await keys(pilot, "enter")
        assert app.screen is form
        assert base.typed == "twenty"
        assert base.query_one(".field-explain", FieldText).words.startswith("!")
        await keys(pilot, "escape")
        assert isinstance(app.screen, WelcomePage)


async def test_the_setup_writes_over_no_file_that_is_there(tmp_path: Path) -> None:
    there = tmp_path / "mine.yaml"
    there.write_text("precious", encoding="utf-8")
    app = first_start()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await keys(pilot, "2")
        form = app.screen
        assert isinstance(form, SetupForm)
        path = form.field_named("path")
        assert path is not None
        path.take(str(there))
        await settle(pilot)
        await keys(pilot, "enter")
        assert app.screen is form
        assert "there already" in path.query_one(".field-explain", FieldText).words
    assert there.read_text(encoding="utf-8") == "precious"


def test_a_site_file_with_problems_is_told_in_full_and_opens_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text("site: x\nunits: yards\ntanks: {}\n", encoding="utf-8")
    assert run_screen(bad, None, NOW) == 2
    said = capsys.readouterr().err
    assert "bad.yaml:2: units" in said
    assert "Traceback" not in said


@pytest.mark.parametrize("units", ["metric", "us", "imperial"])
def test_every_question_of_the_setup_has_help_and_its_examples_are_understood(
    tmp_path: Path, units: Units
) -> None:
    form = SetupForm(tmp_path / "garden.yaml", "Europe/Lisbon", units, NOW)
    asked = form.asked()
    filled = {field.name: field.first for field in asked}
    met = set()
    for field in asked:
        want = WANTS["setup"][field.name.split("-")[0]]
        met.add(want.label)
        assert field.says == want.says and len(want.says) > 5, field.name
        assert field.choices or field.examples, field.name
        for example in field.examples:
            typed = filled | {field.name: example}
            typed |= (
                dict.fromkeys(("roof_length", "roof_width"), example) if field.name.startswith("roof") else {}
            )
            if field.name == "count":
                typed |= {f"base-{number}": "0" for number in range(1, 13)}
            load_text(starter(form.answers(typed)))
        if field.empty:
            load_text(starter(form.answers(filled | {field.name: ""})))
    assert met == {want.label for want in WANTS["setup"].values()}
