"""Chores: what opens them, when they are late, what passes meanwhile, and what the day shows of it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import relativedelta
from dateutil.rrule import DAILY, MONTHLY, YEARLY, rrule
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tankdash.journal.entries import Change, Dips, Done, Entry, Frost, Note, Rain, Record, TankDip
from tankdash.keeping.chores.due import chores_at, chores_until
from tankdash.keeping.chores.marks import chore_marks
from tankdash.keeping.chores.recurring import season_edges, season_start, turn_days, yearly_days
from tankdash.keeping.chores.state import ChoreState
from tankdash.keeping.chores.ticking import ChoreError, check_done
from tankdash.keeping.rain.gauges import default_period
from tankdash.keeping.when import parse_time
from tankdash.site.model import AfterRain, Chore, Placed, Season, Site, SiteTank
from tankdash.units import Span
from tankdash.water.model import FirstFlush, Roof, Tank
from tankdash.water.shapes import Straight

LISBON = ZoneInfo("Europe/Lisbon")
TWO_WEEKS = Span(days=14)
SUMMER = Season((4, 1), (10, 31))
WINTER_HALF = Season((11, 1), (3, 31))


class Garden:
    """A site with the chores given, its journal, and the questions put to them."""

    def __init__(self, *chores: Chore, zone: ZoneInfo = LISBON) -> None:
        roof = Roof("shed", area=24.0, fills="north", runoff=0.9, first_flush=FirstFlush(0.008))
        self.site = Site(
            name="garden", zone=zone, units="metric", datum="slab", accuracy=0.005,
            tanks={"north": SiteTank(Tank("north", Straight(1.0, 1.0), brim=1.0), "north")},
            roofs={"shed": Placed(roof, "shed")},
            chores={chore.id: chore for chore in chores},
        )  # fmt: skip
        self.entries: list[Entry] = []

    def at(self, typed: str) -> datetime:
        return parse_time(typed, self.site.zone, datetime(2026, 1, 1, tzinfo=UTC))

    def write(self, typed: str, record: Record | float, *, batch: int | None = None) -> Garden:
        """Add an entry; a bare number is rain read since the last reading."""
        at = self.at(typed)
        if isinstance(record, float):
            record = Rain(record, record, *default_period(self.entries, "gauge", at, self.site.zone))
        number = len(self.entries) + 1
        self.entries.append(Entry(number, f"u{number}", "", at, at, record, "", batch=batch))
        self.entries.sort(key=lambda entry: (entry.at, entry.number))
        return self

    def done(self, typed: str, chore: str = "a") -> Garden:
        return self.write(typed, Done(chore))

    def begin(self, typed: str) -> Garden:
        return self.write(typed, Note())

    def state(self, typed: str, chore: str = "a", share: float | None = None) -> ChoreState:
        states = chores_at(self.site, self.entries, self.at(typed), share)
        return next(state for state in states if state.id == chore)

    def day_due(self, typed: str, chore: str = "a") -> str | None:
        due = self.state(typed, chore).due
        return None if due is None else due.date().isoformat()


def after(**trigger: float) -> AfterRain:
    return AfterRain(**trigger)  # type: ignore[arg-type]


def chore(**more: object) -> Chore:
    return Chore("a", "Job", **more)  # type: ignore[arg-type]


# --- after rain ------------------------------------------------------------------------------------------


def test_a_rain_of_the_depth_opens_and_one_below_does_not() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=10.0))).write("2026-05-04 06:10", 9.9)
    assert garden.state("2026-05-04 08:00").state == "coming"
    garden.write("2026-05-06 06:10", 10.0)
    state = garden.state("2026-05-06 08:00")
    assert (state.state, state.since) == ("due", garden.at("2026-05-06 06:10"))
    assert state.reason == "10 mm on Wed 06:10"


def test_a_threshold_in_inches_is_met_by_the_same_inches() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=0.1 * 25.4))).write("2026-05-04 06:10", 2.54)
    assert garden.state("2026-05-04 08:00").state == "due"


def test_readings_of_one_event_add_up_to_the_threshold() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=10.0)))
    garden.write("2026-05-04 06:00", 6.0).write("2026-05-04 08:00", 6.0)
    assert garden.state("2026-05-04 09:00").since == garden.at("2026-05-04 08:00")
    assert garden.state("2026-05-04 09:00").reason.startswith("12 mm on Mon 08:00")
    apart = Garden(chore(after_rain=after(at_least_mm=10.0)))
    apart.write("2026-05-04 06:00", 6.0).write("2026-05-04 18:00", 6.0)
    assert apart.state("2026-05-04 19:00").state == "coming"


def test_late_after_a_day_unless_the_file_says_otherwise() -> None:
    garden = Garden(
        chore(after_rain=after(at_least_mm=1.0)),
        Chore("b", "Job", after(at_least_mm=1.0), within=Span(seconds=6 * 3600.0)),
    ).write("2026-05-04 06:10", 5.0)
    assert garden.state("2026-05-05 06:10").state == "due"
    assert garden.state("2026-05-05 06:11").state == "late"
    assert garden.state("2026-05-04 12:10", "b").state == "due"
    assert garden.state("2026-05-04 12:11", "b").state == "late"


def test_a_day_of_grace_over_a_clock_change_ends_at_the_same_time_of_day() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0))).write("2026-10-24 20:00", 5.0)
    due = garden.state("2026-10-24 21:00").due
    assert due == garden.at("2026-10-25 20:00")
    assert due is not None and due - garden.at("2026-10-24 20:00") == timedelta(hours=25)


def test_a_number_of_rains_opens_and_small_ones_do_not_count() -> None:
    garden = Garden(chore(after_rain=after(rains=3)))
    for day, depth in ((1, 2.0), (2, 0.1), (3, 2.0)):
        garden.write(f"2026-05-0{day} 06:00", depth)
    assert garden.state("2026-05-03 08:00").reason == "next after 1 more rain"
    garden.write("2026-05-05 06:00", 0.2)
    assert garden.state("2026-05-05 08:00").reason == "3 rains, the last on Tue 06:00"
    garden.done("2026-05-05 09:00")
    assert garden.state("2026-05-05 10:00").state == "done"
    assert "after 3 more rains" in garden.state("2026-05-05 10:00").reason


def test_a_total_since_last_done_opens() -> None:
    garden = Garden(chore(after_rain=after(total_mm=50.0)))
    garden.write("2026-05-01 06:00", 20.0).write("2026-05-03 06:00", 20.0)
    assert garden.state("2026-05-03 08:00").reason == "next after 10 mm more in all"
    garden.write("2026-05-05 06:00", 15.0)
    assert garden.state("2026-05-05 08:00").reason == "55 mm in all, reached on Tue 06:00"
    garden.done("2026-05-05 09:00").write("2026-05-07 06:00", 49.0)
    assert (
        garden.state("2026-05-07 08:00").state == "coming" or garden.state("2026-05-07 08:00").state == "done"
    )
    garden.write("2026-05-09 06:00", 1.0)
    assert garden.state("2026-05-09 08:00").state == "due"


def test_rain_that_goes_on_after_the_chore_was_done_counts_anew() -> None:
    garden = Garden(chore(after_rain=after(rains=1)))
    garden.begin("2026-05-01 07:00").write("2026-05-01 08:00", 4.0).done("2026-05-01 08:30")
    assert garden.state("2026-05-01 08:45").state != "due"
    garden.write("2026-05-01 09:00", 0.1)
    assert garden.state("2026-05-01 09:00").state != "due"
    garden.write("2026-05-01 10:00", 3.0)
    assert garden.state("2026-05-01 10:00").state == "due"


def test_one_is_open_at_most_and_later_rains_are_told() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0)))
    for day in (1, 2, 3):
        garden.write(f"2026-05-0{day} 06:00", 5.0)
    state = garden.state("2026-05-03 08:00")
    assert (state.since, state.missed) == (garden.at("2026-05-01 06:00"), 0)
    assert state.reason == "5 mm on Fri 06:00; 2 later rains while it waits"


def test_an_event_read_several_times_is_one_rain() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0)), Chore("b", "Job", after(rains=2)))
    garden.write("2026-05-04 06:00", 5.0)
    for hour in (7, 8, 9):
        garden.write(f"2026-05-05 0{hour}:00", 5.0)
    assert garden.state("2026-05-05 10:00").reason == "5 mm on Mon 06:00; 1 later rain while it waits"
    assert garden.state("2026-05-05 10:00", "b").since == garden.at("2026-05-05 07:00")
    assert garden.state("2026-05-05 10:00", "b").reason == "2 rains, the last on Tue 07:00"


def test_rain_after_it_was_done_in_the_middle_of_an_event_opens_it_again() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0)))
    garden.write("2026-05-04 06:00", 5.0).done("2026-05-04 07:00").write("2026-05-04 08:00", 3.0)
    assert garden.state("2026-05-04 09:00").since == garden.at("2026-05-04 08:00")


def test_traces_open_nothing() -> None:
    garden = Garden(chore(after_rain=after(rains=1)))
    start = garden.at("2026-05-03 06:00")
    garden.write("2026-05-04 06:00", Rain(0.0, 0.0, start, start + timedelta(days=1), trace=True))
    assert garden.state("2026-05-04 08:00").state == "coming"


def test_rain_brought_in_from_before_the_journal_opens_nothing() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0), empties="shed"))
    garden.write("2024-05-04 06:00", 20.0, batch=9).write("2024-05-05 06:00", 20.0, batch=9)
    garden.begin("2026-05-04 07:00")
    state = garden.state("2026-05-04 08:00")
    assert (state.state, state.rains_unflushed) == ("coming", 0)
    garden.write("2026-05-05 06:00", 20.0)
    assert garden.state("2026-05-05 08:00").since == garden.at("2026-05-05 06:00")


# --- every, counted from done ----------------------------------------------------------------------------


def test_an_interval_counts_from_when_it_was_done() -> None:
    garden = Garden(chore(every=TWO_WEEKS)).begin("2026-05-01 08:00")
    assert (garden.state("2026-05-02 08:00").state, garden.day_due("2026-05-02 08:00")) == (
        "coming",
        "2026-05-15",
    )
    garden.done("2026-05-04 18:00")
    assert garden.day_due("2026-05-04 19:00") == "2026-05-18"
    assert garden.state("2026-05-05 08:00").state == "done"
    assert garden.state("2026-05-12 08:00").state == "coming"
    assert garden.state("2026-05-18 00:00").state == "due"
    assert garden.state("2026-05-18 23:59").state == "due"
    assert garden.state("2026-05-19 00:00").state == "late"
    assert garden.state("2026-05-19 08:00").reason == "every 2 weeks; last done 4 May 18:00"


def test_missed_turns_are_counted_and_not_repeated() -> None:
    garden = Garden(chore(every=TWO_WEEKS)).begin("2026-05-01 08:00").done("2026-05-01 09:00")
    state = garden.state("2026-07-01 08:00")  # turns on 15 and 29 May, 12 and 26 June
    assert (state.since, state.missed, state.state) == (garden.at("2026-05-15"), 3, "late")
    assert "3 turns missed" in state.reason
    garden.done("2026-07-01 09:00")
    assert (garden.state("2026-07-01 10:00").missed, garden.day_due("2026-07-01 10:00")) == (0, "2026-07-15")


def test_the_first_turn_is_the_starting_day() -> None:
    garden = Garden(chore(every=Span(months=24), starting=date(2026, 3, 1))).begin("2026-02-01 08:00")
    assert garden.day_due("2026-02-02 08:00") == "2026-03-01"
    garden.done("2026-03-05 08:00")
    assert garden.day_due("2026-03-06 08:00") == "2028-03-05"


def test_hours_count_as_hours() -> None:
    garden = Garden(chore(every=Span(seconds=6 * 3600.0))).begin("2026-03-28 22:00").done("2026-03-28 22:00")
    assert garden.state("2026-03-29 04:59").state == "coming"
    state = garden.state("2026-03-29 17:30")  # the clock goes forward in that night
    assert (state.since, state.missed) == (garden.at("2026-03-29 05:00"), 2)


# --- every, counted from the calendar --------------------------------------------------------------------


def test_a_calendar_turn_stays_on_its_day_however_late_it_is_done() -> None:
    monthly = chore(every=Span(months=1), starting=date(2026, 1, 31), counted_from="calendar")
    garden = Garden(monthly).begin("2026-01-10 08:00").done("2026-02-10 08:00")
    assert garden.day_due("2026-02-11 08:00") == "2026-02-28"
    garden.done("2026-03-01 08:00")
    assert garden.day_due("2026-03-02 08:00") == "2026-03-31"
    state = garden.state("2026-05-05 08:00")
    assert (state.since, state.missed) == (garden.at("2026-03-31"), 1)
    assert state.reason == "every 1 month; the turn of 31 Mar; 1 turn missed"


def test_done_shortly_ahead_counts_for_the_turn_and_done_twice_does_not() -> None:
    monthly = chore(every=Span(months=1), starting=date(2026, 1, 1), counted_from="calendar")
    garden = Garden(monthly).begin("2026-04-02 08:00").done("2026-04-02 09:00").done("2026-04-28 08:00")
    assert garden.day_due("2026-04-29 08:00") == "2026-06-01"
    assert garden.state("2026-05-02 08:00").state != "late"
    twice = Garden(monthly).begin("2026-04-02 08:00").done("2026-04-02 09:00").done("2026-04-03 08:00")
    assert twice.state("2026-05-02 08:00").state == "late"


def test_turns_from_before_the_journal_are_one_open_turn() -> None:
    monthly = chore(every=Span(months=1), starting=date(2020, 1, 1), counted_from="calendar")
    state = Garden(monthly).begin("2026-05-10 08:00").state("2026-05-11 08:00")
    assert (state.since is not None and state.since.date(), state.missed) == (date(2026, 5, 1), 0)


# --- yearly, once ----------------------------------------------------------------------------------------


def test_a_yearly_day_comes_each_year() -> None:
    garden = Garden(chore(on=(11, 1))).begin("2026-05-01 08:00")
    assert garden.state("2026-10-31 08:00").state == "coming"
    assert garden.state("2026-11-01 08:00").state == "due"
    assert garden.state("2026-11-02 08:00").state == "late"
    assert garden.state("2026-11-02 08:00").reason == "every year on 1 Nov"
    garden.done("2026-11-03 08:00")
    assert garden.day_due("2026-11-04 08:00") == "2027-11-01"
    assert garden.state("2028-11-05 08:00").missed == 1


def test_a_yearly_day_just_past_when_the_journal_begins_is_still_to_do() -> None:
    assert Garden(chore(on=(11, 1))).begin("2026-11-03 08:00").state("2026-11-03 09:00").state == "late"
    assert Garden(chore(on=(11, 1))).begin("2026-12-24 08:00").state("2026-12-24 09:00").state == "coming"


def test_29_february_becomes_the_28th_in_common_years() -> None:
    garden = Garden(chore(on=(2, 29))).begin("2026-01-10 08:00")
    assert garden.day_due("2026-01-11 08:00") == "2026-02-28"
    garden.done("2026-02-28 08:00")
    assert garden.day_due("2027-06-01 08:00") == "2027-02-28"  # open since then
    garden.done("2027-06-01 09:00")
    assert garden.day_due("2027-06-02 08:00") == "2028-02-29"


def test_once_is_done_once() -> None:
    garden = Garden(chore(by=date(2026, 4, 15))).begin("2026-03-01 08:00")
    assert garden.state("2026-04-14 08:00").state == "coming"
    assert garden.state("2026-04-15 08:00").state == "due"
    assert garden.state("2026-05-01 08:00").state == "late"
    early = Garden(chore(by=date(2026, 4, 15))).begin("2026-03-01 08:00").done("2026-03-02 08:00")
    for day in ("2026-03-03 08:00", "2026-04-20 08:00", "2030-01-01 08:00"):
        assert (early.state(day).state, early.state(day).due) == ("done", None)


def test_once_is_late_even_if_the_journal_begins_after_it() -> None:
    assert (
        Garden(chore(by=date(2026, 4, 15))).begin("2026-05-01 08:00").state("2026-05-02 08:00").state
        == "late"
    )


# --- whichever comes first -------------------------------------------------------------------------------


def test_whichever_comes_first_opens_and_being_done_resets_both() -> None:
    both = chore(after_rain=after(at_least_mm=10.0), every=TWO_WEEKS)
    garden = Garden(both).begin("2026-05-01 08:00").done("2026-05-01 09:00").write("2026-05-08 06:00", 12.0)
    assert garden.state("2026-05-08 08:00").reason == "12 mm on Fri 06:00"
    garden.done("2026-05-08 09:00")
    assert garden.day_due("2026-05-09 08:00") == "2026-05-22"
    assert garden.state("2026-05-22 08:00").reason.startswith("every 2 weeks")


def test_the_other_trigger_adds_nothing_while_one_is_open() -> None:
    both = chore(after_rain=after(at_least_mm=10.0), every=TWO_WEEKS)
    garden = Garden(both).begin("2026-05-01 08:00").write("2026-05-14 06:00", 12.0)
    state = garden.state("2026-05-16 08:00")
    assert (state.since, state.missed) == (garden.at("2026-05-14 06:00"), 1)


# --- seasons and winter ----------------------------------------------------------------------------------


def test_out_of_season_it_sleeps_and_wakes_once() -> None:
    garden = Garden(chore(every=TWO_WEEKS, season=SUMMER)).begin("2026-10-01 08:00").done("2026-10-25 08:00")
    asleep = garden.state("2026-11-20 08:00")
    assert (asleep.state, asleep.reason, asleep.missed) == ("asleep", "asleep until 1 Apr 2027", 0)
    assert garden.day_due("2026-11-20 08:00") == "2027-04-01"
    state = garden.state("2027-04-01 08:00")
    assert (state.state, state.since, state.missed) == ("due", garden.at("2027-04-01"), 0)
    assert [garden.state(f"2027-04-{day} 08:00").missed for day in (14, 15)] == [0, 1]


def test_a_season_may_wrap_the_year() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0), season=WINTER_HALF)).begin("2026-10-01 08:00")
    garden.write("2026-10-20 06:00", 5.0)
    assert garden.state("2026-10-21 06:00").state == "asleep"
    garden.write("2026-12-31 06:00", 5.0)
    assert garden.state("2027-01-02 06:00").state == "late"
    assert garden.state("2027-04-01 06:00").state == "asleep"
    assert garden.state("2027-11-02 06:00").state == "coming"


def test_rain_out_of_season_is_not_counted_later() -> None:
    garden = Garden(chore(after_rain=after(total_mm=20.0), season=SUMMER)).begin("2026-01-10 08:00")
    garden.write("2026-03-30 06:00", 19.0).write("2026-04-02 06:00", 2.0)
    assert garden.state("2026-04-02 08:00").state == "coming"


def test_a_turn_open_when_the_season_ends_does_not_come_back_late() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0), season=SUMMER)).write("2026-10-30 06:00", 5.0)
    assert garden.state("2026-10-31 08:00").state == "late"
    assert garden.state("2026-11-01 08:00").state == "asleep"
    assert garden.state("2027-04-02 08:00").state == "coming"


@pytest.mark.parametrize(
    ("sleeper", "sleeps"),
    [
        (chore(after_rain=AfterRain(at_least_mm=1.0)), True),
        (chore(every=TWO_WEEKS), True),
        (chore(level_below=0.3), True),
        (chore(on=(12, 24)), False),
        (chore(by=date(2026, 12, 24)), False),
        (chore(frost_c=0.0), False),
    ],
)
def test_in_winter_only_dates_and_frost_stay_awake(sleeper: Chore, sleeps: bool) -> None:
    garden = Garden(sleeper).begin("2026-10-01 08:00").write("2026-11-01 08:00", Change("site", "winter"))
    garden.write("2026-12-20 06:00", 30.0).write("2026-12-20 08:00", Frost(-3.0, date(2026, 12, 20)))
    state = garden.state("2026-12-26 08:00", share=0.1)
    assert (state.state == "asleep") == sleeps
    assert sleeps or state.is_open
    if sleeps:
        assert state.reason == "asleep while the site is laid up for winter"


def test_back_in_use_nothing_nags_about_the_winter() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0), every=TWO_WEEKS)).begin("2026-10-01 08:00")
    garden.write("2026-10-10 06:00", 5.0).write("2026-11-01 08:00", Change("site", "winter"))
    garden.write("2026-12-10 06:00", 50.0).write("2027-03-01 08:00", Change("site", "in-use"))
    state = garden.state("2027-03-01 09:00")
    assert (state.state, state.since, state.missed) == ("due", garden.at("2027-03-01 08:00"), 0)
    garden.done("2027-03-01 10:00")
    assert garden.day_due("2027-03-02 09:00") == "2027-03-15"


# --- level and frost -------------------------------------------------------------------------------------


def test_a_low_level_opens_and_a_tick_holds_until_the_next_dip() -> None:
    dip = Dips((TankDip("north", 0.2, 0.2, 0.2),))
    garden = Garden(chore(level_below=0.3)).write("2026-07-01 08:00", dip)
    assert garden.state("2026-07-01 09:00", share=0.3).state == "coming"
    assert garden.state("2026-07-01 09:00", share=None).state == "coming"
    state = garden.state("2026-07-01 09:00", share=0.24)
    assert (state.state, state.since) == ("due", garden.at("2026-07-01 08:00"))
    assert state.reason == "usable is 24 % of full, under 30 %, since Wed 08:00"
    garden.done("2026-07-01 10:00")
    assert garden.state("2026-07-02 09:00", share=0.22).state == "done"
    garden.write("2026-07-05 08:00", dip)
    assert garden.state("2026-07-05 09:00", share=0.2).state == "due"


def test_a_low_typed_in_opens_at_or_under_its_mark() -> None:
    garden = Garden(chore(frost_c=0.0)).write("2026-11-10 18:00", Frost(0.5, date(2026, 11, 11)))
    assert garden.state("2026-11-10 19:00").state == "coming"
    garden.write("2026-11-11 18:00", Frost(0.0, date(2026, 11, 12)))
    state = garden.state("2026-11-11 19:00")
    assert (state.state, state.due and state.due.date()) == ("due", date(2026, 11, 12))
    assert garden.state("2026-11-13 08:00").state == "late"


def test_a_new_forecast_for_a_night_already_prepared_opens_nothing() -> None:
    garden = Garden(chore(frost_c=0.0)).write("2026-11-11 18:00", Frost(-1.0, date(2026, 11, 12)))
    garden.done("2026-11-12 10:00").write("2026-11-12 18:00", Frost(-4.0, date(2026, 11, 12)))
    assert garden.state("2026-11-12 19:00").state == "done"
    garden.write("2026-11-12 20:00", Frost(-1.0, date(2026, 11, 13)))
    assert garden.state("2026-11-12 21:00").state == "due"


# --- completion, dated back and taken back ---------------------------------------------------------------


def test_done_before_the_rain_that_brought_it_on_is_refused() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0))).write("2026-05-04 06:10", 5.0)
    now = garden.at("2026-05-04 12:00")
    with pytest.raises(ChoreError, match=r"came due on Mon 06:10, after Sun 20:00"):
        check_done(garden.site, garden.entries, "a", garden.at("2026-05-03 20:00"), now)
    check_done(garden.site, garden.entries, "a", garden.at("2026-05-04 06:10"), now)
    check_done(garden.site, garden.entries, "a", garden.at("2026-05-04 09:00"), now)
    with pytest.raises(ChoreError, match="has passed"):
        check_done(garden.site, garden.entries, "a", garden.at("2026-05-05 09:00"), now)
    with pytest.raises(ChoreError, match="no chore"):
        check_done(garden.site, garden.entries, "x", now, now)


def test_a_tick_so_far_back_that_it_closes_nothing_is_refused() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0))).write("2026-05-04 06:10", 5.0)
    garden.done("2026-05-05 08:00")
    now = garden.at("2026-05-06 08:00")
    with pytest.raises(ChoreError, match=r"not due on Sun 08:00 and has been done since, on Tue 08:00"):
        check_done(garden.site, garden.entries, "a", garden.at("2026-05-03 08:00"), now)
    # Earlier than it was ticked, but after the rain: somebody was faster than the pencil.
    check_done(garden.site, garden.entries, "a", garden.at("2026-05-04 20:00"), now)
    check_done(garden.site, garden.entries, "a", garden.at("2026-05-06 07:00"), now)


def test_an_interval_may_be_done_before_it_came_due() -> None:
    garden = Garden(chore(every=TWO_WEEKS)).begin("2026-05-01 08:00").done("2026-05-01 09:00")
    now = garden.at("2026-05-20 08:00")
    assert garden.state("2026-05-20 08:00").state == "late"
    check_done(garden.site, garden.entries, "a", garden.at("2026-05-14 08:00"), now)
    garden.done("2026-05-14 08:00")
    assert garden.day_due("2026-05-20 08:00") == "2026-05-28"


def test_a_completion_dated_back_lets_later_rains_open_it_again() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0), empties="shed"))
    for typed in ("2026-05-04 06:10", "2026-05-04 15:40", "2026-05-05 00:30"):
        garden.write(typed, 5.0)
    garden.done("2026-05-04 08:00")
    state = garden.state("2026-05-05 08:00")
    assert (state.since, state.rains_unflushed) == (garden.at("2026-05-04 15:40"), 1)


def test_taking_back_a_tick_restores_what_was_due() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0), empties="shed"))
    garden.write("2026-05-04 06:10", 5.0).write("2026-05-04 20:00", 5.0)
    before = garden.state("2026-05-05 08:00")
    garden.done("2026-05-05 07:00")
    assert garden.state("2026-05-05 08:00").state == "done"
    garden.entries = [entry for entry in garden.entries if not isinstance(entry.record, Done)]
    assert garden.state("2026-05-05 08:00") == before


def test_nothing_after_now_is_looked_at() -> None:
    garden = (
        Garden(chore(after_rain=after(at_least_mm=1.0)))
        .write("2026-05-04 06:10", 5.0)
        .done("2026-05-05 07:00")
    )
    assert garden.state("2026-05-04 08:00").state == "due"
    assert garden.state("2026-05-04 06:00").state == "coming"


# --- lists -----------------------------------------------------------------------------------------------


def test_the_most_pressing_stands_first() -> None:
    garden = Garden(
        Chore("sleeps", "Job", after(at_least_mm=1.0), season=WINTER_HALF),
        Chore("comes", "Job", on=(11, 1)),
        Chore("due", "Job", after(at_least_mm=1.0), within=Span(days=9)),
        Chore("late", "Job", after(at_least_mm=1.0)),
    ).write("2026-05-04 06:10", 5.0)
    states = chores_at(garden.site, garden.entries, garden.at("2026-05-06 08:00"))
    assert [state.id for state in states] == ["late", "due", "comes", "sleeps"]


def test_what_the_weather_brought_on_stands_before_what_the_calendar_asks() -> None:
    garden = Garden(
        Chore("survey", "Job", every=TWO_WEEKS),
        Chore("screen", "Job", after(at_least_mm=1.0), within=Span(days=9)),
        Chore("pipe", "Job", after(at_least_mm=1.0), within=Span(days=9), empties="shed"),
    )
    garden.begin("2026-03-01 08:00").write("2026-05-04 06:10", 5.0)
    states = chores_at(garden.site, garden.entries, garden.at("2026-05-05 08:00"))
    assert [(state.id, state.state) for state in states] == [
        ("pipe", "due"), ("screen", "due"), ("survey", "late"),
    ]  # fmt: skip


def test_the_json_has_the_keys_of_the_chores_command() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0), empties="shed")).write("2026-05-04 06:10", 5.0)
    answer = json.loads(json.dumps(garden.state("2026-05-04 08:00").as_json()))
    assert answer == {
        "id": "a", "label": "Job", "state": "due", "since": "2026-05-04T06:10:00+01:00",
        "due": "2026-05-05T06:10:00+01:00", "missed": 0, "reason": "5 mm on Mon 06:10",
        "rains_unflushed": 0, "done": None,
    }  # fmt: skip


def test_a_look_ahead_lists_every_turn_of_the_calendar() -> None:
    garden = Garden(
        chore(every=Span(months=2), starting=date(2023, 12, 31), counted_from="calendar"),
        Chore("b", "Job", every=TWO_WEEKS),
        Chore("c", "Job", by=date(2024, 3, 1)),
        Chore("d", "Job", on=(3, 5), season=Season((3, 1), (3, 31))),
    ).begin("2023-12-20 08:00")
    coming = chores_until(garden.site, garden.entries, garden.at("2023-12-21 08:00"), date(2024, 7, 1))
    assert [(state.id, state.due and state.due.date().isoformat()) for state in coming] == [
        ("a", "2023-12-31"), ("b", "2024-01-03"), ("a", "2024-02-29"), ("c", "2024-03-01"), ("d", "2024-03-05"),
        ("a", "2024-04-30"), ("a", "2024-06-30"),
    ]  # fmt: skip
    assert all(state.state in ("coming", "asleep") for state in coming)


# --- marks -----------------------------------------------------------------------------------------------


def test_the_days_show_what_was_done_late_missed_and_unflushed() -> None:
    garden = Garden(chore(after_rain=after(at_least_mm=1.0), empties="shed"))
    garden.write("2026-05-04 06:10", 5.0).write("2026-05-05 20:00", 5.0).done("2026-05-07 08:00")
    garden.write("2026-05-09 06:00", 5.0).done("2026-05-09 09:00")
    now = garden.at("2026-05-20 08:00")
    marks = chore_marks(garden.site, garden.entries, date(2026, 5, 1), date(2026, 5, 20), now)
    assert {day.day: sorted(mark.kind for mark in those) for day, those in marks.items()} == {
        5: ["missed", "unflushed"],
        6: ["late"],
        7: ["done", "late"],
        9: ["done"],
    }


def test_what_is_never_done_stays_late_up_to_now() -> None:
    garden = Garden(chore(by=date(2026, 5, 3))).begin("2026-05-01 08:00")
    now = garden.at("2026-05-06 08:00")
    marks = chore_marks(garden.site, garden.entries, date(2026, 5, 4), date(2026, 5, 31), now)
    assert {day.day: [mark.kind for mark in those] for day, those in marks.items()} == {
        4: ["late"], 5: ["late"], 6: ["late"],
    }  # fmt: skip


# --- recurrences against dateutil ------------------------------------------------------------------------


@settings(max_examples=100)
@given(
    anchor=st.dates(date(2000, 1, 1), date(2030, 12, 31)),
    months=st.integers(1, 30),
    first=st.dates(date(1999, 1, 1), date(2031, 1, 1)),
)
def test_month_turns_are_the_anchor_plus_whole_months(anchor: date, months: int, first: date) -> None:
    last = date(2034, 1, 1)
    judged = [anchor + relativedelta(months=months * turn) for turn in range(450)]
    wanted = [day for day in judged if first <= day <= last]
    assert list(turn_days(anchor, Span(months=months), first, last)) == wanted


@settings(max_examples=60)
@given(anchor=st.dates(date(2000, 1, 1), date(2025, 12, 31)), months=st.integers(1, 30))
def test_month_turns_of_a_day_every_month_has_are_those_of_the_calendar_rule(
    anchor: date, months: int
) -> None:
    anchor = anchor.replace(day=min(anchor.day, 28))
    start = datetime(anchor.year, anchor.month, anchor.day)  # noqa: DTZ001
    rule = rrule(MONTHLY, interval=months, dtstart=start, count=20)
    judged = [moment.date() for moment in rule]
    assert list(turn_days(anchor, Span(months=months), anchor, judged[-1])) == judged


@settings(max_examples=60)
@given(anchor=st.dates(date(2000, 1, 1), date(2025, 12, 31)), days=st.integers(1, 400))
def test_day_turns_are_those_of_the_calendar_rule(anchor: date, days: int) -> None:
    start = datetime(anchor.year, anchor.month, anchor.day)  # noqa: DTZ001
    judged = [moment.date() for moment in rrule(DAILY, interval=days, dtstart=start, count=20)]
    assert list(turn_days(anchor, Span(days=days), anchor, judged[-1])) == judged


def test_yearly_days_are_those_of_the_calendar_rule() -> None:
    start = datetime(2020, 1, 1)  # noqa: DTZ001
    judged = [m.date() for m in rrule(YEARLY, dtstart=start, bymonth=11, bymonthday=1, count=11)]
    assert list(yearly_days((11, 1), date(2020, 1, 1), date(2030, 12, 31))) == judged
    # The last day of February each year, which is where 29 February goes.
    judged = [m.date() for m in rrule(YEARLY, dtstart=start, bymonth=2, bymonthday=-1, count=11)]
    assert list(yearly_days((2, 29), date(2020, 1, 1), date(2030, 12, 31))) == judged


def days_from(first: date, count: int) -> Iterator[date]:
    return (first + timedelta(days=number) for number in range(count))


@settings(max_examples=60)
@example(start=date(2000, 2, 29), end=date(2000, 2, 29))
@example(start=date(2000, 1, 1), end=date(2000, 12, 31))
@given(
    start=st.dates(date(2000, 1, 1), date(2000, 12, 31)), end=st.dates(date(2000, 1, 1), date(2000, 12, 31))
)
def test_season_edges_are_where_the_season_changes(start: date, end: date) -> None:
    season = Season((start.month, start.day), (end.month, end.day))
    first, count = date(2023, 6, 1), 900
    edges = dict(season_edges(season, first, first + timedelta(days=count)))
    for day in days_from(first, count):
        yesterday = season.holds(day - timedelta(days=1))
        if season.holds(day) != yesterday:
            assert edges.get(day) == season.holds(day)
        begins = season_start(season, day)
        assert season.holds(begins) and begins >= day
        assert not any(season.holds(between) for between in days_from(day, min(40, (begins - day).days)))


chores = st.sampled_from(
    [
        chore(after_rain=AfterRain(at_least_mm=5.0), every=Span(days=9)),
        chore(after_rain=AfterRain(rains=2), season=Season((2, 10), (2, 25))),
        chore(after_rain=AfterRain(total_mm=20.0)),
        chore(every=Span(days=5), season=Season((2, 10), (2, 25))),
        chore(every=Span(months=1), starting=date(2026, 1, 31), counted_from="calendar"),
        chore(every=Span(seconds=5 * 3600.0)),
        chore(on=(2, 14)),
        chore(by=date(2026, 2, 14)),
    ]
)
happenings = st.lists(
    st.tuples(
        st.integers(0, 24 * 50),
        st.one_of(
            st.floats(0.0, 12.0),
            st.sampled_from([Done("a"), Change("site", "winter"), Change("site", "in-use")]),
        ),
    ),
    max_size=14,
)


@settings(max_examples=120, deadline=None)
@given(chores, happenings)
def test_whatever_happens_one_turn_is_open_at_most_and_a_tick_closes_it(
    job: Chore, happened: list[tuple[int, float | Record]]
) -> None:
    from tankdash.keeping.chores.history import history
    from tankdash.keeping.rain.events import events

    garden = Garden(job).begin("2026-01-20 00:00")
    first = garden.at("2026-01-20 00:00")
    for hour, what in sorted(happened, key=lambda one: one[0]):
        garden.write((first + timedelta(hours=hour)).isoformat(), what)
    now = first + timedelta(days=52)
    past = history(garden.site, job, garden.entries, events(garden.entries, garden.site.rain, LISBON), now)
    assert all(not turn.is_open for turn in past.turns[:-1])
    ends = [turn.closed or turn.dropped for turn in past.turns[:-1]]
    assert all(
        end is not None and end <= later.since for end, later in zip(ends, past.turns[1:], strict=True)
    )
    assert all(turn.since <= turn.due for turn in past.turns)
    assert all(turn.closed in past.done for turn in past.turns if turn.closed is not None)
    garden.write(now.isoformat(), Done("a"))
    state = garden.state(now.isoformat())
    assert state.state in ("done", "coming", "asleep")
    assert state.done_at == now
