"""The screen and the command say the same of the supply: one calculation behind both faces."""

from __future__ import annotations

import json
from datetime import date

import pytest
from plots import NOW, Garden, keys, settle

from tankdash.cli.main import main
from tankdash.keeping.when import date_words
from tankdash.tui.pages.home import HomePage, HomeWords
from tankdash.tui.widgets.sheet import Sheet
from tankdash.units import format_volume

SIZE = (100, 40)


@pytest.mark.parametrize("changes", [[], [("set", "middle", "sealed")], [("set", "shed", "plugged")]])
async def test_supply_and_home_show_what_the_command_says(
    garden: Garden, capsys: pytest.CaptureFixture[str], changes: list[tuple[str, ...]]
) -> None:
    """Recent rain is taken off, a tank that cannot breathe is not counted, a plugged roof brings nothing: in both."""
    garden.dip(at="tuesday 18:00", north="60 cm")
    garden.rain("9 mm", "today 6:30")

    def typed(*words: str) -> str:
        capsys.readouterr()
        assert main(["--site", str(garden.path), "--now", NOW.isoformat(), *words]) == 0
        return capsys.readouterr().out

    for words in changes:
        typed(*words)
    said = json.loads(typed("supply", "--away", "11", "--json"))
    last = date_words(date.fromisoformat(said["last_full_day"]), NOW.date())
    water = said["away"]["water"]
    spare_or_short = format_volume((water["short_l"] or water["spare_l"]) / 1000, "metric")
    assert said["beds"]["tomatoes"]["rain_covers_l"] > 0

    app = garden.app(ascii_only=True)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert isinstance(app.screen, HomePage)
        assert f"Lasts {said['full_days']} days without rain, to {last}" in " ".join(
            app.screen.query_one(HomeWords).text.split()
        )
        await keys(pilot, "5")
        sheet = " ".join(app.screen.query_one(Sheet).whole_text.split())
    assert f"{said['full_days']} days in full, the last on {last};" in sheet
    assert f"short by {format_volume(said['short_l'] / 1000, 'metric')}." in sheet
    assert f"Usable now {format_volume(said['usable_l'] / 1000, 'metric')}" in sheet.replace("at least ", "")
    covered = format_volume(said["beds"]["tomatoes"]["rain_covers_l"] / 1000, "metric")
    assert f"Recent rain still covers {covered} of tomatoes." in sheet
    away = sheet.partition("Away for 11 days: ")[2]
    assert f"ask for {format_volume(water['need_l'] / 1000, 'metric')};" in away
    assert spare_or_short in away.partition(";")[2][:80]


async def test_the_room_before_a_forecast_and_the_chores_of_an_absence_are_those_of_the_command(
    garden: Garden, capsys: pytest.CaptureFixture[str]
) -> None:
    garden.dip(at="tuesday 18:00", north="88 cm")

    def typed(*words: str) -> dict[str, object]:
        capsys.readouterr()
        assert main(["--site", str(garden.path), "--now", NOW.isoformat(), *words, "--json"]) == 0
        said: dict[str, object] = json.loads(capsys.readouterr().out)
        return said

    asked = {depth: typed("supply", "--forecast", depth)["forecast"] for depth in ("20mm", "30mm", "15mm")}
    away = typed("supply", "--away", "11")["away"]
    assert asked["30mm"]["release_l"] > 0  # type: ignore[index]
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await keys(pilot, "5")
        for pressed, depth in (
            ((), "20mm"),
            (("right_square_bracket",), "30mm"),
            (("left_square_bracket",) * 2, "15mm"),
        ):
            await keys(pilot, *pressed)
            page = " ".join(app.screen.query_one(Sheet).whole_text.split())
            room = asked[depth]
            caught = format_volume(room["caught_l"] / 1000, "metric")  # type: ignore[index]
            assert f"{depth.removesuffix('mm')} mm of rain would bring {caught}" in page
            if room["release_l"] > 0:  # type: ignore[index]
                release = format_volume(room["release_l"] / 1000, "metric")  # type: ignore[index]
                assert f"Make room for {release} more" in page
        for chore in [*away["before"], *away["on_return"]]:  # type: ignore[index]
            assert chore["label"] in page
