"""Beds that name a crop, and beds with emitters: needs by FAO-56 from typed or imported temperatures, flow by head."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from tankdash.journal.drafts import HistoryValue
from tankdash.journal.entries import Dips, Imported, TankDip
from tankdash.journal.store import Journal
from tankdash.keeping.desk import Desk
from tankdash.planning.need import drawn_each_day, need_on, soil_credit
from tankdash.planning.outlook import outlook
from tankdash.site import load_text
from tankdash.site.crops import month_needs
from tankdash.site.model import Emitters
from tankdash.site.problems import SiteError
from tankdash.water.openings import emitter_head

LOWS = [2, 3, 5, 7, 11, 14, 14.8, 14, 11, 8, 5, 3]
HIGHS = [7, 9, 14, 17, 21, 25, 26.6, 26, 22, 17, 11, 8]
TEXT = """
site: A garden near the river
timezone: UTC
units: metric
datum: the step
tanks: {tank: {base: 1 m, shape: {kind: straight, holds: 2000 L, at: 100 cm}}}
outlets: {tap: {tank: tank, at: 0 cm}}
beds:
  tomatoes: {crop: tomato, area: 10 m2, from: tap, efficiency: 0.9, months: [5, 6, 7, 8, 9]}
  pots: {need: 10 L/day, from: tap, height: 0 cm, emitters: {gives: 2 L/h, at: 1 m, exponent: 0.5, count: 20}}
