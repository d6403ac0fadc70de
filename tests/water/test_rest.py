"""What one dip, or several, say of every tank (R3 to R6, R11, R17)."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan

import pytest

from tankdash.water.errors import OutOfRange
from tankdash.water.model import Layout, Link, Outlet, Tank
from tankdash.water.pools import is_at_rest, pools
from tankdash.water.rest import at_rest
from tankdash.water.shapes import Lying, Straight, Table


def tote(name: str, base: float = 0.0, **more: object) -> Tank:
    return Tank(name, Straight(1.0, 1.05), base=base, brim=1.05, **more)  # type: ignore[arg-type]


def three(**link: object) -> Layout:
    """Three totes on 20, 17 and 23 cm, ports at 8 cm, an overflow on the first and a tap on the last."""
    tanks = {
        "north": tote("north", 0.20, overflow=0.95),
        "middle": tote("middle", 0.17),
        "south": tote("south", 0.23),
    }
    links = {
        "nm": Link("nm", ("north", "middle"), (0.08, 0.08), **link),  # type: ignore[arg-type]
        "ms": Link("ms", ("middle", "south"), (0.08, 0.08)),
    }
    return Layout(tanks, links, {"tap": Outlet("tap", "south", 0.10)})


def states(told: object) -> dict[str, str]:
    return {name: tank.state for name, tank in told.tanks.items()}  # type: ignore[attr-defined]


def codes(told: object) -> list[str]:
    return [warning.code for warning in told.warnings]  # type: ignore[attr-defined]


def test_one_dip_is_enough_for_all_if_the_bases_are_true() -> None:
    """The worked example of the contract: 600, 630 and 570 L at a surface of 0.80 m, spilling at 1.15 m."""
    told = at_rest(three(), {"north": 0.60})
    assert [tank.volume for tank in told.tanks.values()] == pytest.approx([0.60, 0.63, 0.57])
    assert [tank.surface for tank in told.tanks.values()] == pytest.approx([0.80] * 3)
    assert states(told) == {"north": "dipped", "middle": "level", "south": "level"}
    (pool,) = told.pools
    assert (pool.surface, pool.spill, pool.spills_at) == (pytest.approx(0.80), pytest.approx(1.15), "north")
    assert (told.spread, codes(told)) == (0.0, [])


@pytest.mark.parametrize("dipped", ["north", "middle", "south"])
def test_any_tank_of_the_pool_tells_the_same(dipped: str) -> None:
    site = three()
    told = at_rest(site, {dipped: 0.80 - site.tanks[dipped].base})
    assert [tank.volume for tank in told.tanks.values()] == pytest.approx([0.60, 0.63, 0.57])


def test_below_the_sill_the_others_are_bounds_and_no_guess() -> None:
    told = at_rest(three(), {"north": 0.05})
    assert states(told) == {"north": "dipped", "middle": "cut-off", "south": "cut-off"}
    # North to middle parts at 0.28, middle to south at 0.31.
    assert told.tanks["middle"].volume is None
    assert (told.tanks["middle"].low, told.tanks["middle"].high) == pytest.approx((0.0, 0.28 - 0.17))
    assert (told.tanks["south"].low, told.tanks["south"].high) == pytest.approx((0.0, 0.31 - 0.23))
    assert codes(told) == ["cut-off"]
    assert (told.low, told.high) == pytest.approx((0.05, 0.05 + 0.11 + 0.08))


@pytest.mark.parametrize(("sill", "state"), [(0.90, "cut-off"), (None, "unknown")])
def test_a_tank_out_of_reach_stands_no_higher_than_its_own_pool_spills(
    sill: float | None, state: str
) -> None:
    """The far tote could hold 90 cm behind its sill, but its neighbour's overflow lets go of it all above 50 cm."""
    tanks = {"near": tote("near"), "far": tote("far"), "low": tote("low", overflow=0.5)}
    links = {"fl": Link("fl", ("far", "low"), (0.08, 0.08))}
    if sill is not None:
        links["nf"] = Link("nf", ("near", "far"), (sill, sill))
    told = at_rest(Layout(tanks, links), {"near": 0.30})
    assert {(told.tanks[name].state, round(told.tanks[name].high, 9)) for name in ("far", "low")} == {
        (state, 0.5)
    }


def test_what_the_journal_knows_of_a_tank_cut_off_is_carried_up_to_its_sill() -> None:
    told = at_rest(three(), {"north": 0.05}, known={"middle": 0.63, "south": 0.02})
    assert states(told) == {"north": "dipped", "middle": "carried", "south": "carried"}
    assert told.tanks["middle"].volume == pytest.approx(0.11)
    assert told.tanks["south"].volume == pytest.approx(0.02)


