"""The first start, without a site: the demo, or the guided setup."""

from __future__ import annotations

from pathlib import Path

import pytest
from plots import NOW, keys, settle

from tankdash.site import load, load_text
from tankdash.site.starter import starter
from tankdash.tui.app import TankdashApp, run_screen
from tankdash.tui.forms.asking import EffectWords
from tankdash.tui.forms.setup import SetupForm, SitePicture
from tankdash.tui.pages.home import HomePage, HomeWords
from tankdash.tui.pages.welcome import WelcomePage
from tankdash.tui.wants import WANTS
from tankdash.tui.widgets.field import FieldText, with_unit
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
        assert app.screen is form, "what took minutes is not thrown away by one key"
        assert "once more" in form.query_one(EffectWords).text
        await keys(pilot, "escape")
        assert isinstance(app.screen, WelcomePage)


async def test_typing_takes_the_place_of_what_the_setup_offers(own_home: Path) -> None:
    """Nobody typed `My garden` or `2`: the first key is not put behind them."""
    app = first_start()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await keys(pilot, "2", *"Bank", "tab", "tab", "4")
        form = app.screen
        assert isinstance(form, SetupForm)
        assert (form.values["name"], form.values["count"]) == ("Bank", "4")
        await keys(pilot, "shift+tab", "shift+tab", *"y")
        assert form.values["name"] == "Banky", "what somebody typed is gone on with"


async def test_two_terraces_are_set_up_with_bare_digits_and_a_cascade(own_home: Path) -> None:
    app = first_start()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await keys(pilot, "2", "tab", "tab", "4", "tab", "right", "right", "right", "tab", *"120")
        await keys(pilot, "tab", "tab", *"118", "tab")
        await keys(pilot, "tab", *["right"] * 4, "tab", *"10", "tab", "right")
        await keys(pilot, "tab", *["right"] * 5, "tab", *"12", "tab")
        await keys(pilot, "tab", "tab", "tab", "6", "tab", "4", "enter")
        assert isinstance(app.screen, HomePage)
        assert app.keeper is not None
        site = load(app.keeper.site_path)
    tanks = site.layout(NOW.date()).tanks
    assert [tank.base for tank in tanks.values()] == pytest.approx([1.2, 1.18, 0.1, 0.12])
    assert tanks["tank-2"].overflow_to == "tank-3"
    assert sorted(site.links) == ["tank-1-to-2", "tank-3-to-4"]
    assert {outlet.thing.tank for outlet in site.outlets.values()} == {"tank-2", "tank-4"}
    assert site.roofs["roof"].thing.area == pytest.approx(24.0)


async def test_what_the_setup_offers_follows_the_units_chosen(own_home: Path) -> None:
    app = first_start()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await keys(pilot, "2", "tab", "right")
        form = app.screen
        assert isinstance(form, SetupForm)
        assert (form.values["base-1"], form.values["link"], form.values["tap"]) == ("8 in", "3 in", "4 in")
        await keys(pilot, "enter")
        assert app.keeper is not None
        assert load(app.keeper.site_path).units == "us"


async def test_an_answer_that_cannot_be_drawn_is_named_and_the_picture_is_said_to_wait() -> None:
    app = first_start()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await keys(pilot, "2")
        form = app.screen
        assert isinstance(form, SetupForm)
        link = form.field_named("link")
        assert link is not None
        link.take("low")
        await settle(pilot)
        said = form.query_one(EffectWords).text
        assert "Links enter" in said and "picture" in said


async def test_escape_closes_the_help_of_a_form_before_the_form() -> None:
    app = first_start()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await keys(pilot, "2", "f1")
        form = app.screen
        assert isinstance(form, SetupForm) and form.has_class("-helping")
        await keys(pilot, "escape")
        assert app.screen is form and not form.has_class("-helping")


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
    filled = {field.name: with_unit(field.first, field.unit) for field in asked}
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
