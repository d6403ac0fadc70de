"""Sizing against a plain day-by-day loop, worked examples and open daily rain."""

from __future__ import annotations

from importlib import resources

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.planning.choices import inflow_of
from tankdash.planning.sizing import BLOCK_DAYS, Cancelled, SizeResult, knee_in_words, run_sizes
from tankdash.water.daily import balance
from tankdash.water.model import Roof


def plain_run(inflow, demand, storage, rule, held):
    """One store, one day after the other: the rule as it is written, nothing clever."""
    given = spilled = 0.0
    served = wanted_days = 0
    for arrives, wants in zip(inflow, demand, strict=True):
        if rule == "YAS":
            gave = min(wants, held)
            after = min(held + arrives - gave, storage - gave)
        else:
            gave = min(wants, held + arrives)
            after = min(held + arrives - gave, storage)
        spilled += held + arrives - gave - after
        held = after
        given += gave
        wanted_days += wants > 0
        served += wants > 0 and gave >= wants
    return given, spilled, served, wanted_days


S1_INFLOW, S1_DEMAND = [0, 60, 0, 300, 0, 0], [40] * 6


@pytest.mark.parametrize(
    ("rule", "volume_reliability", "days", "spill"),
    [("YAS", 0.7917, 4 / 6, 120.0), ("YBS", 0.9583, 5 / 6, 60.0)],
)
def test_worked_example_of_both_rules(rule, volume_reliability, days, spill):
    """Reference S1 (D from the rules of Jenkins et al. 1978): S 200, but begun with 50 instead of empty or full.

    The opening 50 is put in as an inflow on a day before the first, without a need.
    """
    [result] = run_sizes([50, *S1_INFLOW], [0, *S1_DEMAND], [200.0], rule=rule)
    assert result.volume_reliability == pytest.approx(volume_reliability, abs=5e-5)
    assert result.day_reliability == pytest.approx(days)
    assert result.spilled_per_year * result.years == pytest.approx(spill)


@given(
    days=st.lists(
        st.tuples(st.floats(0, 500), st.sampled_from([0.0, 30.0, 55.5])), min_size=1, max_size=3 * BLOCK_DAYS
    ),
    storages=st.lists(st.floats(0, 2000), min_size=1, max_size=4),
    start=st.sampled_from(["empty", "full"]),
    rule=st.sampled_from(["YAS", "YBS"]),
)
@settings(max_examples=60, deadline=None)
def test_blocks_joined_are_the_plain_run(days, storages, start, rule):
    inflow, demand = zip(*days, strict=True)
    for storage, result in zip(
        storages, run_sizes(inflow, demand, storages, start=start, rule=rule), strict=True
    ):
        given, spilled, served, wanted_days = plain_run(
            inflow, demand, storage, rule, storage if start == "full" else 0.0
        )
        assert result.volume_reliability == pytest.approx(given / sum(demand) if sum(demand) else 1.0)
        assert result.day_reliability == (served / wanted_days if wanted_days else 1.0)
        assert result.spilled_per_year * result.years == pytest.approx(spilled, abs=1e-6 * (1 + sum(inflow)))


def seattle_rain_mm() -> list[float]:
    """Daily rain of Seattle 2012-2015 as `vega_datasets` ships it (open data, P by counting)."""
    rows = (resources.files("vega_datasets") / "_data" / "seattle-weather.csv").read_text().splitlines()
    place = rows[0].split(",").index("precipitation")
    return [float(row.split(",")[place]) for row in rows[1:]]


@pytest.mark.parametrize("rule", ["YAS", "YBS"])
def test_a_day_short_only_by_rounding_is_served(rule):
    """Three times 0.1 of 0.3: the last tenth is a hair smaller in floating point than the tenth asked for."""
    assert 0.3 - 0.1 - 0.1 < 0.1
    [result] = run_sizes([0.3, 0.0, 0.0, 0.0], [0.0, 0.1, 0.1, 0.1], [1.0], rule=rule)
    assert (result.day_reliability, result.dry_days_per_year) == (1.0, 0.0)
    stepped = balance(1.0, 0.3, [0.0] * 3, [0.1] * 3, rule)
    assert stepped.days_met == 3


def test_the_seattle_table_is_the_one_counted():
    """Reference R7d: 1461 days, 4426.0 mm (P, counted)."""
    rain = seattle_rain_mm()
    assert len(rain) == 1461
    assert sum(rain) == pytest.approx(4426.0, abs=0.05)


def test_four_years_of_open_rain_against_a_plain_loop():
    """24 m2 of roof at 0.9 and 12 m2 of bed at 25 mm a week from April to October, ten sizes."""
    rain = seattle_rain_mm()
    inflow = [24 * 0.9 * mm for mm in rain]
    demand = [12 * 25 / 7 if 91 <= day % 365 <= 304 else 0.0 for day in range(len(rain))]
    storages = [500.0 * step for step in range(1, 11)]
    results = run_sizes(inflow, demand, storages)
    for storage, result in zip(storages, results, strict=True):
        given, _, served, wanted_days = plain_run(inflow, demand, storage, "YAS", 0.0)
        assert result.volume_reliability == pytest.approx(given / sum(demand), rel=1e-12)
        assert result.day_reliability == served / wanted_days
    reliabilities = [result.volume_reliability for result in results]
    assert reliabilities == sorted(reliabilities)


