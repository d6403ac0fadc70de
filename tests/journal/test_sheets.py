"""Old rain sheets: read by column, doubted by line, brought in once."""

from __future__ import annotations

import gzip
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankdash.journal.columns import Ambiguous, decide_decimal, read_dates, with_points
from tankdash.journal.daily import SheetRules, read_sheet
from tankdash.journal.entries import Rain
from tankdash.journal.ghcn import is_ghcn, plan_ghcn
from tankdash.journal.lines import SheetError, Undecided
from tankdash.journal.sheets import ImportPlan, plan_gauge, plan_history
from tankdash.journal.store import Journal

LISBON = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 6, 1, 12, 0, tzinfo=LISBON)
RULES = SheetRules(zone=LISBON, units="metric")


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    return Journal.open(tmp_path / "garden.journal.db")


def sheet(tmp_path: Path, text: str | bytes, name: str = "rain.csv") -> Path:
    path = tmp_path / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def gauge_plan(path: Path, journal: Journal, **said: object) -> ImportPlan:
    rules = SheetRules(zone=LISBON, units="metric", **said)  # type: ignore[arg-type]
    return plan_gauge(path, rules, "gauge", journal, NOW)


# F48: the column decides


def days(*cells: str) -> list[str]:
    dates = read_dates(list(enumerate(cells)))
    return [dates.days[n].isoformat() for n in range(len(cells))]


def test_F48_one_late_day_makes_the_column_day_first() -> None:
    assert days("13/02/2021", "03/04/2021") == ["2021-02-13", "2021-04-03"]


def test_F48_one_late_day_makes_the_column_month_first() -> None:
    assert days("02/13/2021", "04/03/2021") == ["2021-02-13", "2021-04-03"]


def test_F48_a_column_that_fits_both_orders_is_not_guessed() -> None:
    with pytest.raises(Ambiguous, match="line 0"):
        days("01/02/2021", "03/04/2021")


def test_F48_a_column_that_fits_neither_order_is_not_guessed() -> None:
    with pytest.raises(Ambiguous, match=r"line 0 .* line 1"):
        days("13/02/2021", "02/13/2021")


def test_year_first_and_days_equal_to_their_month_are_never_ambiguous() -> None:
    assert days("2021-01-02", "20210103", "2021/01/04", "05.05.2021", "2021-01-06 09:00") == [
        "2021-01-02",
        "2021-01-03",
        "2021-01-04",
        "2021-05-05",
        "2021-01-06",
    ]


@given(
    st.dates(date(1990, 1, 1), date(2020, 1, 1)),
    st.integers(40, 800),
    st.sampled_from(["%d/%m/%Y", "%m/%d/%Y"]),
)
def test_a_month_and_more_of_days_in_a_row_always_come_back(first: date, count: int, form: str) -> None:
    run = [first + timedelta(days=n) for n in range(count)]
    assert days(*(day.strftime(form) for day in run)) == [day.isoformat() for day in run]


def test_F48_a_comma_is_a_decimal_mark_or_is_asked_about() -> None:
    assert decide_decimal([(2, "3,5")], ";") == "comma"
    assert decide_decimal([(2, "1,234"), (3, "3,5")], ";") == "comma"
    assert decide_decimal([(2, "1,234"), (3, "0.5")], ",") == "point"
    assert decide_decimal([(2, "0,254")], ",") == "comma"
    assert decide_decimal([(2, "1.234,5"), (3, "7")], ";") == "comma"
    with pytest.raises(Ambiguous, match="line 2"):
        decide_decimal([(2, "1,234"), (3, "12")], ",")
    with pytest.raises(Ambiguous, match=r"line 2 .* line 3"):
        decide_decimal([(2, "3,5"), (3, "3.5")], ";")


@pytest.mark.parametrize(
    ("text", "mark", "plain"),
    [
        ("3,5 mm", "comma", "3.5 mm"),
        ("60-90,5", "comma", "60-90.5"),
        ("1,234.5", "point", "1234.5"),
        ("12,34", "point", None),
        ("3.5", "comma", None),
        (",5", "comma", ".5"),
    ],
)
def test_figures_are_written_with_a_point_or_not_at_all(text: str, mark: str, plain: str | None) -> None:
    assert with_points(text, mark) == plain  # type: ignore[arg-type]


# Whole sheets


