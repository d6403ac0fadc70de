"""Following water through time (R12): the order of the steps, what lips and sills do in them, how many there are."""

from __future__ import annotations

from itertools import pairwise
from math import exp
from random import Random

import numpy
import pytest

from tankdash.water.currents import Currents
from tankdash.water.elimination import eliminated, short_order
from tankdash.water.lips import Lips
from tankdash.water.model import Layout, Link, Tank
from tankdash.water.settling import time_to_settle
from tankdash.water.shapes import Cone, Straight, Table
from tankdash.water.steps import March
from tankdash.water.storm import run_storm

DAY = 86400.0


def tote(name: str, base: float = 0.0, area: float = 1.0, **more: object) -> Tank:
    return Tank(name, Straight(area, 1.0), base=base, brim=1.0, **more)  # type: ignore[arg-type]


def hose(one: str, other: str, bore: float = 0.05, ports: tuple[float, float] = (0.1, 0.1)) -> Link:
    return Link(f"{one}{other}", (one, other), ports, bore=bore, run=1.0)


def layout(tanks: list[Tank], *links: Link) -> Layout:
    return Layout({tank.id: tank for tank in tanks}, {link.id: link for link in links})


@pytest.fixture
def strides(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Lengths of all steps taken: effort, whatever the machine."""
    taken: list[float] = []
    stride = March.stride

    def counted(self: March, until: float) -> object:
        step = stride(self, until)
        taken.append(step.length)
        return step

    monkeypatch.setattr(March, "stride", counted)
    return taken


# The equations of one step


def test_elimination_agrees_with_a_matrix_solver() -> None:
    """`numpy.linalg.solve` on random networks with hubs: columns outweighed by their diagonal."""
    dice = Random(3)
    for _ in range(40):
        count = dice.randint(1, 12)
        pairs = [(dice.randrange(count), dice.randrange(count)) for _ in range(2 * count)]
        rows = [{place: 1.0} for place in range(count)]
        for one, other in pairs:
            if one != other:
                for here, there in ((one, other), (other, one)):
                    flow = 10.0 ** dice.uniform(-3.0, 6.0)
                    rows[here][here] += flow
                    rows[there][here] = rows[there].get(here, 0.0) - flow
        matrix = numpy.array([[row.get(column, 0.0) for column in range(count)] for row in rows])
        right = [dice.uniform(-1.0, 1.0) for _ in range(count)]
        order = short_order(pairs, count)
        assert sorted(order) == list(range(count))
        ours = eliminated(rows, order).solution(right)
        assert ours == pytest.approx(list(numpy.linalg.solve(matrix, right)), rel=1e-6, abs=1e-9)


def test_a_chain_is_eliminated_without_joining_anything_anew() -> None:
    pairs = list(pairwise(range(500)))
    rows = [{place: 3.0} for place in range(500)]
    for one, other in pairs:
        rows[one][other] = rows[other][one] = -1.0
    held = eliminated(rows, short_order(pairs, 500))
    assert sum(len(beyond) for _, _, _, beyond in held._steps) == 499


def test_halving_the_steps_divides_the_error_by_eight() -> None:
    """The method is of order 3: checked on small heads, which drive in proportion, so that the end is a formula."""
    site = layout([tote("a"), tote("b")], hose("a", "b"))
    currents = Currents(site, least_head=0.5)
    start = [0.6, 0.4]
    speed = -currents.slopes(start, {}, [0.0, 0.0], 0.0)[0][0]
    end = 1.5 / speed
    exact = 0.5 + 0.1 * exp(-2.0 * speed * end)
    misses = []
    for steps in (8, 16, 32):
        march = March(currents, start, accuracy=1e3, longest=end / steps)
        march._length = end / steps
        while march.time < end * (1.0 - 1e-12):
            march.stride(end)
        misses.append(abs(march.volumes[0] - exact))
    assert misses[0] / misses[1] == pytest.approx(8.0, rel=0.25)
    assert misses[1] / misses[2] == pytest.approx(8.0, rel=0.25)


# Lips


def test_what_has_run_over_a_lip_does_not_come_back() -> None:
    """A tank that ran over and then sank once took back part of what it had lost."""
    site = layout(
        [tote("low", -0.125), tote("middle", -0.1875, overflow=0.5), tote("high")],
        hose("low", "middle", ports=(0.375, 0.1)),
        hose("middle", "high", ports=(0.0, 0.1)),
    )
    start = {"low": 0.0, "middle": 0.25, "high": 1.0}
    before = 0.0
    for seconds in range(0, 2000, 40):
        storm = run_storm(site, start, {}, float(seconds))
        lost = sum(storm.spilled.values())
        # Runs of different length step differently: a litre between them.
        assert lost >= before - 1e-3
        assert storm.spilled_with_room <= lost + 1e-12
        assert sum(storm.contents.values()) + lost == pytest.approx(1.25, rel=1e-12)
        before = lost
    assert before > 0.1


def test_a_full_ring_of_overflows_loses_what_it_cannot_hold() -> None:
    """Each tank's overflow leads to the next, the last one's to the first: nothing led away, and litres vanished."""
    ring = [tote(name, overflow=0.5, overflow_to=below) for name, below in ("ab", "bc", "ca")]
    storm = run_storm(layout(ring), {"a": 0.5, "b": 0.4}, {"a": 1e-3, "c": 5e-4}, 2000.0)
    assert storm.contents == pytest.approx({"a": 0.5, "b": 0.5, "c": 0.5})
    assert sum(storm.spilled.values()) == pytest.approx(0.9 + 3.0 - 1.5, rel=1e-12)
    held = [0.9, 0.5, 0.5]
    assert sum(Lips(ring).spill(held)) == pytest.approx(0.4)
    assert held == [0.5, 0.5, 0.5]


def test_water_falls_through_a_staircase_of_full_tanks() -> None:
    stairs = [tote(name, 3.0 - place, overflow=0.5, overflow_to=below)
              for place, (name, below) in enumerate([("a", "b"), ("b", "c"), ("c", None)])]  # fmt: skip
    storm = run_storm(layout(stairs), {"a": 0.5, "b": 0.5, "c": 0.25}, {"a": 1e-3}, 1000.0)
    assert storm.first_to_spill == "c"
    assert storm.first_spill_at == pytest.approx(250.0, rel=1e-6)
    assert storm.spilled == {"c": pytest.approx(0.75)}


def test_a_tank_that_has_no_room_below_its_lip_only_passes_on() -> None:
    """A table that holds nothing up to its overflow."""
    empty = Tank("a", Table(((0.0, 0.0), (0.3, 0.0), (1.0, 1.0))), brim=1.0, overflow=0.3, overflow_to="b")
    storm = run_storm(layout([empty, tote("b")]), {}, {"a": 1e-3}, 500.0)
    assert storm.contents == pytest.approx({"a": 0.0, "b": 0.5})
    assert storm.spilled == {}


# Extremes


@pytest.mark.parametrize("seconds", [0.0, 5e-324, 2.2e-308, 1e-12])
def test_a_storm_of_no_time_at_all_changes_nothing(seconds: float) -> None:
    site = layout([tote("a"), tote("b")], hose("a", "b"))
    storm = run_storm(site, {"a": 0.9, "b": 0.2}, {"a": 1e-3}, seconds)
    assert storm.contents == pytest.approx({"a": 0.9, "b": 0.2}, abs=1e-12)
    assert storm.spilled == {}


def test_a_standpipe_beside_big_tanks_costs_no_more_steps_than_they_do(strides: list[float]) -> None:
    """A litre ten metres tall, on a wide pipe: it draws level in a blink and the others take weeks."""
    tanks = [
        Tank("pipe", Straight(1e-4, 10.0), brim=10.0),
        Tank("one", Straight(100.0, 10.0), brim=10.0),
        Tank("two", Straight(100.0, 10.0), brim=10.0),
    ]
    site = layout(tanks, hose("pipe", "one"), hose("one", "two", bore=0.01))
    seconds = time_to_settle(site, {"pipe": 0.0001, "one": 900.0, "two": 100.0})
    assert seconds is not None
    assert seconds > 14 * DAY
    assert len(strides) < 200
    strides.clear()
    run_storm(site, {"one": 500.0}, {"pipe": 1e-9}, 30 * DAY)
    assert len(strides) < 400


@pytest.mark.parametrize("kind", ["sill", "sill of another leg", "lip", "plateau", "tip of a cone"])
def test_a_trickle_that_hovers_is_followed_in_long_steps(kind: str, strides: list[float]) -> None:
    """Where a tank neither rises nor sinks, only passes on, short steps to and fro once went on for ever."""
    plateau = Tank("a", Table(((0.0, 0.0), (0.3, 0.3), (0.6, 0.3), (1.0, 0.7))), brim=1.0)
    sites = {
        "sill": layout([tote("a"), tote("b", -2.0, 50.0)], hose("a", "b", 0.3, (0.5, 0.1))),
        "sill of another leg": layout(
            [tote("a"), tote("b", -0.5, 50.0), tote("c", -2.0, 50.0)],
            Link("h", ("a", "b", "c"), (0.1, 0.9, 2.6), bore=0.3, run=1.0),
        ),
        "lip": layout([tote("a", overflow=0.5), tote("b")], hose("a", "b", 0.3, (0.5, 0.1))),
        "plateau": layout([plateau, tote("b", -2.0, 50.0)], hose("a", "b", 0.3, (0.4, 0.1))),
        "tip of a cone": layout(
            [Tank("a", Cone(1.0, 1.0, 1.0), brim=1.0), tote("b", -2.0, 50.0)],
            hose("a", "b", 0.3, (0.02, 0.1)),
        ),
    }
    site = sites[kind]
    storm = run_storm(site, {"a": 0.2}, {"a": 1e-5}, 30 * DAY)
    assert sum(storm.contents.values()) + sum(storm.spilled.values()) == pytest.approx(
        0.2 + 1e-5 * 30 * DAY, rel=1e-9
    )
    assert min(storm.contents.values()) >= 0.0
    assert len(strides) < 300


def test_no_march_goes_on_for_ever(strides: list[float]) -> None:
    """Each step may be twice as wrong after some hundreds: even what hovers in a way nobody thought of ends."""
    site = layout([tote("a"), tote("b")], hose("a", "b"))
    march = March(Currents(site), [0.9, 0.1], accuracy=1e-9, longest=10.0)
    for _ in range(2500):
        march.stride(1e9)
    assert march._accuracy > 1e-7
