"""Chores as a calendar file, read back by the library that calendars use."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from dateutil.rrule import rrulestr

from tankdash.journal.entries import Change, Done, Entry, Note, Rain, Record
from tankdash.keeping.chores.calendar import calendar_file, rule_of, uid_of
from tankdash.keeping.chores.recurring import calendar_days
from tankdash.site.model import AfterRain, Chore, Season, Site, SiteTank
from tankdash.units import Span
from tankdash.water.model import Tank
from tankdash.water.shapes import Straight

NOW = datetime(2026, 5, 6, 8, 0, tzinfo=UTC)
FIRST = (datetime(2026, 5, 1, 8, 0, tzinfo=UTC), Note())


def garden(*chores: Chore) -> Site:
    return Site(
        name="Windy corner; beds, all", zone=ZoneInfo("UTC"), units="metric", datum="slab", accuracy=0.005,
        tanks={"north": SiteTank(Tank("north", Straight(1.0, 1.0), brim=1.0), "north")},
        chores={chore.id: chore for chore in chores},
    )  # fmt: skip


def journal(*happened: tuple[datetime, Record]) -> list[Entry]:
    lines = sorted([FIRST, *happened], key=lambda one: one[0])
    return [
        Entry(number, f"u{number}", "", at, at, record, "") for number, (at, record) in enumerate(lines, 1)
    ]


def parsed(site: Site, entries: list[Entry], now: datetime = NOW) -> list[icalendar.Event]:
    book = icalendar.Calendar.from_ical(calendar_file(site, entries, now))
    assert isinstance(book, icalendar.Calendar)
    assert book["version"] == "2.0" and book["prodid"]
    return [event for event in book.walk("VEVENT") if isinstance(event, icalendar.Event)]


def shown(events: list[icalendar.Event]) -> dict[str, date]:
    """Return the days by name that a calendar shows once the file is in it."""
    return {
        str(event["uid"]): event.decoded("dtstart") for event in events if event.get("status") != "CANCELLED"
    }


def brought_in(calendar: dict[str, date], events: list[icalendar.Event]) -> dict[str, date]:
    """Return a calendar after it took in a file: same name, new day; cancelled ones go."""
    gone = {str(event["uid"]) for event in events if event.get("status") == "CANCELLED"}
    return {uid: day for uid, day in {**calendar, **shown(events)}.items() if uid not in gone}


def test_an_open_chore_stands_on_its_last_day_with_its_reason_and_no_alarm() -> None:
    rain = Rain(4.0, 4.0, datetime(2026, 5, 5, 6, tzinfo=UTC), datetime(2026, 5, 6, 6, tzinfo=UTC))
    site = garden(Chore("flush", "Empty the pipe; wipe, rinse", AfterRain(at_least_mm=0.5)))
    (event,) = parsed(site, journal((NOW, rain)))
    assert event.decoded("dtstart") == date(2026, 5, 7)
    assert event.decoded("dtend") == date(2026, 5, 8)
    assert str(event["summary"]) == "Empty the pipe; wipe, rinse (Windy corner; beds, all)"
    assert str(event["description"]) == "4 mm on Wed 06:00"
    assert event.subcomponents == []
    assert event.decoded("dtstamp") == NOW


def test_a_late_chore_stands_on_today() -> None:
    site = garden(Chore("once", "Job", by=date(2026, 5, 2)))
    (event,) = parsed(site, journal())
    assert event.decoded("dtstart") == date(2026, 5, 6)


def test_bringing_the_next_file_in_moves_the_entry_instead_of_adding_one() -> None:
    site = garden(Chore("screen", "Job", every=Span(days=14)))
    first = parsed(site, journal())
    done = journal((datetime(2026, 5, 10, 8, tzinfo=UTC), Done("screen")))
    second = parsed(site, done, datetime(2026, 5, 11, 8, tzinfo=UTC))
    assert [event["uid"] for event in first] == [event["uid"] for event in second]
    assert brought_in(shown(first), second) == {uid_of(site, "screen"): date(2026, 5, 24)}
    assert second[0]["sequence"] > first[0]["sequence"]


def test_a_rain_chore_that_is_done_leaves_the_calendar() -> None:
    rain = (NOW, Rain(4.0, 4.0, NOW - timedelta(days=1), NOW))
    site = garden(Chore("flush", "Job", AfterRain(at_least_mm=0.5)))
    first = parsed(site, journal(rain))
    later = NOW + timedelta(hours=5)
    second = parsed(site, journal(rain, (NOW + timedelta(hours=2), Done("flush"))), later)
    assert len(shown(first)) == 1
    assert brought_in(shown(first), second) == {}


@pytest.mark.parametrize(
    "job",
    [
        Chore("a", "Job", on=(11, 1)),
        Chore("a", "Job", on=(2, 29)),
        Chore("a", "Job", every=Span(months=2), starting=date(2023, 12, 31), counted_from="calendar"),
        Chore("a", "Job", every=Span(months=1), starting=date(2024, 1, 30), counted_from="calendar"),
        Chore("a", "Job", every=Span(months=1), starting=date(2024, 1, 29), counted_from="calendar"),
        Chore("a", "Job", every=Span(months=3), starting=date(2024, 1, 15), counted_from="calendar"),
        Chore("a", "Job", every=Span(months=24), starting=date(2024, 2, 29), counted_from="calendar"),
        Chore("a", "Job", every=Span(days=10), starting=date(2024, 1, 15), counted_from="calendar"),
    ],
)
def test_a_recurrence_in_the_file_falls_on_the_days_of_the_chore(job: Chore) -> None:
    """The rule, worked out by dateutil, against the turns of the chore itself."""
    event = parsed(garden(job), journal())[0]
    start = event.decoded("dtstart")
    rule = rrulestr(event["rrule"].to_ical().decode(), dtstart=datetime(start.year, start.month, start.day))  # noqa: DTZ001
    last = date(2036, 1, 1)
    judged = [moment.date() for moment in rule.between(datetime(2000, 1, 1), datetime(2036, 1, 1), inc=True)]  # noqa: DTZ001
    assert judged == calendar_days(job, start, last)
    assert start <= NOW.date() < judged[1]


@pytest.mark.parametrize(
    "job",
    [
        Chore("a", "Job", every=Span(days=14)),
        Chore("a", "Job", AfterRain(rains=3)),
        Chore("a", "Job", every=Span(days=7), starting=date(2026, 5, 1), counted_from="calendar",
              season=Season((4, 1), (10, 31))),
        Chore("a", "Job", by=date(2026, 8, 1)),
    ],
)  # fmt: skip
def test_what_is_no_true_recurrence_gets_no_rule(job: Chore) -> None:
    assert rule_of(job) is None
    assert all("rrule" not in event for event in parsed(garden(job), journal()))


def test_seasonal_turns_are_written_out_and_none_is_told_twice_after_the_next_import() -> None:
    job = Chore(
        "walk", "Job", every=Span(days=7), starting=date(2026, 5, 8), counted_from="calendar",
        season=Season((5, 1), (5, 31)),
    )  # fmt: skip
    site = garden(job)
    first = parsed(site, journal())
    days = [date(2026, 5, 8), date(2026, 5, 15), date(2026, 5, 22), date(2026, 5, 29)]
    assert sorted(shown(first).values())[:4] == days
    assert all(day.month == 5 for day in shown(first).values())
    second = parsed(site, journal(), datetime(2026, 5, 8, 9, tzinfo=UTC))  # the first turn is open now
    both = brought_in(shown(first), second)
    assert sorted(both.values())[:4] == days
    assert len(set(both.values())) == len(both)


def test_a_turn_done_ahead_is_not_written_out() -> None:
    job = Chore(
        "walk", "Job", every=Span(days=7), starting=date(2026, 5, 1), counted_from="calendar",
        season=Season((5, 1), (5, 31)),
    )  # fmt: skip
    first = (datetime(2026, 5, 1, 9, tzinfo=UTC), Done("walk"))
    ahead = (datetime(2026, 5, 7, 9, tzinfo=UTC), Done("walk"))
    days = sorted(
        shown(parsed(garden(job), journal(first, ahead), datetime(2026, 5, 7, 10, tzinfo=UTC))).values()
    )
    assert days[:3] == [date(2026, 5, 15), date(2026, 5, 22), date(2026, 5, 29)]


def test_a_chore_asleep_for_winter_brings_nothing() -> None:
    winter = (datetime(2026, 5, 2, 8, tzinfo=UTC), Change("site", "winter"))
    monthly = Chore("walk", "Job", every=Span(months=1), starting=date(2026, 1, 1), counted_from="calendar")
    assert parsed(garden(Chore("screen", "Job", every=Span(days=14)), monthly), journal(winter)) == []


def test_the_same_garden_gives_the_same_file() -> None:
    site = garden(Chore("screen", "Job", every=Span(days=14)), Chore("drain", "Job", on=(11, 1)))
    assert calendar_file(site, journal(), NOW) == calendar_file(site, journal(), NOW)
    assert uid_of(site, "screen") != uid_of(site, "drain")
    assert b"\r\n" in calendar_file(site, journal(), NOW)


def test_the_calendar_library_is_loaded_only_when_a_file_is_written() -> None:
    code = "import sys, tankdash.keeping.chores.calendar; sys.exit('icalendar' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
