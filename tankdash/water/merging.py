"""One filling as it runs: pools rise, run over, merge and spill until the water is in or every way is full (R9)."""

from __future__ import annotations

from collections.abc import Mapping
from heapq import heapify, heappop, heappush
from math import inf

from tankdash.water.clocks import Clock, Fed, Schedule
from tankdash.water.friction import Pipe
from tankdash.water.joining import Joined
from tankdash.water.model import Link
from tankdash.water.overflows import overflows_that_join
from tankdash.water.pools import HAIR, REST, surfaces
from tankdash.water.rising import Lip, Overflow, SillWay, height_that_holds
from tankdash.water.sills import Network

__all__ = ["Filling"]

UPHILL_STEP = 0.001
"""How late an overflow may be found open whose far end stands higher than its lip, [m].

It waits until the tank that overflows has come up to that end. Where the far end stands still, that height is known and
met exactly. Where it rises too, the two meet at a moment that any other rise ending before may move; but as no pool
ever sinks while it fills, they cannot have met below the height at which the far end was last seen. So the rise ends
there and is looked at again, at least this much higher each time: it opens by no more than this late, which is the
tolerance lips are compared with (R17), and a metre of rising side by side costs a thousand looks, not millions. What
the tanks hold in the end does not hang on it, as both rise as one from where they meet; and no litre does.
"""


