"""What each link carries when all that runs in must leave at one tank: chains, trees, headers and loops (R12)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tankdash.water.currents import Currents
from tankdash.water.elimination import eliminated
from tankdash.water.errors import named
from tankdash.water.friction import Pipe
from tankdash.water.model import Layout

CLOSE_ENOUGH = 1e-9
"""Heads round the loops count as closed below this, or this share of the largest head, [m]."""


@dataclass(frozen=True)
class Carried:
    """What one link carries, and the head that takes."""

    flow: float | None
    """Of a link from the first tank it joins to the second; of a header the most in any leg, [m3/s]. None when it
    lies in a loop with a link nobody measured."""
    head: float | None
    """Across it, same sign; of a header from its highest tank to its lowest, [m]. None when nobody measured it."""
    upstream: str | None
    """Tank of the link that gives most; None when nothing flows."""


@dataclass(frozen=True)
class _Edge:
    """A pipe between two nodes."""

    way: int
    one: int
    other: int
    pipe: Pipe | None


class SteadyFlow:
    """The links of a layout, ready to be asked what they carry to one tank.

    Every link is taken as drowned: sills play no part once the bank is full. Flows in loops share out so that the
    heads round each loop close: corrections as of H. Cross (Analysis of flow in networks of conduits or conductors,
    University of Illinois Bulletin 286, 1936), but of all loops at once.
    """

    def __init__(self, currents: Currents) -> None:
        self.currents = currents
        nodes = len(currents.ids)
        self._edges: list[_Edge] = []
        for place, way in enumerate(currents.ways):
            if way.is_header:
                self._edges += [_Edge(place, leg.tank, nodes, way.pipe) for leg in way.legs]
                nodes += 1
            else:
                self._edges.append(_Edge(place, way.legs[0].tank, way.legs[1].tank, way.pipe))
        self._edges_of: list[list[int]] = [[] for _ in currents.ways]
        for number, edge in enumerate(self._edges):
            self._edges_of[edge.way].append(number)
        self._at: list[list[int]] = [[] for _ in range(nodes)]
        for number, edge in enumerate(self._edges):
            self._at[edge.one].append(number)
            self._at[edge.other].append(number)

    def _tree(self, root: int) -> tuple[list[int], dict[int, int], list[int]]:
        """Return the nodes reached from `root` in order, the edge that leads back from each, and the other edges."""
        order, back, spare = [root], {root: -1}, dict[int, None]()
        for node in order:
            for number in self._at[node]:
                edge = self._edges[number]
                beyond = edge.other if edge.one == node else edge.one
                if number == back[node]:
                    continue
                if beyond in back:
                    spare.setdefault(number)
                else:
                    back[beyond] = number
                    order.append(beyond)
        return order, back, list(spare)

    def reached(self, tank: int) -> list[int]:
        """Return the tanks joined to `tank` by any chain of links, itself included."""
        return [node for node in self._tree(tank)[0] if node < len(self.currents.ids)]

    def _loop(self, number: int, back: Mapping[int, int]) -> list[tuple[int, int]]:
        """Return the loop a spare edge closes: edges, each with +1 or -1 for the way round."""

        def trail(node: int) -> list[tuple[int, int]]:
            steps = []
            while back[node] >= 0:
                edge = self._edges[back[node]]
                towards_root = edge.other if edge.one == node else edge.one
                steps.append((back[node], 1 if edge.one == node else -1))
                node = towards_root
            return steps

        edge = self._edges[number]
        out, home = trail(edge.other), trail(edge.one)
        while out and home and out[-1] == home[-1]:
            out.pop()
            home.pop()
        return [(number, 1), *out, *((step, -sign) for step, sign in home)]

    def to(self, sink: int, inflow: Sequence[float]) -> dict[str, Carried]:
        """Return what every link of a bank carries when all that runs into it leaves at one tank.

        Parameters
        ----------
        sink : int
            Number of the tank that gives it up.
        inflow : sequence of float
            Into each tank, [m3/s].

        Returns
        -------
        dict of str to Carried
            By link id, those of the sink's bank only.
        """
        order, back, spare = self._tree(sink)
        flows: list[float | None] = [0.0] * len(self._edges)
        through = dict.fromkeys(order, 0.0)
        for node in reversed(order):
            through[node] += inflow[node] if node < len(inflow) else 0.0
            number = back[node]
            if number >= 0:
                edge = self._edges[number]
                flows[number] = through[node] if edge.one == node else -through[node]
                through[edge.other if edge.one == node else edge.one] += through[node]
        known = self._without_unmeasured([self._loop(number, back) for number in spare], flows)
        self._close(known, flows)
        carried: dict[str, Carried] = {}
        reached = set(order)
        for place, way in enumerate(self.currents.ways):
            edges = self._edges_of[place]
            if self._edges[edges[0]].one in reached:
                carried[way.link] = self._carried(edges, flows, is_header=way.is_header)
        return carried

    def _carried(self, edges: list[int], flows: list[float | None], *, is_header: bool) -> Carried:
        """Return what one link carries, from the flows along its edges."""
        along = [flows[number] for number in edges]
        if any(flow is None for flow in along):
            return Carried(None, None, None)
        known = [flow or 0.0 for flow in along]
        pipe = self._edges[edges[0]].pipe
        heads = None if pipe is None else [pipe.head(flow) for flow in known]
        if not is_header:
            edge, flow = self._edges[edges[0]], known[0]
            giver = None if flow == 0.0 else self.currents.ids[edge.one if flow > 0.0 else edge.other]
            return Carried(flow, None if heads is None else heads[0], giver)
        most = max(range(len(known)), key=lambda leg: known[leg])
        giver = self.currents.ids[self._edges[edges[most]].one] if known[most] > 0.0 else None
        head = None if heads is None else max(heads) - min(heads)
        return Carried(max(abs(flow) for flow in known), head, giver)

    def _without_unmeasured(
        self, loops: list[list[tuple[int, int]]], flows: list[float | None]
    ) -> list[list[tuple[int, int]]]:
        """Blot out the flows of loops that hold, or share an edge with one that holds, an unmeasured link."""
        lost = {number for loop in loops for number, _ in loop if self._edges[number].pipe is None}
        known = loops
        while True:
            touched = [loop for loop in known if any(number in lost for number, _ in loop)]
            if not touched:
                break
            lost.update(number for loop in touched for number, _ in loop)
            known = [loop for loop in known if loop not in touched]
        for number in lost:
            if any(number == step for loop in loops for step, _ in loop):
                flows[number] = None
        return known

    def _close(self, loops: list[list[tuple[int, int]]], flows: list[float | None]) -> None:
        """Shift water round the loops until the heads of all of them close, by damped Newton steps."""
        if not loops:
            return
        known = [flow or 0.0 for flow in flows]
        loops_of: dict[int, list[tuple[int, int]]] = {}
        for place, loop in enumerate(loops):
            for number, sign in loop:
                loops_of.setdefault(number, []).append((place, sign))
        misses, largest = self._misses(loops, known)
        least = 1e-6 * max(abs(flow) for flow in known)
        for _ in range(60):
            size = sum(miss * miss for miss in misses) ** 0.5
            if size <= CLOSE_ENOUGH * max(1.0, largest):
                break
            stiff: list[dict[int, float]] = [{} for _ in loops]
            for number, here in loops_of.items():
                slope = self._slope(number, known[number], least)
                for one, sign in here:
                    for other, other_sign in here:
                        stiff[one][other] = stiff[one].get(other, 0.0) + sign * other_sign * slope
            shifts = eliminated(stiff, range(len(loops))).solution([-miss for miss in misses])
            share = 1.0
            while True:
                trial = list(known)
                for loop, shift in zip(loops, shifts, strict=True):
                    for number, sign in loop:
                        trial[number] += share * sign * shift
                misses, largest = self._misses(loops, trial)
                if sum(miss * miss for miss in misses) ** 0.5 < size or share < 1e-6:
                    break
                share *= 0.5
            known = trial
        for number in loops_of:
            flows[number] = known[number]

    def _misses(self, loops: list[list[tuple[int, int]]], flows: list[float]) -> tuple[list[float], float]:
        """Return the head lost once round each loop, and the largest head in any of them, [m]."""
        heads = {number: self._head(number, flows[number]) for loop in loops for number, _ in loop}
        largest = max(abs(head) for head in heads.values())
        return [sum(sign * heads[number] for number, sign in loop) for loop in loops], largest

    def _head(self, number: int, flow: float) -> float:
        pipe = self._edges[number].pipe
        return 0.0 if pipe is None else pipe.head(flow)

    def _slope(self, number: int, flow: float, least: float) -> float:
        """Return how fast the head of an edge rises with its flow, never quite nothing, [s/m2]."""
        flow = max(abs(flow), least)
        return (self._head(number, flow * 1.0001) - self._head(number, flow * 0.9999)) / (0.0002 * flow)


def steady_flow(layout: Layout, inflow: Mapping[str, float], leaves_at: str) -> dict[str, Carried]:
    """Return what each link carries when all that runs into a bank leaves at one of its tanks.

    Parameters
    ----------
    layout : Layout
        What stands there.
    inflow : mapping of str to float
        Into each tank, >= 0, [m3/s].
    leaves_at : str
        The tank that spills or is drawn from as fast as the others are filled.

    Returns
    -------
    dict of str to Carried
        By link id, those of that tank's bank only.

    Raises
    ------
    OutOfRange
        If a tank is not there.

    Examples
    --------
    >>> from tankdash.water.model import Link, Tank
    >>> from tankdash.water.shapes import Straight
    >>> tanks = {name: Tank(name, Straight(1.0, 1.0), brim=1.0) for name in "abc"}
    >>> links = {
    ...     pair: Link(pair, tuple(pair), (0.1, 0.1), bore=0.05, run=0.6) for pair in ("ab", "bc")
    ... }
    >>> carried = steady_flow(Layout(tanks, links), {"a": 0.001, "b": 0.0005}, leaves_at="c")
    >>> [round(carried[pair].flow * 1000, 3) for pair in ("ab", "bc")]
    [1.0, 1.5]
    >>> carried["bc"].head > carried["ab"].head > 0
    True
    """
    currents = Currents(layout)
    for name in (*inflow, leaves_at):
        named(name, currents.number, "tank")
    return SteadyFlow(currents).to(
        currents.number[leaves_at], [inflow.get(name, 0.0) for name in currents.ids]
    )