@pytest.mark.parametrize(
    ("depth", "middle"),
    [(0.08, "level"), (0.0795, "level"), (0.0785, "cut-off"), (0.0811, "level")],
)
def test_readings_at_a_port_are_taken_within_a_millimetre(depth: float, middle: str) -> None:
    assert at_rest(three(), {"north": depth}).tanks["middle"].state == middle


@pytest.mark.parametrize(("under", "state"), [(0.0, "full"), (0.001, "full"), (0.0021, "level")])
def test_a_millimetre_under_the_lip_is_full(under: float, state: str) -> None:
    site = Layout(
        {"a": tote("a", overflow=0.90), "b": tote("b", overflow=0.90)},
        {"ab": Link("ab", ("a", "b"), (0.1, 0.1))},
    )
    assert at_rest(site, {"a": 0.90 - under}).tanks["b"].state == state


def test_a_dry_tank_tells_only_that_nothing_runs_over_to_it() -> None:
    told = at_rest(three(), {"south": -0.0})
    assert told.tanks["south"].volume == 0.0
    assert told.tanks["middle"].state == "cut-off"
    assert told.pools == ()


def test_a_tank_whose_floor_is_above_the_surface_is_dry_and_never_negative() -> None:
    site = Layout(
        {"low": tote("low"), "high": tote("high", 0.6)}, {"ab": Link("ab", ("low", "high"), (0.0, 0.0))}
    )
    told = at_rest(site, {"low": 0.5})
    assert (told.tanks["high"].volume, told.tanks["high"].state) == (0.0, "dry")


def test_several_dips_stand_each_for_its_own_tank() -> None:
    """Two within twice the accuracy agree; a third that nobody dipped stands at their mean."""
    told = at_rest(three(), {"north": 0.600, "south": 0.578})
    assert told.tanks["north"].volume == pytest.approx(0.600)
    assert told.tanks["south"].volume == pytest.approx(0.578)
    assert told.tanks["middle"].surface == pytest.approx((0.800 + 0.808) / 2)
    assert told.spread == pytest.approx(0.008)
    assert codes(told) == []


def test_dips_that_lie_apart_are_not_settled_and_their_sum_stands() -> None:
    told = at_rest(three(), {"north": 0.60, "middle": 0.60, "south": 0.60})
    assert codes(told) == ["not-settled"]
    assert told.spread == pytest.approx(0.06)
    assert told.low == told.high == pytest.approx(1.80)


@pytest.mark.parametrize(("apart", "settled"), [(0.0099, True), (0.0101, False)])
def test_the_stick_allows_twice_its_accuracy(apart: float, settled: bool) -> None:
    told = at_rest(three(), {"north": 0.60, "middle": 0.63 - apart}, accuracy=0.005)
    assert ("not-settled" in codes(told)) is not settled


def test_a_tank_standing_at_its_sill_beside_a_lower_one_is_at_rest() -> None:
    """North stands 4 mm over the sill to the middle one, which is well below it: the stick cannot tell that apart."""
    told = at_rest(three(), {"north": 0.084, "middle": 0.02, "south": 0.02})
    assert codes(told) == []
    assert len(told.pools) == 3


def test_a_dip_above_the_lip_is_said_to_be() -> None:
    told = at_rest(three(), {"north": 0.97})
    (warning,) = told.warnings
    assert (warning.code, warning.tanks) == ("above-spill", ("north",))
    assert warning.figures == {"surface": pytest.approx(1.17), "spill": pytest.approx(1.15)}
    assert codes(at_rest(three(), {"north": 0.9505})) == []
    # The lowest lip caps all of them.
    assert codes(at_rest(three(), {"south": 1.0})) == ["above-spill"]


def test_the_lowest_lip_behind_a_sill_caps_the_pool_at_that_sill() -> None:
    site = Layout(
        {"a": tote("a", overflow=0.9), "b": tote("b", -0.5, overflow=0.6)},
        {"ab": Link("ab", ("a", "b"), (0.7, 0.5))},
    )
    (pool,) = pools(site, {"a": 0.4})
    assert (pool.spill, pool.spills_at) == (pytest.approx(0.7), "b")


def test_a_closed_valve_is_no_link() -> None:
    told = at_rest(three(is_open=False), {"north": 0.60})
    assert states(told) == {"north": "dipped", "middle": "unknown", "south": "unknown"}
    # Its own lip would let it hold 1.05, but the middle one beside it spills at 1.22 m.
    assert told.tanks["south"].high == pytest.approx(0.99)


