"""The demo's invented season hangs together: one finding, put there on purpose, and nothing else amiss."""

from __future__ import annotations

import stat
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from tankdash.journal.entries import Dips
from tankdash.keeping.demo import (
    DEMO_ZONE,
    MATTED,
    SEASON_DAYS,
    STATION,
    DemoError,
    laid_out,
    lay_out_demo,
    season,
)
from tankdash.keeping.desk import Desk, open_desk
from tankdash.site import load_text
from tankdash.site.starter import demo_text

NOW = datetime(2026, 9, 1, 10, 0, tzinfo=DEMO_ZONE)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return open_desk(lay_out_demo(tmp_path_factory.mktemp("home") / "demo", NOW))


def test_the_garden_lies_in_the_zone_in_which_its_days_are_counted(demo: Desk) -> None:
    assert demo.site.zone == DEMO_ZONE


def test_the_season_reaches_up_to_now_and_never_beyond(demo: Desk) -> None:
    entries = demo.entries()
    assert len(entries) > 120
    assert entries[0].at.astimezone(DEMO_ZONE).date() == NOW.date() - timedelta(days=SEASON_DAYS)
    assert NOW - timedelta(days=2) < entries[-1].at <= NOW
    assert {entry.kind for entry in entries} >= {"dip", "rain", "use", "done", "note", "pour", "frost"}
    assert [entry.number for entry in entries] == sorted(entry.number for entry in entries)


def test_every_dip_but_one_is_as_expected(demo: Desk) -> None:
    """The stick is read to half a centimetre, so a right replay finds nothing but the rain the screen kept out."""
    stretches = demo.balance(NOW).stretches
    assert len(stretches) >= 20
    found = [stretch for stretch in stretches if stretch.finding != "none"]
    assert [stretch.finding for stretch in found] == ["inlet"]
    (matted,) = found
    rained = NOW.date() - timedelta(days=MATTED)
    assert matted.residual.start.date() <= rained <= matted.residual.end.date()


def test_there_are_two_surveys_and_something_to_do(demo: Desk) -> None:
    surveys = [e for e in demo.entries() if isinstance(e.record, Dips) and len(e.record.tanks) == 3]
    assert len(surveys) == 2
    chores = {state.id: state for state in demo.chores(NOW)}
    assert chores["first-flush"].state == "late"
    assert chores["first-flush"].rains_unflushed == 1
    assert {"late", "coming", "done"} <= {state.state for state in chores.values()}


def test_the_tanks_are_neither_empty_nor_full(demo: Desk) -> None:
    percent = demo.levels(NOW).totals.percent
    assert percent is not None
    assert 30.0 < percent < 90.0


@pytest.mark.parametrize("moment", ["2028-02-29 23:59", "2026-03-29 12:00", "2026-10-25 02:30"])
def test_the_season_can_be_told_on_any_day(moment: str) -> None:
    """A leap day in winter, and both days on which the clock changes."""
    now = datetime.fromisoformat(moment).replace(tzinfo=DEMO_ZONE)
    site = load_text(demo_text(now.date()), "demo")
    drafts = season(site, now)
    assert all(draft.at <= now for draft in drafts)
    assert [draft.at for draft in drafts] == sorted(draft.at for draft in drafts)
    assert len(drafts) > 120


def test_the_season_is_the_same_each_time(demo: Desk) -> None:
    again = season(load_text(demo_text(NOW.date()), "demo"), NOW)
    assert [(one.record, one.at, one.words) for one in again] == [
        (entry.record, entry.at, entry.words) for entry in demo.entries() if entry.kind != "import"
    ]


def test_ten_whole_years_of_rain_before_it_are_at_hand(demo: Desk) -> None:
    (station,) = {value.station for value in demo.journal.history()}
    days = sorted(value.day for value in demo.journal.history())
    assert (station, days[0], days[-1]) == (STATION, date(NOW.year - 10, 1, 1), date(NOW.year - 1, 12, 31))
    assert len(days) == len(set(days)) == (days[-1] - days[0]).days + 1


def test_it_goes_into_an_empty_folder_of_its_own(tmp_path: Path) -> None:
    folder = tmp_path / "play"
    assert laid_out(folder) is None
    path = lay_out_demo(folder, NOW)
    assert laid_out(folder) == path
    assert sorted(file.name for file in folder.iterdir()) == ["tankdash.journal.db", "tankdash.yaml"]
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    before = path.read_bytes()
    with pytest.raises(DemoError, match="not empty"):
        lay_out_demo(folder, NOW)
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["play"], "nothing half made is left behind"


def test_nothing_of_the_owners_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("mine")
    with pytest.raises(DemoError, match="not empty"):
        lay_out_demo(tmp_path, NOW)
    (tmp_path / "file").write_text("mine")
    with pytest.raises(DemoError):
        lay_out_demo(tmp_path / "file", NOW)
    with pytest.raises(DemoError, match="cannot be written"):
        lay_out_demo(tmp_path / "file" / "below", NOW)
    assert sorted(file.name for file in tmp_path.iterdir()) == ["file", "letter.txt"]
