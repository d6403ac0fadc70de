"""Journals drawn by chance against the same happenings reckoned by hand: what stands there lies in what is told (R14).

The truth is lived through with the slow model of the water floor's tests; the journal is given one honest dip and
what was done. Of a single tank everything is reckoned in a few lines.
"""

from __future__ import annotations

import random
import sys
from datetime import timedelta
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "water"))
sys.path.insert(0, str(Path(__file__).parent))
from chance_gardens import gardens
from gardens import START, at, dip, journal, site
from plain_model import PlainTanks

from tankdash.journal.entries import Change, Done, Entry, Move, Pour, Rain, Record, Use
from tankdash.keeping.state.replay import replay
from tankdash.site.model import Placed, Site, SiteTank
from tankdash.water.model import Layout

DROPS = 100
"""How many drops the slow model makes of what comes or goes at one time."""


def site_of(layout: Layout) -> Site:
    """Return a garden with that layout and nothing else."""
    bare = site()
    return Site(
        name="chance",
        zone=bare.zone,
        units="metric",
        datum="slab",
        accuracy=0.005,
        tanks={name: SiteTank(tank, name) for name, tank in layout.tanks.items()},
        links={name: Placed(link, name) for name, link in layout.links.items()},
        outlets={name: Placed(outlet, name) for name, outlet in layout.outlets.items()},
        roofs={name: Placed(roof, name) for name, roof in layout.roofs.items()},
    )


def do_something(
    chance: random.Random, layout: Layout, plain: PlainTanks, held: dict[str, float], hours: float
) -> tuple[Record, float]:
    """Let something happen to the true water; return how it is noted and the litres that took part."""
    one, other = chance.choice(list(layout.tanks)), chance.choice(list(layout.tanks))
    kind = chance.choice(("pour", "use", "move", "rain"))
    if kind == "move" and one != other and held[one] > 0.01:
        volume = 0.4 * held[one]
        for _ in range(DROPS):
            held[one] -= min(volume / DROPS, held[one])
            held[other] += volume / DROPS
            plain.rest(held)
        return Move(1000.0 * volume, one, other), volume
    if kind == "use":
        volume = 0.5 * plain.usable(held, ["tap"]) + 0.001
        held.update(plain.draw(held, "tap", volume, DROPS)[0])
        return Use(1000.0 * volume, "tap"), volume
    if kind == "rain":
        depth = chance.choice((2.0, 8.0, 20.0))
        inflow = {name: depth / 1000.0 * rate for name, rate in plain.inlets.items()}
        held.update(plain.pour(held, inflow, DROPS)[0])
        return Rain(depth, depth, at(hours=hours - 1.0), at(hours=hours)), sum(inflow.values())
    volume = chance.uniform(0.02, 0.3)
    held.update(plain.pour(held, {one: volume}, DROPS)[0])
    return Pour(1000.0 * volume, one), volume


def test_the_true_water_lies_within_what_is_told_of_it() -> None:
    """One dip in one tank; of those cut off from it the journal may say a range, and the truth must lie in it."""
    sure = ranges = 0
    for chance, layout, plain in gardens(21, 40):
        if any(link.crest is not None and link.primed for link in layout.links.values()):
            continue  # a siphon may lose its prime within one drop of the slow model or the next
        held = {name: chance.random() * tank.lip_volume for name, tank in layout.tanks.items()}
        plain.rest(held)
        dipped = chance.choice(list(layout.tanks))
        surface = plain.tanks[dipped].surface(held[dipped])
        if any(abs(sill - surface) < 0.002 for sill in plain.lowest_sills(dipped).values()):
            continue  # right at a sill the rule takes the neighbour as level with it (R4)
        happened: list[tuple[object, Record]] = [
            (START, dip(**{dipped: surface - layout.tanks[dipped].base}))
        ]
        moved = 0.0
        for step in range(chance.randint(0, 4)):
            hours = 10.0 * (step + 1)
            record, volume = do_something(chance, layout, plain, held, hours)
            happened.append((at(hours=hours), record))
            moved += volume
        standing = replay(site_of(layout), journal(*happened), at(days=5))  # type: ignore[arg-type]
        slack = 1e-5 + 4.0 * moved / DROPS
        for name, volume in held.items():
            low, high = standing.contents.low[name], standing.contents.high[name]
            assert low - slack <= volume <= high + slack, (name, happened)
            sure += low == high
            ranges += low < high
    assert sure > 20
    assert ranges > 5


ONE_TANK = """
site: One tank
timezone: Europe/Lisbon
units: metric
datum: slab
tanks:
  a: {base: 0, shape: {kind: straight, holds: 2000 L, at: 2 m}, overflow: 1.5 m}
outlets:
  tap: {tank: a, at: 10 cm}
roofs:
  shed: {area: 20 m2, runoff: 0.9, fills: a}
"""