def test_a_semicolon_sheet_with_commas_comes_in(tmp_path: Path, journal: Journal) -> None:
    path = sheet(tmp_path, "Datum;Regen mm\n13/02/2021;3,5\n14/02/2021;0\n15/02/2021;\n16/02/2021;12\n")
    plan = gauge_plan(path, journal)
    assert (plan.rows_read, plan.new, plan.skipped, plan.doubtful) == (4, 3, 1, 0)
    assert (plan.first, plan.last, plan.rain_mm) == (date(2021, 2, 13), date(2021, 2, 16), 15.5)
    assert journal.stamp() == 0, "nothing is written before it is told to"
    assert plan.write(journal, NOW) == 3
    rains = [entry.record for entry in journal.entries() if isinstance(entry.record, Rain)]
    assert [(rain.day, rain.low_mm, rain.gauge) for rain in rains] == [
        (date(2021, 2, 13), 3.5, "gauge"),
        (date(2021, 2, 14), 0.0, "gauge"),
        (date(2021, 2, 16), 12.0, "gauge"),
    ]
    assert rains[0].start.isoformat() == "2021-02-13T00:00:00+00:00"
    assert rains[0].end - rains[0].start == timedelta(days=1)


def test_nothing_comes_in_twice_and_undo_takes_the_whole_sheet_back(tmp_path: Path, journal: Journal) -> None:
    path = sheet(tmp_path, "date,rain mm\n2021-02-13,3.5\n2021-02-14,1\n")
    gauge_plan(path, journal).write(journal, NOW)
    again = gauge_plan(path, journal)
    assert (again.new, again.already, again.doubtful) == (0, 2, 0)
    assert again.write(journal, NOW) == 0
    longer = sheet(tmp_path, "date,rain mm\n2021-02-13,3.5\n2021-02-14,9\n2021-02-15,2\n", "longer.csv")
    plan = gauge_plan(longer, journal)
    assert (plan.new, plan.already, plan.doubtful) == (1, 1, 1)
    assert plan.doubts[0].line == 3
    assert "another depth" in plan.doubts[0].sentence
    journal.undo(NOW)
    assert journal.entries() == []
    assert gauge_plan(path, journal).new == 2


def test_F48_a_repeated_day_is_a_conflict_and_no_sum(tmp_path: Path, journal: Journal) -> None:
    path = sheet(tmp_path, "date,mm\n2021-02-13,3.5\n2021-02-14,1\n2021-02-13,4\n")
    plan = gauge_plan(path, journal)
    assert plan.new == 1
    assert [doubt.line for doubt in plan.doubts] == [2, 4]
    assert "2 times (lines 2, 4)" in plan.doubts[0].sentence


def test_doubtful_rows_are_named_with_their_lines(tmp_path: Path, journal: Journal) -> None:
    path = sheet(
        tmp_path,
        "date,rain (mm),remark\n2021-02-13,3.5,ok\n31/02/2021,1,\n2021-02-15,-2,\n2021-02-16,lots,\n"
        "2021-02-17,9999,\n\n2021-02-18\n2021-02-19,T,trace\n2021-02-20,90-60,\n2030-01-01,5,\n2021-02-21,60-90,\n",
    )
    plan = gauge_plan(path, journal)
    assert [doubt.line for doubt in plan.doubts] == [3, 4, 5, 6, 10, 11]
    assert [
        record.day.day for draft in plan.drafts if isinstance(record := draft.record, Rain) and record.day
    ] == [
        13,
        19,
        21,
    ]
    assert [record.trace for draft in plan.drafts if isinstance(record := draft.record, Rain)] == [
        False,
        True,
        False,
    ]
    assert plan.skipped == 1


@pytest.mark.parametrize(
    ("text", "option"),
    [
        ("date,rain mm\n01/02/2021,1\n03/04/2021,2\n", "--dates"),
        ("date;rain mm\n2021-02-01;1,234\n2021-02-02;2\n", "--decimal"),
        ("date,rain\n2021-02-01,1\n2021-02-02,2\n", "--unit"),
        ("date,rain mm,rain in\n2021-02-01,1,0.04\n", "--rain-column"),
        ("from day,to day,rain mm\n2021-02-01,2021-02-02,1\n", "--date-column"),
    ],
)
def test_what_can_be_read_in_two_ways_is_asked_about(tmp_path: Path, text: str, option: str) -> None:
    with pytest.raises(Undecided, match=option) as problem:
        read_sheet(sheet(tmp_path, text), RULES)
    assert problem.value.option == option


