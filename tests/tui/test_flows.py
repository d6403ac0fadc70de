"""The job through the keys a person presses, at 80 x 24."""

from __future__ import annotations

import pytest
from plots import Garden, keys, settle

from tankdash.journal.entries import Dips, Done, Rain
from tankdash.tui.forms.dip import DipForm
from tankdash.tui.pages.home import HomePage, HomeWords
from tankdash.tui.widgets.chorelist import ChoreList
from tankdash.tui.widgets.field import ChoiceField, FieldText, TypedField
from tankdash.tui.widgets.keybar import KeyBar
from tankdash.tui.widgets.notice import NoticeLine
from tankdash.tui.widgets.picture import Picture
from tankdash.tui.widgets.sideview import SideView

SIZE = (80, 24)


async def test_enter_a_dip_see_all_tanks_tick_the_chore(garden: Garden) -> None:
    """The figures are the worked example's: three totes on 20, 17 and 23 cm, north dipped at 60 cm."""
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "d", "6", "0", "enter")
        assert isinstance(app.screen, HomePage)
        picture = app.screen.query_one(SideView).text
        for tank, litres in (("North tote", "600 L"), ("Middle tote", "630 L"), ("South tote", "570 L")):
            assert tank in picture
            assert litres in picture
        assert app.shown is not None
        assert app.shown.levels.totals.usable_l == pytest.approx(1410.0)
        due = [chore.id for chore in app.screen.query_one(ChoreList).listed if chore.is_open]
        assert "drain-first-flush" in due
        while app.screen.query_one(ChoreList).marked != "drain-first-flush":
            await keys(pilot, "down")
        await keys(pilot, "x")
        states = {chore.id: chore.state for chore in app.shown.chores}
        assert states["drain-first-flush"] == "done"
        assert "Empty the first-flush pipe" in app.screen.query_one(NoticeLine).text
    with garden.desk() as desk:
        last = sorted(desk.entries(), key=lambda entry: entry.number)[-2:]
        assert isinstance(last[0].record, Dips)
        assert last[0].words == "dip north 60 cm"
        assert last[1].record == Done("drain-first-flush")


async def test_the_picture_shows_the_levelled_result_while_digits_are_typed(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "d", "6", "0")
        view = app.screen.query_one(SideView)
        assert "570 L" in view.text
        words = app.screen.query_one(".form-words", Picture).text
        assert "1410 L usable" in words.replace("\n", " ")
        await keys(pilot, "backspace", "backspace", "4", "0")
        assert "570 L" not in view.text
        assert "370 L" in view.text
    with garden.desk() as desk:
        assert not any(entry.words.startswith("dip north 40") for entry in desk.entries())


async def test_an_unreadable_entry_explains_itself_and_keeps_what_was_typed(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        before = len(garden.desk().entries())
        await keys(pilot, "d", *"8x4", "enter")
        assert isinstance(app.screen, DipForm)
        field = app.screen.query(TypedField).first()
        assert field.typed == "8x4"
        assert field.has_focus_within
        said = field.query_one(".field-explain", FieldText)
        assert said.words.startswith("!")
        assert "8x4" in said.words
        await keys(pilot, "backspace")
        assert not said.words.startswith("!")
        assert len(garden.desk().entries()) == before


async def test_a_dip_above_the_brim_is_refused_under_its_field(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "d", *"150", "enter")
        field = app.screen.query(TypedField).first()
        assert "brim" in field.query_one(".field-explain", FieldText).words


async def test_what_was_typed_is_still_there_after_leaving(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "d", *"71", "escape")
        assert isinstance(app.screen, HomePage)
        await keys(pilot, "d")
        assert app.screen.query(TypedField).first().typed == "71"
        await keys(pilot, "enter", "d")
        assert app.screen.query(TypedField).first().typed == ""


async def test_tab_goes_to_the_next_tank_for_a_survey(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "d", *"60", "tab", *"63", "tab", *"57", "enter")
        assert isinstance(app.screen, HomePage)
    with garden.desk() as desk:
        newest = max(desk.entries(), key=lambda entry: entry.number)
        assert newest.words == "dip north 60 cm middle 63 cm south 57 cm"


async def test_the_unit_used_last_is_taken_for_bare_digits(garden: Garden) -> None:
    garden.dip(at="today 6:00", north="24 in")
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "d", *"23 1", "slash", "2", "enter")
        assert isinstance(app.screen, HomePage)
    newest = max(garden.desk().entries(), key=lambda entry: entry.number)
    assert newest.words == "dip north 23 1/2 in"


async def test_rain_is_written_with_the_unit_shown(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "r", *"4.5", "enter")
        assert isinstance(app.screen, HomePage)
    newest = max(garden.desk().entries(), key=lambda entry: entry.number)
    assert isinstance(newest.record, Rain)
    assert newest.record.low_mm == pytest.approx(4.5)


