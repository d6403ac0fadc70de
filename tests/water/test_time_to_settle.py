"""Time to settle (R12): against a network engine, a solver of differential equations, and closed forms."""

from __future__ import annotations

import warnings
from itertools import pairwise
from math import log, pi, sqrt
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tankdash.water.currents import Currents
from tankdash.water.errors import OutOfRange
from tankdash.water.friction import GRAVITY, VISCOSITY
from tankdash.water.model import Contents, Layout, Link, Tank
from tankdash.water.settling import time_to_settle
from tankdash.water.shapes import Cone, Lying, Straight, Taper, Upright

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import wntr

ACCURACY = 0.005


def tote(name: str, area: float = 1.0, base: float = 0.0, height: float = 1.0) -> Tank:
    return Tank(name, Straight(area, height), base=base, brim=height)


def layout(tanks: list[Tank], links: list[Link]) -> Layout:
    return Layout({tank.id: tank for tank in tanks}, {link.id: link for link in links})


def hose(
    one: str, other: str, bore: float = 0.05, run: float = 0.6, losses: float = 2.5, port: float = 0.0
) -> Link:
    return Link(f"{one}-{other}", (one, other), (port, port), bore=bore, run=run, losses=losses)


names = [f"t{place}" for place in range(7)]
BANKS: dict[str, tuple[Layout, Contents, int, int]] = {
    "two totes": (
        layout([tote("a"), tote("b")], [hose("a", "b")]),
        {"a": 0.8, "b": 0.2}, 1, 400),
    "two totes on a thin hose": (
        layout([tote("a"), tote("b")], [hose("a", "b", 0.019, 5.0, 1.5)]),
        {"a": 0.8, "b": 0.2}, 4, 4000),
    "three shapes": (
        layout(
            [Tank("a", Lying(1.2, 2.0), brim=1.2), Tank("b", Upright(1.0, 1.2), brim=1.2),
             Tank("c", Taper(0.8, 1.0, 1.0), brim=1.0)],
            [hose("a", "b", 0.032, 3.0, 1.5), hose("b", "c", 0.032, 3.0, 1.5)]),
        {"a": 1.5, "b": 0.2, "c": 0.1}, 2, 2000),
    "six on a header": (
        layout([tote(name, 0.5 + 0.1 * place) for place, name in enumerate(names[:6])],
               [Link("header", tuple(names[:6]), (0.0,) * 6, bore=0.025, run=1.0)]),
        {name: 0.1 + 0.1 * place * (0.5 + 0.1 * place) for place, name in enumerate(names[:6])}, 1, 1200),
    "a falling chain of six": (
        layout([tote(name, base=-0.02 * place) for place, name in enumerate(names[:6])],
               [hose(one, other, 0.04) for one, other in pairwise(names[:6])]),
        {"t0": 0.95} | dict.fromkeys(names[1:6], 0.1), 1, 1200),
    "a ring of five": (
        layout([tote(name) for name in names[:5]],
               [hose(names[place], names[(place + 1) % 5], 0.025, 1.5, 1.5) for place in range(5)]),
        {"t0": 0.95} | dict.fromkeys(names[1:5], 0.2), 1, 1200),
    "a tree of seven": (
        layout([tote(name) for name in names],
               [hose(names[place], names[(place - 1) // 2], 0.05, 1.0, 1.5) for place in range(1, 7)]),
        {name: 0.2 + 0.1 * place for place, name in enumerate(names)}, 1, 800),
}  # fmt: skip


def engine_run(
    site: Layout, contents: Contents, step: int, duration: int, folder: Path
) -> tuple[float, list[float]]:
    """Return when the engine's spread falls below the accuracy, and its last surfaces."""
    network = wntr.network.WaterNetworkModel()
    hydraulic = network.options.hydraulic
    hydraulic.accuracy, hydraulic.trials = 1e-6, 200
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # it reminds of roughness units; the wall is smooth
        hydraulic.headloss = "D-W"
    hydraulic.viscosity = VISCOSITY / (1.1e-5 * 0.3048**2)  # as a multiple of the engine's own figure
    network.options.time.duration = duration
    network.options.time.hydraulic_timestep = network.options.time.report_timestep = step
    for name, tank in site.tanks.items():
        height, curve = tank.shape.height, None
        if tank.shape.plan_area is None:
            curve = f"{name}-curve"
            rows = [(height * row / 200, tank.shape.volume(height * row / 200)) for row in range(201)]
            network.add_curve(curve, "VOLUME", rows)
        network.add_tank(
            name, elevation=tank.base, init_level=tank.depth(contents[name]), min_level=0.0, max_level=height,
            diameter=sqrt(4 / pi * (tank.shape.plan_area or 1.0)), vol_curve=curve,
        )  # fmt: skip
    # The engine wants a junction: a dead end that carries nothing.
    network.add_junction("stub", elevation=0.0)
    network.add_pipe("stub", next(iter(site.tanks)), "stub", length=1.0, diameter=0.1, roughness=1e-9)
    for name, link in site.links.items():
        pipe = {"diameter": link.bore, "length": link.run, "minor_loss": link.losses, "roughness": 1e-9}
        if len(link.joins) == 2:
            network.add_pipe(name, *link.joins, **pipe)
        else:
            network.add_junction(name, elevation=0.0)
            for tank_name in link.joins:
                network.add_pipe(f"{name}-{tank_name}", tank_name, name, **pipe)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        results = wntr.sim.EpanetSimulator(network).run_sim(file_prefix=str(folder / "run"))
    heads = results.node["head"][list(site.tanks)].to_numpy()
    spread = heads.max(axis=1) - heads.min(axis=1)
    place = int((spread < ACCURACY).argmax())
    share = (spread[place - 1] - ACCURACY) / (spread[place - 1] - spread[place])
    return (place - 1 + share) * step, list(heads[-1])


@pytest.mark.parametrize("bank", BANKS)
def test_time_and_level_agree_with_a_network_engine(bank: str, tmp_path: Path) -> None:
    """`wntr` 1.5 with its EPANET engine, Darcy-Weisbach, smooth pipe, same viscosity and losses.

    Its friction is Swamee and Jain's above Re 4000, ours Churchill's, which rests on the same smooth-pipe term; from
    2000 to 4000 it interpolates Moody's chart. That and its fixed steps leave up to 1.5 % between the two.
    """
    site, contents, step, duration = BANKS[bank]
    ours = time_to_settle(site, contents, ACCURACY)
    theirs, last = engine_run(site, contents, step, duration, tmp_path)
    assert ours == pytest.approx(theirs, rel=0.03)
    # One common surface that holds all the water: the engine's within 1 mm of it.
    low, high = 0.0, 2.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        held = sum(tank.volume_at(middle) for tank in site.tanks.values())
        low, high = (middle, high) if held < sum(contents.values()) else (low, middle)
    assert last == pytest.approx([low] * len(last), abs=0.001)


def ode_time(site: Layout, contents: Contents) -> float:
    """Return the settling time by a stiff solver of differential equations at tight tolerance."""
    currents = Currents(site, least_head=1e-6)

    def above(_: float, volumes: list[float]) -> float:
        return currents.spread(currents.surfaces(list(volumes))) - ACCURACY

    above.terminal = True  # type: ignore[attr-defined]
    solution = solve_ivp(
        lambda _, volumes: currents.rates(list(volumes)), (0.0, 1e7), [contents.get(n, 0.0) for n in currents.ids],
        method="LSODA", rtol=1e-8, atol=1e-9, events=above,
    )  # fmt: skip
    return float(solution.t[-1])


STEEP: dict[str, tuple[Layout, Contents]] = {
    "two tanks": BANKS["two totes"][:2],
    "into a cone": (
        layout([Tank("a", Lying(1.2, 2.0), brim=1.2), Tank("b", Cone(1.0, 0.3, 1.2), brim=1.2)],
               [hose("a", "b", 0.025, 3.0, 1.5)]),
        {"a": 2.0, "b": 0.001}),
    "a wide pipe beside a thin hose": (
        layout([tote("a"), tote("b"), tote("c")], [hose("a", "b", 0.1, 0.0), hose("b", "c", 0.013, 5.0)]),
        {"a": 0.9, "b": 0.9, "c": 0.1}),
    "over a sill": (
        layout([tote("a", base=0.5), tote("b")], [Link("l", ("a", "b"), (0.3, 0.05), bore=0.025, run=1.0)]),
        {"a": 0.8, "b": 0.1}),
}  # fmt: skip


@pytest.mark.parametrize("bank", STEEP)
def test_our_steps_agree_with_a_solver_of_differential_equations(bank: str) -> None:
    """`scipy` LSODA on the same currents: what is left is the error of our own steps."""
    site, contents = STEEP[bank]
    assert time_to_settle(site, contents, ACCURACY) == pytest.approx(ode_time(site, contents), rel=0.01)


def test_two_tanks_through_a_plain_port_follow_the_closed_form() -> None:
    """Levelling of two tanks, t = 2 A1 A2 (sqrt d1 - sqrt d2) / (Cd a sqrt(2g) (A1 + A2)), with Cd = K^-1/2."""
    site = layout([tote("a", 1.5), tote("b", 0.5)], [hose("a", "b", 0.03, 0.0, 1.5)])
    port = pi / 4 * 0.03**2 / sqrt(1.5)
    expected = 2 * 1.5 * 0.5 * (sqrt(0.5) - sqrt(ACCURACY)) / (port * sqrt(2 * GRAVITY) * (1.5 + 0.5))
    found = time_to_settle(site, {"a": 0.9 * 1.5, "b": 0.4 * 0.5}, ACCURACY)
    assert found == pytest.approx(expected, rel=0.005)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_numbering_and_datum_change_nothing(data: st.DataObject) -> None:
    count = data.draw(st.integers(2, 5))
    areas = data.draw(st.lists(st.floats(0.3, 3.0), min_size=count, max_size=count))
    fills = data.draw(st.lists(st.floats(0.05, 0.95), min_size=count, max_size=count))
    lift = data.draw(st.floats(-3.0, 3.0))
    order = data.draw(st.permutations(range(count)))
    tanks = [tote(names[place], area) for place, area in enumerate(areas)]
    links = [hose(names[place], names[place + 1], 0.04) for place in range(count - 1)]
    contents = {names[place]: areas[place] * fills[place] for place in range(count)}
    first = time_to_settle(layout(tanks, links), contents, ACCURACY)
    lifted = [tote(tank.id, areas[place], lift) for place, tank in enumerate(tanks)]
    again = time_to_settle(layout([lifted[place] for place in order], links[::-1]), contents, ACCURACY)
    assert first is not None
    assert again == pytest.approx(first, rel=0.01, abs=0.1)


def test_level_tanks_need_no_time() -> None:
    site = layout([tote("a"), tote("b", base=0.1)], [hose("a", "b")])
    assert time_to_settle(site, {"a": 0.5, "b": 0.402}, ACCURACY) == 0.0
    assert time_to_settle(layout([tote("a"), tote("b")], []), {"a": 0.9, "b": 0.1}, ACCURACY) == 0.0
    assert time_to_settle(layout([tote("a")], []), {}, ACCURACY) == 0.0


def test_below_the_sill_nothing_moves() -> None:
    site = layout([tote("a"), tote("b")], [hose("a", "b", port=0.5)])
    assert time_to_settle(site, {"a": 0.49, "b": 0.1}, ACCURACY) == 0.0
    assert (time_to_settle(site, {"a": 0.6, "b": 0.1}, ACCURACY) or 0.0) > 0.0


def test_a_link_nobody_measured_leaves_the_time_unknown_only_where_it_matters() -> None:
    unmeasured = Link("b-c", ("b", "c"), (0.0, 0.0))
    site = layout([tote("a"), tote("b"), tote("c")], [hose("a", "b"), unmeasured])
    assert time_to_settle(site, {"a": 0.8, "b": 0.2, "c": 0.2}, ACCURACY) is None
    high = Link("b-c", ("b", "c"), (0.9, 0.9))
    site = layout([tote("a"), tote("b"), tote("c")], [hose("a", "b"), high])
    alone = time_to_settle(layout([tote("a"), tote("b")], [hose("a", "b")]), {"a": 0.8, "b": 0.2}, ACCURACY)
    assert time_to_settle(site, {"a": 0.8, "b": 0.2, "c": 0.2}, ACCURACY) == pytest.approx(alone, rel=1e-3)


def test_closed_valves_and_sealed_tanks_take_no_part() -> None:
    shut = Link("a-b", ("a", "b"), (0.0, 0.0), bore=0.05, run=0.6, is_open=False)
    assert time_to_settle(layout([tote("a"), tote("b")], [shut]), {"a": 0.9, "b": 0.1}, ACCURACY) == 0.0
    sealed = Tank("b", Straight(1.0, 1.0), brim=1.0, vented=False)
    assert (
        time_to_settle(layout([tote("a"), sealed], [hose("a", "b")]), {"a": 0.9, "b": 0.1}, ACCURACY) == 0.0
    )


def test_a_crest_of_unknown_priming_gives_both_answers() -> None:
    crested = Link("a-b", ("a", "b"), (0.05, 0.05), crest=0.55, bore=0.02, run=2.0)
    site = layout([tote("a"), tote("b")], [crested])
    assert time_to_settle(site, {"a": 0.40, "b": 0.15}, ACCURACY) == 0.0
    assert (time_to_settle(site, {"a": 0.40, "b": 0.15}, ACCURACY, primed_if_unknown=True) or 0.0) > 600.0


def test_what_rises_over_a_lip_meanwhile_is_spilled() -> None:
    """A high tote levels into a low one that runs over at 0.4 m: both end at its lip, not above."""
    low = Tank("b", Straight(1.0, 1.0), brim=1.0, overflow=0.4)
    site = layout([tote("a"), low], [hose("a", "b")])
    spilling = time_to_settle(site, {"a": 0.9, "b": 0.3}, ACCURACY)
    free = time_to_settle(layout([tote("a"), tote("b")], [hose("a", "b")]), {"a": 0.9, "b": 0.3}, ACCURACY)
    assert spilling is not None
    assert free is not None
    assert spilling > 1.2 * free


def test_a_long_chain_is_no_deeper_than_a_short_one() -> None:
    """Four hundred tanks at once: no recursion, no matrices."""
    many = [f"t{place}" for place in range(400)]
    site = layout([tote(name) for name in many],
                  [hose(one, other) for one, other in pairwise(many)])  # fmt: skip
    contents = dict.fromkeys(many, 0.5) | {"t0": 0.53}
    assert (time_to_settle(site, contents, ACCURACY) or 0.0) > 0.0


@pytest.mark.parametrize("bad", [0.0, -0.001, float("nan")])
def test_an_accuracy_must_be_above_nothing(bad: float) -> None:
    with pytest.raises(OutOfRange):
        time_to_settle(layout([tote("a")], []), {"a": 0.1}, bad)


def test_a_tank_that_is_not_there_is_refused() -> None:
    with pytest.raises(OutOfRange, match="no tank 'x'"):
        time_to_settle(layout([tote("a")], []), {"x": 0.1})


def test_what_would_take_a_season_is_not_said_to_settle() -> None:
    """A pinhole of 1 mm at the end of twenty metres."""
    site = layout([tote("a", 3.0), tote("b", 3.0)], [hose("a", "b", 0.001, 20.0)])
    assert time_to_settle(site, {"a": 2.7, "b": 0.3}, ACCURACY) is None


def test_a_wait_of_more_than_fifty_days_is_still_told_and_one_of_more_than_a_hundred_is_not() -> None:
    def days(bore: float) -> float | None:
        site = layout([tote("a"), tote("b")], [hose("a", "b", bore, 20.0)])
        seconds = time_to_settle(site, {"a": 0.9, "b": 0.1}, ACCURACY)
        return None if seconds is None else seconds / 86400.0

    told = days(0.0025)
    assert told is not None
    # Laminar: d = d0 exp(-2 k t / A), k = pi g D^4 / (128 nu L); losses at the ends are nothing beside the friction.
    carries = pi * GRAVITY * 0.0025**4 / (128 * VISCOSITY * 20.0)
    assert told == pytest.approx(log(0.8 / ACCURACY) / (2 * carries) / 86400.0, rel=1e-3)
    assert 50.0 < told < 100.0
    assert days(0.0022) is None


def test_silt_is_a_raised_floor() -> None:
    """Two tanks with silt on the floor level as two whose floors stand so much higher (R17)."""
    hump = Link("a-b", ("a", "b"), (0.3, 0.3), bore=0.02, run=2.0)
    silted = [Tank(name, Straight(1.0, 1.0), brim=1.0, silt=0.2) for name in "ab"]
    raised = [Tank(name, Straight(1.0, 0.8), base=0.2, brim=0.8) for name in "ab"]
    higher = Link("a-b", ("a", "b"), (0.1, 0.1), bore=0.02, run=2.0)
    holds = {"a": 0.7, "b": 0.0}
    seconds = time_to_settle(layout(silted, [hump]), holds, ACCURACY)
    assert seconds == pytest.approx(time_to_settle(layout(raised, [higher]), holds, ACCURACY))
    assert Currents(layout(silted, [hump])).surfaces([0.7, 0.0]) == pytest.approx([0.9, 0.2])


def test_a_tank_that_only_runs_over_its_own_sill_shares_no_surface_with_those_below() -> None:
    """The head over its sill counts, not how far below the others stand."""
    header = Link("h", ("a", "b", "c"), (0.5, 0.2, 0.1), bore=0.02, run=1.0)
    currents = Currents(layout([tote(name) for name in "abc"], [header]))
    assert currents.spread([1.0, 0.3, 0.25]) == pytest.approx(0.5)
    assert currents.spread([0.5, 0.3, 0.25]) == pytest.approx(0.05)
