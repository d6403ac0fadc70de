"""The water floor against the slow model beside it, in gardens drawn by chance: chains, trees, rings, headers.

The slow model adds and takes water in drops, so the two agree within a few drops and no better.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from chance_gardens import gardens

from tankdash.water.drawing_off import draw
from tankdash.water.filling import pour
from tankdash.water.holding import full, headroom, usable
from tankdash.water.model import Layout, Roof
from tankdash.water.rest import at_rest

DROPS = 120
"""How many drops the slow model makes of what is poured or drawn."""


def empty(layout: Layout) -> dict[str, float]:
    return dict.fromkeys(layout.tanks, 0.0)


def test_pouring_is_adding_drop_by_drop() -> None:
    for chance, layout, plain in gardens(11, 30):
        room = sum(tank.lip_volume for tank in layout.tanks.values())
        volume = room * chance.choice((0.3, 0.7, 1.2))
        inflow = dict.fromkeys(chance.choices(list(layout.tanks), k=2), volume / 2)
        poured = pour(layout, empty(layout), inflow)
        held, away = plain.pour(empty(layout), inflow, DROPS)
        drop = sum(inflow.values()) / DROPS
        assert poured.contents == pytest.approx(held, abs=3 * drop)
        assert sum(poured.spilled.values()) == pytest.approx(away, abs=6 * drop)


def test_drawing_is_taking_drop_by_drop_and_ends_where_usable_does() -> None:
    for chance, layout, plain in gardens(12, 30):
        room = sum(tank.lip_volume for tank in layout.tanks.values())
        contents = pour(layout, empty(layout), {chance.choice(list(layout.tanks)): room}).contents
        reach = plain.usable(contents, ["tap"])
        wanted = reach * chance.choice((0.4, 0.8, 1.1)) + 0.001
        drawn = draw(layout, contents, "tap", wanted)
        held, got = plain.draw(contents, "tap", wanted, DROPS)
        assert drawn.contents == pytest.approx(held, abs=3 * wanted / DROPS)
        assert drawn.drawn == pytest.approx(min(wanted, reach), abs=1e-6)
        assert got == pytest.approx(min(wanted, reach), abs=1e-5)
        assert sum(usable(layout, contents).values()) == pytest.approx(plain.usable(contents, layout.outlets))


def test_full_is_what_a_long_rain_leaves() -> None:
    for _, layout, plain in gardens(13, 10):
        rates, room = plain.inlets, sum(tank.lip_volume for tank in layout.tanks.values())
        rain = {name: 2.0 * room * rate / sum(rates.values()) for name, rate in rates.items()}
        reached = {there for name in rates for there in plain.lowest_sills(name)}
        held, _ = plain.pour(empty(layout), rain, DROPS)
        when_full = full(layout)
        for name in reached & set(held):
            assert when_full[name] == pytest.approx(held[name], abs=1e-6)


def test_headroom_is_what_fits_before_the_first_drop_runs_away() -> None:
    for chance, layout, plain in gardens(14, 20):
        inlet = chance.choice(list(layout.tanks))
        piped = Layout(layout.tanks, layout.links, layout.outlets, {"shed": Roof("shed", 20.0, inlet)})
        reached = plain.lowest_sills(inlet)
        held, _ = plain.pour(empty(layout), {inlet: 0.2 * layout.tanks[inlet].lip_volume}, DROPS)
        alone = len(reached) == len(layout.tanks)
        room = headroom(piped, held)
        if alone and room > 0.01:
            assert plain.pour(held, {inlet: room - 1e-5}, DROPS)[1] == pytest.approx(0.0, abs=1e-6)
            assert plain.pour(held, {inlet: room + 0.001}, DROPS)[1] > 1e-6


def test_one_dip_bounds_every_tank_as_the_sills_and_lips_do() -> None:
    told = 0
    for chance, layout, plain in gardens(15, 120):
        name = chance.choice(list(layout.tanks))
        tank = layout.tanks[name]
        depth = chance.uniform(tank.silt + 0.005, tank.lip)
        surface, sills = tank.base + depth, plain.lowest_sills(name)
        spill = min(max(sill, plain.tanks[there].lip) for there, sill in sills.items())
        if surface > spill - 0.002 or any(abs(sill - surface) < 0.002 for sill in sills.values()):
            continue
        found = at_rest(layout, {name: depth}).tanks
        for other, (low, high) in plain.at_rest(name, surface).items():
            assert (found[other].low, found[other].high) == pytest.approx((low, high), abs=2e-6), other
            told += 1
    assert told > 100