async def test_undo_takes_back_the_last_entry_and_says_which(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        before = app.shown
        assert before is not None
        await keys(pilot, "d", *"30", "enter")
        assert app.shown is not None
        assert app.shown.levels.totals != before.levels.totals
        await keys(pilot, "z")
        assert app.shown.levels.totals == before.levels.totals
        said = app.screen.query_one(NoticeLine).text.replace("\n", " ")
        assert "Taken back" in said
        assert "30 cm" in said


async def test_undo_on_an_empty_journal_says_so(bare_garden: Garden) -> None:
    app = bare_garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "No dip yet" in app.screen.query_one(HomeWords).text
        await keys(pilot, "z")
        assert "nothing to take back" in app.screen.query_one(NoticeLine).text


async def test_a_notice_goes_with_the_next_key(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "z")
        line = app.screen.query_one(NoticeLine)
        assert line.display
        await keys(pilot, "down")
        assert not line.display


async def test_home_shows_everything_on_one_page_at_80_by_24(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        for name in ("#home-side", "#home-timeline", "#home-words", "#home-chores"):
            region = app.screen.query_one(name).region
            assert region.height > 0, name
            assert region.bottom <= 23, name
            assert region.right <= 80, name
        chores = app.screen.query_one(ChoreList).text
        assert "Empty the first-flush" in chores
        assert "12 mm" in chores


@pytest.mark.parametrize("size", [(120, 36), (80, 24), (60, 18), (56, 16)])
async def test_no_key_of_the_footer_is_cut(garden: Garden, size: tuple[int, int]) -> None:
    app = garden.app()
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        bar = app.screen.query_one(KeyBar)
        assert len(bar.feet) <= 6
        shown = bar.render_line(0).text
        for foot in bar.feet:
            assert f"{foot.key} {foot.name}" in shown


@pytest.mark.parametrize("form", ["d", "r", "u", "o", "m", "p", "s", "f", "n"])
async def test_no_key_of_a_forms_footer_is_cut_and_escape_leaves(garden: Garden, form: str) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, form)
        assert not isinstance(app.screen, HomePage)
        bar = app.screen.query_one(KeyBar)
        assert len(bar.feet) <= 6
        assert all(f"{foot.key} {foot.name}" in bar.render_line(0).text for foot in bar.feet)
        await keys(pilot, "escape")
        assert isinstance(app.screen, HomePage)


async def test_below_60_by_18_there_is_a_list_and_no_picture(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert app.screen.query_one("#home-side").region.height > 0
        await pilot.resize_terminal(60, 18)
        await settle(pilot)
        assert app.screen.query_one("#home-side").region.height >= 8
        await pilot.resize_terminal(59, 17)
        await settle(pilot)
        assert app.screen.query_one("#home-side").region.height == 0
        assert "usable" in app.screen.query_one(HomeWords).text
        assert "Empty the first-flush pipe" in app.screen.query_one(ChoreList).text


async def test_the_rain_form_says_what_the_roofs_bring_and_which_chores_it_brings_on(garden: Garden) -> None:
    """24 m2 at 0.9 is 21.6 L a millimetre; nobody emptied the pipe, so all 14 mm come: 302 L."""
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "r", *"14")
        said = " ".join(app.screen.query_one(".form-words", Picture).text.split())
        assert "The roofs bring 302 L." in said
        assert "302 L more than before" in said
        await keys(pilot, "escape", "f", "minus", "1")
        said = " ".join(app.screen.query_one(".form-words", Picture).text.split())
        assert "Then to be done: Wrap the fittings." in said
        await keys(pilot, "backspace", "backspace", "9")
        assert "No chore" in app.screen.query_one(".form-words", Picture).text


async def test_the_rain_form_tells_a_range_as_one(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "r", *"5", "minus", *"10")
        said = " ".join(app.screen.query_one(".form-words", Picture).text.split())
        assert "anything from 108 L to 216 L" in said
        assert "It may be anything between" in said
        await keys(pilot, "home", "greater_than_sign", "end", "backspace", "backspace", "backspace")
        assert "or more." in app.screen.query_one(".form-words", Picture).text


async def test_the_set_form_begins_with_what_would_be_a_change_and_offers_only_what_can_be(
    garden: Garden,
) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "s")
        state = app.screen.query(ChoiceField)[1]
        assert state.value == "closed"
        assert "primed" not in [choice.value for choice in state.field.choices]
        await keys(pilot, "right", "right")
        assert state.value == "plugged"
        await keys(pilot, "left", "left", "enter", "s")
        assert app.screen.query(ChoiceField)[1].value == "open"