def test_the_owner_decides_what_the_sheet_does_not_say(tmp_path: Path, journal: Journal) -> None:
    path = sheet(tmp_path, "when,rain,soil\n01/02/2021,1,8\n03/04/2021,2,9\n")
    plan = gauge_plan(path, journal, date_order="month-first", unit="in", rain_column="rain")
    assert (plan.first, plan.last) == (date(2021, 1, 2), date(2021, 3, 4))
    assert plan.rain_mm == pytest.approx(3 * 25.4)
    with pytest.raises(SheetError, match="'snow' for --rain-column"):
        gauge_plan(path, journal, rain_column="snow", unit="in", date_order="day-first")


def test_a_reading_at_nine_is_booked_as_the_rule_says(tmp_path: Path, journal: Journal) -> None:
    path = sheet(tmp_path, "date,mm\n2021-06-01,12\n2021-06-02,0\n")
    back = gauge_plan(path, journal, read_at=time(9), booked="previous day").drafts[0]
    assert isinstance(back.record, Rain)
    assert back.record.day == date(2021, 5, 31)
    assert back.at.isoformat() == "2021-06-01T09:00:00+01:00"
    same = gauge_plan(path, journal, read_at=time(9), booked="same day").drafts[0]
    assert isinstance(same.record, Rain)
    assert same.record.day == date(2021, 6, 1)


def test_a_row_that_meets_a_reading_of_the_journal_is_doubtful(tmp_path: Path, journal: Journal) -> None:
    noon = datetime(2021, 2, 13, 12, 0, tzinfo=UTC)
    journal.add(Rain(8.0, 8.0, noon - timedelta(days=1), noon), noon, "rain 8 mm")
    plan = gauge_plan(sheet(tmp_path, "date,mm\n2021-02-13,3.5\n2021-02-14,1\n"), journal)
    assert plan.new == 1
    assert "entry 1" in plan.doubts[0].sentence


def test_a_sheet_without_a_heading_is_read_by_its_content(tmp_path: Path, journal: Journal) -> None:
    plan = gauge_plan(sheet(tmp_path, "2021-02-13\t3.5 mm\n2021-02-14\t0.1 in\n"), journal)
    assert plan.rain_mm == pytest.approx(3.5 + 2.54)


def test_history_keeps_past_days_apart_from_the_own_gauge(tmp_path: Path, journal: Journal) -> None:
    path = sheet(tmp_path, "date,mm\n2001-02-13,3.5\n2001-02-14,60-90\n2001-02-15,>140\n")
    plan = plan_history(path, RULES, "old", journal, NOW)
    assert (plan.new, plan.doubtful) == (2, 1)
    assert plan.write(journal, NOW) == 2
    assert not any(isinstance(entry.record, Rain) for entry in journal.entries())
    assert [(value.low, value.high) for value in journal.history("old")] == [(3.5, 3.5), (60.0, 90.0)]
    assert plan_history(path, RULES, "old", journal, NOW).already == 2


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "no comma, semicolon or tab"),
        (b"date,rain mm\n", "no row"),
        (b"nothing here\nat all\n", "no comma, semicolon or tab"),
        (b"a,b\n1,2\n", "no column of dates"),
        (b"date,what\n2021-02-01,x\n", "no column of rain"),
        (b"date,mm\n2021-02-01,lots\n2021-02-02,more\n", "no column of rain|not one of its 2 rows"),
        (b"date,mm\n2021-02-01,\n2021-02-02,\n", "not one of its 2 rows"),
        ("date,mm\n2021-02-01,1 é\n".encode("latin-1"), ":2: this is not UTF-8"),
        ("date,mm\n".encode("utf-16"), "UTF-16"),
        (b"date,mm\n2021-02-01,\x001\n", ":2: there is a NUL"),
        (b"date,mm\n" + b"9" * 500_000, ":2: the line is longer"),
        (b'date,mm\n2021-02-01,"1\n' + b"x" * 200_000, "a quote never closed"),
        (b"\x1f\x8bgarbage", "cannot be unpacked"),
        (gzip.compress(b"date,mm\n" + b"2021-02-01,1\n" * 100, mtime=0)[:-20], "cannot be unpacked"),
    ],
)
def test_a_file_that_is_no_sheet_ends_in_a_sentence(tmp_path: Path, content: bytes, sentence: str) -> None:
    path = sheet(tmp_path, content)
    with pytest.raises(SheetError, match=sentence) as problem:
        read_sheet(path, RULES)
    assert str(path) in str(problem.value)
    assert "\n" not in str(problem.value)


