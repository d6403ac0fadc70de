"""Filling, spilling and finding the level, told drop by drop (R3, R6, R9)."""

from __future__ import annotations

import warnings
from dataclasses import replace
from math import inf, nan, sqrt
from pathlib import Path
from random import Random

import pytest

from tankdash.water import clocks
from tankdash.water.errors import OutOfRange
from tankdash.water.filling import pour, settle, settled
from tankdash.water.model import Contents, Layout, Link, Tank
from tankdash.water.shapes import Cone, Lying, Straight, Taper, Upright

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import wntr


def tote(name: str, base: float = 0.0, **more: object) -> Tank:
    return Tank(name, Straight(1.0, 1.0), base=base, brim=1.0, **more)  # type: ignore[arg-type]


def layout(tanks: list[Tank], *links: Link) -> Layout:
    return Layout({tank.id: tank for tank in tanks}, {link.id: link for link in links})


def link(one: str, other: str, port: float = 0.1, **more: object) -> Link:
    return Link(f"{one}{other}", (one, other), (port, port), **more)  # type: ignore[arg-type]


def test_water_fills_to_the_sill_runs_over_and_rises_as_one() -> None:
    site = layout([tote("a"), tote("b")], link("a", "b", 0.4))
    assert pour(site, {}, {"a": 0.3}).contents == pytest.approx({"a": 0.3, "b": 0.0})
    assert pour(site, {}, {"a": 0.6}).contents == pytest.approx({"a": 0.4, "b": 0.2})
    assert pour(site, {}, {"a": 1.0}).contents == pytest.approx({"a": 0.5, "b": 0.5})
    assert pour(site, {}, {"a": 2.5}).spilled == pytest.approx({"a": 0.25, "b": 0.25})


def test_a_staircase_runs_down_to_the_lowest_first() -> None:
    """Each tank stands 30 cm under the one before; the water of the top ends in the last."""
    steps = layout(
        [tote("a", 0.9), tote("b", 0.6), tote("c", 0.3), tote("d", 0.0)],
        Link("ab", ("a", "b"), (0.1, 0.4)),
        Link("bc", ("b", "c"), (0.1, 0.4)),
        Link("cd", ("c", "d"), (0.1, 0.4)),
    )
    end = pour(steps, {}, {"a": 0.7})
    assert end.contents == pytest.approx({"a": 0.1, "b": 0.1, "c": 0.1, "d": 0.4})
    # Then the lowest two rise together, and spill at the lowest brim.
    more = pour(steps, end.contents, {"a": 2.0})
    assert list(more.spilled) == ["d"]
    assert more.contents["d"] == pytest.approx(1.0)
    assert more.contents["c"] == pytest.approx(0.7)
    assert more.contents["b"] == pytest.approx(0.4)


def test_over_equal_sills_it_divides_by_the_links_capacity() -> None:
    """H17: openings count by area. Twice the bore, the same losses, no run: four times the water."""
    hub = layout(
        [tote("hub", 0.5), tote("wide"), tote("thin")],
        Link("w", ("hub", "wide"), (0.1, 0.1), bore=0.050),
        Link("t", ("hub", "thin"), (0.1, 0.1), bore=0.025),
    )
    end = pour(hub, {}, {"hub": 0.1 + 0.5})
    assert end.contents == pytest.approx({"hub": 0.1, "wide": 0.4, "thin": 0.1})
    # A sharper entrance carries less: K 1.5 against 6 is half the flow.
    slow = replace(hub, links=hub.links | {"t": replace(hub.links["t"], bore=0.050, losses=6.0)})
    assert pour(slow, {}, {"hub": 0.4}).contents == pytest.approx({"hub": 0.1, "wide": 0.2, "thin": 0.1})


def test_nobody_measured_the_bores_so_they_share_alike() -> None:
    hub = layout([tote("hub", 0.5), *(tote(name) for name in "xyz")], *(link("hub", name) for name in "xyz"))
    assert pour(hub, {}, {"hub": 0.4}).contents == pytest.approx({"hub": 0.1, "x": 0.1, "y": 0.1, "z": 0.1})
    # One is nearly full already: what it cannot take goes to the other two.
    end = pour(hub, {"x": 0.55}, {"hub": 0.1 + 0.25})
    assert end.contents == pytest.approx({"hub": 0.1, "x": 0.6, "y": 0.1, "z": 0.1})