def test_a_header_parts_each_tank_at_its_own_port() -> None:
    """R2: the sill between two of a header's tanks is the higher of their two ports."""
    site = Layout(
        {name: tote(name) for name in ("a", "b", "c")}, {"h": Link("h", ("a", "b", "c"), (0.1, 0.3, 0.5))}
    )
    told = at_rest(site, {"a": 0.4})
    assert states(told) == {"a": "dipped", "b": "level", "c": "cut-off"}
    assert told.tanks["c"].high == pytest.approx(0.5)
    assert states(at_rest(site, {"c": 0.45})) == {"a": "cut-off", "b": "cut-off", "c": "dipped"}


def test_the_way_round_counts_by_its_lowest_sill() -> None:
    ring = Layout(
        {name: tote(name) for name in ("a", "b", "c")},
        {
            "ab": Link("ab", ("a", "b"), (0.6, 0.6)),
            "bc": Link("bc", ("b", "c"), (0.2, 0.2)),
            "ca": Link("ca", ("c", "a"), (0.3, 0.3)),
        },
    )
    assert states(at_rest(ring, {"a": 0.35})) == {"a": "dipped", "b": "level", "c": "level"}
    assert states(at_rest(ring, {"a": 0.25})) == {"a": "dipped", "b": "cut-off", "c": "cut-off"}


def test_a_closed_vent_stands_in_the_way_and_in_no_total() -> None:
    site = three()
    site = replace(site, tanks=site.tanks | {"middle": replace(site.tanks["middle"], vented=False)})
    told = at_rest(site, {"north": 0.60})
    assert states(told) == {"north": "dipped", "middle": "vent-closed", "south": "unknown"}
    assert told.low == pytest.approx(0.60)
    own = at_rest(site, {"north": 0.60, "middle": 0.30})
    assert own.tanks["middle"].volume == pytest.approx(0.30)
    assert own.low == pytest.approx(0.60)


def test_silt_is_no_water() -> None:
    site = Layout({"a": tote("a", silt=0.10), "b": tote("b")}, {"ab": Link("ab", ("a", "b"), (0.0, 0.0))})
    assert at_rest(site, {"b": 0.30}).tanks["a"].volume == pytest.approx(0.20)
    assert at_rest(site, {"b": 0.05}).tanks["a"].state == "dry"


def test_rest_is_told_from_the_rule() -> None:
    site = three()
    assert is_at_rest(site, {"north": 0.60, "middle": 0.63, "south": 0.57})
    assert is_at_rest(site, {"north": 0.08, "middle": 0.02})
    assert not is_at_rest(site, {"north": 0.09, "middle": 0.02})


@pytest.mark.parametrize("depth", [nan, inf, -inf, -0.002, 1.0515])
def test_no_reading_outside_the_tank_is_taken(depth: float) -> None:
    with pytest.raises(OutOfRange):
        at_rest(three(), {"north": depth})


def test_half_a_millimetre_over_the_brim_is_the_brim() -> None:
    assert at_rest(three(), {"middle": 1.0505}).tanks["middle"].volume == pytest.approx(1.05)


@pytest.mark.parametrize("height", [nan, inf])
def test_a_height_that_is_no_number_is_refused(height: float) -> None:
    site = three()
    with pytest.raises(OutOfRange):
        at_rest(replace(site, tanks=site.tanks | {"south": tote("south", height)}), {"north": 0.5})
    with pytest.raises(OutOfRange):
        at_rest(three(crest=height), {"north": 0.5})


def test_volumes_that_are_no_contents_are_refused() -> None:
    for volume in (nan, inf, -0.1, 2.0):
        with pytest.raises(OutOfRange):
            pools(three(), {"north": volume})
    with pytest.raises(OutOfRange, match="no tank 'west'"):
        pools(three(), {"west": 0.1})


@pytest.mark.parametrize("height", [0.001, 10.0])
@pytest.mark.parametrize("holds", [0.001, 1000.0])
def test_from_a_saucer_to_a_reservoir(height: float, holds: float) -> None:
    tanks = {name: Tank(name, Straight(holds / height, height), brim=height) for name in ("a", "b")}
    site = Layout(tanks, {"ab": Link("ab", ("a", "b"), (0.0, 0.0))})
    told = at_rest(site, {"a": height})
    assert told.tanks["b"].volume == pytest.approx(holds)
    assert told.tanks["b"].state == "full"


def test_curved_and_tabled_tanks_share_a_surface() -> None:
    tanks = {
        "drum": Tank("drum", Lying(0.6, 1.0), base=0.1, brim=0.6),
        "odd": Tank("odd", Table(((0.0, 0.0), (0.2, 0.1), (0.8, 0.5))), brim=0.8),
    }
    site = Layout(tanks, {"ab": Link("ab", ("drum", "odd"), (0.05, 0.05))})
    told = at_rest(site, {"odd": 0.40})
    # Half of a lying cylinder: pi / 8 d2 l.
    assert told.tanks["drum"].volume == pytest.approx(3.141592653589793 / 8 * 0.36)
