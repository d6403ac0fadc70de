"""The survey's page: a base that moved is taken over by one key, after a look."""

from __future__ import annotations

from plots import Garden, keys, settle

from tankdash.journal.entries import Change
from tankdash.tui.forms.garden import SetForm
from tankdash.tui.widgets.notice import NoticeLine

SIZE = (80, 24)


async def test_a_base_that_sank_is_accepted_with_one_key_and_a_look(garden: Garden) -> None:
    """All three dipped in still water: south stands 3 cm deeper than its noted base of 23 cm allows."""
    garden.dip("tuesday 18:00", north="60 cm", middle="63 cm", south="60 cm")
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "6", "b")
        assert isinstance(app.screen, SetForm)
        assert app.screen.values["item"] == "south"
        assert app.screen.values["base"] == "20 cm"
        with garden.desk() as desk:
            assert not [entry for entry in desk.entries() if entry.kind == "set"]
        await keys(pilot, "enter")
    with garden.desk() as desk:
        [entry] = [entry for entry in desk.entries() if entry.kind == "set"]
    assert entry.record == Change("south", "base", 0.2)
    assert entry.note == "by the survey"


async def test_where_nothing_moved_the_key_says_so(garden: Garden) -> None:
    garden.dip("tuesday 18:00", north="60 cm", middle="63 cm", south="57 cm")
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "6", "b")
        assert "No base has moved" in app.screen.query_one(NoticeLine).text