@pytest.mark.parametrize("seed", range(40))
def test_a_journal_is_replayed_in_the_order_of_time_whatever_the_order_of_entry(seed: int) -> None:
    """The last dip counts, then what came after it; of a rain that the dip parts, its share of the period (R14)."""
    chance = random.Random(seed)
    happened: list[tuple[float, Record]] = [(0.0, dip(a=0.6))]
    for hours in chance.sample(range(30, 600, 30), chance.randint(2, 8)):
        kind = chance.choice(("rain", "use", "pour", "dip", "plug", "winter"))
        if kind == "rain":
            lasting, depth = chance.choice((1.0, 12.0, 29.0)), chance.choice((1.0, 4.0, 10.0, 40.0))
            happened.append((hours, Rain(depth, depth, at(hours=hours - lasting), at(hours=hours))))
        elif kind == "use":
            happened.append((hours, Use(chance.choice((20.0, 100.0, 400.0)), "tap")))
        elif kind == "pour":
            happened.append((hours, Pour(chance.choice((50.0, 300.0)), "a")))
        elif kind == "dip":
            happened.append((hours - 7.0, dip(a=chance.uniform(0.05, 1.4))))
        elif kind == "plug":
            happened.append((hours, Change("shed", chance.choice(("plugged", "open")))))
        else:
            happened.append((hours, Change("site", chance.choice(("winter", "in-use")))))
    in_time = sorted(happened, key=lambda one: one[0])
    held, last, plugged, winter = 0.0, 0.0, False, False
    caught = used = spilled = 0.0
    for hours, record in in_time:
        if isinstance(record, Change):
            plugged = record.state == "plugged" if record.item == "shed" else plugged
            winter = record.state == "winter" if record.item == "site" else winter
        elif isinstance(record, Rain):
            share = (record.end - max(record.start, at(hours=last))) / (record.end - record.start)
            comes = 0.0 if plugged or winter else share * record.low_mm / 1000.0 * 20.0 * 0.9
            held, caught = held + comes, caught + comes
        elif isinstance(record, Pour):
            held += (record.volume_l or 0.0) / 1000.0
        elif isinstance(record, Use):
            drawn = min(record.volume_l / 1000.0, max(0.0, held - 0.1))
            held, used = held - drawn, used + drawn
        else:
            held, last, caught, used, spilled = record.tanks[0].depth_m, hours, 0.0, 0.0, 0.0
        held, spilled = min(held, 1.5), spilled + max(0.0, held - 1.5)
    chance.shuffle(happened)
    entries: list[Entry] = journal(*((at(hours=hours), record) for hours, record in happened))
    standing = replay(site(ONE_TANK), entries, at(hours=700))
    assert standing.contents.mid["a"] == pytest.approx(held, abs=1e-9)
    moved = standing.moved
    told = (moved.caught, moved.used, moved.spilled)
    assert told == pytest.approx((caught, used, spilled), abs=1e-9)


@pytest.mark.parametrize("seed", range(30))
def test_a_pipe_emptied_by_hand_takes_of_each_rain_what_room_it_has(seed: int) -> None:
    """R13, roof by roof: what is over the first loss fills the pipe first; only emptying it makes room again."""
    chance = random.Random(seed)
    roofs = {
        f"r{number}": (
            chance.choice((5.0, 12.5, 24.0)),
            chance.choice((0.8, 0.9, 1.2)),
            chance.choice((0.0, 0.5, 2.0)),
            chance.choice((1.0, 0.9)),
            chance.choice((8.0, 30.0)),
        )
        for number in range(chance.randint(1, 3))
    }
    text = ONE_TANK.split("roofs:", maxsplit=1)[0].replace("overflow: 1.5 m", "brim: 40 m") + "roofs:\n"
    for key, (area, runoff, loss, screen, holds) in roofs.items():
        text += (
            f"  {key}: {{area: {area} m2, runoff: {runoff}, first_loss: {loss} mm, screen: {screen}, fills: a, "
            f"first_flush: {{holds: {holds} L, empties: by hand}}}}\n"
        )
    text += "chores:\n" + "".join(
        f"  empty-{key}: {{after_rain: {{at_least: 0.5 mm}}, empties: {key}}}\n" for key in roofs
    )
    room = {key: roof[4] for key, roof in roofs.items()}
    caught_l = flushed_l = 0.0
    happened: list[tuple[object, Record]] = [(START, dip(a=0.2))]
    for step in range(1, chance.randint(3, 9)):
        when = START + timedelta(hours=20 * step)
        if chance.random() < 0.35:
            key = chance.choice(list(roofs))
            room[key] = roofs[key][4]
            happened.append((when, Done(f"empty-{key}")))
            continue
        depth = chance.choice((0.4, 1.5, 3.0, 9.0))
        happened.append((when, Rain(depth, depth, when - timedelta(hours=2), when)))
        for key, (area, runoff, loss, screen, _) in roofs.items():
            runs = max(0.0, depth - loss) * area * runoff * screen
            flushed = min(runs, room[key])
            room[key] -= flushed
            flushed_l, caught_l = flushed_l + flushed, caught_l + runs - flushed
    standing = replay(site(text), journal(*happened), at(days=12))  # type: ignore[arg-type]
    assert standing.contents.mid["a"] == pytest.approx(0.2 + caught_l / 1000.0, abs=1e-9)
    moved = standing.moved
    assert (moved.caught, moved.first_flush) == pytest.approx((caught_l / 1000.0, flushed_l / 1000.0))
