"""The log: looking for an entry, taking it back, putting it right."""

from __future__ import annotations

import pytest
from plots import Garden, keys, settle

from tankdash.journal.entries import Entry
from tankdash.tui.forms.again import form_and_draft
from tankdash.tui.forms.dip import DipForm
from tankdash.tui.pages.log import LogPage
from tankdash.tui.widgets.field import TypedField
from tankdash.tui.widgets.loglist import LogList
from tankdash.tui.widgets.notice import NoticeLine

SIZE = (80, 24)


async def test_an_entry_anywhere_in_the_log_can_be_taken_back(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "7")
        log = app.screen.query_one(LogList)
        assert [entry.kind for entry in log.listed] == ["rain", "dip"]
        await keys(pilot, "down", "backspace")
        assert "Taken back" in app.screen.query_one(NoticeLine).text
        assert "taken back" in log.text
        await keys(pilot, "backspace")
        assert "already" in app.screen.query_one(NoticeLine).text
    assert [entry.kind for entry in garden.desk().entries()] == ["rain"]


async def test_an_entry_is_put_right_by_taking_it_back_and_writing_it_anew(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "7", "down", "e")
        assert isinstance(app.screen, DipForm)
        values = app.screen.values
        assert values["north"] == "60 cm"
        assert values["at"] == "2026-05-03 18:00"
        field = app.screen.query(TypedField).first()
        field.take("62 cm")
        await settle(pilot)
        await keys(pilot, "enter")
        assert isinstance(app.screen, LogPage)
    dips = [entry for entry in garden.desk().entries() if entry.kind == "dip"]
    assert [entry.words for entry in dips] == ["dip north 62 cm"]
    assert dips[0].at.hour == 18


async def test_the_log_lists_only_what_is_looked_for(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "7", "slash", *"north", "enter")
        log = app.screen.query_one(LogList)
        assert [entry.kind for entry in log.listed] == ["dip"]
        await keys(pilot, "slash", "escape")
        assert len(log.listed) == 2
        await keys(pilot, "slash", *"zebra", "enter")
        assert "Nothing holds 'zebra'" in log.text


async def test_looking_for_something_elsewhere_says_where_it_can_be_done(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "slash")
        assert "log" in app.screen.query_one(NoticeLine).text
        await keys(pilot, "e")
        assert "log" in app.screen.query_one(NoticeLine).text


TYPED = {
    "u": (["3", "0"], "use 30 L --outlet tap"),
    "m": (["5", "0"], "move 50 L north south"),
    "p": (["2", "0"], "pour 20 L north --what hose"),
    "f": (["minus", "1"], "frost -1 C --night 2026-05-06"),
    "n": (["h", "i"], "note hi"),
    "o": ([], "use --start --outlet tap"),
    "s": ([], "set north-middle closed"),
    "r": (["4"], "rain 4 mm"),
}


@pytest.mark.parametrize("form", sorted(TYPED))
async def test_every_form_writes_what_is_typed_and_can_read_it_back(garden: Garden, form: str) -> None:
    typed, words = TYPED[form]
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, form, *typed, "enter")
        assert app.shown is not None
        newest: Entry = max(garden.desk().entries(), key=lambda entry: entry.number)
        assert newest.words == words
        again = form_and_draft(newest, app.shown.site)
        assert again is not None
        await keys(pilot, "7", "e")
        for name, text in again[1].items():
            field = app.screen.field_named(name)  # type: ignore[attr-defined]
            assert field is not None, name
            assert field.value == text, name
        await keys(pilot, "enter")
    anew: Entry = max(garden.desk().entries(), key=lambda entry: entry.number)
    assert anew.number != newest.number
    assert (anew.record, anew.at) == (newest.record, newest.at)