def test_a_header_hands_water_to_its_lowest_port_first() -> None:
    """A pipe laid under its tanks stands as high as the lowest port that still takes water."""
    header = Link("h", ("a", "b", "c"), (0.5, 0.1, 0.3))
    site = layout([tote("a"), tote("b"), tote("c")], header)
    assert pour(site, {}, {"a": 0.55}).contents == pytest.approx({"a": 0.5, "b": 0.05, "c": 0.0})
    assert pour(site, {}, {"a": 0.75}).contents == pytest.approx({"a": 0.5, "b": 0.25, "c": 0.0})
    assert pour(site, {}, {"a": 0.95}).contents == pytest.approx({"a": 0.5, "b": 0.3, "c": 0.15})
    assert pour(site, {}, {"a": 1.8}).contents == pytest.approx({"a": 0.6, "b": 0.6, "c": 0.6})


def test_equal_lips_share_the_spill_and_a_link_at_the_lip_takes_it() -> None:
    level = layout([tote("a"), tote("b")], link("a", "b"))
    assert pour(level, {"a": 1.0, "b": 1.0}, {"a": 0.4}).spilled == pytest.approx({"a": 0.2, "b": 0.2})
    at_lip = layout([tote("a", overflow=0.5), tote("b")], link("a", "b", 0.5))
    end = pour(at_lip, {}, {"a": 0.8})
    assert (end.contents, end.spilled) == (pytest.approx({"a": 0.5, "b": 0.3}), {})


def test_overflows_cascade_from_bank_to_bank() -> None:
    site = layout(
        [
            tote("top", 2.0, overflow=0.5, overflow_to="middle"),
            tote("middle", 1.0, overflow=0.5, overflow_to="low"),
            tote("low", 0.0),
        ]
    )
    end = pour(site, {}, {"top": 2.3})
    assert end.contents == pytest.approx({"top": 0.5, "middle": 0.5, "low": 1.0})
    assert end.spilled == pytest.approx({"low": 0.3})


def test_an_overflow_back_into_its_own_pool_loses_nothing() -> None:
    """The first tank's overflow leads to the second, which stands level with it: up to the second's brim."""
    site = layout([tote("a", overflow=0.5, overflow_to="b"), tote("b")], link("a", "b"))
    end = pour(site, {}, {"a": 1.8})
    assert (end.contents, end.spilled) == (pytest.approx({"a": 0.9, "b": 0.9}), {})


def test_overflows_in_a_ring_come_to_an_end() -> None:
    """Two banks that overflow into each other fill until a brim is reached, whoever allowed that."""
    ring = layout(
        [
            tote("a", overflow=0.5, overflow_to="b"),
            tote("b", 0.2, overflow=0.5, overflow_to="a"),
            tote("c", 0.0),
        ],
        link("b", "c", 0.9),
    )
    for start in ("a", "b", "c"):
        end = pour(ring, {}, {start: 5.0})
        assert sum(end.contents.values()) + sum(end.spilled.values()) == pytest.approx(5.0)
        assert end.spilled


def test_inflows_run_together_at_constant_rates() -> None:
    """One tank gets twice what the other does, and is full in half the time: what it cannot keep runs on meanwhile."""
    site = layout([tote("a"), tote("b"), tote("c", -1.0)], link("a", "c", 0.5), link("b", "c", 0.5))
    end = pour(site, {}, {"a": 1.0, "b": 0.5})
    assert end.contents == pytest.approx({"a": 0.5, "b": 0.5, "c": 0.5})


def test_a_tank_that_cannot_breathe_takes_water_only_from_above() -> None:
    site = layout([tote("a"), tote("b", vented=False)], link("a", "b"))
    assert pour(site, {}, {"a": 0.5}).contents == pytest.approx({"a": 0.5, "b": 0.0})
    assert pour(site, {}, {"b": 0.5}).contents == pytest.approx({"a": 0.0, "b": 0.5})


