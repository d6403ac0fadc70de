"""Help: of the field that has the focus, of the page it is asked on, and that all of it holds."""

from __future__ import annotations

from pathlib import Path

import pytest
from plots import NOW, SITE, Garden, keys, settle

from tankdash.journal.entries import TapOpened
from tankdash.tui.app import TankdashApp
from tankdash.tui.forms.asking import Asking, HelpWords
from tankdash.tui.forms.base import Form
from tankdash.tui.forms.dip import DipForm
from tankdash.tui.forms.search import SearchForm
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.about import ABOUT
from tankdash.tui.pages.help import HelpWords as PageHelp
from tankdash.tui.pages.page import Page
from tankdash.tui.registry import FORMS, PAGES, form_class
from tankdash.tui.wants import TITLES, WANTS, Want
from tankdash.tui.widgets.field import Field, FieldText, TypedField, with_unit
from tankdash.tui.widgets.sideview import SideView

SIZE = (80, 24)


def want_of(form: str, field: Field) -> Want:
    """Return the field's place in the table; a dip asks the same of each tank."""
    return WANTS[form].get(field.name) or WANTS[form]["reading"]


def held(form: Form) -> dict[str, str]:
    """Return fields filled so that the form can be read: the first example where something must be typed."""
    filled = {}
    for field in form.asked():
        filled[field.name] = field.first or (field.examples[0] if field.examples and not field.empty else "")
        filled[field.name] = with_unit(filled[field.name], field.unit)
    if form.NAME in ("dip", "note"):  # of these fields any one will do
        first = form.asked()[0]
        filled[first.name] = with_unit(first.examples[0], first.unit)
    return filled


@pytest.fixture(params=["metric", "us", "imperial"])
def keeper(request: pytest.FixtureRequest, tmp_path: Path) -> Keeper:
    """Return a garden in each of the units, half full, with a tap running."""
    path = tmp_path / "garden.yaml"
    path.write_text(SITE.replace("units: metric", f"units: {request.param}"), encoding="utf-8")
    garden = Garden(path)
    garden.dip(at="sunday 18:00", north="60 cm")
    with garden.desk() as desk:
        desk.record(TapOpened("tap"), garden.now.replace(hour=0, minute=1), "use --start", "", garden.now)
    return Keeper(path, None, lambda: NOW)


@pytest.mark.parametrize("name", FORMS)
def test_every_field_has_its_own_help_and_its_examples_are_understood(keeper: Keeper, name: str) -> None:
    form = form_class(name)(keeper, keeper.shown())
    for field in form.asked():
        want = want_of(name, field)
        assert field.says == want.says and len(want.says) > 15, field.name
        assert field.choices or field.examples, field.name
        assert field.explain and field.explain != field.says
        for typed in field.examples:
            values = held(form) | {field.name: with_unit(typed, field.unit)}
            if name == "set" and field.name == "base":
                values |= {"item": "north", "state": "base"}
            if name == "tap" and typed.startswith(("yesterday", "monday", "2026")):
                values |= {"what": "open"}  # the tap that runs was opened this morning
            understood = form.read(values)
            assert understood.words.startswith(("use", "move", name)), typed
        for choice in field.choices:
            assert choice.meaning or field.name not in ("left_in", "about", "state", "what"), choice.value


@pytest.mark.parametrize("name", [name for name in FORMS if name != "note"])
def test_what_a_field_says_may_stay_empty_may_and_what_does_not_may_not(keeper: Keeper, name: str) -> None:
    form = form_class(name)(keeper, keeper.shown())
    if name == "tap":
        return  # nothing typed is needed to write a tap down
    for field in form.asked():
        emptied = held(form) | {field.name: ""}
        if field.empty and name != "dip":
            form.read(emptied)
        elif not field.choices and name != "dip":
            with pytest.raises(ValueError, match=r"\S"):
                form.read(emptied)


def test_the_table_has_no_field_that_no_form_asks(keeper: Keeper) -> None:
    for name in FORMS:
        form = form_class(name)(keeper, keeper.shown())
        assert {want_of(name, field).label for field in form.asked()} == {
            want.label for want in WANTS[name].values()
        }


async def test_help_follows_the_focus_and_gives_the_picture_back(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "d", "6", "question_mark")
        form = app.screen
        assert isinstance(form, DipForm)
        told = form.query_one(HelpWords)
        assert told.region.height > 0 and form.query_one(SideView).region.height == 0
        assert told.text.startswith("North tote") and "gap 20" in told.text
        await keys(pilot, "tab", "tab", "tab")
        assert told.text.startswith("When") and "yesterday 18:00" in told.text
        await keys(pilot, "f1")
        assert told.region.height == 0 and form.query_one(SideView).region.height > 0
        assert form.query(TypedField).first().typed == "6"


async def test_a_question_mark_in_a_note_is_a_question_mark(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "n", "l", "o", "w", "question_mark")
        assert app.screen.query(TypedField).first().typed == "low?"
        assert app.screen.query_one(HelpWords).region.height == 0
        await keys(pilot, "f1")
        assert "frog" in app.screen.query_one(HelpWords).text


@pytest.mark.parametrize("size", [(80, 24), (58, 24), (120, 36)])
async def test_the_help_of_each_field_can_be_read_to_its_end(garden: Garden, size: tuple[int, int]) -> None:
    """What does not fit scrolls; nothing is narrower than its words."""
    app = garden.app()
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await keys(pilot, "d", "f1")
        box = app.screen.query_one(".form-helping")
        told = app.screen.query_one(HelpWords)
        assert box.region.height >= 5
        assert box.virtual_size.height >= len(told.rows)
        assert app.screen.query(TypedField).first().input.region.height == 1


@pytest.mark.parametrize(
    ("key", "heading"),
    [
        ("2", "Tanks"),
        ("3", "Rain"),
        ("4", "Chores"),
        ("5", "Supply"),
        ("6", "Survey"),
        ("7", "Log"),
        ("8", "Design"),
    ],
)
async def test_help_tells_of_the_page_it_is_asked_on_and_goes_back_to_it(
    garden: Garden, key: str, heading: str
) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, key, "question_mark")
        told = app.screen.query_one(PageHelp).text
        assert told.startswith(f"This page: {heading}")
        assert heading_of(app) == "Help"
        await keys(pilot, "escape")
        assert heading_of(app) == heading
        await keys(pilot, "question_mark", "question_mark")
        assert heading_of(app) == heading


def heading_of(app: TankdashApp) -> str:
    assert isinstance(app.screen, Page)
    return app.screen.HEADING


async def test_help_has_every_field_of_every_form(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "question_mark")
        told = " ".join(app.screen.query_one(PageHelp).text.split())
        for name in FORMS:
            assert f"Form: {TITLES[name]}" in told
            for want in WANTS[name].values():
                assert f"{want.label}: {want.says}" in told


def test_every_page_that_can_be_gone_to_is_told_of() -> None:
    assert set(ABOUT) == set(PAGES) - {"help", "welcome"}
    for about in ABOUT.values():
        assert about.says and all(action.does for action in about.actions)


async def test_the_search_has_help_too(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "l", "slash", "f1")
        assert isinstance(app.screen, SearchForm | Asking)
        assert "listed" in app.screen.query_one(HelpWords).text
        assert isinstance(app.screen.query(FieldText).first(), FieldText)
