"""A pump left running, by the keys: noted on, told of on the first page, noted off, and put right in the log."""

from __future__ import annotations

from datetime import timedelta

from plots import Garden, keys, settle

from tankdash.journal.entries import TapClosed, TapOpened
from tankdash.tui.forms.pump import PumpForm
from tankdash.tui.pages.home import HomePage, HomeWords
from tankdash.tui.widgets.notice import NoticeLine

SIZE = (80, 24)


def last(garden: Garden) -> object:
    with garden.desk() as desk:
        return max(desk.entries(), key=lambda entry: entry.number).record


async def test_a_pump_is_noted_on_told_of_and_noted_off(garden: Garden) -> None:
    garden.dip("today 6:00", north="60 cm")
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "v")
        assert isinstance(app.screen, PumpForm)
        assert app.screen.values["what"] == "on"
        assert app.screen.values["source"] == "north"
        assert app.screen.values["target"] == "south"
        await keys(pilot, "tab", "tab", "tab", *"5 L", "slash", *"min", "enter")
        assert isinstance(app.screen, HomePage)
        assert "switched on the pump from North tote to South tote" in " ".join(
            app.screen.query_one(NoticeLine).text.split()
        )
    assert last(garden) == TapOpened(source="north", target="south", rate_l_per_s=5 / 60)
    garden.now += timedelta(hours=1)
    app = garden.app()
    async with app.run_test(size=(120, 36)) as pilot:
        await settle(pilot)
        assert "pump" in " ".join(app.screen.query_one(HomeWords).text.split())
        assert "(1 h)" in " ".join(app.screen.query_one(HomeWords).text.split())
        await keys(pilot, "v")
        assert app.screen.values["what"] == "off"
        await keys(pilot, "enter")
        assert "pump" not in app.screen.query_one(HomeWords).text
    assert last(garden) == TapClosed(source="north", target="south")


async def test_a_pump_that_is_not_on_cannot_be_noted_off(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "v", "right", "enter")
        assert isinstance(app.screen, PumpForm)
    assert not isinstance(last(garden), TapClosed)


async def test_an_entry_of_a_pump_is_written_anew_from_the_log(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "v", "enter", "7", "e")
        assert isinstance(app.screen, PumpForm)
        assert app.screen.values["what"] == "on"
