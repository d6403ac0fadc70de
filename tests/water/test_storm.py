"""Storms: what links and overflows must carry, who spills first, what is lost while others have room (R9, R12)."""

from __future__ import annotations

import warnings
from dataclasses import replace
from itertools import pairwise
from math import inf, nan
from pathlib import Path

import pytest
from drawn_layouts import layouts
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tankdash.water.carrying import link_loads, overflow_loads, roof_flow, storm_inflow
from tankdash.water.currents import Currents
from tankdash.water.errors import OutOfRange
from tankdash.water.filling import pour
from tankdash.water.friction import VISCOSITY, Pipe
from tankdash.water.model import Layout, Link, Roof, Tank
from tankdash.water.shapes import Straight
from tankdash.water.steady import steady_flow
from tankdash.water.storm import run_storm

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import wntr

FOOT = 0.3048
GALLON = 231 * 0.0254**3


def tote(name: str, base: float = 0.0, **more: object) -> Tank:
    return Tank(name, Straight(1.0, 1.0), base=base, brim=1.0, **more)  # type: ignore[arg-type]


def hose(one: str, other: str, bore: float | None = 0.025, run: float = 2.0) -> Link:
    return Link(f"{one}{other}", (one, other), (0.1, 0.1), bore=bore, run=run)


def layout(tanks: list[Tank], links: list[Link], roofs: list[Roof] | None = None) -> Layout:
    return Layout(
        {tank.id: tank for tank in tanks},
        {link.id: link for link in links},
        roofs={roof.id: roof for roof in roofs or []},
    )


# What the roofs send


def test_H12_peak_flow_of_a_roof() -> None:
    """IPC 1106.2 gives 0.0104 gpm/sq ft (P): 1000 sq ft at 1 in/h = 10.39 US gal/min."""
    roof = Roof("r", 1000 * FOOT**2, "t", runoff=1.0)
    assert roof_flow(roof, 0.0254 / 3600) * 60 / GALLON == pytest.approx(10.39, abs=0.005)


def test_roofs_of_one_tank_add_up_and_first_flush_takes_no_part() -> None:
    roofs = [
        Roof("one", 20.0, "a", 0.9),
        Roof("two", 10.0, "a", 1.0, screen=0.5),
        Roof("three", 5.0, "b", 1.0),
    ]
    inflow = storm_inflow(layout([tote("a"), tote("b")], [], roofs), 0.036 / 3600)
    assert inflow == {"a": pytest.approx(23.0e-5), "b": pytest.approx(5.0e-5)}


# What the links carry


def test_in_a_chain_the_flow_adds_up_along_the_way() -> None:
    site = layout([tote(name) for name in "abcd"], [hose(*pair) for pair in pairwise("abcd")])
    carried = steady_flow(site, {"a": 1e-4, "c": 2e-4}, leaves_at="d")
    assert [carried[link].flow for link in ("ab", "bc", "cd")] == pytest.approx([1e-4, 1e-4, 3e-4])
    assert [carried[link].upstream for link in ("ab", "bc", "cd")] == ["a", "b", "c"]
    assert carried["cd"].head == pytest.approx(Pipe(0.025, 2.0).head(3e-4))
    back = steady_flow(site, {"a": 1e-4, "c": 2e-4}, leaves_at="a")
    assert [back[link].flow for link in ("ab", "bc", "cd")] == pytest.approx([-2e-4, -2e-4, 0.0], abs=1e-18)


def test_a_header_balances_where_its_legs_meet() -> None:
    site = layout(
        [tote(name) for name in "abc"], [Link("h", ("a", "b", "c"), (0.1,) * 3, bore=0.025, run=2.0)]
    )
    carried = steady_flow(site, {"a": 1e-4, "b": 2e-4}, leaves_at="c")["h"]
    leg = Pipe(0.025, 2.0)
    assert carried.flow == pytest.approx(3e-4)
    assert carried.head == pytest.approx(leg.head(2e-4) + leg.head(3e-4))
    assert carried.upstream == "b"