def test_a_byte_order_mark_and_gzip_are_no_obstacle(tmp_path: Path, journal: Journal) -> None:
    text = "\ufeffdate,mm\r\n2021-02-13,3.5\r\n".encode()
    assert gauge_plan(sheet(tmp_path, text), journal).new == 1
    assert gauge_plan(sheet(tmp_path, gzip.compress(text), "rain.csv.gz"), journal).new == 1


def test_a_packed_sheet_without_end_is_stopped(tmp_path: Path) -> None:
    path = sheet(
        tmp_path,
        gzip.compress(b"date,mm\n" + (b"2021-02-01,1" + b" " * 20_000 + b"\n") * 2_600),
        "bomb.csv.gz",
    )
    assert path.stat().st_size < 1_000_000
    with pytest.raises(SheetError, match="larger than 50 MB"):
        read_sheet(path, RULES)


# GHCN-Daily by-year rows. Layout and the first row: NOAA NCEI GHCN-Daily readme (P), R5d and R6d; the rest invented.

GHCN = """AE000041196,20190101,TMIN,140,,,S,
AE000041196,20190101,PRCP,254,,,S,0700
AE000041196,20190102,PRCP,0,T,,S,
AE000041196,20190103,PRCP,0,P,,S,
AE000041196,20190104,PRCP,88,,G,S,
AE000041196,20190105,PRCP,-9999,,,S,
AE000041196,20190105,TMAX,260,,,S,
AE000041196,20190105,TAVG,200,H,,S,
AE000041196,20190106,PRCP,-5,,,S,
AE000041196,20190106,PRCP
AE000041196,20190231,PRCP,5,,,S,
AE000041196,20190101,PRCP,999,,,S,
"""


def test_past_days_of_an_open_file_are_read_in_tenths(tmp_path: Path, journal: Journal) -> None:
    path = sheet(tmp_path, GHCN, "2019.csv")
    assert is_ghcn(path)
    plan = plan_ghcn(path, None, journal, NOW)
    figures = {(value.day.day, value.element): value.low for value in plan.values}
    assert figures == {
        (1, "tmin"): 14.0,
        (1, "rain"): pytest.approx(25.4),
        (2, "rain"): 0.0,
        (3, "rain"): 0.0,
        (5, "tmax"): 26.0,
    }
    assert [doubt.line for doubt in plan.doubts] == [5, 9, 10, 11, 12]
    assert (plan.rows_read, plan.skipped, plan.new) == (12, 2, 4)
    plan.write(journal, NOW)
    assert len(journal.history("AE000041196")) == 5
    again = plan_ghcn(path, "AE000041196", journal, NOW)
    assert (again.new, again.already) == (0, 5)


def test_a_file_of_many_stations_asks_which(tmp_path: Path, journal: Journal) -> None:
    path = sheet(tmp_path, gzip.compress((GHCN + GHCN.replace("AE0000", "ZZ0000")).encode()), "2019.csv.gz")
    with pytest.raises(Undecided, match=r"ZZ000041196.*--station"):
        plan_ghcn(path, None, journal, NOW)
    assert plan_ghcn(path, "ZZ000041196", journal, NOW).name == "ZZ000041196"
    with pytest.raises(SheetError, match="no day of station 'XX'"):
        plan_ghcn(path, "XX", journal, NOW)


def test_a_plain_sheet_is_not_taken_for_an_open_data_file(tmp_path: Path) -> None:
    assert not is_ghcn(sheet(tmp_path, "date,mm\n2021-02-13,3.5\n"))
    assert is_ghcn(sheet(tmp_path, "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"))


@given(
    st.binary(max_size=200)
    | st.text("0123456789/-.,;\t\"'<>Tmin \n", max_size=200).map(lambda text: b"date,mm\n" + text.encode())
)
def test_any_bytes_end_in_a_sheet_or_a_sentence(
    tmp_path_factory: pytest.TempPathFactory, content: bytes
) -> None:
    path = sheet(tmp_path_factory.getbasetemp(), content, "any.csv")
    try:
        assert read_sheet(path, RULES).days
    except SheetError as problem:
        assert "\n" not in str(problem)
