"""The first seconds on the home page, at any size: how much is usable, how high it stands, what is due; long rows."""

from __future__ import annotations

import pytest
from plots import SITE, Garden, keys, settle

from tankdash.tui.pages.cautions import CautionsPage
from tankdash.tui.pages.help import HelpPage
from tankdash.tui.pages.home import HomeFirst, HomeWords
from tankdash.tui.widgets.chorelist import ChoreList
from tankdash.tui.widgets.loglist import LogList
from tankdash.tui.widgets.sideview import SideView

LONG_ROW = SITE + "".join(
    f"""
  more-{number}:
    base: 20 cm
    shape: {{kind: straight, holds: 1000 L, at: 100 cm}}
"""
    for number in range(9)
)
"""The garden of the tests with nine tanks more, that nothing joins."""


def long_row(garden: Garden) -> None:
    head, tanks, rest = SITE.partition("links:")
    more = LONG_ROW.removeprefix(SITE)
    garden.path.write_text(f"{head.rstrip()}\n{more.strip(chr(10))}\n{tanks}{rest}", encoding="utf-8")


async def test_at_60_by_18_the_usable_figure_stands_above_the_picture(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=(60, 18)) as pilot:
        await settle(pilot)
        first, side = app.screen.query_one(HomeFirst), app.screen.query_one(SideView)
        assert first.region.y == 1 and first.text.splitlines()[0].strip().split()[1] == "litres"
        assert "usable" in first.text and first.region.bottom <= side.region.y
        assert "usable" not in app.screen.query_one(HomeWords).text, "it is not said twice"
        assert app.screen.query_one(ChoreList).region.bottom <= 17


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (50, 20), (70, 16), (90, 16)])
async def test_elsewhere_the_figure_stands_with_the_words(garden: Garden, size: tuple[int, int]) -> None:
    app = garden.app()
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        assert app.screen.query_one(HomeFirst).region.height == 0
        assert "usable" in app.screen.query_one(HomeWords).text


@pytest.mark.parametrize("size", [(50, 20), (40, 12), (90, 20), (70, 16)])
async def test_where_no_picture_shows_it_the_words_say_how_high_the_water_stands(
    garden: Garden, size: tuple[int, int]
) -> None:
    app = garden.app()
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        said = " ".join(app.screen.query_one(HomeWords).text.split())
        assert "Surface " in said and "spills at " in said


@pytest.mark.parametrize("page", ["1", "2"])
@pytest.mark.parametrize("size", [(80, 24), (60, 18), (90, 20)])
async def test_tanks_out_of_view_come_into_it_by_a_key_that_the_picture_names(
    garden: Garden, page: str, size: tuple[int, int]
) -> None:
    long_row(garden)
    app = garden.app()
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await keys(pilot, page)
        picture = app.screen.query_one(SideView)
        assert "more-8" not in picture.text
        assert "key ." in picture.text or "keys , ." in picture.text
        await keys(pilot, *["full_stop"] * 12)
        assert "more-8" in picture.text
        await keys(pilot, *["comma"] * 12)
        assert "North" in picture.text


@pytest.mark.parametrize("key", ["question_mark", "exclamation_mark"])
async def test_long_pages_are_read_by_screens_and_to_their_end(garden: Garden, key: str) -> None:
    app = garden.app()
    async with app.run_test(size=(60, 18)) as pilot:
        await settle(pilot)
        await keys(pilot, key)
        assert isinstance(app.screen, HelpPage | CautionsPage)
        body = app.screen.query_one(".page-body")
        await keys(pilot, "pagedown")
        assert body.scroll_offset.y >= 10
        await keys(pilot, "pageup")
        assert body.scroll_offset.y == 0
        await keys(pilot, "end")
        assert body.scroll_offset.y == body.max_scroll_y > 10
        await keys(pilot, "home")
        assert body.scroll_offset.y == 0


async def test_the_log_goes_by_screens_too(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=(60, 18)) as pilot:
        await settle(pilot)
        await keys(pilot, "7", "end")
        marked = app.screen.query_one(LogList).marked
        assert marked is not None and marked.number == 1
        await keys(pilot, "home")
        marked = app.screen.query_one(LogList).marked
        assert marked is not None and marked.number > 1
