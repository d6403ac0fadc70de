"""Field cases on records: when rain is booked, what a reading leaves open, clocks that change, old sheets."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

import pytest

from tankdash.journal.daily import SheetRules
from tankdash.journal.entries import Entry, Rain
from tankdash.journal.lines import SheetError, Undecided
from tankdash.journal.sheets import plan_gauge
from tankdash.journal.store import Journal
from tankdash.keeping.chores.due import chores_at
from tankdash.keeping.entering.records import enter_rain
from tankdash.keeping.rain.events import events
from tankdash.keeping.rain.gauges import conflicts, readings
from tankdash.keeping.rain.rainfall import rainfall
from tankdash.keeping.rain.totals import totals
from tankdash.keeping.when import closing_day, day_hours, local_day, parse_time
from tankdash.site import load_text
from tankdash.site.model import RainRules, Site
from tankdash.units import QuantityError, parse_rain

NOW = datetime(2026, 12, 31, 12, 0, tzinfo=UTC)
LISBON = ZoneInfo("Europe/Lisbon")

GARDEN = """
site: A garden
timezone: Europe/Lisbon
units: {units}
datum: slab by the door
tanks:
  north: {{base: 20 cm, shape: {{kind: straight, holds: 1000 L, at: 100 cm}}, brim: 100 cm}}
outlets:
  tap: {{tank: north, at: 10 cm}}
chores:
  drain: {{label: Empty the pipe, after_rain: {{at_least: 5 mm}}}}