def test_two_equal_links_side_by_side_share_evenly() -> None:
    twin = Link("twin", ("a", "b"), (0.1, 0.1), bore=0.025, run=2.0)
    carried = steady_flow(layout([tote("a"), tote("b")], [hose("a", "b"), twin]), {"a": 4e-4}, leaves_at="b")
    assert carried["ab"].flow == pytest.approx(2e-4)
    assert carried["twin"].flow == pytest.approx(2e-4)


LOOPS = [
    ("ring", "abcd", [("a", "b"), ("b", "c"), ("c", "d"), ("d", "a")]),
    (
        "ladder",
        "abcdef",
        [("a", "b"), ("b", "c"), ("d", "e"), ("e", "f"), ("a", "d"), ("b", "e"), ("c", "f")],
    ),
    ("ring with a tail", "abcde", [("a", "b"), ("b", "c"), ("c", "a"), ("c", "d"), ("d", "e")]),
]


@pytest.mark.parametrize(("names", "pairs"), [case[1:] for case in LOOPS], ids=[case[0] for case in LOOPS])
def test_heads_in_loops_agree_with_a_network_engine(
    names: str, pairs: list[tuple[str, str]], tmp_path: Path
) -> None:
    """`wntr` 1.5 with its EPANET engine: tanks as junctions fed at a rate, the last one a reservoir.

    Turbulent throughout, where its friction (Swamee and Jain) and ours (Churchill) rest on one smooth-pipe term.
    """
    inflow = {names[0]: 2.0e-3, names[1]: 0.7e-3}
    links = [hose(one, other, 0.04, 1.0 + 0.3 * place) for place, (one, other) in enumerate(pairs)]
    ours = steady_flow(layout([tote(name) for name in names], links), inflow, leaves_at=names[-1])
    network = wntr.network.WaterNetworkModel()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # it reminds of roughness units; the wall is smooth
        network.options.hydraulic.headloss = "D-W"
    network.options.hydraulic.accuracy, network.options.hydraulic.trials = 1e-6, 500
    network.options.hydraulic.viscosity = VISCOSITY / (1.1e-5 * FOOT**2)
    network.options.time.duration = 0
    for name in names[:-1]:
        network.add_junction(name, base_demand=-inflow.get(name, 0.0), elevation=0.0)
    network.add_reservoir(names[-1], base_head=10.0)
    for link in links:
        network.add_pipe(link.id, *link.joins, length=link.run, diameter=link.bore, minor_loss=link.losses,
                         roughness=1e-9)  # fmt: skip
    results = wntr.sim.EpanetSimulator(network).run_sim(file_prefix=str(tmp_path / "run"))
    flows, heads = results.link["flowrate"].iloc[0], results.node["head"].iloc[0]
    for link in links:
        assert ours[link.id].flow == pytest.approx(float(flows[link.id]), rel=0.03, abs=2e-5)
        one, other = link.joins
        assert ours[link.id].head == pytest.approx(float(heads[one] - heads[other]), rel=0.05, abs=0.002)


grids = st.integers(2, 6).flatmap(
    lambda count: st.tuples(
        st.just([f"t{place}" for place in range(count)]),
        st.lists(st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)), max_size=9),
        st.lists(st.floats(0.0, 2e-3), min_size=count, max_size=count),
        st.lists(st.sampled_from([0.013, 0.025, 0.05]), min_size=20, max_size=20),
    )
)


@settings(max_examples=40, deadline=None)
@given(grids)
def test_what_comes_in_goes_out_and_heads_close_round_every_loop(
    grid: tuple[list[str], list[tuple[int, int]], list[float], list[float]],
) -> None:
    names, extra, rates, bores = grid
    pairs = [*pairwise(range(len(names))), *((one, other) for one, other in extra if one != other)]
    links = [
        Link(f"l{place}", (names[one], names[other]), (0.0, 0.0), bore=bores[place], run=1.0 + place)
        for place, (one, other) in enumerate(pairs)
    ]
    inflow = dict(zip(names, rates, strict=True))
    carried = steady_flow(layout([tote(name) for name in names], links), inflow, leaves_at=names[0])
    left = dict(inflow)
    left[names[0]] -= sum(rates)
    surface = {names[0]: 0.0}
    for link in links:
        flow, head = carried[link.id].flow, carried[link.id].head
        assert flow is not None
        assert head is not None
        left[link.joins[0]] -= flow
        left[link.joins[1]] += flow
    assert list(left.values()) == pytest.approx([0.0] * len(names), abs=1e-12)
    for _ in names:
        for link in links:
            head = carried[link.id].head or 0.0
            for here, there, sign in ((*link.joins, -1), (*link.joins[::-1], 1)):
                if here in surface and there not in surface:
                    surface[there] = surface[here] + sign * head
    for link in links:
        one, other = link.joins
        assert surface[one] - surface[other] == pytest.approx(carried[link.id].head, rel=1e-4, abs=1e-5)


