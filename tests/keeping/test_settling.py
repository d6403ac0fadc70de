"""Whether the water stood still: of many stirs, the one that takes longest to level decides (R12)."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import pytest

from tankdash.keeping.state import settling
from tankdash.keeping.state.settling import Stir, seconds_left
from tankdash.water.model import Layout, Link, Tank
from tankdash.water.shapes import Straight

NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)
ROW = Layout(
    {name: Tank(name, Straight(1.0, 1.0), brim=1.0) for name in ("one", "two", "three")},
    {
        "hose": Link("hose", ("one", "two"), (0.05, 0.05), bore=0.013, run=2.0),
        "pipe": Link("pipe", ("two", "three"), (0.05, 0.05), bore=0.032, run=0.6),
    },
)
HELD = {"one": 0.5, "two": 0.5, "three": 0.5}


def stirs_of(dice: random.Random, count: int) -> list[Stir]:
    found = []
    for _ in range(count):
        end = NOON - timedelta(minutes=dice.uniform(0, 120))
        start = end - timedelta(minutes=dice.choice((0, 0, 30)))
        tanks = dice.sample(list(HELD), dice.choice((1, 1, 2)))
        found.append(Stir(start, end, {tank: dice.choice((-0.1, -0.02, 0.01, 0.05, 0.2)) for tank in tanks}))
    return found


@pytest.mark.parametrize("seed", range(12))
def test_the_stir_that_takes_longest_decides(seed: int) -> None:
    stirs = stirs_of(random.Random(seed), 15)
    alone = [seconds_left(ROW, HELD, [stir], NOON, 0.005) for stir in stirs]
    assert seconds_left(ROW, HELD, stirs, NOON, 0.005) == pytest.approx(max(alone), rel=0.01, abs=1.0)


def test_what_a_larger_stir_outlasts_is_not_followed(monkeypatch: pytest.MonkeyPatch) -> None:
    followed: list[float] = []
    genuine = settling.time_to_settle

    def counted(layout: Layout, contents: dict[str, float], accuracy: float) -> float | None:
        followed.append(contents["one"])
        return genuine(layout, contents, accuracy)

    monkeypatch.setattr(settling, "time_to_settle", counted)
    buckets = [
        Stir(end, end, {"one": 0.2 - 0.001 * number})
        for number in range(100)
        if (end := NOON - timedelta(minutes=number))
    ]
    assert seconds_left(ROW, HELD, buckets, NOON, 0.005) > 0.0
    assert followed == [pytest.approx(0.7)]