rain: {{booked: {booked}}}
"""


def garden(units: str = "metric", booked: str = "previous day") -> Site:
    return load_text(GARDEN.format(units=units, booked=booked))


def journal(site: Site, *lines: tuple[str, str, dict[str, object]]) -> list[Entry]:
    """Return the readings typed: when, how much, and what was said of the period."""
    entries: list[Entry] = []
    for number, (typed, depth, more) in enumerate(lines, start=1):
        at = parse_time(typed, site.zone, NOW)
        record = enter_rain(site, depth, at, NOW, entries=entries, **more)  # type: ignore[arg-type]
        entries.append(Entry(number, f"u{number}", "rain", at, NOW, record, depth))
    return entries


def month_figures(site: Site, entries: list[Entry]) -> dict[str, tuple[float | None, float | None]]:
    answer = rainfall(entries, site.rain, site.zone)
    return {month["month"]: (month["low_mm"], month["high_mm"]) for month in answer["months"]}


# --- F43: read at nine -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("booked", "month"), [("previous day", "2026-05"), ("same day", "2026-06")])
def test_F43_the_rule_decides_the_month_and_the_year_stays_the_same(booked: str, month: str) -> None:
    site = garden(booked=booked)
    entries = journal(site, ("2026-06-01 09:00", "12 mm", {}))
    assert month_figures(site, entries) == {month: (12.0, 12.0)}
    answer = rainfall(entries, site.rain, site.zone)
    assert answer["booked"] == booked
    assert [(year["year"], year["mm"]) for year in answer["years"]] == [("2026", 12.0)]


def test_F43_the_chore_is_opened_when_the_rain_is_known_and_not_the_day_before() -> None:
    site = garden()
    entries = journal(site, ("2026-06-01 09:00", "12 mm", {}))
    (state,) = chores_at(site, entries, parse_time("2026-06-01 09:05", site.zone, NOW))
    assert (state.state, state.since) == ("due", parse_time("2026-06-01 09:00", site.zone, NOW))


# --- F45: over, from-to, trace ---------------------------------------------------------------------------


def test_F45_a_lower_bound_leaves_the_month_open_above() -> None:
    site = garden("us")
    entries = journal(site, ("2026-06-02 09:00", ">5.5 in", {}), ("2026-06-05 09:00", "0.42 in", {}))
    (june,) = totals("month", entries, RainRules(booked="same day"), site.zone)
    assert june.low_mm == pytest.approx((5.5 + 0.42) * 25.4)
    assert june.is_open


def test_F45_a_range_stays_a_range_in_month_and_event() -> None:
    site = garden()
    entries = journal(site, ("2026-06-03 09:00", "60-90 mm", {"days": 2}), ("2026-06-05 09:00", "5 mm", {}))
    assert month_figures(site, entries)["2026-06"] == (65.0, 95.0)
    event = events(entries, site.rain, site.zone)[0]
    assert (event.low_mm, event.high_mm) == (60.0, 90.0)


def test_F45_a_gauge_left_in_that_then_overtopped_counts_from_what_it_showed() -> None:
    site = garden("us")
    entries = journal(
        site, ("2026-06-02 09:00", "2.25 in", {"left_in": True}), ("2026-06-03 09:00", ">5.5 in", {})
    )
    known = readings(entries, site.zone)
    assert known[1].low_mm == pytest.approx((5.5 - 2.25) * 25.4)
    (june,) = totals("month", entries, RainRules(booked="same day"), site.zone)
    assert (june.low_mm, june.is_open) == (pytest.approx(5.5 * 25.4), True)


def test_F45_a_trace_is_a_wet_day_and_adds_nothing() -> None:
    """A trace is a wet day that adds 0 (R1d: NWS cooperative observing, P and M)."""
    site = garden()
    entries = journal(site, ("2026-06-02 09:00", "trace", {}), ("2026-06-03 09:00", "0 mm", {}))
    (june,) = totals("month", entries, RainRules(booked="same day"), site.zone)
    assert (june.mm, june.wet_days, june.days_read) == (0.0, 1, 2)


def test_F45_wet_days_are_counted_apart_from_the_amount() -> None:
    """A year of 366 days: 124 dry, 128 under 0.1 in, the rest 0.1 in or more (D)."""
    start = datetime(2024, 1, 1, tzinfo=UTC)
    depths = [0.0] * 124 + [0.04] * 128 + [(52.96 - 128 * 0.04) / 114] * 114
    entries = [
        Entry(
            number, f"u{number}", "rain", end, end, Rain(d * 25.4, d * 25.4, end - timedelta(days=1), end), ""
        )
        for number, d in enumerate(depths, start=1)
        for end in [start + timedelta(days=number)]
    ]
    zone = ZoneInfo("UTC")
    (year,) = totals("year", entries, RainRules(), zone)
    assert (year.days_read, year.wet_days, year.is_complete) == (366, 242, True)
    assert year.mm == pytest.approx(52.96 * 25.4)
    (larger,) = totals("year", entries, RainRules(wet_mm=2.54), zone)
    assert larger.wet_days == 114
    # Leaving the small days out would lose 5.1 in, a tenth of the year.
    kept = sum(day.mm or 0.0 for day in totals("day", entries, RainRules(), zone) if (day.mm or 0.0) >= 2.54)
    assert (year.mm or 0.0) - kept == pytest.approx(5.12 * 25.4)


def test_F45_a_range_the_wrong_way_round_is_refused() -> None:
    with pytest.raises(QuantityError):
        parse_rain("90-60 mm", "metric")


# --- F47: clocks -----------------------------------------------------------------------------------------


def test_F47_rain_just_before_midnight_is_one_days_in_every_table() -> None:
    for booked in ("previous day", "same day"):
        site = garden(booked=booked)
        start, end = (parse_time(typed, site.zone, NOW) for typed in ("2026-06-01 23:55", "2026-06-02 00:00"))
        entries = journal(site, ("2026-06-02 00:00", "3 mm", {"start": start, "end": end}))
        assert closing_day(end, site.zone) == date(2026, 6, 1)
        assert [day.first for day in totals("day", entries, site.rain, site.zone)] == [date(2026, 6, 1)]


def test_F47_a_day_of_rain_over_a_clock_change_is_a_day() -> None:
    site = garden()
    entries = journal(
        site,
        ("2026-03-28 09:00", "1 mm", {}),
        ("2026-03-29 09:00", "2 mm", {}),
        ("2026-03-30 09:00", "4 mm", {}),
    )
    periods = [entry.record.end - entry.record.start for entry in entries if isinstance(entry.record, Rain)]
    assert [period / timedelta(hours=1) for period in periods] == [24.0, 23.0, 24.0]
    assert [day.mm for day in totals("day", entries, site.rain, site.zone)] == [1.0, 2.0, 4.0]
    assert day_hours(date(2026, 3, 29), site.zone) == 23.0


def test_F47_the_doubled_hour_of_autumn_holds_two_readings_in_their_order() -> None:
    site = garden()
    first, second = (parse_time("2026-10-25 01:30", site.zone, NOW, fold=fold) for fold in (0, 1))
    one = enter_rain(site, "2 mm", first, NOW)
    entries = [Entry(1, "u1", "rain", first, NOW, one, "")]
    two = enter_rain(site, "3 mm", second, NOW, entries=entries)
    entries.append(Entry(2, "u2", "rain", second, NOW, two, ""))
    assert two.end - two.start == timedelta(hours=1)
    assert conflicts(entries, site.zone) == []
    (event,) = events(entries, site.rain, site.zone)
    assert event.depth_mm == 5.0
    assert local_day(event.end, site.zone) == date(2026, 10, 25)


# --- F48: a sheet of old rain ----------------------------------------------------------------------------


def brought_in(
    folder: Path, text: str, order: Literal["day first", "month first"] | None = None
) -> list[Entry]:
    sheet = folder / "old.csv"
    sheet.write_text(text, encoding="utf-8")
    rules = SheetRules(zone=LISBON, units="metric", unit="mm", date_order=order)
    with Journal.open(folder / "a.journal.db") as book:
        plan = plan_gauge(sheet, rules, "gauge", book, NOW)
        assert book.entries() == []  # counted first, nothing written
        plan.write(book, NOW)
        return list(book.entries())


@pytest.mark.parametrize(
    ("dates", "months"),
    [
        (("13/02/2026", "03/04/2026"), ["2026-02", "2026-03", "2026-04"]),  # day first
        (("02/13/2026", "04/03/2026"), ["2026-02", "2026-03", "2026-04"]),  # month first
        (("2026-02-13", "2026-04-03"), ["2026-02", "2026-03", "2026-04"]),
    ],
)
def test_F48_a_sheet_gives_month_totals_by_the_order_its_column_shows(
    tmp_path: Path, dates: tuple[str, str], months: list[str]
) -> None:
    entries = brought_in(tmp_path, f"date;rain mm\n{dates[0]};3,5\n{dates[1]};10\n")
    answer = rainfall(entries, RainRules(), LISBON)
    assert [month["month"] for month in answer["months"]] == months
    assert [month["mm"] for month in answer["months"]] == [3.5, None, 10.0]  # March: unknown, not dry


def test_F48_an_order_nobody_can_tell_is_asked_and_no_rows_are_an_error(tmp_path: Path) -> None:
    with pytest.raises(Undecided):
        brought_in(tmp_path, "date;rain mm\n01/02/2026;3,5\n03/04/2026;1\n")
    with pytest.raises(SheetError):
        brought_in(tmp_path, "date;rain mm\n")