climate: {latitude: 45.7, low: [LOWS], high: [HIGHS]}
"""
TYPED = TEXT.replace("LOWS", ", ".join(f"{one} C" for one in LOWS)).replace(
    "HIGHS", ", ".join(f"{one} C" for one in HIGHS)
)
UNTYPED = TEXT.replace(", low: [LOWS], high: [HIGHS]", "")
NOW = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)


def test_july_at_lyon_is_the_printed_five_times_the_coefficient():
    """FAO-56 Ex. 20 (M): 5.0 mm/d from 26.6/14.8 C; Table 12 (M): tomato 1.15 at mid-season."""
    july = month_needs("tomato", 45.72, LOWS, HIGHS)[6]
    assert july * 1000 == pytest.approx(5.04 * 1.15, rel=0.01)


def test_a_crop_asks_for_more_in_july_than_in_may_and_for_nothing_out_of_season():
    bed = load_text(TYPED).beds["tomatoes"]
    may, july, winter = (need_on(bed, date(2026, month, 10)) for month in (5, 7, 1))
    assert july * 1000 == pytest.approx(5.04 * 1.15 * 10 / 0.9, rel=0.01)
    assert 0.5 * july < may < july
    assert winter == 0.0


def test_rain_on_a_crop_is_held_for_a_week_of_its_own_need():
    bed = load_text(TYPED).beds["tomatoes"]
    day = date(2026, 7, 10)
    week = 7 * need_on(bed, day) * bed.efficiency
    assert soil_credit(bed, {day: 400.0}, day) == pytest.approx(week)
    drawn = drawn_each_day(bed, day, [400.0, *[0.0] * 9])
    assert drawn[:7] == pytest.approx([0.0] * 7, abs=1e-12)
    assert drawn[7] == pytest.approx(need_on(bed, day))


def test_the_south_has_its_summer_in_january():
    north = month_needs("bean", 35.0, [15.0] * 12, [28.0] * 12)
    south = month_needs("bean", -35.0, [15.0] * 12, [28.0] * 12)
    assert max(range(12), key=lambda month: north[month]) in (5, 6)
    assert max(range(12), key=lambda month: south[month]) in (0, 11)


def desk_with(text: str, path: Path, values: list[HistoryValue]) -> Desk:
    journal = Journal.open(path / "garden.journal.db")
    journal.add(
        Dips((TankDip("tank", 0.5, 0.5, 0.5),)), NOW - timedelta(hours=1), "dip tank 50cm", entered=NOW
    )
    if values:
        journal.add_history(values, Imported("days.csv", "history", "village", len(values)), NOW)
    return Desk(load_text(text), journal)


def test_imported_temperatures_do_as_well_as_typed_ones(tmp_path):
    days = [date(2023, 1, 1) + timedelta(days=number) for number in range(365)]
    values = [HistoryValue("village", day, "tmin", LOWS[day.month - 1], LOWS[day.month - 1]) for day in days]
    values += [
        HistoryValue("village", day, "tmax", HIGHS[day.month - 1], HIGHS[day.month - 1]) for day in days
    ]
    with desk_with(UNTYPED, tmp_path, values) as desk:
        imported = desk.site.beds["tomatoes"].by_month
        assert imported == pytest.approx(load_text(TYPED).beds["tomatoes"].by_month)
        assert outlook(desk, NOW).unknown_needs == []


def test_without_temperatures_the_need_is_unknown_and_not_nothing(tmp_path):
    with desk_with(UNTYPED, tmp_path, []) as desk:
        found = outlook(desk, NOW)
        assert found.unknown_needs == ["tomatoes"]
        answer = found.as_json()["beds"]["tomatoes"]
        assert answer["need_l_per_day"] is None
        assert answer["days_left"] is None


def test_half_a_year_of_temperatures_is_not_enough(tmp_path):
    days = [date(2023, 1, 1) + timedelta(days=number) for number in range(180)]
    values = [
        HistoryValue("village", day, element, 10.0, 10.0) for day in days for element in ("tmin", "tmax")
    ]
    with desk_with(UNTYPED, tmp_path, values) as desk:
        assert desk.site.beds["tomatoes"].by_month is None


def test_emitters_give_by_the_root_of_the_head(tmp_path):
    """Q = k H^x: 20 emitters of 2 L/h at 1 m give 40 x sqrt(1.5) L/h under 1.5 m."""
    with desk_with(TYPED, tmp_path, []) as desk:
        now, full = outlook(desk, NOW).flows("pots")
        assert now * 3.6e6 == pytest.approx(40 * 1.5**0.5)
        assert full * 3.6e6 == pytest.approx(40 * 2.0**0.5)
        assert outlook(desk, NOW).flows("tomatoes") == (None, None)


def test_an_emitter_turned_round_is_the_head_of_the_manual():
    """FAO Irrigation Manual ex. 8 (P): x 0.42, 4 L/h at 10 m; 4.32 L/h take 12.0 m."""
    emitter = Emitters(4.0 / 3.6e6, 10.0, 0.42)
    assert emitter.flow(emitter_head(4.32, 4.0, 10.0, 0.42)) * 3.6e6 == pytest.approx(4.32)
    assert emitter.flow(12.0) * 3.6e6 == pytest.approx(4.32, abs=0.005)
    assert emitter.flow(0.0) == emitter.flow(-1.0) == 0.0


@pytest.mark.parametrize(
    ("found", "put", "sentence"),
    [
        ("crop: tomato,", "crop: tomatoe,", "beds.tomatoes.crop: 'tomatoe' is not known here"),
        ("crop: tomato,", "crop: tomato, need: 5 L/day,", "beds.tomatoes.crop: says the need a second time"),
        ("crop: tomato,", "", "beds.tomatoes: `need` is missing"),
        ("area: 10 m2,", "", "beds.tomatoes: `area` is missing; a crop goes with it"),
        ("latitude: 45.7", "latitude: 95", "climate.latitude: '95' is not a latitude"),
        ("latitude: 45.7", "latitude: -4 N", "is not a latitude"),
        ("latitude: 45.7, ", "", "climate: `latitude` is missing"),
        ("low: [2 C, ", "low: [", "climate.low: holds 11 values"),
        ("low: [2 C, ", "low: [20 C, ", "climate.low: of month 1 lies above the high"),
        ("low: [2 C, ", "low: [2, ", "does not say C or F"),
        ("gives: 2 L/h, ", "", "`gives` is missing"),
        ("gives: 2 L/h", "gives: 0 L/h", "must be above zero"),
        ("exponent: 0.5", "exponent: 2", "exponent"),
        ("climate: ", "climates: ", "did you mean"),
    ],
)
def test_a_bad_key_about_crops_is_told_with_its_place(found, put, sentence):
    assert found in TYPED
    with pytest.raises(SiteError) as refused:
        load_text(TYPED.replace(found, put, 1))
    assert sentence in str(refused.value)


def test_a_crop_without_a_climate_says_what_to_add():
    with pytest.raises(SiteError, match=r"add `climate: \{latitude: 41\.2\}`"):
        load_text(UNTYPED.replace("climate: {latitude: 45.7}", ""))


@pytest.mark.parametrize(
    ("written", "degrees"), [("-33.9", -33.9), ("33.9 S", -33.9), ("45.7 N", 45.7), ("0", 0.0)]
)
def test_a_latitude_may_say_its_half_of_the_globe(written, degrees):
    assert load_text(UNTYPED.replace("45.7", written)).climate.latitude == degrees