class Filling:
    """One filling as it runs: pools, what feeds them, and the rises that end."""

    def __init__(self, network: Network, held: list[float], rates: Mapping[int, float]) -> None:
        """Start from contents at rest, with constant inflows.

        Parameters
        ----------
        network : Network
            Open links.
        held : list of float
            What each tank node holds, [m3].
        rates : mapping of int to float
            Inflow of each tank node, [m3] per unit of time.
        """
        self.network = network
        self._before = held
        self._schedule = Schedule()
        self._sets = Joined(len(network.passages))
        self._pools: dict[int, Fed] = {}
        self._away: dict[int, Fed] = {}
        self._capacities: dict[str, float] = {}
        self._order = 0
        self._inflow = list(rates.values())
        self._build(held)
        changed: set[Fed] = set()
        for node, rate in rates.items():
            if rate > 0.0:
                changed.add(self._feed(node, self._schedule.main, rate))
        self._schedule.renew(changed)

    def run(self, until: float = inf, *, to_first_spill: bool = False) -> None:
        """Let the water run.

        Parameters
        ----------
        until : float
            Time to stop, in the unit the rates are given in, [-]; without end, until every further drop spills.
        to_first_spill : bool
            Stop as soon as any water runs away.
        """
        while not (to_first_spill and self._away):
            pool = self._schedule.next_full(until)
            if pool is None:
                break
            self._end_of_rise(pool)
        if until < inf and not (to_first_spill and self._away):
            self._schedule.time = max(self._schedule.time, until)

    def held(self) -> list[float]:
        """Return what each tank node holds now, [m3]; a tank no water has come to keeps its own to the last drop."""
        held = list(self._before)
        for pool in self._pools.values():
            self._schedule.bring_up(pool)
            if pool.moved:
                self._share_out(pool, held)
        return held

    def taken_in(self) -> float:
        """Return how much water has come in since the beginning, [m3]."""
        return sum(self._inflow) * self._schedule.time

    def spilled(self) -> dict[int, float]:
        """Return what has run away over the lip of each tank node, [m3]."""
        for pool in self._away.values():
            self._schedule.bring_up(pool)
        return {node: pool.water for node, pool in self._away.items()}

    def _share_out(self, pool: Fed, held: list[float]) -> None:
        """Write the contents of a pool's tanks; rounding goes to the one that has most, as far as it has room."""
        if not pool.nodes:
            return
        tanks = [self.network.tanks[node] for node in pool.nodes]
        if pool.stands:
            height = pool.surface
        else:
            height = self._height(pool, pool.surface, pool.top)
        volumes = [tank.volume_at(height) for tank in tanks]
        rest = pool.water - sum(volumes)
        for place in sorted(range(len(tanks)), key=volumes.__getitem__, reverse=True):
            given = min(max(0.0, volumes[place] + rest), tanks[place].capacity)
            rest -= given - volumes[place]
            volumes[place] = given
            if rest == 0.0:
                break
        for node, volume in zip(pool.nodes, volumes, strict=True):
            held[node] = volume

    def _height(self, pool: Fed, low: float, high: float) -> float:
        """Return the height at which a pool holds its water, between two others, above the datum, [m]."""
        if not pool.shaped:
            return min(max(low, (pool.water + pool.offset) / pool.area), high)
        return height_that_holds((self.network.tanks[node] for node in pool.nodes), pool.water, low, high)

    def _build(self, held: list[float]) -> None:
        """Make the pools that stand there at the beginning, with the ways out of each."""
        network, count = self.network, len(self.network.names)
        heights = surfaces(network.tanks, held)
        sills: list[list[SillWay]] = []
        for ways in network.passages:
            sills.append([(way.sill, self._next(), way.to, way.link) for way in ways])
        joining = overflows_that_join(network)
        for node, below in joining.items():
            sills[node].append((network.tanks[node].lip_elevation, self._next(), below, Overflow.DOWN))
        for node, ways in enumerate(network.passages[:count]):
            if held[node] > 0.0:
                for way in ways:
                    if heights[node] > way.sill + REST:
                        self._sets.join(node, way.to)
        for nodes in self._sets.sets(range(len(network.passages))):
            home = self._sets.top(nodes[0])
            tanks = [node for node in nodes if node < count]
            wet = [node for node in tanks if held[node] > 0.0]
            pool = Fed([], max((heights[node] for node in wet or tanks), default=-inf), home=home)
            pool.water = sum(held[node] for node in tanks)
            pool.sills = [way for node in nodes for way in sills[node]]
            pool.lips = [self._lip(node, joining) for node in tanks]
            for node in tanks:
                pool.add_tank(node, network.tanks[node])
            if len(wet) > 1:
                pool.surface = self._height(pool, min(heights[node] for node in wet), pool.surface)
            heapify(pool.sills)
            heapify(pool.lips)
            self._pools[home] = pool
        for pool in self._pools.values():
            self._find_top(pool)

    def _lip(self, node: int, joining: Mapping[int, int]) -> Lip:
        """Return where a tank lets water go and to which node; behind all nodes lies a place away for each tank."""
        tank, away = self.network.tanks[node], len(self.network.passages) + node
        if node in joining:
            return tank.base + tank.brim, node, away
        below = away if tank.overflow_to is None else self.network.node.get(tank.overflow_to, away)
        return tank.lip_elevation, node, below

    def _next(self) -> int:
        """Return a number that keeps equal things in order."""
        self._order += 1
        return self._order

    def _pool(self, node: int) -> Fed:
        """Return the pool a node belongs to now, or what has gone away over its lip."""
        if node < len(self.network.passages):
            return self._pools[self._sets.top(node)]
        tank = node - len(self.network.passages)
        if tank not in self._away:
            self._away[tank] = Fed([], -inf, home=node)
        return self._away[tank]

    def _find_top(self, pool: Fed) -> None:
        """Set where a pool's rise ends: at the lowest way out of it."""
        while pool.sills and self._pool(pool.sills[0][2]) is pool:
            heappop(pool.sills)
        way_out = min(pool.sills[0][0] if pool.sills else inf, pool.lips[0][0] if pool.lips else inf)
        pool.top = max(pool.surface, way_out)

    def _comes_to(self, node: int) -> Fed:
        """Return the pool where water that runs to a node comes to stay or is shared out.

        Pools that pass all their water on are jumped over, and the next time in one jump.
        """
        passed: list[Fed] = []
        pool = self._pool(node)
        while pool.passes_to is not None:
            passed.append(pool)
            node = pool.passes_to
            pool = self._pool(node)
        for through in passed:
            through.passes_to = node
            through.moved = True
        return pool

    def _feed(self, node: int, clock: Clock, share: float) -> Fed:
        """Let a share of a clock's water run to a node, and return the pool it comes to."""
        pool = self._comes_to(node)
        self._schedule.let_in(pool, clock, share)
        return pool

    def _capacity(self, link: Link | Overflow) -> float:
        """Return what a link carries under a head of 1 cm, [m3/s]; only ratios count (R12).

        A link whose run nobody has measured is taken as short; one whose bore nobody has measured as the mean of
        those that are, so that all are equal where none is.
        """
        if not self._capacities:
            links = {way.link.id: way.link for ways in self.network.passages for way in ways}
            carried = {
                key: Pipe(bore=link.bore, run=link.run or 0.0, losses=link.losses).flow(0.01)
                if link.bore and (link.run or link.losses)
                else None
                for key, link in links.items()
            }
            known = [flow for flow in carried.values() if flow]
            mean = sum(known) / len(known) if known else 1.0
            self._capacities = {key: flow or mean for key, flow in carried.items()}
            self._capacities[""] = mean
        return self._capacities["" if isinstance(link, Overflow) else link.id]

    def _end_of_rise(self, pool: Fed) -> None:
        """Let a pool that has reached its lowest way out merge, share its water out, spill, or rise on."""
        self._schedule.bring_up(pool)
        pool.surface = pool.top
        parts, ways = self._look_around(pool)
        weirs = [part.weir for part in parts if part.weir is not None]
        whole, joined = self._merge(parts, pool.surface)
        for weir in weirs:
            self._schedule.shut(whole, weir)
            weir.owner = None
        changed: set[Fed] = set()
        shared = max((weir for weir in weirs if weir.ways), key=lambda weir: weir.ways, default=None)
        for weir in weirs:
            if shared is not None and weir is not shared:
                changed |= self._schedule.hand_over(weir, shared)
                shared.capacity += weir.capacity
                shared.ways += weir.ways
        out = [(to, link) for to, link in ways if self._pool(to) is not whole]
        for to, link in out:
            if link is Overflow.DOWN:
                self._back_up(to, whole)
        lips: list[tuple[int, float]] = []
        while shared is None and not out and whole.lips and whole.lips[0][0] <= whole.surface + HAIR:
            lips.append((heappop(whole.lips)[2], 1.0))
        if shared is not None or out or lips:
            onward = lips or [(to, self._capacity(link)) for to, link in out]
            joined += self._pass_on(whole, shared, onward, changed)
        else:
            whole.stands = False
            self._find_top(whole)
            changed.add(whole)
        self._rejoin(joined, changed)
        self._schedule.renew(changed)

    def _rejoin(self, joined: list[Clock], changed: set[Fed]) -> None:
        """Let pools whose shares have all come together again pass their water on whole; note who gets it.

        Water that has come together stays together: whoever lies between passes on all it gets until it merges.
        """
        waiting = list(joined)
        while waiting:
            weir = waiting.pop()
            if weir.owner is None or len(weir.fed) != 1:
                continue
            [intake] = weir.fed
            pool, below = weir.owner, intake.pool
            self._schedule.shut(below, weir)
            waiting += self._schedule.hand_on(pool, below)
            pool.weir, weir.owner, pool.passes_to = None, None, below.home
            changed.add(below)

    def _look_around(self, pool: Fed) -> tuple[list[Fed], list[tuple[int, Link | Overflow]]]:
        """Return the pools that stand level with one at its top, itself first, and the ways to lower ones."""
        parts, level, ways = [pool], {pool}, []
        for part in parts:
            while part.sills and part.sills[0][0] <= pool.surface + HAIR:
                _, _, to, link = heappop(part.sills)
                beyond = self._pool(to)
                if beyond is part:
                    continue
                above = self._height_above(beyond, pool.surface) if link is Overflow.DOWN else None
                if above is not None:
                    waits = max(above, pool.surface + UPHILL_STEP)
                    heappush(part.sills, (waits, self._next(), to, link))
                    continue
                if beyond.surface < pool.surface - HAIR or (link is Overflow.DOWN and beyond.stands):
                    ways.append((to, link))
                    continue
                if beyond.weir is not None:
                    beyond.weir.ways -= 1
                    beyond.weir.capacity -= self._capacity(link)
                if beyond not in level:
                    level.add(beyond)
                    parts.append(beyond)
        return parts, ways

    def _height_above(self, pool: Fed, height: float) -> float | None:
        """Return how high a pool stands if that is above `height`, [m]: no overflow runs uphill into it."""
        if pool.surface > height + HAIR:
            return pool.surface
        self._schedule.bring_up(pool)
        if pool.stands or pool.water <= pool.volume_at(max(height, pool.surface)) * (1.0 + 1e-12):
            return None
        return self._height(pool, pool.surface, pool.top)

    def _back_up(self, node: int, over: Fed) -> None:
        """Let the pool below an overflow meet the one above it, once it stands at the height of that one."""
        below = self._pool(node)
        heappush(below.sills, (over.surface, self._next(), over.home, Overflow.BACK))
        if not below.stands:
            self._find_top(below)

    def _merge(self, parts: list[Fed], surface: float) -> tuple[Fed, list[Clock]]:
        """Make one pool of several that stand level; return it with the clocks whose water has come together in it."""
        joined: list[Clock] = []
        whole = max(parts, key=lambda part: len(part.nodes) + len(part.sills))
        for part in parts:
            if part is not whole:
                del self._pools[self._sets.top(part.home)]
                joined += self._schedule.hand_on(part, whole)
                whole.take_in(part)
                self._sets.join(whole.home, part.home)
        self._schedule.rise(whole)
        whole.surface, whole.stands, whole.moved = surface, True, True
        return whole, joined

    def _pass_on(
        self, pool: Fed, shared: Clock | None, ways: list[tuple[int, float]], changed: set[Fed]
    ) -> list[Clock]:
        """Let a pool pass its water on by one way or share it over several; note whose feed has changed.

        Returns
        -------
        list of Clock
            Those whose water may have come together.
        """
        if shared is None and len({self._pool(to).home for to, _ in ways}) == 1:
            below = self._comes_to(ways[0][0])
            joined = self._schedule.hand_on(pool, below)
            pool.passes_to = ways[0][0]
            changed.add(below)
            return joined
        shared = shared or Clock(speed=0.0, at=self._schedule.time)
        self._schedule.share_out(pool, shared)
        changed.add(pool)
        for to, capacity in ways:
            shared.capacity += capacity
            shared.ways += 1
            changed.add(self._feed(to, shared, capacity))
        return [shared]
