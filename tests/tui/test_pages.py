"""Pages, help, palette, colours, and what the screen does with labels, changes and nonsense."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from plots import SITE, Garden, keys, settle
from textual.command import CommandPalette

from tankdash.drawing.canvas import ROLES as DRAWN_ROLES
from tankdash.drawing.canvas import parts
from tankdash.journal.entries import Note
from tankdash.tui import registry
from tankdash.tui.actions import ACTIONS, page_actions
from tankdash.tui.cautionwords import CAUTIONS
from tankdash.tui.finding import ALSO, found, offers
from tankdash.tui.pages.cautions import CautionWords
from tankdash.tui.pages.help import HelpWords
from tankdash.tui.pages.home import HomePage, HomeWords
from tankdash.tui.pages.page import Page
from tankdash.tui.widgets.chorelist import GLYPHS, HEADINGS, ChoreList
from tankdash.tui.widgets.keybar import KeyBar
from tankdash.tui.widgets.loglist import LogList
from tankdash.tui.widgets.masthead import Masthead
from tankdash.tui.widgets.notice import NoticeLine
from tankdash.tui.widgets.picture import ROLES, Picture
from tankdash.tui.widgets.sheet import Sheet
from tankdash.tui.widgets.sideview import SideView
from tankdash.tui.widgets.timeline import TimelineView, TimelineWords

SIZE = (80, 24)


@pytest.mark.parametrize(
    ("key", "page", "said"),
    [
        ("2", "tanks", "North tote"),
        ("3", "rain", "12 mm"),
        ("4", "chores", "Wrap the fittings"),
        ("5", "supply", "tomatoes"),
        ("6", "survey", "Bases by the water"),
        ("7", "log", "dip north 60 cm"),
        ("question_mark", "help", "Write down"),
        ("exclamation_mark", "cautions", "Never drinking water"),
    ],
)
async def test_each_page_is_one_key_away_and_escape_goes_home(
    garden: Garden, key: str, page: str, said: str
) -> None:
    garden.dip(at="today 6:00", north="60 cm")
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, key)
        assert isinstance(app.screen, registry.page_class(page))
        assert isinstance(app.screen, Page)
        assert said in app.screen.summary()
        await keys(pilot, "j", "j", "k")
        await keys(pilot, "escape")
        assert isinstance(app.screen, HomePage)


async def test_the_page_that_is_shown_stands_out_in_the_line_of_keys(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        for action in page_actions():
            await keys(pilot, action.key_shown)
            (row,) = app.screen.query_one(KeyBar).draw(120, 1)
            assert [span.text for span in row if span.role == "strong"] == [f" {action.name}"]


async def test_help_names_every_action_with_its_keys(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "question_mark")
        lines = app.screen.query_one(HelpWords).text.splitlines()
        for action in ACTIONS:
            keyed = f"{action.keys_shown} "
            assert any(line.strip().startswith(keyed) and action.name in line for line in lines), action.id


async def test_the_palette_offers_every_action(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        offered = [offer.title for offer in offers()]
        for action in ACTIONS:
            if action.id != "find":
                assert any(title.endswith(f": {action.name}") for title in offered), action.id
        await keys(pilot, "colon")
        assert isinstance(app.screen, CommandPalette)


async def test_the_palette_bears_any_width(garden: Garden) -> None:
    async with garden.app().run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, ":")
        await keys(pilot, "w")
        assert isinstance(pilot.app.screen, CommandPalette)
        for width in (12, 3, 2, 1, 80):
            await pilot.resize_terminal(width, 10)
            await settle(pilot)
        await keys(pilot, "escape")
        assert isinstance(pilot.app.screen, HomePage)


async def test_an_action_of_the_palette_is_carried_out(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "colon", *"leak", "down", "enter")
        assert isinstance(app.screen, registry.page_class("survey"))


@pytest.mark.parametrize(
    ("typed", "title"),
    [
        ("frost", "Write down: frost"),
        ("winter", "Write down: set"),
        ("how long", "Pages: supply"),
        ("holiday", "Pages: supply"),
        ("away", "Pages: supply"),
        ("level", "Pages: home"),
        ("barrels", "Pages: tanks"),
        ("add a tank", "Write down: garden"),
        ("new tank", "Write down: garden"),
        ("settings", "Write down: garden"),
        ("watering can", "Write down: use"),
        ("open", "Write down: set"),
        ("left running", "Write down: tap"),
        ("leak", "Pages: survey"),
        ("mistake", "Write down: undo"),
        ("print", "Help and the rest: write a page"),
        ("stick table", "Pages: design"),
        ("too heavy", "Pages: design"),
        ("drinking", "Help and the rest: cautions"),
        ("dark", "Help and the rest: light or dark"),
        ("exit", "Help and the rest: quit"),
        ("history", "Pages: log"),
        ("import", "Only as a command: import"),
        ("backup", "Only as a command: export"),
        ("phone", "Only as a command: calendar"),
    ],
)
def test_what_is_looked_for_is_found_by_the_words_a_person_would_type(typed: str, title: str) -> None:
    best = [offer.title for _, offer in found(typed)][:4]
    assert title in best, best


def test_every_word_to_look_for_belongs_to_an_action() -> None:
    assert ALSO.keys() <= {action.id for action in ACTIONS}


def test_words_inside_others_find_nothing() -> None:
    """Letters strewn over a name are no reason to show it: `leak` is not `light or dark`."""
    assert all("light" not in offer.title for _, offer in found("leak"))
    assert found("xyzzy") == []


async def test_what_only_a_command_does_is_told_and_not_found_leads_to_help(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "colon", *"backup", "down", "enter")
        assert isinstance(app.screen, HomePage)
        assert "tankdash export" in app.screen.query_one(NoticeLine).text
        await keys(pilot, "colon", *"xyzzy", "down", "enter")
        assert isinstance(app.screen, registry.page_class("help"))


async def test_the_cautions_name_every_danger(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "exclamation_mark")
        said = app.screen.query_one(CautionWords).text
        for _, heading, _ in CAUTIONS:
            assert heading in said
    names = {name for name, _, _ in CAUTIONS}
    assert {"drinking", "weight", "confined", "frost", "pumps", "mains", "history", "permits"} <= names
    assert {"roof", "warm", "cleaning"} <= names
    assert any("Ask locally" in words for _, _, words in CAUTIONS)


async def test_a_label_is_shown_as_it_stands_in_the_file(tmp_path: Path) -> None:
    path = tmp_path / "garden.yaml"
    path.write_text(
        SITE.replace("label: North tote", 'label: "[red]N[/]"').replace(
            "label: Empty the first-flush pipe", 'label: "[@click=app.quit]empty[/]"'
        )
    )
    garden = Garden(path)
    garden.dip(at="sunday 18:00", north="60 cm")
    garden.rain("12 mm", "monday 7:00")
    with garden.desk() as desk:
        desk.record(Note(), garden.now, "note seen\x1b[31m red", "", garden.now)
    app = garden.app()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        side = app.screen.query_one(SideView)
        assert "[red]N[/]" in side.text
        assert "[@click=app.quit]empty[/]" in app.screen.query_one(ChoreList).text
        for key in ("2", "4", "7"):
            await keys(pilot, key)
        sheet = app.screen.query_one(LogList)
        shown = "".join(sheet.render_line(y).text for y in range(sheet.size.height))
        assert "note seen␛[31m red" in shown
        assert "\x1b" not in shown
        await keys(pilot, "d")
        await keys(pilot, "escape", "escape")
        assert isinstance(app.screen, HomePage)


async def test_light_and_dark_change_with_one_key(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        side = app.screen.query_one(SideView)
        dark = side.role_style("water").bgcolor
        await keys(pilot, "i")
        assert side.role_style("water").bgcolor != dark
        await keys(pilot, "i")
        assert side.role_style("water").bgcolor == dark


def test_every_role_of_the_drawings_has_a_style() -> None:
    for role in DRAWN_ROLES:
        ink, ground = parts(role)
        assert ink in ROLES
        assert ground is None or ground in ROLES


def test_each_state_of_a_chore_has_its_own_glyph_and_a_word() -> None:
    assert len(set(GLYPHS.values())) == len(GLYPHS)
    assert set(HEADINGS) == set(GLYPHS)


async def test_without_colours_water_is_told_by_signs(
    garden: Garden, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = garden.app(theme=None)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert app.theme == "sixteen"
        assert "▒" in app.screen.query_one(SideView).text


async def test_an_ascii_terminal_gets_nothing_else(garden: Garden) -> None:
    app = garden.app(ascii_only=True)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        for key in ("escape", "2", "3", "4", "5", "6", "7"):
            await keys(pilot, key)
            for picture in app.screen.query(Picture):
                for line in range(picture.size.height):
                    assert picture.render_line(line).text.isascii(), (key, picture, line)


async def test_the_timeline_moves_zooms_and_tells_the_day_under_the_cursor(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        view, words = app.screen.query_one(TimelineView), app.screen.query_one(TimelineWords)
        first = view.text
        await keys(pilot, "left")
        assert "Wednesday 6 May 2026" in words.text.replace("\n", " ")
        await keys(pilot, "left")
        assert "Tuesday 5 May 2026" in words.text.replace("\n", " ")
        await keys(pilot, "escape")
        assert "Tuesday" not in words.text
        days = view.days
        await keys(pilot, "minus")
        assert view.days == 2 * days
        await keys(pilot, "plus")
        await keys(pilot, "left_square_bracket")
        assert view.text != first
        await keys(pilot, "right_square_bracket", "right_square_bracket")
        assert view.text == first


async def test_what_another_program_writes_appears(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        garden.dip(at="today 7:00", north="30 cm")
        app.look()
        await settle(pilot)
        assert "300 L" in app.screen.query_one(SideView).text


async def test_a_changed_site_file_is_read_again_and_a_broken_one_is_told_with_its_line(
    garden: Garden,
) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        text = garden.path.read_text()
        garden.path.write_text(text.replace("North tote", "Nearest tote"))
        app.look()
        await settle(pilot)
        assert "Nearest tote" in app.screen.query_one(SideView).text
        garden.path.write_text(text.replace("brim: 105 cm", "brim: 105 cmm", 1))
        app.look()
        await settle(pilot)
        said = app.screen.query_one(NoticeLine).text.replace("\n", " ")
        assert "garden.yaml:10" in said.replace("   ", "")
        assert "Nearest tote" in app.screen.query_one(SideView).text
        garden.path.write_text(text)
        app.look()
        await settle(pilot)
        assert "North tote" in app.screen.query_one(SideView).text


async def test_supply_says_whether_the_water_lasts_while_away(bare_garden: Garden) -> None:
    """Eleven days at 12 m2 x 25 mm a week, no rain before them, are 11 x 300 / 7 = 471.4 L (arithmetic)."""
    bare_garden.dip(at="today 7:00", north="60 cm")
    app = bare_garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "5")
        sheet = app.screen.query_one(Sheet)
        assert "Away for 11 days: the beds ask for 471 L" in sheet.whole_text.replace("\n", " ")
        await keys(pilot, "plus")
        assert "Away for 12 days" in sheet.whole_text


async def test_a_monkey_breaks_nothing(garden: Garden) -> None:
    dice = random.Random(20260506)
    pool = [
        *"drxuozcmpsfnjk1234567?!i[]+-<>hltybg",
        "escape",
        "enter",
        "tab",
        "up",
        "down",
        "left",
        "right",
        "space",
    ]
    names = {"?": "question_mark", "!": "exclamation_mark", "[": "left_square_bracket", "]": "right_square_bracket",
             "+": "plus", "-": "minus", "<": "less_than_sign", ">": "greater_than_sign"}  # fmt: skip
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        for number in range(100):
            key = dice.choice(pool)
            await pilot.press(names.get(key, key))
            if number % 50 == 25:
                await pilot.resize_terminal(*dice.choice([(80, 24), (60, 18), (120, 36), (40, 12)]))
        await settle(pilot)
        await keys(pilot, "escape", "escape", "1")
        assert isinstance(app.screen, HomePage)
        assert "usable" in app.screen.query_one(HomeWords).text
    garden.desk().entries()


async def test_home_says_how_sure_the_figure_is(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "Estimate: dipped 3 days ago" in app.screen.query_one(HomeWords).text
        assert "% of full" in app.screen.query_one(HomeWords).text


@pytest.mark.parametrize("size", [(120, 36), (80, 24)])
async def test_no_reason_of_a_pressing_chore_is_cut(garden: Garden, size: tuple[int, int]) -> None:
    app = garden.app()
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        chores = app.screen.query_one(ChoreList)
        told = " ".join(chores.text.split())
        for chore in chores.listed:
            if chore.is_open:
                assert f"{chore.label} {chore.state}: {chore.reason}" in told
        assert chores.listed[0].id == "drain-first-flush"


async def test_every_page_but_home_says_how_many_chores_press(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for key, is_said in (("1", False), ("2", True), ("4", True), ("7", True)):
            await keys(pilot, key)
            assert ("2 chores late" in app.screen.query_one(Masthead).text) == is_said, key


async def test_home_gives_the_range_beside_the_likely_figure(garden: Garden) -> None:
    garden.rain("10-20 mm", "tuesday 8:00")
    app = garden.app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        words = app.screen.query_one(HomeWords)
        totals = words.shown.levels.totals if words.shown else None
        assert totals is not None
        assert f"{totals.usable_low_l:.0f}–{totals.usable_high_l:.0f} L possible" in words.text
        assert any(span.role == "band" for row in words.rows for span in row), "the bar shows it too"


async def test_a_click_points_at_a_day_and_zooming_keeps_it_in_sight(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        await keys(pilot, "minus", "minus", "minus")
        timeline = app.screen.query_one(TimelineView)
        await pilot.click(TimelineView, offset=(20, 3))
        await settle(pilot)
        pointed = timeline.cursor
        assert pointed is not None
        assert str(pointed.year) in app.screen.query_one(TimelineWords).text
        await keys(pilot, "plus", "plus", "plus")
        assert timeline.cursor == pointed
        assert timeline.track is not None
        assert timeline.track.days[0].day <= pointed <= timeline.track.days[-1].day
        await pilot.click(TimelineView, offset=(2, 3))
        assert timeline.cursor is None