def test_in_a_loop_with_an_unmeasured_link_the_shares_are_unknown_but_not_beyond() -> None:
    site = layout(
        [tote(name) for name in "abcd"],
        [hose("a", "b"), hose("b", "c"), hose("a", "c", bore=None), hose("c", "d")],
    )
    carried = steady_flow(site, {"a": 1e-4}, leaves_at="d")
    assert [carried[link].flow for link in ("ab", "bc", "ac")] == [None] * 3
    assert carried["cd"].flow == pytest.approx(1e-4)
    tree = steady_flow(
        layout([tote("a"), tote("b")], [hose("a", "b", bore=None)]), {"a": 1e-4}, leaves_at="b"
    )
    assert tree["ab"].flow == pytest.approx(1e-4)
    assert tree["ab"].head is None


def test_a_link_must_carry_all_to_whichever_tank_still_has_room() -> None:
    site = layout([tote(name) for name in "abc"], [hose("a", "b"), hose("b", "c")])
    loads = link_loads(site, {"a": 3e-4, "c": 1e-4})
    assert loads["ab"].must == pytest.approx(3e-4)
    assert loads["bc"].must == pytest.approx(3e-4)
    assert loads["ab"].available == pytest.approx(0.9)
    assert loads["ab"].carries == pytest.approx(Pipe(0.025, 2.0).flow(0.9))
    assert loads["ab"].head == pytest.approx(Pipe(0.025, 2.0).head(3e-4))
    assert not loads["ab"].is_short
    assert link_loads(site, {"a": 0.01})["bc"].is_short


def test_a_bank_no_roof_reaches_must_carry_nothing() -> None:
    site = layout([tote(name) for name in "abcd"], [hose("a", "b"), hose("c", "d")])
    loads = link_loads(site, {"a": 3e-4})
    assert (loads["cd"].must, loads["cd"].head) == (0.0, 0.0)
    assert not loads["cd"].is_short


def test_a_high_link_has_only_the_head_above_its_port() -> None:
    high = Link("ab", ("a", "b"), (0.85, 0.1), bore=0.025, run=1.0)
    load = link_loads(layout([tote("a"), tote("b")], [high]), {"a": 3e-4})["ab"]
    assert load.available == pytest.approx(0.15)
    header = Link("h", ("a", "b", "c"), (0.1, 0.1, 0.5), bore=0.025, run=1.0)
    load = link_loads(layout([tote(name) for name in "abc"], [header]), {"a": 3e-4})["h"]
    assert load.available == pytest.approx(0.9)
    alone = Pipe(0.025, 1.0)
    assert alone.flow(0.45) < (load.carries or 0.0) < alone.flow(0.9)


def test_an_overflow_must_pass_what_its_bank_and_the_banks_above_take_in() -> None:
    site = layout(
        [tote("a", overflow=0.9, overflow_bore=0.05, overflow_to="c"), tote("b"),
         tote("c", overflow=0.9, overflow_bore=0.02), tote("d", overflow=0.9)],
        [hose("a", "b")],
    )  # fmt: skip
    loads = overflow_loads(site, {"a": 1e-3, "b": 0.2e-3, "c": 0.3e-3})
    assert set(loads) == {"a", "c", "d"}
    assert (loads["a"].must, loads["c"].must, loads["d"].must) == pytest.approx((1.2e-3, 1.5e-3, 0.0))
    assert not loads["a"].is_short
    assert loads["c"].is_short
    assert loads["d"].carries is None


# The storm itself


