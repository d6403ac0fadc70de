"""More tanks or more roof: the garden's own beds and roofs over a record, against a plain day-by-day loop."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from importlib import resources

import pytest

from tankdash.planning.choices import NoRecord, ladder, ordinal, sizing
from tankdash.planning.past import PastRain, choose
from tankdash.planning.sizing import Cancelled
from tankdash.site import load_text

TEXT = """
site: Three totes
timezone: UTC
units: metric
datum: top of the slab
tanks:
  north: {base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm, overflow: 95 cm}
  middle: {base: 17 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm}
  south: {base: 23 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 105 cm}
links:
  a: {join: [north, middle], ports: 8 cm}
  b: {join: [middle, south], ports: 8 cm}
outlets: {tap: {tank: south, at: 10 cm}}
roofs: {shed: {area: 24 m2, runoff: 0.9, first_loss: 0.5 mm, fills: north, first_flush: {holds: 8 L, empties: by hand}}}
beds:
  tomatoes: {area: 20 m2, need: 25 mm/week, from: tap, efficiency: 0.9, months: [4, 5, 6, 7, 8, 9, 10]}
  pots: {need: 12 L/day, from: tap, months: [5, 6, 7, 8, 9]}
"""
SITE = load_text(TEXT)
LAYOUT = SITE.layout(date(2026, 6, 1))


def seattle() -> PastRain:
    """Daily rain of Seattle 2012-2015 as `vega_datasets` ships it (open data, P by counting)."""
    rows = (resources.files("vega_datasets") / "_data" / "seattle-weather.csv").read_text().splitlines()[1:]
    cells = [row.split(",") for row in rows]
    return PastRain(
        "seattle", {date.fromisoformat(day.replace("/", "-")): float(mm) for day, mm, *_ in cells}
    )


def plain(storage: float, area: float = 24.0) -> tuple[float, int, int, float]:
    """One day after the other, everything written out: share of water, days served, days wanted, spill, [L]."""
    held = given = wanted = spilled = soil = 0.0
    served = days = 0
    for day, mm in sorted(seattle().mm.items()):
        runs_off = max(0.0, mm - 0.5) * area * 0.9
        arrives = max(0.0, runs_off - 8.0)
        bed = 20 * 25 / 7
        soil = min(7 * bed, soil + 20 * mm)
        wants = (max(0.0, bed - soil) / 0.9 if 4 <= day.month <= 10 else 0.0) + (
            12.0 if 5 <= day.month <= 9 else 0.0
        )
        soil = max(0.0, soil - bed)
        gave = min(wants, held)
        after = min(held + arrives - gave, storage - gave)
        spilled += held + arrives - gave - after
        held = after
        given, wanted = given + gave, wanted + wants
        days += wants > 0
        served += wants > 0 and gave >= wants
    return given / wanted, served, days, spilled


def test_every_choice_is_the_plain_run_over_open_rain():
    answer = sizing(SITE, LAYOUT, seattle(), added=[0.64, 1.0], roof_area=40.0)
    assert [choice.name for choice in answer.choices] == ["as it is", "640 L more", "1640 L more"] * 2
    assert answer.roofs == [24.0, 40.0]
    years = 1461 / 365.25
    for choice in answer.choices:
        share, served, days, spilled = plain(choice.result.storage * 1000, choice.roof)
        assert choice.result.volume_reliability == pytest.approx(share)
        assert choice.result.day_reliability == pytest.approx(served / days)
        assert choice.result.spilled_per_year * 1000 == pytest.approx(spilled / years)


def test_as_it_is_means_what_the_outlets_reach_when_full():
    """The worked example: 2850 L when full, 390 L of them below the outlet and the links."""
    answer = sizing(SITE, LAYOUT, seattle())
    assert answer.choices[0].result.storage * 1000 == pytest.approx(2460.0)
    assert [choice.name for choice in answer.choices[:3]] == ["as it is", "a fourth tank", "a fifth tank"]
    assert answer.tank * 1000 == pytest.approx(1050.0)


def test_more_storage_or_roof_never_serves_less():
    answer = sizing(SITE, LAYOUT, seattle(), roof_area=60.0)
    for area in answer.roofs:
        shares = [choice.result.volume_reliability for choice in answer.of_roof(area)]
        assert shares == sorted(shares)
    small, large = (answer.of_roof(area)[0].result for area in answer.roofs)
    assert large.volume_reliability >= small.volume_reliability
    curve = [result.day_reliability for result in answer.curve]
    assert curve == sorted(curve)


def test_yield_before_spillage_never_serves_less():
    after, before = (sizing(SITE, LAYOUT, seattle(), rule=rule).choices[0].result for rule in ("YAS", "YBS"))
    assert before.volume_reliability >= after.volume_reliability


def test_the_knee_counts_tanks_in_words():
    words = sizing(SITE, LAYOUT, seattle()).knee(24.0)
    assert "dry days a year; a fourth tank:" in words


def test_the_water_closes_over_the_whole_record():
    """What the roof brings is given, spilled, or still there: at most one store's worth is unaccounted."""
    answer = sizing(SITE, LAYOUT, seattle())
    years = 1461 / 365.25
    [(_, caught)] = answer.caught_per_year
    for choice in answer.choices:
        given = choice.result.volume_reliability * answer.need_per_year
        left = (caught - given - choice.result.spilled_per_year) * years
        assert -1e-9 <= left <= choice.result.storage + 1e-9


