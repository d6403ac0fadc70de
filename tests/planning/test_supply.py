"""How long the water lasts: the sums a keeper would do on paper, and what the layout does to them."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.planning.absence import away
from tankdash.planning.need import need_on, soil_credit
from tankdash.planning.supply import supply
from tankdash.planning.telling import lasting_words
from tankdash.site.model import Bed, Placed, Site, SiteTank
from tankdash.units import parse_need
from tankdash.water.model import Link, Outlet, Tank
from tankdash.water.shapes import Straight

TODAY = date(2026, 7, 1)


def garden(tanks, beds, outlets, links=()):
    return Site(
        name="A garden of the test",
        zone=ZoneInfo("UTC"),
        units="metric",
        datum="the doorstep",
        accuracy=0.005,
        tanks={tank.id: SiteTank(tank, tank.id) for tank in tanks},
        links={link.id: Placed(link, link.id) for link in links},
        outlets={outlet.id: Placed(outlet, outlet.id) for outlet in outlets},
        beds={bed.id: bed for bed in beds},
    )


def bed(need, *, area=None, **more):
    return Bed("bed", "The bed", parse_need(need, "metric"), "tap", area=area, **more)


def tank_of(litres, *, area=6.0, base=0.0, name="tank"):
    height = litres / 1000 / area
    return Tank(name, Straight(area, height), base=base, brim=height)


def lasting(site, contents, **more):
    return supply(site, site.layout(TODAY), contents, TODAY, **more)


def test_F32_forty_two_days_and_the_next_short_by_twenty_litres():
    """Reference S6: 6000 L at 140 L/day (arithmetic)."""
    site = garden([tank_of(6000)], [bed("140 L/day")], [Outlet("tap", "tank", 0.0)])
    together = lasting(site, {"tank": 6.0}).together
    assert together.full_days == 42
    assert together.days == pytest.approx(42.857, abs=1e-3)
    assert together.last_full_day == date(2026, 8, 11)
    assert together.short * 1000 == pytest.approx(20.0)


def test_F32_ten_percent_under_the_tap_takes_four_days():
    site = garden([tank_of(6000)], [bed("140 L/day")], [Outlet("tap", "tank", 0.1)])
    together = lasting(site, {"tank": 6.0}).together
    assert together.usable * 1000 == pytest.approx(5400)
    assert together.days == pytest.approx(38.571, abs=1e-3)


def test_F32_three_cans_a_day_empty_a_butt_in_exactly_ten_days():
    site = garden([tank_of(210, area=0.25)], [bed("21 L/day")], [Outlet("tap", "tank", 0.0)])
    together = lasting(site, {"tank": 0.21}).together
    assert together.full_days == 10
    assert together.last_full_day == date(2026, 7, 10)


def test_nothing_asked_for_has_no_end_date():
    site = garden([tank_of(1000)], [bed("5 L/day", months=frozenset({1}))], [Outlet("tap", "tank", 0.0)])
    site_without = garden([tank_of(1000)], [], [Outlet("tap", "tank", 0.0)])
    assert lasting(site_without, {"tank": 0.4}).together.days is None
    asleep = lasting(site, {"tank": 0.4}).together
    assert asleep.need == 0.0
    assert asleep.days is not None
    assert asleep.last_full_day is not None
    assert asleep.last_full_day > date(2027, 1, 1)


def test_an_empty_tank_does_not_serve_even_today():
    site = garden([tank_of(1000)], [bed("5 L/day")], [Outlet("tap", "tank", 0.0)])
    together = lasting(site, {"tank": 0.0}).together
    assert (together.days, together.last_full_day) == (0.0, None)
    assert together.short * 1000 == pytest.approx(5.0)


def test_how_long_it_lasts_is_said_with_its_last_day_and_what_the_next_lacks():
    def told(litres, *beds):
        site = garden([tank_of(6000)], beds, [Outlet("tap", "tank", 0.0)])
        return lasting_words(lasting(site, {"tank": litres / 1000}).together, TODAY, "metric")

    thirsty = bed("140 L/day")
    assert told(6000, thirsty) == "42 days in full, the last on 11 Aug; the next is short by 20 L"
    assert told(280, thirsty) == "2 days in full, the last on 2 Jul; the next is short by 140 L"
    assert told(100, thirsty) == "not even today in full: short by 40 L"
    assert told(100) == "no end date: nothing is asked for"


def test_F33_a_drip_line_that_wants_a_metre_of_head_uses_under_half_a_barrel():
    barrel = Tank("barrel", Straight(0.25, 0.9), base=0.6, brim=0.9)
    drip = bed("10 L/day", height=0.1, min_head=1.0)
    site = garden([barrel], [drip], [Outlet("tap", "barrel", 0.0)])
    result = lasting(site, {"barrel": barrel.capacity})
    assert result.beds["bed"].usable / barrel.capacity == pytest.approx(0.4 / 0.9)
    assert result.outlets["tap"].usable == pytest.approx(barrel.capacity)
    assert result.beds["bed"].days == pytest.approx(0.25 * 0.4 / 0.010, abs=1e-6)


def test_F33_a_garden_above_the_lip_gets_nothing_by_gravity():
    site = garden([tank_of(1000)], [bed("10 L/day", height=3.0)], [Outlet("tap", "tank", 0.0)])
    assert lasting(site, {"tank": 1.0}).beds["bed"].days == 0.0


def test_a_sill_between_tanks_shortens_the_supply():
    """Two equal tanks, a link 0.2 m up, the tap at the floor of one: what lies under the sill in the other stays."""
    tanks = [Tank(name, Straight(1.0, 1.0), brim=1.0) for name in ("near", "far")]
    site = garden(
        tanks,
        [bed("50 L/day")],
        [Outlet("tap", "near", 0.0)],
        [Link("hose", ("near", "far"), (0.2, 0.2))],
    )
    together = lasting(site, {"near": 0.5, "far": 0.5}).together
    assert together.usable == pytest.approx(0.8)
    assert together.full_days == 16


def test_rain_of_the_week_is_taken_off_the_need():
    """25 mm a week on 10 m2; 10 mm fell today: two full days and most of a third are covered."""
    watered = bed("25 mm/week", area=10.0)
    site = garden([tank_of(1000)], [watered], [Outlet("tap", "tank", 0.0)])
    dry = lasting(site, {"tank": 1.0}).together
    wet = lasting(site, {"tank": 1.0}, rain_mm={TODAY: 10.0}).together
    assert need_on(watered, TODAY) * 1000 == pytest.approx(250 / 7)
    assert wet.days - dry.days == pytest.approx(10.0 / (25 / 7))


def test_a_bed_keeps_no_more_than_a_week_of_rain():
    watered = bed("25 mm/week", area=10.0)
    assert soil_credit(watered, {TODAY: 400.0}, TODAY) == pytest.approx(0.25)
    assert soil_credit(bed("140 L/day"), {TODAY: 400.0}, TODAY) == 0.0


def test_F42_eleven_days_of_twelve_pots():
    """12 plants at 1.5 L/day for 11 days want 198 L (arithmetic)."""
    site = garden([tank_of(1000)], [bed("18 L/day")], [Outlet("tap", "tank", 0.0)])
    absence = away(site, site.layout(TODAY), {"tank": 0.25}, TODAY, 11)
    assert absence.need * 1000 == pytest.approx(198)
    assert absence.spare * 1000 == pytest.approx(52)
    assert absence.short == pytest.approx(0.0, abs=1e-12)
    assert away(site, site.layout(TODAY), {"tank": 0.1}, TODAY, 11).short * 1000 == pytest.approx(98)
    with pytest.raises(ValueError, match="at least one day"):
        away(site, site.layout(TODAY), {"tank": 0.1}, TODAY, 0)


def test_G1_an_inch_a_week_on_a_hundred_square_feet():
    """62.34 US gal a week (arithmetic; 62 in Civic Garden Center, P)."""
    watered = Bed("bed", "Bed", parse_need("1 in/week", "us"), "tap", area=100 * 0.3048**2)
    assert need_on(watered, TODAY) * 7 / 3.785411784e-3 == pytest.approx(62.34, abs=0.005)


def test_G2_a_gallon_per_square_foot_and_week_is_about_forty_millimetres():
    """1.604 in/week (arithmetic on a rule of common practice, T)."""
    assert parse_need("1 gal/sq ft/week", "us").per_day * 7 / 0.0254 == pytest.approx(1.604, abs=5e-4)


@settings(deadline=None)
@given(held=st.floats(0, 1), need=st.floats(0.5, 300), more=st.floats(0, 1))
def test_more_water_never_lasts_shorter(held, need, more):
    site = garden([tank_of(2000)], [bed(f"{need:.3f} L/day")], [Outlet("tap", "tank", 0.0)])
    days = [lasting(site, {"tank": volume}).together.days for volume in (held, held + more)]
    endless = [float("inf") if count is None else count for count in days]
    assert endless[0] <= endless[1] + 1e-9


@settings(deadline=None, max_examples=60)
@given(held=st.floats(0.05, 2), need=st.floats(1, 300), rain=st.floats(0, 60))
def test_drawing_many_days_at_once_finds_the_day_that_paper_finds(held, need, rain):
    """Two beds on one tap, one helped by rain: day by day by hand against the answer."""
    first = Bed("first", "First", parse_need(f"{need:.3f} L/day", "metric"), "tap")
    second = Bed("second", "Second", parse_need("20 mm/week", "metric"), "tap", area=5.0, efficiency=0.8)
    site = garden([tank_of(2000)], [first, second], [Outlet("tap", "tank", 0.0)])
    credit = soil_credit(second, {TODAY: rain}, TODAY) / 0.8
    left, day = held, 0
    while True:
        from_rain = min(credit, need_on(second, TODAY))
        credit -= from_rain
        wanted = need_on(first, TODAY) + need_on(second, TODAY) - from_rain
        if left < wanted * (1 - 1e-9):
            break
        left, day = left - wanted, day + 1
    together = lasting(site, {"tank": held}, rain_mm={TODAY: rain}).together
    assert together.days == pytest.approx(day + left / wanted, abs=1e-6)
