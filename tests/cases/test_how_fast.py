"""How fast, and which spills first: situations people met, told with the functions of the water floor."""

from __future__ import annotations

import pytest

from tankdash.water.carrying import link_loads, overflow_loads, roof_flow
from tankdash.water.holding import headroom
from tankdash.water.model import Layout, Link, Roof, Tank
from tankdash.water.openings import flow_through, head_for, parallel, round_opening
from tankdash.water.shapes import Straight
from tankdash.water.storm import run_storm

GALLON = 231 * 0.0254**3
BARREL = 50 * GALLON


def three_barrels() -> Layout:
    """One barrel on slabs under the roof, two more beside it on half-inch tube."""
    barrels = {
        name: Tank(name, Straight(BARREL / 0.9, 0.9), base=0.1 if name == "first" else 0.0, brim=0.9)
        for name in ("first", "second", "third")
    }
    tubes = {
        "tube-1": Link("tube-1", ("first", "second"), (0.1, 0.1), bore=0.013, run=2.0),
        "tube-2": Link("tube-2", ("second", "third"), (0.1, 0.1), bore=0.013, run=2.0),
    }
    return Layout(barrels, tubes)


def test_F12_half_inch_tube_in_a_five_minute_storm() -> None:
    """Flow figures carry 30 % in a garden; ours take the friction of smooth tube at the very flow."""
    site = three_barrels()
    inflow = {"first": BARREL / 300}
    assert inflow["first"] * 1000 == pytest.approx(0.63, abs=0.005)

    load = link_loads(site, inflow)["tube-1"]
    assert load.must is not None
    assert load.carries is not None
    assert load.available == pytest.approx(0.8)
    assert load.must * 1000 == pytest.approx(0.63, abs=0.005)
    assert load.carries * 1000 == pytest.approx(0.20, rel=0.15)
    assert load.is_short

    # The first barrel has just filled. In the next five minutes about 129 L are lost.
    storm = run_storm(site, {"first": BARREL}, inflow, 300.0)
    assert storm.first_to_spill == "first"
    crossed = storm.contents["second"] + storm.contents["third"]
    assert crossed * 1000 == pytest.approx(60.0, rel=0.15)
    assert storm.spilled_with_room * 1000 == pytest.approx(129.0, rel=0.06)
    assert storm.spilled_with_room == pytest.approx(sum(storm.spilled.values()))
    room_of_the_others = 2 * BARREL
    assert room_of_the_others * 1000 == pytest.approx(379.0, abs=0.5)
    assert crossed < room_of_the_others


def test_F12_static_and_storm_capacity_are_two_figures() -> None:
    site = three_barrels()
    storm = run_storm(site, {}, {"first": BARREL / 300})
    assert storm.first_to_spill == "first"
    assert storm.taken_before_spill < 0.5 * storm.room
    # Slowly filled the three share one surface, and the lower rims cap the raised one: its top 0.10 m stays dry.
    kept = 3 * BARREL - 0.1 * BARREL / 0.9
    assert storm.room == pytest.approx(kept)
    assert headroom(site, {}) == pytest.approx(kept)


def test_F12_a_wide_link_would_have_saved_the_water() -> None:
    slow = three_barrels()
    wide = Layout(slow.tanks, {
        key: Link(key, link.joins, link.ports, bore=0.05, run=0.5) for key, link in slow.links.items()
    })  # fmt: skip
    storm = run_storm(wide, {}, {"first": BARREL / 300})
    assert storm.taken_before_spill > 0.9 * storm.room
    assert not link_loads(wide, {"first": BARREL / 300})["tube-1"].is_short


def test_F13_two_openings_of_40_are_half_of_one_of_80() -> None:
    assert parallel(round_opening(0.040), round_opening(0.040)) / round_opening(0.080) == pytest.approx(0.5)


def test_F13_the_roof_is_the_requirement_and_not_the_downpipe() -> None:
    roof = Roof("house", area=60.0, fills="barrel", runoff=1.0)
    storm = roof_flow(roof, 0.060 / 3600)
    assert storm * 1000 == pytest.approx(1.0)
    assert head_for(round_opening(0.040), storm) == pytest.approx(0.09, abs=0.005)
    needed = head_for(round_opening(0.020), storm)
    assert needed == pytest.approx(1.43, abs=0.01)
    assert needed > 0.9  # more than the barrel is high: it spills
    assert flow_through(round_opening(0.020), 0.9) < storm


def test_F13_an_overflow_is_an_opening_too() -> None:
    def barrel(bore: float) -> Layout:
        tank = Tank("barrel", Straight(0.25, 0.9), brim=0.9, overflow=0.75, overflow_bore=bore)
        return Layout({"barrel": tank}, roofs={"house": Roof("house", 60.0, "barrel", 1.0)})

    assert not overflow_loads(barrel(0.040), {"barrel": 0.001})["barrel"].is_short
    assert overflow_loads(barrel(0.020), {"barrel": 0.001})["barrel"].is_short
