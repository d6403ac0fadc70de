"""The desk: one site and its journal, asked and written to by both faces."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from gardens import START, THREE_TOTES, at, codes, dip, rain

from tankdash.journal.entries import Change, Done, Note, Pour, Rain, TapOpened, Use
from tankdash.journal.store import Journal
from tankdash.keeping.desk import Desk, open_desk
from tankdash.keeping.entering.records import EntryError
from tankdash.site import SiteError
from tankdash.units import Depths

GARDEN = (
    THREE_TOTES.replace("fills: north", "fills: north, first_flush: {holds: 8 L, empties: by hand}")
    + "chores:\n  pipe: {label: Empty the pipe, after_rain: {at_least: 1 mm}, empties: shed}\n"
    + "  low: {label: Water only seedlings, level_below: 30 %}\n"
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    site = tmp_path / "garden.yaml"
    site.write_text(GARDEN)
    return site


@pytest.fixture
def desk(path: Path) -> Iterator[Desk]:
    with open_desk(path) as opened:
        yield opened


def test_a_dip_entered_is_on_disk_and_in_the_levels(desk: Desk, path: Path) -> None:
    desk.record(dip(north=0.6), START, "dip north 60 cm", "by torch", START)
    assert desk.levels(START).totals.volume_l == pytest.approx(1800.0)
    with Journal.open(path.with_suffix(".journal.db")) as journal:
        (entry,) = journal.entries()
    assert (entry.words, entry.note, entry.kind) == ("dip north 60 cm", "by torch", "dip")


def test_the_journal_may_stand_elsewhere(path: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "other" / "kept.db"
    elsewhere.parent.mkdir()
    with open_desk(path, elsewhere) as desk:
        desk.record(dip(north=0.6), START, "dip", now=START)
    assert elsewhere.exists() and not path.with_suffix(".journal.db").exists()


def test_a_preview_equals_the_levels_after_entering_and_writes_nothing(desk: Desk) -> None:
    desk.record(dip(north=0.3), START, "dip", now=START)
    seen = desk.preview(dip(north=0.6), at(1))
    assert len(desk.entries()) == 1 and seen.basis == "what-if"
    desk.record(dip(north=0.6), at(1), "dip", now=at(1))
    then = desk.levels(at(1))
    assert seen.tanks == then.tanks and seen.totals == then.totals


def test_a_preview_of_any_record_is_the_levels_after_it(desk: Desk) -> None:
    desk.record(dip(north=0.6), START, "dip", now=START)
    for record in (Use(100.0, "tap"), Change("south", "base", 0.3)):
        seen = desk.preview(record, at(1))
        desk.record(record, at(1), "words", now=at(1))
        assert seen.totals == desk.levels(at(1)).totals
        desk.undo(at(1))


def test_a_preview_of_what_happened_earlier_is_the_levels_and_chores_after_it(desk: Desk) -> None:
    desk.record(dip(north=0.6), START, "dip", now=START)
    for record in (dip(north=0.5), Note(), Rain(12.0, 12.0, START, at(1))):
        levels, chores = desk.preview(record, at(2), at(1)), desk.preview_chores(record, at(2), at(1))
        assert len(desk.entries()) == 1
        desk.record(record, at(1), "words", now=at(2))
        assert levels.totals == desk.levels(at(2)).totals
        assert chores == desk.chores(at(2))
        desk.undo(at(2))


def test_any_number_of_previews_leave_the_walk_they_branch_from_where_it_stood(
    desk: Desk, path: Path
) -> None:
    """A tap runs, rain is coming down and the last dip is fresh: all that a walk carries along."""
    desk.record(dip(north=0.9), START, "dip", now=START)
    desk.record(TapOpened("tap"), at(0.5), "use --start", now=at(0.5))
    desk.record(rain(20.0, at(1), hours=24), at(0.7), "rain", now=at(0.7))
    now = at(0.8)
    before = desk.levels(now).as_json()
    tried = [
        dip(north=0.4),
        Use(100.0, "tap"),
        Change("south", "base", 0.3),
        dip(south=0.2),
        Pour("north", 50.0, "hose"),
    ]
    first = [desk.try_out(now, [record], rain=Depths(5.0, 5.0)).as_json() for record in tried]
    again = [desk.try_out(now, [record], rain=Depths(5.0, 5.0)).as_json() for record in reversed(tried)]
    assert first == again[::-1] and len({str(one["totals"]) for one in first}) == len(tried)
    with open_desk(path) as other:
        assert other.try_out(now, [tried[0]], rain=Depths(5.0, 5.0)).as_json() == first[0]
        assert other.levels(now).as_json() == before == desk.levels(now).as_json()


def test_undo_takes_the_last_entry_back_and_restores_what_was(desk: Desk) -> None:
    desk.record(dip(north=0.6), START, "dip", now=START)
    before = desk.levels(at(2)).as_json()
    desk.record(rain(10.0, at(1)), at(1), "rain 10 mm", now=at(1))
    assert desk.levels(at(2)).as_json() != before
    undone = desk.undo(at(2))
    assert undone is not None and undone.words == "rain 10 mm"
    assert desk.levels(at(2)).as_json() == before
    desk.undo(at(2))
    assert desk.levels(at(2)).basis == "none"
    assert desk.undo(at(2)) is None


def test_what_another_program_writes_is_noticed_once(desk: Desk, path: Path) -> None:
    desk.record(dip(north=0.6), START, "dip", now=START)
    assert not desk.changed_on_disk()
    with Journal.open(path.with_suffix(".journal.db")) as other:
        other.add(Use(100.0, "tap"), at(1), "use 100 L", entered=at(1))
    assert desk.changed_on_disk() and not desk.changed_on_disk()
    assert desk.levels(at(1)).moved.used_l == pytest.approx(100.0)


def test_a_changed_site_file_is_noticed_and_a_broken_one_is_not_taken_up(desk: Desk, path: Path) -> None:
    desk.record(dip(north=0.6), START, "dip", now=START)
    path.write_text(GARDEN.replace("Three totes", "Three totes renamed"))
    os.utime(path, ns=(1, 1))
    assert desk.changed_on_disk()
    desk.reload_site()
    assert desk.levels(START).site == "Three totes renamed"
    path.write_text("site: [")
    with pytest.raises(SiteError):
        desk.reload_site()
    assert desk.levels(START).totals.volume_l == pytest.approx(1800.0)


def test_a_tick_answers_the_rain_and_a_rain_on_a_full_pipe_is_said(desk: Desk) -> None:
    desk.record(dip(north=0.3), START, "dip", now=START)
    desk.record(rain(5.0, at(1)), at(1), "rain", now=at(1))
    desk.record(rain(5.0, at(2)), at(2), "rain", now=at(2))
    (pipe,) = [chore for chore in desk.chores(at(2)) if chore.id == "pipe"]
    assert pipe.is_open and pipe.rains_unflushed == 1
    assert "unflushed" in codes(desk.levels(at(2)).warnings)
    entry = desk.tick("pipe", at(2.1), at(2.1))
    assert entry.record == Done("pipe")
    assert "unflushed" not in codes(desk.levels(at(2.1)).warnings)
    assert not next(chore for chore in desk.chores(at(2.1)) if chore.id == "pipe").is_open
    with pytest.raises(EntryError):
        desk.tick("pip", at(3), at(3))


def test_a_low_level_brings_on_its_chore(desk: Desk) -> None:
    desk.record(dip(north=0.25), START, "dip", now=START)
    share = desk.usable_share(START)
    assert share is not None and share < 0.3
    assert next(chore for chore in desk.chores(START) if chore.id == "low").is_open


def test_the_track_holds_every_day_of_the_axis(desk: Desk) -> None:
    desk.record(dip(north=0.3), START, "dip", now=START)
    desk.record(rain(10.0, at(1)), at(1), "rain", now=at(1))
    desk.record(Use(50.0, "tap"), at(2), "use", now=at(2))
    first, last = at(-1).date(), at(4).date()
    track = desk.track(at(2, 1), first, last)
    assert [day.day for day in track.days] == [at(offset).date() for offset in range(-1, 5)]
    assert [day.is_dipped for day in track.days] == [False, True, False, False, False, False]
    assert [day.is_ahead for day in track.days] == [False, False, False, False, True, True]
    volumes = [day.volume_l for day in track.days]
    assert volumes[0] is None and volumes[4] is None
    assert volumes[1] == pytest.approx(900.0)
    assert track.days[3].usable_l == pytest.approx(desk.levels(at(2, 1)).totals.usable_l)
    assert volumes[2] == pytest.approx(900.0 + 208.0)
    assert volumes[3] == pytest.approx(900.0 + 208.0 - 50.0)
    assert track.full_l == pytest.approx(2850.0) and track.usable_full_l == pytest.approx(2460.0)
    rained = [day.rain_mm for day in track.days]
    assert 10.0 in rained and rained.count(None) >= 3


def test_uneven_lips_are_said_beside_the_levels_with_the_bases_of_today(desk: Desk) -> None:
    desk.record(dip(north=0.6), START, "dip", now=START)
    (caution,) = [warning for warning in desk.levels(START).warnings if warning.code == "lips-differ"]
    assert "north" in caution.text and "200 L" in caution.text
    # Raised until their lips line up, nothing is left to say.
    for tank, height in (("north", 0.33), ("middle", 0.23)):
        desk.record(Change(tank, "base", height), at(1), "set", now=at(1))
    assert "lips-differ" not in codes(desk.levels(at(1)).warnings)


def test_history_balance_survey_and_rainfall_are_asked_here(desk: Desk) -> None:
    desk.record(dip(north=0.6, middle=0.63, south=0.57), START, "dip", now=START)
    desk.record(rain(10.0, at(1)), at(1), "rain", now=at(1))
    desk.record(dip(north=0.66), at(2), "dip", now=at(2))
    assert len(desk.balance(at(2)).stretches) == 1
    assert desk.survey(at(2)).finding == "none"
    assert [round(event["depth_mm"]) for event in desk.rainfall(at(2))["events"]] == [10]
    assert desk.try_out(at(2), rain=Depths(10.0, 10.0), flush="full").moved.caught_l == pytest.approx(216.0)


def test_asking_twice_gives_the_same_answer_object_until_something_is_entered(desk: Desk) -> None:
    desk.record(dip(north=0.6), START, "dip", now=START)
    first = desk.levels(START)
    assert desk.levels(START) is first
    desk.record(Use(1.0, "tap"), at(1), "use", now=at(1))
    assert desk.levels(START) is not first
