"""Going away: before and after, each chore once."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from tankdash.journal.entries import Change, Done, Entry, Note, Rain, Record
from tankdash.keeping.chores.away import AwayPlan, away_plan
from tankdash.site.model import AfterRain, Chore, Season, Site, SiteTank
from tankdash.units import Span
from tankdash.water.model import Tank
from tankdash.water.shapes import Straight

NOW = datetime(2026, 5, 6, 8, 0, tzinfo=UTC)


def plan(*chores: Chore, days: int = 11, happened: tuple[tuple[datetime, Record], ...] = ()) -> AwayPlan:
    site = Site(
        name="garden", zone=ZoneInfo("UTC"), units="metric", datum="slab", accuracy=0.005,
        tanks={"north": SiteTank(Tank("north", Straight(1.0, 1.0), brim=1.0), "north")},
        chores={chore.id: chore for chore in chores},
    )  # fmt: skip
    first = (datetime(2026, 5, 1, 8, 0, tzinfo=UTC), Note())
    entries = [
        Entry(number, f"u{number}", "", at, at, record, "")
        for number, (at, record) in enumerate(sorted([first, *happened], key=lambda one: one[0]), start=1)
    ]
    return away_plan(site, entries, NOW, days)


def names(found: AwayPlan) -> tuple[list[tuple[str, date | None]], list[tuple[str, date | None]]]:
    return (
        [(chore.id, chore.day) for chore in found.before],
        [(chore.id, chore.day) for chore in found.on_return],
    )


def test_what_is_open_is_done_before_leaving_and_what_rain_may_bring_is_looked_at_on_return() -> None:
    rain = Rain(5.0, 5.0, datetime(2026, 5, 5, 8, tzinfo=UTC), NOW)
    found = plan(Chore("flush", "Empty", AfterRain(at_least_mm=0.5)), happened=((NOW, rain),))
    assert names(found) == ([("flush", None)], [("flush", None)])
    assert found.before[0].reason == "5 mm on Wed 08:00"
    assert "if it has rained" in found.on_return[0].reason


def test_an_interval_in_the_window_is_done_ahead_and_waits_only_if_it_comes_round_again() -> None:
    done = (
        (datetime(2026, 5, 2, 8, tzinfo=UTC), Done("long")),
        (datetime(2026, 5, 2, 9, tzinfo=UTC), Done("week")),
    )
    found = plan(
        Chore("long", "Job", every=Span(days=14)), Chore("week", "Job", every=Span(days=7)), happened=done
    )
    assert names(found) == (
        [("long", date(2026, 5, 16)), ("week", date(2026, 5, 9))],
        [("week", date(2026, 5, 13))],
    )


def test_what_comes_after_the_return_is_left_alone() -> None:
    done = ((datetime(2026, 5, 5, 8, tzinfo=UTC), Done("long")),)
    assert names(plan(Chore("long", "Job", every=Span(days=14)), days=7, happened=done)) == ([], [])


def test_a_calendar_turn_far_off_waits_and_a_near_one_is_done_ahead() -> None:
    found = plan(
        Chore("month", "Job", every=Span(months=1), starting=date(2026, 1, 16), counted_from="calendar"),
        Chore("near", "Job", every=Span(months=1), starting=date(2026, 1, 9), counted_from="calendar"),
        Chore("year", "Job", on=(5, 15)),
        Chore("once", "Job", by=date(2026, 5, 17)),
        happened=(
            (datetime(2026, 5, 3, 8, tzinfo=UTC), Done("month")),
            (datetime(2026, 5, 3, 9, tzinfo=UTC), Done("near")),
        ),
    )
    assert names(found) == (
        [("near", date(2026, 5, 9)), ("year", date(2026, 5, 15)), ("once", date(2026, 5, 17))],
        [("month", date(2026, 5, 16))],
    )


def test_what_waits_for_the_return_stands_by_its_day_whatever_the_order_of_the_file() -> None:
    found = plan(
        Chore("rained", "Job", AfterRain(at_least_mm=0.5)),
        Chore("late", "Job", every=Span(months=1), starting=date(2026, 1, 16), counted_from="calendar"),
        Chore("early", "Job", every=Span(months=1), starting=date(2026, 1, 14), counted_from="calendar"),
        happened=(
            (datetime(2026, 5, 3, 8, tzinfo=UTC), Done("late")),
            (datetime(2026, 5, 3, 9, tzinfo=UTC), Done("early")),
        ),
    )
    assert names(found)[1] == [("early", date(2026, 5, 14)), ("late", date(2026, 5, 16)), ("rained", None)]


def test_sleeping_chores_are_not_listed() -> None:
    winter = ((datetime(2026, 5, 2, 8, tzinfo=UTC), Change("site", "winter")),)
    assert names(plan(Chore("flush", "Empty", AfterRain(at_least_mm=0.5)), happened=winter)) == ([], [])
    asleep = Chore("screen", "Wipe", AfterRain(at_least_mm=0.5), season=Season((9, 1), (11, 30)))
    assert names(plan(asleep)) == ([], [])


def test_no_chore_stands_twice_in_a_list() -> None:
    found = plan(
        Chore("a", "Job", AfterRain(at_least_mm=1.0), every=Span(days=2)),
        Chore("b", "Job", every=Span(days=1), starting=date(2026, 5, 1), counted_from="calendar"),
    )
    for listed in (found.before, found.on_return):
        assert len({chore.id for chore in listed}) == len(listed)
    assert {chore.id for chore in found.on_return} == {"a", "b"}


def test_being_away_takes_a_day() -> None:
    with pytest.raises(ValueError, match="at least one day"):
        plan(days=0)


def test_the_json_has_both_lists() -> None:
    found = plan(Chore("once", "Job", by=date(2026, 5, 17)))
    assert found.as_json() == {
        "leave": "2026-05-06", "back": "2026-05-17", "on_return": [],
        "before": [
            {"id": "once", "label": "Job", "day": "2026-05-17", "reason": "comes round 17 May; may be done ahead"}
        ],
    }  # fmt: skip