def test_a_wide_link_lets_the_lowest_lip_spill_first() -> None:
    site = layout([tote("a", base=0.1), tote("b")], [Link("ab", ("a", "b"), (0.0, 0.0), bore=0.2, run=0.2)])
    storm = run_storm(site, {}, {"a": 1e-4})
    assert storm.first_to_spill == "b"
    assert storm.taken_before_spill == pytest.approx(storm.room, abs=0.003)
    assert storm.room == pytest.approx(1.9)
    assert storm.spilled == {}


def test_a_thin_link_makes_the_tank_under_the_roof_spill_while_the_other_has_room() -> None:
    site = layout([tote("a"), tote("b")], [hose("a", "b", 0.01, 5.0)])
    storm = run_storm(site, {"a": 0.5}, {"a": 1e-3}, 1800.0)
    assert storm.first_to_spill == "a"
    assert storm.first_spill_at is not None
    assert 500.0 < storm.first_spill_at < 600.0
    assert storm.spilled["a"] == pytest.approx(storm.spilled_with_room)
    assert storm.contents["b"] < 0.2
    assert storm.taken_before_spill < 0.4 * storm.room


def test_what_another_tank_takes_up_is_not_lost() -> None:
    site = layout([tote("a", overflow=0.5, overflow_to="b"), tote("b")], [])
    storm = run_storm(site, {"a": 0.4}, {"a": 1e-3}, 1000.0)
    assert storm.first_to_spill is None
    assert storm.spilled == {}
    assert storm.contents == {"a": pytest.approx(0.5), "b": pytest.approx(0.9)}
    later = run_storm(site, {"a": 0.4}, {"a": 1e-3})
    assert later.first_to_spill == "b"
    assert later.first_spill_at == pytest.approx(1100.0, rel=1e-3)


def test_a_full_tank_spills_from_the_first_moment() -> None:
    storm = run_storm(layout([tote("a"), tote("b")], []), {"a": 1.0}, {"a": 1e-3})
    assert (storm.first_to_spill, storm.first_spill_at, storm.taken_before_spill) == ("a", 0.0, 0.0)


def test_the_first_spill_agrees_with_a_solver_of_differential_equations() -> None:
    """`scipy` LSODA on the same currents, stopped where the first lip is reached."""
    names = "abcd"
    site = layout([tote(name, base=0.02 * place) for place, name in enumerate(names)],
                  [hose(one, other, 0.02, 2.0) for one, other in pairwise(names)])  # fmt: skip
    inflow = {"a": 4e-4, "d": 2e-4}
    currents = Currents(site, least_head=1e-6)

    def over(_: float, volumes: list[float]) -> float:
        return max(volume - lip for volume, lip in zip(volumes, currents.lips, strict=True))

    over.terminal = True  # type: ignore[attr-defined]
    feed = [inflow.get(name, 0.0) for name in names]
    solution = solve_ivp(
        lambda _, volumes: [
            links + roof
            for links, roof in zip(currents.into_tanks(currents.surfaces(list(volumes))), feed, strict=True)
        ],
        (0.0, 1e6), [0.1] * 4, method="LSODA", rtol=1e-8, atol=1e-9, events=over,
    )  # fmt: skip
    storm = run_storm(site, dict.fromkeys(names, 0.1), inflow)
    assert storm.first_spill_at == pytest.approx(float(solution.t[-1]), rel=0.005)
    assert storm.first_to_spill == names[max(range(4), key=lambda place: solution.y[place][-1])]


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_litres_never_appear_or_vanish(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 5))
    names = [f"t{place}" for place in range(count)]
    tanks = [
        tote(name, base=data.draw(st.floats(-0.2, 0.2)), overflow=data.draw(st.one_of(st.none(), st.floats(0.4, 1.0))),
             overflow_to=data.draw(st.sampled_from([None, *names[place + 1 :]])))
        for place, name in enumerate(names)
    ]  # fmt: skip
    links = [
        Link(f"l{place}", pair, (data.draw(st.floats(0.0, 0.5)), 0.1), bore=data.draw(st.sampled_from([0.01, 0.05])),
             run=1.0)
        for place, pair in enumerate(pairwise(names))
    ]  # fmt: skip
    site = layout(tanks, links)
    start = {tank.id: data.draw(st.floats(0.0, 1.0)) * tank.lip_volume for tank in tanks}
    inflow = {name: data.draw(st.floats(0.0, 2e-3)) for name in names}
    seconds = data.draw(st.floats(0.0, 7200.0))
    storm = run_storm(site, start, inflow, seconds)
    came = sum(start.values()) + sum(inflow.values()) * seconds
    assert sum(storm.contents.values()) + sum(storm.spilled.values()) == pytest.approx(came, rel=1e-9)
    assert storm.spilled_with_room <= sum(storm.spilled.values()) + 1e-9
    for tank in tanks:
        assert 0.0 <= storm.contents[tank.id] <= tank.lip_volume * (1 + 1e-9)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_litres_never_appear_or_vanish_in_any_garden(data: st.DataObject) -> None:
    """Loops, headers, siphons, rings of overflows, closed vents, silt, odd shapes; trickles, floods, no time at all."""
    site = data.draw(layouts(crests=True))
    few = st.sampled_from([0.0, 5e-324, 1e-12, 1e-6, 1.0])
    tanks = {
        name: replace(tank, vented=data.draw(st.sampled_from([True, True, True, False])))
        for name, tank in site.tanks.items()
    }
    links = {
        name: replace(link, bore=data.draw(st.sampled_from([0.001, 0.013, 0.05, 0.3, None])))
        for name, link in site.links.items()
    }
    site = replace(site, tanks=tanks, links=links)
    start = {name: data.draw(few | st.floats(0.0, 1.0)) * tank.capacity for name, tank in tanks.items()}
    inflow = {name: data.draw(few | st.floats(0.0, 2e-3)) for name in tanks if data.draw(st.booleans())}
    storm = run_storm(site, start, inflow, data.draw(st.none() | few | st.floats(0.0, 86400.0)))
    came = sum(start.values()) + sum(inflow.values()) * storm.seconds
    assert sum(storm.contents.values()) + sum(storm.spilled.values()) == pytest.approx(came, rel=1e-9)
    assert storm.spilled_with_room <= sum(storm.spilled.values()) * (1.0 + 1e-9)
    for name, tank in tanks.items():
        assert 0.0 <= storm.contents[name] <= tank.lip_volume * (1.0 + 1e-9)