def test_three_hundred_and_fifty_gallons_at_a_monthly_step_shows_what_the_rule_alone_does():
    """Reference S3 (D): 400 sq ft x 0.9, 550 gal, 0.623 gal/sq ft/in: YAS 0.546, YBS 0.779."""
    rain_in = [3.0, 2.5, 3.0, 2.0, 1.5, 0.5, 0.2, 0.3, 1.0, 2.5, 3.0, 3.5]
    demand = [0, 0, 100, 200, 300, 400, 450, 400, 200, 100, 0, 0]
    inflow = [400 * 0.9 * 0.623 * inches for inches in rain_in]
    [after] = run_sizes(inflow, demand, [550.0], rule="YAS")
    [before] = run_sizes(inflow, demand, [550.0], rule="YBS")
    assert after.volume_reliability == pytest.approx(0.546, abs=5e-4)
    assert before.volume_reliability == pytest.approx(0.779, abs=5e-4)


@pytest.mark.parametrize("bad", [[], [1.0], [-1.0, 0.0], [float("nan"), 0.0], [float("inf"), 0.0]])
def test_rain_that_is_no_record_is_refused(bad):
    with pytest.raises(ValueError, match=r"days|number"):
        run_sizes(bad, [1.0, 1.0], [10.0])


def test_a_long_run_can_be_stopped():
    with pytest.raises(Cancelled):
        run_sizes(np.ones(5000), np.ones(5000), [10.0], progress=lambda share: False)


def result_with(dry_days: float) -> SizeResult:
    return SizeResult(1.0, 0.9, 0.9, dry_days, 0.0, 10.0)


def test_the_knee_is_said_in_words():
    words = knee_in_words(
        [result_with(41), result_with(29), result_with(26), result_with(25)],
        ["as it is", "one tote more", "two more", "three more"],
    )
    assert words.startswith("As it is: 41 dry days a year; one tote more: 29; two more: 26; three more: 25.")
    assert "After one tote more" in words


def test_steps_that_save_no_day_are_not_listed_one_by_one():
    words = knee_in_words(
        [result_with(21), result_with(7), result_with(2), result_with(1.9), result_with(1.8)],
        ["as it is", "a fourth tank", "a fifth tank", "a sixth tank", "a seventh tank"],
    )
    assert words.startswith(
        "As it is: 21 dry days a year; a fourth tank: 7; a fifth tank: 2; more saves no further day."
    )
    assert "seventh" not in words


def test_where_the_roof_is_the_limit_the_words_say_so():
    words = knee_in_words([result_with(60), result_with(60)], ["as it is", "one tote more"])
    assert "the roof, not the store, is the limit" in words


def test_a_knee_at_the_last_size_compared_is_none():
    """Nothing was reckoned beyond it, so nothing can be said of what comes after."""
    words = knee_in_words(
        [result_with(40), result_with(30), result_with(20)], ["as it is", "one tote more", "two more"]
    )
    assert words == "As it is: 40 dry days a year; one tote more: 30; two more: 20."


def test_what_changes_nothing_is_told_once():
    words = knee_in_words([result_with(60), result_with(60), result_with(60)], ["as it is", "one", "two"])
    assert words == (
        "As it is: 60 dry days a year. More storage changes little: the roof, not the store, is the limit."
    )


def test_S2_nothing_is_made_or_lost_at_any_size():
    """Reference S2 (law): what was there and came in is what was given, what spilled and what is left."""
    rain = seattle_rain_mm()
    inflow, demand = [24 * 0.9 * mm for mm in rain], [43.0] * len(rain)
    for rule in ("YAS", "YBS"):
        for result in run_sizes(inflow, demand, [0.0, 300.0, 2460.0, 1e6], start="full", rule=rule):
            given = result.volume_reliability * sum(demand)
            left = result.storage + sum(inflow) - given - result.spilled_per_year * result.years
            assert -1e-6 <= left <= result.storage + 1e-6


def test_S4_the_five_per_cent_rule_is_eighteen_days_of_an_even_draw():
    """Reference S4 (M): Centre for Alternative Technology; BS 8515:2009, intermediate approach.

    100 m2 under 800 mm a year at 0.75 and 0.90 bring 54 000 L; a store of 5 % is 2700 L, which an even draw of the
    year's yield empties in 18.25 days.
    """
    roof = Roof("roof", 100.0, "tank", runoff=0.75, screen=0.90)
    year = inflow_of([roof], [800.0 / 100] * 100 + [0.0] * 265)
    assert sum(year) * 1000 == pytest.approx(54_000.0)
    store, a_day = 0.05 * sum(year), sum(year) / 365
    assert store * 1000 == pytest.approx(2700.0)
    for days in (18, 19):
        [result] = run_sizes([0.0] * days, [a_day] * days, [store], start="full")
        assert (result.day_reliability == 1.0) == (days == 18)
    [result] = run_sizes([0.0] * 19, [a_day] * 19, [store], start="full")
    assert result.volume_reliability * 19 == pytest.approx(18.25)


def test_S5_two_people_through_ninety_dry_days():
    """Reference S5 (P): Home Power: 2 people x 35 gal x 90 dry days with 1000 gal coming in take 5300 gal.

    The store is full on the first dry morning, and there is room for what comes in.
    """
    comes_in = [1000.0 / 30 if 30 <= day < 60 else 0.0 for day in range(90)]
    just, less = run_sizes(comes_in, [2 * 35.0] * 90, [5300.0, 5290.0], start="full")
    assert just.day_reliability == 1.0
    assert less.day_reliability == pytest.approx(89 / 90)
