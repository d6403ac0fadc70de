"""Typed times and local days, with clocks that change."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil import tz
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.keeping import when
from tankdash.keeping.when import DoubledTime, TimeError, parse_day, parse_time
from tankdash.units import Span

LISBON = ZoneInfo("Europe/Lisbon")
NEW_YORK = ZoneInfo("America/New_York")
SANTIAGO = ZoneInfo("America/Santiago")
APIA = ZoneInfo("Pacific/Apia")
NOW = datetime(2026, 5, 6, 8, 0, tzinfo=UTC)  # a Wednesday, 09:00 by the clock in Lisbon


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("now", "2026-05-06T09:00:00+01:00"),
        ("2026-05-04", "2026-05-04T00:00:00+01:00"),
        ("2026-05-04 07:30", "2026-05-04T07:30:00+01:00"),
        ("2026-05-04T7:30", "2026-05-04T07:30:00+01:00"),
        ("2026-05-04T07:30:15", "2026-05-04T07:30:15+01:00"),
        ("2026-05-04T07:30:15Z", "2026-05-04T08:30:15+01:00"),
        ("2026-05-04T07:30+05:30", "2026-05-04T03:00:00+01:00"),
        ("2026-05-04 07:30 -0400", "2026-05-04T12:30:00+01:00"),
        ("2026-01-04 24:00", "2026-01-05T00:00:00+00:00"),
        ("today", "2026-05-06T00:00:00+01:00"),
        ("Today 7:30", "2026-05-06T07:30:00+01:00"),
        ("7:30", "2026-05-06T07:30:00+01:00"),
        ("  yesterday   18:00 ", "2026-05-05T18:00:00+01:00"),
        ("yesterday 6:00 pm", "2026-05-05T18:00:00+01:00"),
        ("yesterday 12:05am", "2026-05-05T00:05:00+01:00"),
        ("monday 6:10", "2026-05-04T06:10:00+01:00"),
        ("Mon 06:10", "2026-05-04T06:10:00+01:00"),
        ("wednesday 8:59", "2026-05-06T08:59:00+01:00"),
        ("wednesday 9:01", "2026-04-29T09:01:00+01:00"),
        ("thursday", "2026-04-30T00:00:00+01:00"),
    ],
)
def test_a_typed_time_means_one_instant(typed: str, meant: str) -> None:
    assert parse_time(typed, LISBON, NOW).isoformat() == meant


@pytest.mark.parametrize(
    "typed",
    ["", "soon", "7", "450", "monday at 7", "2026-02-30", "2026-05-04 25:00", "7:60", "24:01", "13:00 pm",
     "2026-05-04 07:30 tomorrow", "2026", "05/04/2026", "today 7:30+99:00", "0:30 am"],
)  # fmt: skip
def test_a_time_only_partly_understood_is_refused_with_a_sentence(typed: str) -> None:
    with pytest.raises(TimeError) as refused:
        parse_time(typed, LISBON, NOW)
    assert str(refused.value).endswith(".")
    assert len(str(refused.value).split()) > 5


def test_F47_a_time_the_spring_change_removes_is_refused() -> None:
    with pytest.raises(TimeError, match="01:30 on 29 Mar 2026 does not exist"):
        parse_time("2026-03-29 01:30", LISBON, NOW)
    assert parse_time("2026-03-29 02:00", LISBON, NOW) == datetime(2026, 3, 29, 1, 0, tzinfo=UTC)


def test_F47_a_time_the_autumn_change_doubles_is_asked_about() -> None:
    with pytest.raises(DoubledTime, match=r"--fold 0.*UTC.01:00.*--fold 1.*UTC.00:00") as asked:
        parse_time("2026-10-25 01:30", LISBON, NOW)
    first, second = (parse_time("2026-10-25 01:30", LISBON, NOW, fold=fold) for fold in (0, 1))
    assert (second - first) == timedelta(hours=1)
    assert (asked.value.first, asked.value.second) == (first, second)
    assert parse_time("2026-10-25T01:30+01:00", LISBON, NOW) == first


def test_F47_days_of_23_and_25_hours() -> None:
    assert [when.day_hours(date(2026, *day), LISBON) for day in ((3, 28), (3, 29), (10, 25))] == [24, 23, 25]
    assert when.day_hours(date(2011, 12, 30), APIA) == 0.0  # the day Samoa left out of its calendar


def test_midnight_belongs_to_the_day_it_closes() -> None:
    midnight = when.start_of_day(date(2026, 6, 2), LISBON)
    assert when.closing_day(midnight, LISBON) == date(2026, 6, 1)
    assert when.closing_day(midnight + timedelta(seconds=1), LISBON) == date(2026, 6, 2)


def test_a_day_without_midnight_starts_when_its_clock_does() -> None:
    # Chile goes forward at midnight: 6 September 2026 begins at 01:00 there.
    assert when.start_of_day(date(2026, 9, 6), SANTIAGO).isoformat() == "2026-09-06T01:00:00-03:00"
    assert when.day_hours(date(2026, 9, 6), SANTIAGO) == 23


def test_a_day_later_is_not_24_hours_later_over_a_clock_change() -> None:
    evening = parse_time("2026-10-31 20:00", NEW_YORK, NOW)
    by_calendar = when.moment_after(evening, Span(days=1), NEW_YORK)
    by_hours = when.moment_after(evening, Span(seconds=24 * 3600.0), NEW_YORK)
    assert by_calendar.isoformat() == "2026-11-01T20:00:00-05:00"
    assert by_calendar - by_hours == timedelta(hours=1)
    assert when.wall_days(evening, by_calendar, NEW_YORK) == 1.0


def test_a_coming_weekday_and_a_past_one() -> None:
    assert parse_day("friday", LISBON, NOW) == date(2026, 5, 1)
    assert parse_day("friday", LISBON, NOW, ahead=True) == date(2026, 5, 8)
    assert parse_day("wed", LISBON, NOW, ahead=True) == parse_day("wed", LISBON, NOW) == date(2026, 5, 6)
    with pytest.raises(TimeError):
        parse_day("31 May", LISBON, NOW)


@settings(max_examples=150)
@given(
    day=st.dates(date(2000, 1, 1), date(2035, 12, 31)),
    zone=st.sampled_from(["Europe/Lisbon", "America/New_York", "Australia/Lord_Howe", "America/Santiago"]),
    minute=st.integers(0, 24 * 60 - 1),
)
def test_what_is_parsed_shows_the_same_on_the_wall(day: date, zone: str, minute: int) -> None:
    """The local time typed is the one the zone shows, for every time there is once (dateutil judges)."""
    where = ZoneInfo(zone)
    typed = f"{day.isoformat()} {minute // 60}:{minute % 60:02d}"
    naive = datetime.combine(day, datetime.min.time()) + timedelta(minutes=minute)
    judge = tz.gettz(zone)
    if not tz.datetime_exists(naive, judge):
        with pytest.raises(TimeError):
            parse_time(typed, where, NOW)
    elif tz.datetime_ambiguous(naive, judge):
        with pytest.raises(DoubledTime):
            parse_time(typed, where, NOW)
    else:
        assert parse_time(typed, where, NOW) == naive.replace(tzinfo=judge).astimezone(UTC)


@settings(max_examples=100)
@given(day=st.dates(date(2000, 1, 1), date(2035, 12, 31)))
def test_days_join_without_gap_or_overlap(day: date) -> None:
    assert when.end_of_day(day, NEW_YORK) == when.start_of_day(day + timedelta(days=1), NEW_YORK)
    assert when.local_day(when.last_second(day, NEW_YORK), NEW_YORK) == day
