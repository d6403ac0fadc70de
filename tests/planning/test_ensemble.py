"""Today's water through past years of rain: against a plain reckoning, and honest about what the record lacks."""

from __future__ import annotations

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tankdash.planning.ensemble import caught_from, drawn_side_by_side, run_years
from tankdash.planning.need import drawn_each_day
from tankdash.planning.supply import supply
from tankdash.site.model import Bed, Placed, Site, SiteTank
from tankdash.units import parse_need
from tankdash.water.model import FirstFlush, Outlet, Roof, Tank
from tankdash.water.shapes import Straight

ROOF = Roof("shed", area=24.0, fills="north", runoff=0.9, first_loss=0.0005, first_flush=FirstFlush(0.008))
TODAY = date(2026, 6, 1)


def bed(need="25 mm/week", area=12.0, **more):
    return Bed("bed", "Bed", parse_need(need, "metric"), "tap", area=area, **more)


def years_of_rain(*years, wet=3):
    """Six millimetres every `wet` days of each year."""
    days = {}
    for year in years:
        day = date(year, 1, 1)
        while day.year == year:
            days[day] = 6.0 if day.toordinal() % wet == 0 else 0.0
            day += timedelta(days=1)
    return days


def run(history, **more):
    told = {"usable": 1.5, "usable_full": 2.46, "today": TODAY, "days": 90} | more
    return run_years(history, [ROOF], [bed()], **told)


def test_one_day_of_rain_brings_what_the_roof_gives_less_its_pipe():
    """(6 - 0.5) mm x 24 m2 x 0.9 - 8 L = 110.8 L (arithmetic on R13)."""
    assert caught_from([ROOF], 6.0) * 1000 == pytest.approx(110.8)
    assert caught_from([ROOF], 0.4) == 0.0


def test_litres_close_over_every_trace():
    history = years_of_rain(2019, 2020, 2021)
    result = run(history)
    assert [trace.year for trace in result.traces] == [2019, 2020, 2021]
    for trace in result.traces:
        brought = used = soil = 0.0
        held, daily = 1.5, 12.0 * 0.025 / 7
        for number in range(90):
            rain = history[TODAY.replace(year=trace.year) + timedelta(days=number)]
            soil = min(7 * daily, soil + rain / 1000 * 12.0)
            want, soil = max(0.0, daily - soil), max(0.0, soil - daily)
            used += min(want, held)
            brought += caught_from([ROOF], rain)
            held = trace.held[number]
        assert 1.5 + brought == pytest.approx(used + trace.spilled + trace.held[-1])


def test_a_dry_year_runs_dry_on_the_day_that_paper_says():
    """1.5 m3 at 42.857 L a day: the thirty-sixth day, number 35 from today, is the first not served."""
    history = dict.fromkeys(years_of_rain(2020), 0.0)
    [trace] = run(history).traces
    assert trace.first_dry == 35
    assert trace.dry_days == 90 - 35


@settings(deadline=None, max_examples=40)
@given(held=st.floats(0.01, 2.4), need=st.floats(5, 60), rained=st.floats(0, 40))
@example(held=2.4, need=5.0, rained=0.0)
def test_a_year_without_rain_ends_on_the_day_the_supply_names(held, need, rained):
    """The two reckonings of one bank without sills agree, with what recent rain still covers."""
    watered = bed(f"{need:.3f} mm/week")
    tank = Tank("north", Straight(1.0, 2.46), brim=2.46)
    site = Site(
        "A garden", ZoneInfo("UTC"), "metric", "the step", 0.005,
        tanks={"north": SiteTank(tank, "north")},
        outlets={"tap": Placed(Outlet("tap", "north", 0.0), "tap")},
        beds={"bed": watered},
    )  # fmt: skip
    alone = supply(site, site.layout(TODAY), {"north": held}, TODAY, {TODAY: rained})
    [trace] = run_years(
        dict.fromkeys(years_of_rain(2020, 2021), 0.0), [], [watered],
        usable=held, usable_full=2.46, today=TODAY, days=200, credit=alone.credit,
    ).traces[:1]  # fmt: skip
    days = alone.together.days
    if days >= 200:
        assert trace.first_dry is None
    elif abs(days - round(days)) > 1e-6:
        assert trace.first_dry == int(days)


@given(
    rains=st.lists(st.lists(st.floats(0, 60), min_size=30, max_size=30), min_size=1, max_size=4),
    soil=st.floats(0, 0.3),
)
def test_beds_side_by_side_are_watered_as_one_by_one(rains, soil):
    watered = bed(months=frozenset({6}), efficiency=0.8)
    plain = [drawn_each_day(watered, TODAY, rain, soil) for rain in rains]
    assert drawn_side_by_side(watered, TODAY, np.array(rains), soil) == pytest.approx(np.array(plain))


def test_the_dates_and_the_worst_year_are_told():
    history = years_of_rain(2018, wet=2) | dict.fromkeys(years_of_rain(2019, 2020), 0.0)
    history |= {day: 6.0 for day in history if day.year == 2019 and day > date(2019, 8, 1)}
    result = run(history)
    assert result.first_dry(0.5) == TODAY + timedelta(days=35)
    assert result.first_dry(1.0) is None
    assert result.worst.year == 2020
    assert result.spilled(1.0) == max(trace.spilled for trace in result.traces)


def test_share_of_dry_years_never_falls_with_time():
    history = (
        years_of_rain(2018, wet=2) | years_of_rain(2019, wet=9) | dict.fromkeys(years_of_rain(2020), 0.0)
    )
    result = run(history)
    shares = [result.dry_share(day) for day in range(90)]
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(2 / 3)


def test_a_year_with_a_missing_day_is_left_out_and_named():
    history = years_of_rain(2019, 2020)
    del history[date(2020, 7, 4)]
    result = run(history)
    assert [trace.year for trace in result.traces] == [2019]
    assert result.left_out == (2020,)


def test_a_span_over_new_year_needs_both_years():
    result = run(years_of_rain(2019, 2020), today=date(2026, 12, 1), days=60)
    assert [trace.year for trace in result.traces] == [2019]
    assert result.left_out == (2020,)


def test_without_a_record_there_is_no_chance_to_tell():
    result = run({})
    assert result.traces == ()
    assert result.dry_share(10) is None


def test_a_leap_day_begins_a_trace_in_every_year():
    result = run(years_of_rain(2019, 2020), today=date(2028, 2, 29), days=30)
    assert len(result.traces) == 2


def test_bands_are_the_ranked_years():
    history = years_of_rain(2018, wet=2) | years_of_rain(2019, wet=4) | years_of_rain(2020, wet=8)
    result = run(history)
    lowest, middle, highest = (result.band(share) for share in (0.0, 0.5, 1.0))
    for day in range(90):
        assert sorted(trace.held[day] for trace in result.traces) == pytest.approx(
            [lowest[day], middle[day], highest[day]]
        )