def test_water_above_a_lip_stays_until_more_comes() -> None:
    """A dip above the lip may mean that the base is wrong: nothing is thrown away on such a guess."""
    site = layout([tote("a", overflow=0.8)])
    assert pour(site, {"a": 0.9}, {}).contents == {"a": 0.9}
    end = pour(site, {"a": 0.9}, {"a": 0.1})
    assert (end.contents, end.spilled) == ({"a": 0.9}, pytest.approx({"a": 0.1}))


def test_silt_takes_room_from_the_bottom() -> None:
    site = layout([tote("a", silt=0.2), tote("b")], link("a", "b", 0.1))
    # The port lies in the silt: water stands above it in one tank while the other fills from the floor.
    end = pour(site, {}, {"a": 0.5})
    assert sum(end.contents.values()) == pytest.approx(0.5)
    assert end.contents == pytest.approx({"a": 0.15, "b": 0.35})


def test_zero_is_zero() -> None:
    site = layout([tote("a"), tote("b")], link("a", "b"))
    assert pour(site, {}, {"a": 0.0, "b": -0.0}).contents == {"a": 0.0, "b": 0.0}
    assert pour(site, {"a": -0.0}, {}).contents == {"a": 0.0, "b": 0.0}


@pytest.mark.parametrize("volume", [nan, inf, -inf, -0.001])
def test_what_is_no_volume_is_refused(volume: float) -> None:
    site = layout([tote("a")])
    with pytest.raises(OutOfRange):
        pour(site, {}, {"a": volume})
    with pytest.raises(OutOfRange):
        settle(site, {"a": volume})
    with pytest.raises(OutOfRange):
        pour(site, {}, {"nowhere": 1.0})


def test_a_valve_opened_between_two_banks_lets_the_higher_run_down() -> None:
    tanks = [tote("a", 0.5), tote("b", 0.5), tote("c"), tote("d")]
    gate = link("b", "c", 0.0)
    site = layout(tanks, link("a", "b", 0.1), gate, link("c", "d", 0.1))
    before = {"a": 0.8, "b": 0.8, "c": 0.2, "d": 0.2}
    shut = replace(site, links=site.links | {"bc": replace(gate, is_open=False)})
    assert settle(shut, before) == before
    # 2.0 m3 over four tanks of 1 m2, two of them on 0.5 m: all stand at 0.75.
    after = settled(site, before)
    assert after.spilled == {}
    assert after.contents == pytest.approx({"a": 0.25, "b": 0.25, "c": 0.75, "d": 0.75})


def test_a_few_drops_find_their_level_and_stay_as_many() -> None:
    """In = stored, however little it is (R9)."""
    site = layout([tote("a"), tote("b")], link("a", "b", 0.0))
    assert settle(site, {"a": 0.004}) == pytest.approx({"a": 0.002, "b": 0.002}, abs=1e-12)


def test_a_crest_nobody_has_looked_at_lets_nothing_over_unless_it_is_said_to() -> None:
    site = layout([tote("a"), tote("b")], link("a", "b", 0.1, crest=0.9))
    assert settle(site, {"a": 0.8}) == {"a": 0.8, "b": 0.0}
    assert settle(site, {"a": 0.8}, primed_if_unknown=True) == pytest.approx({"a": 0.4, "b": 0.4})


def test_a_valve_opened_onto_a_full_row_spills_what_it_cannot_hold() -> None:
    site = layout([tote("a", 0.5), tote("b", overflow=0.6)], Link("ab", ("a", "b"), (0.0, 0.5)))
    end = settled(site, {"a": 0.4, "b": 0.55})
    assert end.contents == pytest.approx({"a": 0.1, "b": 0.6})
    assert end.spilled == pytest.approx({"b": 0.25})


# Final levels against a network engine: six banks, 1 mm

