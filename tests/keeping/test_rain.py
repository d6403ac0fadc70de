"""What gauge readings mean: true depth, events, and totals that stay honest."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.journal.entries import Entry, Note, Rain
from tankdash.keeping.rain.events import events
from tankdash.keeping.rain.gauges import conflicts, counting, default_period, readings
from tankdash.keeping.rain.rainfall import rainfall
from tankdash.keeping.rain.totals import RainTotal, totals
from tankdash.keeping.when import end_of_day, parse_time, start_of_day
from tankdash.site.model import RainRules

LISBON = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)
PREVIOUS = RainRules(booked="previous day")
SAME = RainRules(booked="same day")


def at(text: str) -> datetime:
    return parse_time(text, LISBON, NOW, fold=0)


def write(*records: Rain) -> list[Entry]:
    """Return a journal of the readings, in the order of their ends."""
    lines = [
        Entry(number, f"u{number}", "rain", record.end, record.end, record, "")
        for number, record in enumerate(records, start=1)
    ]
    return sorted(lines, key=lambda entry: (entry.at, entry.number))


def read(end: str, low: float, high: float | None = -1.0, *, start: str | None = None, **more: Any) -> Rain:
    """Return a reading; a day long unless a start is given, plain unless a high end is."""
    ends = at(end)
    return Rain(
        low, low if high == -1.0 else high, at(start) if start else ends - timedelta(days=1), ends, **more
    )


def since_last(marks: Sequence[tuple[str, float]], gauge: str = "gauge") -> list[Entry]:
    """Return a journal in which each reading has the default period."""
    entries: list[Entry] = []
    for end, depth in marks:
        start, ends = default_period(entries, gauge, at(end), LISBON)
        entries = [*entries, *write(Rain(depth, depth, start, ends, gauge))]
    return [
        Entry(number, f"u{number}", "rain", entry.at, entry.at, entry.record, "")
        for number, entry in enumerate(entries, start=1)
    ]


def figures(total: RainTotal) -> tuple[float | None, float | None, float | None, int]:
    return total.mm, total.low_mm, total.high_mm, total.days_read


# --- periods ---------------------------------------------------------------------------------------------


def test_a_reading_covers_the_time_since_the_last_one_but_one_day_at_most() -> None:
    journal = since_last([("2026-06-01 09:00", 2.0), ("2026-06-01 18:00", 0.0), ("2026-06-04 09:00", 5.0)])
    periods = [(entry.record.start, entry.record.end) for entry in journal if isinstance(entry.record, Rain)]
    assert periods == [
        (at("2026-05-31 09:00"), at("2026-06-01 09:00")),
        (at("2026-06-01 09:00"), at("2026-06-01 18:00")),
        (at("2026-06-03 09:00"), at("2026-06-04 09:00")),
    ]
    assert default_period(journal, "other", at("2026-06-04 09:00"))[0] == at("2026-06-03 09:00")


def test_one_day_at_most_is_a_day_of_the_local_clock() -> None:
    start, end = default_period([], "gauge", at("2026-03-29 09:00"), LISBON)
    assert (end - start) == timedelta(hours=23)
    assert start == at("2026-03-28 09:00")


def test_a_gauge_read_twice_at_one_time_has_no_period_left() -> None:
    journal = write(read("2026-06-01 09:00", 2.0))
    again = at("2026-06-01 09:00")
    assert default_period(journal, "gauge", again, LISBON) == (again, again)


# --- left in ---------------------------------------------------------------------------------------------


def test_a_gauge_left_in_counts_from_what_it_showed() -> None:
    journal = write(read("2026-06-01 09:00", 10.0, left_in=True), read("2026-06-02 09:00", 25.0))
    assert [known.depth_mm for known in readings(journal, LISBON)] == [10.0, 15.0]
    assert totals("month", journal, SAME, LISBON)[0].mm == 25.0


def test_a_fall_of_a_gauge_left_in_is_a_lower_bound_and_never_negative() -> None:
    journal = write(read("2026-06-01 09:00", 10.0, left_in=True), read("2026-06-02 09:00", 8.0))
    fallen = readings(journal, LISBON)[1]
    assert (fallen.low_mm, fallen.high_mm, fallen.depth_mm) == (0.0, None, 0.0)
    assert figures(totals("month", journal, SAME, LISBON)[0]) == (10.0, 10.0, None, 2)


def test_a_gauge_left_in_over_unread_days_covers_them_all() -> None:
    journal = write(read("2026-06-01 09:00", 4.0, left_in=True), read("2026-06-05 09:00", 16.0))
    assert readings(journal, LISBON)[1].start == at("2026-06-01 09:00")
    assert totals("month", journal, SAME, LISBON)[0].days_read == 5


def test_a_chain_of_readings_left_in_adds_up_to_the_last_one() -> None:
    journal = write(
        read("2026-06-01 09:00", 3.0, left_in=True),
        read("2026-06-02 09:00", 3.0, left_in=True),
        read("2026-06-03 09:00", 7.5, left_in=True),
        read("2026-06-04 09:00", 9.0),
        read("2026-06-05 09:00", 1.0),
    )
    assert [known.depth_mm for known in readings(journal, LISBON)] == [3.0, 0.0, 4.5, 1.5, 1.0]


def test_ranges_of_a_gauge_left_in_stay_ranges() -> None:
    journal = write(read("2026-06-01 09:00", 10.0, 12.0, left_in=True), read("2026-06-02 09:00", 11.0, 20.0))
    risen = readings(journal, LISBON)[1]
    assert (risen.low_mm, risen.high_mm) == (0.0, 10.0)


# --- which one counts ------------------------------------------------------------------------------------


def test_another_gauge_counts_only_where_the_own_one_was_not_read() -> None:
    journal = write(
        read("2026-06-01 09:00", 5.0),
        read("2026-06-01 09:00", 9.0, gauge="airfield"),
        read("2026-06-02 09:00", 7.0, gauge="airfield"),
    )
    assert [(known.number, known.depth_mm) for known in counting(journal, LISBON)] == [
        (1, 5.0),
        (3, 7.0),
    ]
    assert totals("month", journal, SAME, LISBON)[0].mm == 12.0


def test_the_own_gauge_ranks_first_even_if_it_came_later() -> None:
    journal = write(
        read("2026-05-30 09:00", 2.0, gauge="airfield"),
        read("2026-06-01 09:00", 9.0, gauge="airfield"),
        read("2026-06-01 09:00", 5.0),
    )
    assert [(known.number, known.depth_mm) for known in counting(journal, LISBON)] == [
        (1, 2.0),
        (3, 5.0),
    ]


def test_a_reading_half_covered_by_the_own_gauge_may_hold_all_of_its_depth_or_none() -> None:
    journal = write(
        read("2026-06-01 09:00", 1.0, start="2026-05-31 21:00"),
        read("2026-06-01 09:00", 8.0, gauge="airfield"),
    )
    cut = next(known for known in counting(journal, LISBON) if known.gauge == "airfield")
    assert (cut.share, cut.low_mm, cut.depth_mm, cut.high_mm) == (0.5, 0.0, 4.0, 8.0)


def test_a_repeated_day_is_a_conflict_and_not_a_sum() -> None:
    journal = write(read("2026-06-01 09:00", 5.0), read("2026-06-01 09:00", 6.0))
    assert totals("month", journal, SAME, LISBON)[0].mm == 5.0
    (clash,) = conflicts(journal, LISBON)
    assert (clash.first, clash.second, clash.end - clash.start) == (1, 2, timedelta(days=1))


def test_a_sum_over_days_already_read_brings_no_more_than_the_rest() -> None:
    journal = write(
        read("2026-06-01 09:00", 5.0),
        read("2026-06-02 09:00", 5.0),
        read("2026-06-03 09:00", 30.0, start="2026-05-31 09:00"),
    )
    assert [known.share for known in counting(journal, LISBON)] == pytest.approx([1.0, 1.0, 1 / 3])
    assert len(conflicts(journal, LISBON)) == 1


def test_readings_that_touch_are_no_conflict() -> None:
    assert conflicts(since_last([("2026-06-01 09:00", 1.0), ("2026-06-01 17:00", 2.0)]), LISBON) == []


# --- events ----------------------------------------------------------------------------------------------


def test_readings_taken_since_the_last_one_part_by_the_time_they_were_read() -> None:
    journal = since_last(
        [
            ("2026-06-01 06:10", 4.0),
            ("2026-06-01 15:40", 2.0),
            ("2026-06-01 17:00", 1.0),
            ("2026-06-02 00:30", 6.0),
        ]
    )
    found = events(journal, PREVIOUS, LISBON)
    assert [(event.depth_mm, event.entry_numbers) for event in found] == [
        (4.0, (1,)),
        (3.0, (2, 3)),
        (6.0, (4,)),
    ]
    assert found[1].end == at("2026-06-01 17:00")


def test_periods_that_were_told_part_by_the_dry_hours_between_them() -> None:
    evening = read("2026-06-01 18:00", 3.0, start="2026-06-01 16:30")
    night = read("2026-06-02 05:00", 4.0, start="2026-06-01 22:00")
    assert len(events(write(evening, night), PREVIOUS, LISBON)) == 1
    assert len(events(write(evening, night), RainRules(gap_hours=4.0), LISBON)) == 2


def test_the_dry_gap_is_a_setting() -> None:
    # 6 h is usual in US practice, 10 to 12 h was found best in two Chinese cities (R4d: M, P).
    journal = since_last([("2026-06-01 06:00", 4.0), ("2026-06-01 15:00", 2.0)])
    counts = [len(events(journal, RainRules(gap_hours=gap), LISBON)) for gap in (6.0, 9.0, 9.5, 12.0)]
    assert counts == [2, 2, 1, 1]


def test_dry_and_trace_readings_make_no_event() -> None:
    journal = write(read("2026-06-01 09:00", 0.0), read("2026-06-02 09:00", 0.0, trace=True))
    assert events(journal, PREVIOUS, LISBON) == []


def test_an_event_carries_the_range_of_its_readings() -> None:
    journal = write(
        read("2026-06-01 09:00", 60.0, 90.0), read("2026-06-01 11:00", 5.0, start="2026-06-01 09:00")
    )
    (event,) = events(journal, PREVIOUS, LISBON)
    assert (event.low_mm, event.depth_mm, event.high_mm) == (65.0, 80.0, 95.0)


def test_a_sum_of_several_days_says_that_its_timing_is_not_known() -> None:
    journal = write(read("2026-06-12 09:00", 22.0, start="2026-06-01 09:00"), read("2026-06-13 09:00", 3.0))
    assert [event.is_sum for event in events(journal, PREVIOUS, LISBON)] == [True, False]


# --- totals ----------------------------------------------------------------------------------------------


def test_a_month_without_readings_is_unknown_and_never_dry() -> None:
    journal = write(read("2026-04-10 09:00", 5.0), read("2026-06-10 09:00", 7.0))
    april, may, june = totals("month", journal, SAME, LISBON)
    assert figures(may) == (None, None, None, 0)
    assert (april.days_read, april.days, june.days_read, june.days) == (1, 30, 1, 30)
    assert not april.is_complete
    unread = totals("day", journal, SAME, LISBON, date(2026, 4, 9), date(2026, 4, 11))
    assert [day.mm for day in unread] == [None, 5.0, None]


def test_a_sum_over_a_month_end_is_shared_and_may_lie_in_either() -> None:
    journal = write(read("2026-06-02 09:00", 20.0, start="2026-05-29 09:00"))
    may, june = totals("month", journal, PREVIOUS, LISBON)  # 29, 30, 31 May and 1 June
    assert figures(may) == (15.0, 0.0, 20.0, 3)
    assert figures(june) == (5.0, 0.0, 20.0, 1)
    assert figures(totals("year", journal, PREVIOUS, LISBON)[0]) == (20.0, 20.0, 20.0, 4)


def test_a_day_the_owner_named_is_booked_there_under_either_rule() -> None:
    named = read("2026-06-01 09:00", 12.0, day=date(2026, 5, 30))
    for rules in (PREVIOUS, SAME):
        assert [total.first for total in totals("day", write(named), rules, LISBON)] == [date(2026, 5, 30)]


def test_a_full_month_read_daily_is_complete() -> None:
    first = at("2026-05-01 09:00")
    journal = write(
        *(Rain(0.0, 0.0, first + timedelta(days=n), first + timedelta(days=n + 1)) for n in range(31))
    )
    (may,) = totals("month", journal, PREVIOUS, LISBON)
    assert (may.mm, may.is_complete, may.wet_days) == (0.0, True, 0)


def test_the_json_has_the_keys_of_the_rainfall_command() -> None:
    journal = write(read("2026-04-10 09:00", 5.5, None), read("2026-06-10 09:00", 7.0))
    answer = rainfall(journal, SAME, LISBON)
    assert answer["events"][0] == {
        "start": "2026-04-09T09:00:00+01:00",
        "end": "2026-04-10T09:00:00+01:00",
        "depth_mm": 5.5,
        "low_mm": 5.5,
        "high_mm": None,
    }
    april = answer["months"][0]
    assert {key: april[key] for key in ("month", "mm", "low_mm", "high_mm", "days_read", "days")} == {
        "month": "2026-04", "mm": 5.5, "low_mm": 5.5, "high_mm": None, "days_read": 1, "days": 30,
    }  # fmt: skip
    assert answer["months"][1]["mm"] is None
    assert rainfall([], SAME, LISBON)["months"] == []


def test_other_entries_are_no_rain() -> None:
    note = Entry(1, "u1", "note", NOW, NOW, Note(), "")
    assert rainfall([note], SAME, LISBON)["events"] == []


def test_daily_rain_of_four_years_adds_up_to_the_published_total() -> None:
    """Seattle 2012 to 2015, 1461 days and 4426.0 mm (R7d, counted in the vega_datasets table)."""
    from vega_datasets import data

    table = data.seattle_weather()
    journal = write(
        *(
            Rain(float(mm), float(mm), start_of_day(day.date(), LISBON), end_of_day(day.date(), LISBON))
            for day, mm in zip(table["date"], table["precipitation"], strict=True)
        )
    )
    for rules in (PREVIOUS, SAME):
        by_year = totals("year", journal, rules, LISBON, date(2012, 1, 1), date(2015, 12, 31))
        assert sum(total.mm or 0.0 for total in by_year) == pytest.approx(4426.0)
        assert sum(total.days_read for total in by_year) == 1461
        assert all(total.is_complete for total in by_year)
        by_month = totals("month", journal, rules, LISBON)
        assert sum(total.mm or 0.0 for total in by_month) == pytest.approx(4426.0)


marks = st.lists(
    st.tuples(
        st.integers(0, 60 * 24),  # start, in hours of a season
        st.integers(1, 100),  # length, [h]
        st.floats(0.0, 50.0),
        st.sampled_from([0.0, 5.0, None]),  # width of the range; None for an open end
        st.sampled_from(["gauge", "airfield"]),
        st.booleans(),
    ),
    max_size=12,
)


@settings(max_examples=150)
@given(marks, st.sampled_from([PREVIOUS, SAME]))
def test_totals_of_days_months_and_years_agree_whatever_was_typed(
    typed: list[tuple[int, int, float, float | None, str, bool]], rules: RainRules
) -> None:
    first = at("2025-12-01")
    journal = write(
        *(
            Rain(low, None if width is None else low + width, first + timedelta(hours=start),
                 first + timedelta(hours=start + length), gauge, left_in=left_in)
            for start, length, low, width, gauge, left_in in typed
        )
    )  # fmt: skip
    counted = counting(journal, LISBON)
    everything = sum(known.depth_mm for known in counted)
    assert all(0.0 < known.share <= 1.0 and known.low_mm >= 0.0 for known in counted)
    assert all(
        known.high_mm is None or known.low_mm <= known.depth_mm <= known.high_mm + 1e-9 for known in counted
    )
    for summed in (totals("month", journal, rules, LISBON), totals("year", journal, rules, LISBON)):
        assert sum(total.mm or 0.0 for total in summed) == pytest.approx(everything)
        assert all(total.days_read <= total.days for total in summed)
    assert sum(event.depth_mm for event in events(journal, rules, LISBON)) == pytest.approx(everything)


@settings(max_examples=60)
@given(marks)
def test_no_instant_is_counted_twice(typed: list[tuple[int, int, float, float | None, str, bool]]) -> None:
    """Shares times periods add up to the time that any reading covers."""
    first = at("2025-12-01")
    hours: set[int] = set()
    records = []
    for start, length, low, _, gauge, _ in typed:
        hours.update(range(start, start + length))
        begin = first + timedelta(hours=start)
        records.append(Rain(low, low, begin, begin + timedelta(hours=length), gauge))
    counted = counting(write(*records), LISBON)
    covered = sum(known.share * (known.end - known.start).total_seconds() / 3600 for known in counted)
    assert covered == pytest.approx(len(hours))
