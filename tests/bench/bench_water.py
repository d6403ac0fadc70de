"""How fast the level of a bank is found, beside a root finder and a network engine, and how it grows to 10 000 tanks.

Run as a script; ratios within one run, best of several repeats. Nothing here depends on the speed of the machine.
"""

from __future__ import annotations

import random
import tempfile
import timeit
import warnings
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from math import pi, sqrt
from pathlib import Path
from time import process_time

from scipy.optimize import brentq

from tankdash.water.drawing_off import draw, transfer
from tankdash.water.filling import pour, settle
from tankdash.water.model import Layout, Link, Outlet, Tank
from tankdash.water.one_surface import OneSurface
from tankdash.water.rest import at_rest
from tankdash.water.shapes import Straight

THREE = [
    Tank("a", Straight(0.26, 0.90), base=0.20, brim=0.90),
    Tank("b", Straight(0.28, 0.60), base=0.50, brim=0.60),
    Tank("c", Straight(0.24, 1.10), brim=1.10),
]

RAIN = {"a shower into all": 0.05, "rain into all": 0.3, "rain into all until they spill": 1.0}
"""What falls into each tank of a large bank, [m3]."""


def best(work: Callable[[], object], number: int, repeat: int = 5) -> float:
    """Return the least processor time one call takes, [s]."""
    return min(timeit.repeat(work, timer=process_time, number=number, repeat=repeat)) / number


def against_a_root_finder() -> float:
    """Return how many times faster the surfaces of three tanks are found than by `scipy.optimize.brentq`."""
    row = OneSurface(THREE)
    volumes = [0.03 + 0.02 * step for step in range(30)]

    def ours() -> list[float]:
        return [row.height(volume) for volume in volumes]

    def theirs() -> list[float]:
        return [
            brentq(lambda height: sum(tank.volume_at(height) for tank in THREE) - volume, 0.0, 1.1)  # noqa: B023
            for volume in volumes
        ]

    assert max(abs(one - other) for one, other in zip(ours(), theirs(), strict=True)) < 1e-9
    return best(theirs, 5) / best(ours, 200)


def against_an_engine() -> float:
    """Return how many times faster three unlevel tanks are settled than by running `wntr` (EPANET) to rest."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import wntr
    tanks = {
        name: Tank(name, Straight(1.0, 1.0), base=base, brim=1.0)
        for name, base in zip("abc", (0.2, 0.17, 0.23), strict=True)
    }
    links = {
        "ab": Link("ab", ("a", "b"), (0.0, 0.0), bore=0.025, run=2.0),
        "bc": Link("bc", ("b", "c"), (0.0, 0.0), bore=0.025, run=2.0),
    }
    site, contents = Layout(tanks, links), {"a": 0.9, "b": 0.5, "c": 0.2}
    network = wntr.network.WaterNetworkModel()
    network.options.time.duration = 20000
    network.options.time.hydraulic_timestep = network.options.time.report_timestep = 5
    for name, tank in tanks.items():
        network.add_tank(
            name, elevation=tank.base, init_level=contents[name], max_level=1.0, diameter=sqrt(4 / pi)
        )
    network.add_junction("stub", elevation=0.0)
    network.add_pipe("stub", "a", "stub", length=1.0, diameter=0.1, roughness=130)
    for name, link in links.items():
        network.add_pipe(name, *link.joins, length=link.run, diameter=link.bore, roughness=130)
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore")

        def theirs() -> dict[str, float]:
            results = wntr.sim.EpanetSimulator(network).run_sim(file_prefix=str(Path(folder) / "run"))
            return {name: float(results.node["head"][name].iloc[-1]) for name in tanks}

        ends, levels = theirs(), settle(site, contents)
        assert all(abs(tanks[name].base + levels[name] - ends[name]) < 0.001 for name in tanks)
        return best(theirs, 1, 3) / best(lambda: settle(replace(site), contents), 50)


def large(kind: str, count: int) -> Layout:
    """Return a bank of many tanks on uneven ground, with a tap on the first."""
    chance = random.Random(1)
    tanks = {
        f"t{place}": Tank(
            f"t{place}", Straight(chance.uniform(0.5, 2.0), 1.0), base=chance.uniform(0, 0.5), brim=1.0
        )
        for place in range(count)
    }
    width = int(count**0.5)
    pairs = {
        "chain": [(place, place + 1) for place in range(count - 1)],
        "star": [(0, place) for place in range(1, count)],
        "grid": [(place, place + 1) for place in range(count - 1) if (place + 1) % width]
        + [(place, place + width) for place in range(count - width)],
    }[kind]
    links = {
        f"l{place}": Link(f"l{place}", (f"t{one}", f"t{other}"), (0.08, 0.08))
        for place, (one, other) in enumerate(pairs)
    }
    return Layout(tanks, links, {"tap": Outlet("tap", "t0", 0.01)})


def jobs(site: Layout) -> dict[str, Callable[[Layout], object]]:
    """Return what is asked of a large bank, by name; litres that go missing on the way are an error."""
    count = len(site.tanks)
    full = poured_whole(site, {"t0": 0.3 * count})
    depth = site.tanks["t0"].depth(full["t0"])
    showers = {name: dict.fromkeys(site.tanks, volume) for name, volume in RAIN.items()}
    for shower in showers.values():
        poured_whole(site, shower)
    taken, last = 0.1 * count, f"t{count - 1}"
    return {
        "one dip": lambda bank: at_rest(bank, {"t0": depth}),
        "pour into one": lambda bank: pour(bank, {}, {"t0": 0.3 * count}),
        "draw from one": lambda bank: draw(bank, full, "tap", taken),
        "transfer from first to last": lambda bank: transfer(bank, full, "t0", last, taken),
        **{name: partial(pour, contents={}, inflow=shower) for name, shower in showers.items()},
    }


def poured_whole(site: Layout, inflow: dict[str, float]) -> dict[str, float]:
    """Return contents after a pour that has lost no litre."""
    after, came = pour(site, {}, inflow), sum(inflow.values())
    kept = sum(after.contents.values()) + sum(after.spilled.values())
    assert abs(kept - came) < 1e-9 * came, "litres went missing"
    return after.contents


def growth(kind: str) -> dict[str, tuple[float, float]]:
    """Return for each kind of work the time at 10 000 tanks, [s], and how many times that of 1000 it is."""
    times: dict[str, list[float]] = {}
    for count, repeat in ((1000, 9), (10_000, 3)):
        site = large(kind, count)
        for what, job in jobs(site).items():
            # A new layout each time: one that has been asked before may keep its answers.
            times.setdefault(what, []).append(best(partial(asked_anew, job, site), 1, repeat))
    return {what: (many, many / few) for what, (few, many) in times.items()}


def asked_anew(job: Callable[[Layout], object], site: Layout) -> object:
    """Do a job on a copy of a layout."""
    return job(replace(site))


def main() -> None:
    """Print the table."""
    print(f"level of three tanks from a volume: brentq / this = {against_a_root_finder():.1f}")
    print("  wanted at least 20")
    print(f"three tanks left to settle: EPANET / this = {against_an_engine():.0f}")
    print("  wanted at least 200")
    for kind in ("chain", "star", "grid"):
        for what, (seconds, ratio) in growth(kind).items():
            print(f"{kind}, {what}: 10 000 tanks / 1000 = {ratio:.1f} ({seconds:.2f} s here)")
            print("  wanted at most 50")


if __name__ == "__main__":
    main()