ENGINE: dict[str, tuple[Layout, Contents, int]] = {
    "a row on three bases": (
        layout([tote("a", 0.20), tote("b", 0.17), tote("c", 0.23)], link("a", "b", 0.0), link("b", "c", 0.0)),
        {"a": 0.9, "b": 0.5, "c": 0.2}, 20000),
    "a tank that runs dry into the one below": (
        layout([tote("a", 0.6), tote("b", 0.0)], Link("ab", ("a", "b"), (0.0, 0.0))),
        {"a": 0.3, "b": 0.1}, 20000),
    "four shapes": (
        layout([Tank("a", Lying(1.2, 2.0), brim=1.2), Tank("b", Upright(1.0, 1.2), base=0.1, brim=1.2),
                Tank("c", Taper(0.8, 1.0, 1.0), brim=1.0), Tank("d", Cone(1.2, 0.3, 1.0), base=-0.1, brim=1.0)],
               link("a", "b", 0.0), link("b", "c", 0.0), link("c", "d", 0.0)),
        {"a": 1.5, "b": 0.3, "c": 0.1, "d": 0.2}, 30000),
    "a ring of five on uneven ground": (
        layout([tote(name, 0.03 * place) for place, name in enumerate("abcde")],
               *(link("abcde"[place], "abcde"[(place + 1) % 5], 0.0) for place in range(5))),
        {"a": 0.95, "b": 0.2, "c": 0.2, "d": 0.6, "e": 0.2}, 30000),
    "a header of six": (
        layout([tote(name, 0.02 * place) for place, name in enumerate("abcdef")],
               Link("h", tuple("abcdef"), (0.0,) * 6)),
        {name: 0.15 + 0.12 * place for place, name in enumerate("abcdef")}, 30000),
    "a tree of seven": (
        layout([tote(name, -0.02 * place) for place, name in enumerate("abcdefg")],
               *(link("abcdefg"[(place - 1) // 2], "abcdefg"[place], 0.0) for place in range(1, 7))),
        {name: 0.2 + 0.1 * place for place, name in enumerate("abcdefg")}, 30000),
}  # fmt: skip


def engine_levels(site: Layout, contents: Contents, duration: int, folder: Path) -> dict[str, float]:
    """Return the surfaces the engine ends at, with 25 mm pipes of 2 m laid at the floors."""
    network = wntr.network.WaterNetworkModel()
    network.options.hydraulic.accuracy, network.options.hydraulic.trials = 1e-6, 200
    network.options.time.duration = duration
    network.options.time.hydraulic_timestep = network.options.time.report_timestep = 5
    for name, tank in site.tanks.items():
        height, curve = tank.shape.height, None
        if tank.shape.plan_area is None:
            curve = f"{name}-curve"
            network.add_curve(
                curve,
                "VOLUME",
                [(height * row / 200, tank.shape.volume(height * row / 200)) for row in range(201)],
            )
        network.add_tank(
            name, elevation=tank.base, init_level=tank.depth(contents[name]), min_level=0.0, max_level=height,
            diameter=sqrt(4 / 3.141592653589793 * (tank.shape.plan_area or 1.0)), vol_curve=curve,
        )  # fmt: skip
    network.add_junction("stub", elevation=0.0)
    network.add_pipe("stub", next(iter(site.tanks)), "stub", length=1.0, diameter=0.1, roughness=130)
    for name, pipe in site.links.items():
        laid = {"diameter": 0.025, "length": 2.0, "roughness": 130}
        if len(pipe.joins) == 2:
            network.add_pipe(name, *pipe.joins, **laid)
            continue
        network.add_junction(name, elevation=0.0)
        for tank_name in pipe.joins:
            network.add_pipe(f"{name}-{tank_name}", tank_name, name, **laid)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        results = wntr.sim.EpanetSimulator(network).run_sim(file_prefix=str(folder / "run"))
    return {name: float(results.node["head"][name].iloc[-1]) for name in site.tanks}


@pytest.mark.parametrize("bank", ENGINE)
def test_final_levels_agree_with_a_network_engine(bank: str, tmp_path: Path) -> None:
    """`wntr` with its EPANET engine, left to run until nothing moves: within 1 mm."""
    site, contents, duration = ENGINE[bank]
    theirs = engine_levels(site, contents, duration, tmp_path)
    ours = settle(site, contents)
    for name, tank in site.tanks.items():
        assert tank.base + tank.depth(ours[name]) == pytest.approx(theirs[name], abs=0.001)


def test_an_overflow_into_a_higher_tank_of_its_own_bank_waits_for_the_brim() -> None:
    """Water does not run uphill: the pipe passes nothing until the lower tank stands at the upper one's floor."""
    site = layout(
        [tote("low", overflow=0.3, overflow_to="high"), tote("high", 0.6)],
        Link("lh", ("low", "high"), (0.9, 0.3)),
    )
    assert pour(site, {}, {"low": 0.5}).contents == pytest.approx({"low": 0.5, "high": 0.0})
    end = pour(site, {}, {"low": 1.2})
    assert sum(end.contents.values()) + sum(end.spilled.values()) == pytest.approx(1.2)
    assert end.contents == pytest.approx({"low": 0.9, "high": 0.3})


@pytest.mark.parametrize("share", [0.1, 0.3, 0.45, 0.5])
def test_an_overflow_into_a_tank_that_rises_too_opens_where_they_meet(share: float) -> None:
    """Both filled at once, the lower the faster: told drop by drop, within the tolerance of lips (R17)."""
    site = layout(
        [tote("low", overflow=0.3, overflow_to="high"), tote("high", 0.4)],
        Link("lh", ("low", "high"), (0.95, 0.55)),
    )
    inflow = {"low": 0.9 * (1.0 - share), "high": 0.9 * share}
    end = pour(site, {}, inflow)
    low = high = 0.0
    for _ in range(1000):
        low += inflow["low"] / 1000
        high += inflow["high"] / 1000
        if low > max(0.3, 0.4 + high):
            low = high = 0.5 * (low + 0.4 + high)
            high -= 0.4
    assert end.contents == pytest.approx({"low": low, "high": high}, abs=0.0015)
    assert sum(end.contents.values()) == pytest.approx(0.9, rel=1e-12)


def test_a_link_nobody_measured_counts_as_the_mean_of_the_others() -> None:
    hub = layout(
        [tote("hub", 0.5), tote("wide"), tote("thin"), tote("unknown")],
        Link("w", ("hub", "wide"), (0.1, 0.1), bore=0.050),
        Link("t", ("hub", "thin"), (0.1, 0.1), bore=0.025),
        Link("u", ("hub", "unknown"), (0.1, 0.1)),
    )
    end = pour(hub, {}, {"hub": 0.1 + 0.75})
    assert end.contents == pytest.approx({"hub": 0.1, "wide": 0.4, "thin": 0.1, "unknown": 0.25})


@pytest.mark.parametrize("few", [0, 1, 10**6])
def test_a_pool_of_many_feeds_fills_alike_whether_it_reads_its_clocks_or_keeps_their_sum(
    few: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rain into a grid of uneven tanks, where one pool comes to be fed by dozens."""
    chance, wide = Random(4), 12
    tanks = [
        Tank(f"t{place}", Straight(chance.uniform(0.5, 2.0), 1.0), base=chance.uniform(0.0, 0.5), brim=1.0)
        for place in range(wide * wide)
    ]
    pairs = [(place, place + 1) for place in range(wide * wide - 1) if (place + 1) % wide]
    pairs += [(place, place + wide) for place in range(wide * wide - wide)]
    links = [Link(f"{one}-{other}", (f"t{one}", f"t{other}"), (0.08, 0.08)) for one, other in pairs]
    grid = layout(tanks, *links)
    for depth in (0.05, 0.3, 1.0):
        rain = {tank.id: depth for tank in tanks}
        usual = pour(grid, {}, rain)
        monkeypatch.setattr(clocks, "FEW", few)
        other = pour(grid, {}, rain)
        monkeypatch.undo()
        assert other.contents == pytest.approx(usual.contents, rel=1e-11, abs=1e-11)
        assert other.spilled == pytest.approx(usual.spilled, rel=1e-11, abs=1e-11)
        assert sum(other.contents.values()) + sum(other.spilled.values()) == pytest.approx(
            sum(rain.values()), rel=1e-11
        )
