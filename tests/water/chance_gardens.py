"""Gardens drawn by chance for the plain model: chains, trees, rings and headers of straight tanks, cascades, crests."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import pairwise

from plain_model import PlainTanks

from tankdash.water.model import Layout, Link, Outlet, Roof, Tank
from tankdash.water.shapes import Straight


def garden(chance: random.Random) -> Layout:
    """Return a layout of one to five straight tanks; every height is one of its own, so no two sills tie."""
    names = [f"t{place}" for place in range(chance.randint(1, 5))]
    tanks: dict[str, Tank] = {}
    for name in names:
        brim = round(chance.uniform(0.6, 1.4), 3)
        overflow = round(chance.uniform(0.5, 1.0) * brim, 4) if chance.random() < 0.6 else None
        tanks[name] = Tank(
            name,
            Straight(round(chance.uniform(0.2, 2.0), 3), brim),
            base=round(chance.uniform(-0.3, 0.5), 4),
            brim=brim,
            overflow=overflow,
            silt=round(chance.uniform(0.0, 0.1), 4) if chance.random() < 0.2 else 0.0,
        )
    for name in names:
        below = [to for to in names if tanks[to].lip_elevation < tanks[name].lip_elevation - 0.05]
        if tanks[name].overflow is not None and below and chance.random() < 0.3:
            tanks[name] = Tank(**{**vars(tanks[name]), "overflow_to": chance.choice(below)})
    joins = [(chance.choice(names[:place]), names[place]) for place in range(1, len(names))]
    if len(names) > 2:
        joins += chance.choice(
            [[], [(names[0], names[-1])], [tuple(chance.sample(names, chance.randint(3, len(names))))]]
        )
    links = {f"l{place}": _link(chance, f"l{place}", join, tanks) for place, join in enumerate(joins)}
    outlets = {
        key: Outlet(key, place, round(chance.uniform(0.02, 0.8) * tanks[place].lip, 4))
        for key, place in (("tap", chance.choice(names)), ("cock", chance.choice(names)))
    }
    roofs = {
        key: Roof(key, chance.choice((10.0, 24.0)), chance.choice(names))
        for key in ("shed", "barn")[: chance.randint(1, 2)]
    }
    return Layout(tanks, links, outlets, roofs)


def _link(chance: random.Random, key: str, join: tuple[str, ...], tanks: dict[str, Tank]) -> Link:
    """Return a link near the floors or higher up, some over a crest, some shut."""
    ports = tuple(
        round(chance.uniform(0.02, 0.15 if chance.random() < 0.7 else tanks[name].lip - 0.05), 4)
        for name in join
    )
    top = max(tanks[name].base + port for name, port in zip(join, ports, strict=True))
    crest = round(top + chance.uniform(0.01, 0.4), 4) if chance.random() < 0.2 and len(join) == 2 else None
    return Link(
        key,
        join,
        ports,
        crest=crest,
        primed=None if crest is None else chance.random() < 0.5,
        is_open=chance.random() > 0.05,
    )


def gardens(seed: int, count: int) -> Iterator[tuple[random.Random, Layout, PlainTanks]]:
    """Yield layouts in which no two sills lie so near that the order of drops would decide (R9)."""
    chance = random.Random(seed)
    while count:
        layout = garden(chance)
        plain = PlainTanks(layout)
        sills = sorted(sill for _, _, sill in plain.ways)
        if all(upper - lower > 0.003 for lower, upper in pairwise(sills)):
            count -= 1
            yield chance, layout, plain
