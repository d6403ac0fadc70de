"""The survey's page: a base that moved is taken over by one key, after a look."""

from __future__ import annotations

from plots import ZONE, Garden, keys, settle

from tankdash.journal.entries import Change
from tankdash.keeping.entering.setting import enter_set
from tankdash.keeping.when import parse_time
from tankdash.tui.forms.garden import SetForm
from tankdash.tui.widgets.notice import NoticeLine
from tankdash.tui.widgets.sheet import Sheet

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


async def test_every_survey_is_drawn_over_time_with_what_was_noted(garden: Garden) -> None:
    """Five surveys, south sinking: a dot each for middle and south, the trend and the lifting in words."""
    for number, day in enumerate(("2025-12-01", "2026-01-05", "2026-02-02", "2026-03-02", "2026-04-06")):
        garden.dip(f"{day} 08:00", north="60 cm", middle="63 cm", south=f"{57 + number} cm")
    with garden.desk() as desk:
        when = parse_time("2026-03-03 08:00", ZONE, garden.now)
        change = enter_set(desk.site, "south", "base 20 cm", when)
        desk.record(change, when, "set south base 20 cm", "", garden.now)
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "6")
        page = app.screen.query_one(Sheet).whole_text
    flat = " ".join(page.split())
    charts = page.split("Bases over time")[1].split("What the dips say")[0]
    middle, south = charts.split("South tote")
    assert middle.count("●") == 5
    assert south.split("what a survey said")[0].count("●") == 5 + 1  # the sixth is that of the legend
    assert "Dec" in charts
    assert "South tote sinks by about" in flat
    assert "a month over 5 surveys" in flat
    assert "brings back" in flat
    assert "✓ as noted" in flat