@pytest.mark.parametrize(
    ("record", "sentence"),
    [
        (PastRain("short", {date(2020, 1, 1) + timedelta(days=day): 1.0 for day in range(300)}), "300 days"),
        (
            PastRain("holes", {date(2020, 1, 1) + timedelta(days=2 * day): 1.0 for day in range(400)}),
            "lacks 399 of 799",
        ),
        (PastRain("none", {}), "0 days"),
    ],
)
def test_a_record_that_says_too_little_is_refused(record, sentence):
    with pytest.raises(NoRecord, match=sentence):
        sizing(SITE, LAYOUT, record)


def test_gaps_are_counted_and_taken_as_dry():
    record = seattle()
    holed = PastRain("holed", {day: mm for day, mm in record.mm.items() if day.day != 13})
    assert holed.missing == 48
    assert len(holed.in_a_row()) == 1461
    whole, less = (sizing(SITE, LAYOUT, one).choices[0].result for one in (record, holed))
    assert less.volume_reliability < whole.volume_reliability


def test_without_beds_or_roofs_it_says_what_is_missing():
    with pytest.raises(NoRecord, match="No bed"):
        sizing(replace(SITE, beds={}), LAYOUT, seattle())
    roofless = replace(LAYOUT, roofs={})
    with pytest.raises(NoRecord, match="No roof"):
        sizing(SITE, roofless, seattle())
    assert sizing(SITE, roofless, seattle(), roof_area=30.0).roofs == [30.0]


def test_a_run_can_be_stopped():
    with pytest.raises(Cancelled):
        sizing(SITE, LAYOUT, seattle(), progress=lambda share: False)


def test_progress_rises_to_the_end_over_all_roofs():
    told = []
    sizing(SITE, LAYOUT, seattle(), roof_area=60.0, progress=lambda share: told.append(share) or True)
    assert told[-1] == pytest.approx(1.0)
    assert all(0.0 <= share <= 1.0 for share in told)


def test_tanks_to_add_stand_one_upon_the_other():
    names, volumes = ladder(LAYOUT, 2.46, [1.0, 0.5], "metric")
    assert names == ["as it is", "1000 L more", "1500 L more"]
    assert volumes == pytest.approx([2.46, 3.46, 3.96])
    assert [ordinal(number) for number in (2, 12, 13, 22, 111)] == [
        "second",
        "twelfth",
        "13th",
        "22nd",
        "111th",
    ]


def test_the_station_named_is_the_one_used():
    records = {"a": PastRain("a", {}), "b": PastRain("b", {})}
    assert choose(records, "b") is records["b"]
    assert choose(records, None) is records["a"]
    assert choose({}, None) is None
    with pytest.raises(ValueError, match="no past rain of 'c'"):
        choose(records, "c")


def test_a_long_record_is_looked_through_a_few_times_and_not_once_a_day():
    """A century took a minute when the first day was looked for anew on each of its 36 500 days."""

    class Counted(dict):
        looks = 0

        def __iter__(self):
            Counted.looks += 1
            return super().__iter__()

    first = date(1926, 1, 1)
    record = PastRain("century", Counted((first + timedelta(days=day), 1.0) for day in range(2000)))
    assert record.in_a_row() == [1.0] * 2000
    assert Counted.looks <= 3
