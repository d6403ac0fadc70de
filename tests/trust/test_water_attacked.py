"""The march through time under every bank there could be: no tank below nothing, no litre new, no end of steps."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

import pytest
from trusting import Count, times

from tankdash.water.currents import Currents
from tankdash.water.flowtable import FlowTable
from tankdash.water.friction import Pipe
from tankdash.water.model import Layout, Link, Shape, Tank
from tankdash.water.settling import time_to_settle
from tankdash.water.shapes import Box, Cone, Lying, Partly, Straight, Table, Taper, Upright
from tankdash.water.steps import March

SHAPES: tuple[Shape, ...] = (
    Straight(1.0, 1.0),
    Box(0.3, 2.0, 1.0),
    Upright(0.6, 1.0),
    Lying(1.0, 0.9),
    Taper(0.2, 1.0, 1.0),
    Taper(1.0, 0.2, 1.0),
    Cone(0.6, 0.4, 1.0),
    Table(((0.0, 0.0), (0.3, 0.01), (0.7, 0.9), (1.0, 0.901))),
    Partly(Upright(0.6, 1.0), 0.95),
)


def some_bank(dice: random.Random) -> Layout:
    """Return a few tanks of any shape on any base, joined by hoses and headers with any ports."""
    tanks = {}
    for number in range(dice.randint(2, 6)):
        overflow = dice.choice((None, round(dice.uniform(0.3, 1.0), 2)))
        tanks[f"t{number}"] = Tank(
            f"t{number}",
            dice.choice(SHAPES),
            base=round(dice.uniform(-0.6, 0.6), 2),
            brim=1.0,
            overflow=overflow,
            silt=dice.choice((0.0, 0.0, 0.05)),
        )
    links = {}
    for number in range(dice.randint(1, 5)):
        joined = dice.sample(sorted(tanks), dice.randint(2, min(4, len(tanks))))
        crest = dice.choice((None, None, round(dice.uniform(0.0, 1.5), 2)))
        links[f"l{number}"] = Link(
            f"l{number}",
            tuple(joined),
            tuple(round(dice.uniform(0.0, 0.8), 2) for _ in joined),
            crest=crest if len(joined) == 2 else None,
            primed=dice.choice((None, True, False)) if len(joined) == 2 and crest else None,
            bore=dice.choice((0.013, 0.025, 0.05)),
            run=dice.choice((0.0, 0.6, 5.0)),
        )
    return Layout(tanks, links)


def some_water(dice: random.Random, layout: Layout) -> dict[str, float]:
    """Return water in the tanks: full ones, dry ones, and anything between."""
    return {
        name: tank.lip_volume * dice.choice((0.0, 0.0, 1.0, dice.random()))
        for name, tank in layout.tanks.items()
    }


@dataclass
class Looks:
    """Counts how often the flows of a bank were worked out: effort, whatever the machine."""

    number: int = 0


MOST_LOOKS = 5000
"""Several times what the hardest of thousands of random banks needed; one that goes on for ever passes any bound."""


@pytest.fixture
def looks(monkeypatch: pytest.MonkeyPatch) -> Looks:
    counted = Looks()
    into_tanks = Currents.into_tanks

    def look(self: Currents, surfaces: Sequence[float]) -> list[float]:
        counted.number += 1
        return into_tanks(self, surfaces)

    monkeypatch.setattr(Currents, "into_tanks", look)
    return counted


@pytest.mark.parametrize("seed", range(2))
def test_no_tank_falls_below_nothing_and_no_litre_comes_or_goes(seed: int, looks: Looks) -> None:
    """A dry leg of a header, or a port under silt, once gave water that was not there."""
    dice = random.Random(seed)
    count = Count("marches through random banks")
    for number in range(times(16, 1000)):
        layout = some_bank(dice)
        contents = some_water(dice, layout)
        currents = Currents(layout, primed_if_unknown=dice.random() < 0.5)
        volumes = [contents[name] for name in currents.ids]
        held, spilled = sum(volumes), 0.0
        march = March(currents, volumes, accuracy=5e-5, longest=86400.0)
        count("banks")
        for _ in range(25):
            spilled += sum(march.stride(10 * 86400.0).lost)
            count("steps")
            assert min(march.volumes) >= 0.0, (seed, number, layout, contents, march.volumes)
            assert abs(sum(march.volumes) + spilled - held) < 1e-9, (seed, number, layout, contents)
    count("looks", looks.number)
    count.say()
    assert count["looks"] >= count["steps"], "a step that looks at no flow was not watched"
    assert count["steps"] >= times(400, 25_000)


@pytest.mark.parametrize("seed", range(20, 23))
def test_every_bank_of_open_pipes_is_told_when_it_stands_level(seed: int, looks: Looks) -> None:
    """Dry ports, trickles and the tips of empty cones once kept the search going for ever."""
    dice = random.Random(seed)
    count = Count("searches for the time to settle")
    for number in range(times(30, 1000)):
        layout = some_bank(dice)
        contents = some_water(dice, layout)
        looks.number = 0
        seconds = time_to_settle(layout, contents)
        count("banks")
        count("looks", looks.number)
        assert seconds is not None, (seed, number, layout, contents)
        assert seconds >= 0.0
        assert looks.number < MOST_LOOKS, (seed, number, layout, contents, looks.number)
    count.say()
    assert count["looks"] >= count["banks"], "effort that is not counted is not bounded"
    assert count["banks"] >= times(30, 1000)


def test_a_header_with_every_end_dry_moves_nothing() -> None:
    tanks = {name: Tank(name, Straight(1.0, 1.0), brim=1.0) for name in ("one", "two", "three")}
    layout = Layout(tanks, {"header": Link("header", tuple(tanks), (0.4, 0.3, 0.1), bore=0.04, run=1.0)})
    currents = Currents(layout)
    assert currents.rates([0.35, 0.25, 0.0]) == [0.0, 0.0, 0.0]


def test_a_port_under_silt_gives_no_more_than_what_stands_above_the_silt() -> None:
    muddy = Tank("muddy", Straight(1.0, 1.0), base=0.5, brim=1.0, silt=0.1)
    layout = Layout(
        {"muddy": muddy, "low": Tank("low", Straight(1.0, 1.0), brim=1.0)},
        {"hose": Link("hose", ("muddy", "low"), (0.02, 0.02), bore=0.025, run=1.0)},
    )
    assert Currents(layout).rates([0.0, 0.0]) == [0.0, 0.0]
    assert time_to_settle(layout, {"muddy": 0.0, "low": 0.2}) == 0.0


@pytest.mark.parametrize("seed", range(5))
def test_the_table_of_a_pipe_says_what_the_law_says(seed: int) -> None:
    """Every head a garden may have, through every bend of the friction law."""
    dice = random.Random(seed)
    pipe = Pipe(
        bore=dice.uniform(0.004, 0.2), run=dice.choice((0.0, 0.3, 4.0, 40.0)), losses=dice.uniform(0.3, 9.0)
    )
    table = FlowTable(pipe)
    for _ in range(times(400, 20_000)):
        head = 10.0 ** dice.uniform(-10.0, 2.0) * dice.choice((-1.0, 1.0))
        assert table.flow(head) == pytest.approx(pipe.flow(head), rel=2e-5)
    assert table.flow(0.0) == 0.0