@settings(max_examples=12, deadline=None)
@given(st.floats(0.0, 0.9), st.floats(0.0, 0.9), st.floats(2e-4, 5e-4))
def test_a_gentle_rain_ends_where_slow_filling_ends(one: float, two: float, rate: float) -> None:
    """R9 against R12: a wide link under gentle rain spills as much as fill-spill-merge says."""
    site = layout([tote("a"), tote("b", base=-0.1)], [Link("ab", ("a", "b"), (0.0, 0.1), bore=0.1, run=0.2)])
    start = {"a": one, "b": two}
    seconds = 1.5 / rate
    storm = run_storm(site, start, {"a": rate}, seconds)
    slow = pour(site, start, {"a": rate * seconds})
    assert sum(storm.spilled.values()) == pytest.approx(sum(slow.spilled.values()), abs=0.005)
    for name in "ab":
        assert storm.contents[name] == pytest.approx(slow.contents[name], abs=0.005)


def test_a_link_nobody_measured_is_named() -> None:
    storm = run_storm(layout([tote("a"), tote("b")], [hose("a", "b", bore=None)]), {}, {"a": 1e-3})
    assert storm.unmeasured == ("ab",)
    assert storm.first_spill_at == pytest.approx(1000.0)


@pytest.mark.parametrize("bad", [-1e-3, nan, inf])
def test_impossible_storms_are_refused(bad: float) -> None:
    site = layout([tote("a"), tote("b")], [hose("a", "b")])
    for ask in (
        lambda: run_storm(site, {}, {"a": bad}), lambda: run_storm(site, {}, {"a": 1e-3}, bad),
        lambda: run_storm(site, {"a": bad}, {"a": 1e-3}), lambda: run_storm(site, {}, {"x": 1e-3}),
        lambda: link_loads(site, {"a": bad}), lambda: overflow_loads(site, {"x": 1.0}),
        lambda: steady_flow(site, {}, "x"), lambda: roof_flow(Roof("r", 1.0, "a"), bad),
    ):  # fmt: skip
        with pytest.raises(OutOfRange):
            ask()
