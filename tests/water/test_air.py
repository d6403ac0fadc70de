"""Trapped air (R11): Boyle's law for vessels that cannot breathe."""

from __future__ import annotations

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants
from scipy.optimize import brentq

from tankdash.water.air import (
    ATMOSPHERE,
    depth_under_trapped_air,
    most_behind_closed_vent,
    rise_under_trapped_air,
)
from tankdash.water.errors import OutOfRange
from tankdash.water.model import Layout, Link, Roof, Tank
from tankdash.water.shapes import Cone, Lying, Straight


def test_the_atmosphere_is_ten_metres_of_water() -> None:
    """`scipy.constants`: standard atmosphere over standard gravity and 1000 kg/m3."""
    assert pytest.approx(constants.atm / (1000 * constants.g), abs=0.005) == ATMOSPHERE


@given(st.floats(0.01, 10.0), st.floats(0.0, 30.0))
def test_the_air_pushes_back_as_hard_as_the_water_in(height: float, outside: float) -> None:
    rise = rise_under_trapped_air(height, outside)
    assert 0.0 <= rise < height
    pushed = ATMOSPHERE * height / (height - rise) - ATMOSPHERE
    assert pushed == pytest.approx(outside - rise, rel=1e-8, abs=1e-10)


@given(st.floats(0.05, 3.0), st.floats(-1.0, 6.0))
def test_any_shape_agrees_with_a_root_finder(diameter: float, outside: float) -> None:
    """`scipy` brentq on Boyle's law over the real shape."""
    tank = Tank("t", Lying(diameter, 1.0), base=0.2, brim=diameter, vented=False)
    found = depth_under_trapped_air(tank, outside)

    def miss(depth: float) -> float:
        left = tank.capacity - tank.volume(depth)
        return ATMOSPHERE * (tank.capacity / left - 1.0) - (outside - tank.base - depth)

    if outside <= tank.base:
        assert found == 0.0
    else:
        assert found == pytest.approx(brentq(miss, 0.0, diameter * (1 - 1e-9)), rel=1e-6, abs=1e-9)


def test_straight_walls_need_no_root_finder() -> None:
    tank = Tank("t", Straight(0.26, 0.9), brim=0.9, vented=False)
    assert depth_under_trapped_air(tank, 0.9) == pytest.approx(rise_under_trapped_air(0.9, 0.9), rel=1e-12)


def neighbours(**closed: object) -> Layout:
    tanks = {
        "open": Tank("open", Straight(0.26, 0.9), brim=0.9),
        "shut": Tank("shut", Cone(0.6, 0.1, 0.9), brim=0.9, vented=False, **closed),  # type: ignore[arg-type]
    }
    return Layout(tanks, {"hose": Link("hose", ("open", "shut"), (0.0, 0.0))})


def test_the_bound_rises_with_the_neighbour_and_stays_far_below_full() -> None:
    site = neighbours()
    less = most_behind_closed_vent(site, "shut", {"open": 0.1})
    more = most_behind_closed_vent(site, "shut", {"open": 0.234})
    assert 0.0 < less < more < 0.1 * site.tanks["shut"].capacity


def test_what_is_filled_from_above_has_no_such_bound() -> None:
    site = neighbours()
    roofed = Layout(site.tanks, site.links, roofs={"shed": Roof("shed", 10.0, "shut")})
    assert most_behind_closed_vent(roofed, "shut", {"open": 0.234}) == site.tanks["shut"].lip_volume


def test_with_nothing_linked_nothing_was_pushed_in() -> None:
    site = neighbours()
    alone = Layout(site.tanks, {"hose": Link("hose", ("open", "shut"), (0.0, 0.0), is_open=False)})
    assert most_behind_closed_vent(alone, "shut", {"open": 0.234}) == 0.0


@pytest.mark.parametrize("bad", [nan, inf])
def test_impossible_numbers_are_refused(bad: float) -> None:
    with pytest.raises(OutOfRange):
        rise_under_trapped_air(bad, 1.0)
    with pytest.raises(OutOfRange):
        rise_under_trapped_air(1.0, bad)
    with pytest.raises(OutOfRange):
        depth_under_trapped_air(neighbours().tanks["shut"], bad)
    with pytest.raises(OutOfRange, match="no tank"):
        most_behind_closed_vent(neighbours(), "lost", {})
