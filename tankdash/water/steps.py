"""Following tank volumes through time: an implicit method that chooses its own steps (R12).

Links make the volumes creep towards each other at very different speeds, a standpipe in a blink, a thin hose in
days. An implicit step takes the fast ones as drawn level and goes as far as the slow ones allow.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite

from tankdash.water.currents import Currents
from tankdash.water.elimination import eliminated, short_order
from tankdash.water.lips import landed

__all__ = ["March", "Stride"]

SHORTEST = 1e-9
"""No step is cut below this, and in less nothing is felt of what flows meanwhile, [s]."""

PATIENCE = 300
"""After so many steps, and again after as many more, each may be twice as wrong: no march goes on for ever."""

FIRST_CHANGE = 100.0
"""The first step tried changes no tank by more than this many times the error allowed in it."""


@dataclass(frozen=True)
class Stride:
    """One accepted step, with what is needed to read states inside it."""

    start: float
    """[s]."""
    length: float
    """[s]."""
    before: list[float]
    """Volumes at its start, [m3]."""
    after: list[float]
    """Volumes at its end, what ran over a lip meanwhile still counted to its tank, [m3]."""
    rates_before: list[float]
    """[m3/s]."""
    rates_after: list[float]
    """[m3/s]."""
    lost: list[float]
    """What ran away over each lip, [m3]."""

    def at(self, share: float) -> list[float]:
        """Return the volumes, [m3], at `share` of the step, 0 <= share <= 1, by the cubic through ends and slopes."""
        left, right = 1.0 - share, share
        weights = (
            left * left * (1.0 + 2.0 * share),
            right * right * (3.0 - 2.0 * share),
            self.length * share * left * left,
            -self.length * right * right * left,
        )
        return [
            weights[0] * a + weights[1] * b + weights[2] * c + weights[3] * d
            for a, b, c, d in zip(self.before, self.after, self.rates_before, self.rates_after, strict=True)
        ]

    def last_share_before(self, happened: Callable[[list[float]], bool]) -> float:
        """Return the share of the step, [-], up to which `happened` is not yet true; it is true at the end."""
        low, high = 0.0, 1.0
        for _ in range(30):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if happened(self.at(middle)) else (middle, high)
        return low


class March:
    """Follows the volumes of all tanks through time, each step as long as its accuracy allows.

    Water that comes to a tank standing at its lip runs over it: into the tank it is led to, else away. Which tanks
    run over is settled at the start of a step, and the step ends where that changes by more than the accuracy.

    Parameters
    ----------
    currents : Currents
        What flows at given surfaces.
    volumes : sequence of float
        Where to start, none above its lip, [m3].
    accuracy : float
        Depth by which one step may be wrong, > 0, [m].
    longest : float
        Longest single step, [s].
    inflow : sequence of float, optional
        What runs into each tank besides, >= 0, [m3/s].

    References
    ----------
    A. Sandu, J. G. Verwer, J. G. Blom, E. J. Spee, G. R. Carmichael, F. A. Potra, "Benchmarking stiff ODE solvers
    for atmospheric chemistry problems II: Rosenbrock solvers", Atmospheric Environment 31 (1997), pp. 3459-3472:
    the method RODAS3, of order 3 with an error estimate of order 2, stiffly accurate. Mark M; its order is tested.
    """

    def __init__(
        self,
        currents: Currents,
        volumes: Sequence[float],
        *,
        accuracy: float,
        longest: float,
        inflow: Sequence[float] | None = None,
    ) -> None:
        self.time = 0.0
        """Since the start, [s]."""
        self.volumes = list(volumes)
        """Now, [m3]."""
        self._currents = currents
        self._inflow = list(inflow) if inflow is not None else [0.0] * len(self.volumes)
        self._accuracy = accuracy
        self._steps = 0
        self._weights = self._allowed(volumes)
        self._order = short_order(currents.neighbours(), currents.unknowns)
        self._systems = currents.systems()
        self._longest = longest
        self._arriving = self._net(self.volumes)
        speed = self._size(self._arriving)
        self._length = min(longest, FIRST_CHANGE / speed) if speed > 0.0 else longest

    def _net(self, volumes: Sequence[float]) -> list[float]:
        """Return what links and inflow bring to each tank before anything runs over, [m3/s]."""
        net = self._currents.into_tanks(self._currents.surfaces(volumes))
        return [links + more for links, more in zip(net, self._inflow, strict=True)]

    def _allowed(self, volumes: Sequence[float]) -> list[float]:
        """Return the volume by which one step may be wrong in each tank, [m3]."""
        areas = self._currents.water_surfaces(self._currents.surfaces(volumes))
        return [self._accuracy * area for area in areas]

    def _size(self, error: Sequence[float]) -> float:
        return max((abs(e) / w for e, w in zip(error, self._weights, strict=True)), default=0.0)

    def stride(self, until: float) -> Stride:
        """Take one step, ending at `until` at the latest, [s], and return it."""
        currents = self._currents
        before, arriving = self.volumes, self._arriving
        self._steps += 1
        if self._steps % PATIENCE == 0:
            self._accuracy *= 2.0
        self._weights = self._allowed(before)
        lands = self._running_over()
        rates_before = landed(arriving, lands)
        slopes = currents.slopes(before, lands, rates_before, self._accuracy)
        remaining = until - self.time
        while True:
            length = min(self._length, self._longest)
            if length > 0.99 * remaining:
                length = remaining
            after, error = self._attempt(before, rates_before, slopes, lands, length)
            size = self._size(error)
            growth = 0.9 / size ** (1.0 / 3.0) if size > 1e-3 else 5.0
            self._length = length * (min(5.0, max(0.1, growth)) if isfinite(size) else 0.1)
            if size <= 1.0 or length <= SHORTEST:
                break
        arriving_after = self._net(after)
        trial = Stride(self.time, length, before, after, rates_before, landed(arriving_after, lands), [])
        share = min(
            self._share_to_a_lip(trial, lands), self._share_to_an_end(arriving, arriving_after, trial, lands)
        )
        if SHORTEST < share * length < length:
            length *= share
            after, _ = self._attempt(before, rates_before, slopes, lands, length)
            arriving_after = self._net(after)
        now = list(after)
        lost = currents.over.spill(now)
        self._keep_above_nothing(now)
        rates_after = landed(arriving_after, lands)
        taken = Stride(self.time, length, before, after, rates_before, rates_after, lost)
        self.time = until if length == remaining else self.time + length
        self.volumes = now
        self._arriving = arriving_after if now == after else self._net(now)
        return taken

    def _running_over(self) -> dict[int, int]:
        """Return the tanks that run over from now on, with where their water comes to.

        One that lacks no more than a step may be wrong by is looked at as it will be: at its lip.
        """
        at_lip = [
            lip if volume < lip <= volume + spare else volume
            for volume, lip, spare in zip(self.volumes, self._currents.lips, self._weights, strict=True)
        ]
        net = self._arriving if at_lip == self.volumes else self._net(at_lip)
        return self._currents.over.running(at_lip, net)

    def _attempt(
        self,
        before: Sequence[float],
        rates: Sequence[float],
        slopes: list[dict[int, float]],
        lands: Mapping[int, int],
        length: float,
    ) -> tuple[list[float], list[float]]:
        """Return the volumes one step of `length` later, and the error of that, [m3]."""
        count, none = len(before), [0.0] * (len(slopes) - len(before))
        if length < SHORTEST:
            return [y + length * f for y, f in zip(before, rates, strict=True)], [0.0] * count
        rows = [{column: -slope for column, slope in row.items()} for row in slopes]
        for tank in range(count):
            rows[tank][tank] = rows[tank].get(tank, 0.0) + 2.0 / length
        solve = eliminated(rows, self._order).solution
        one = solve([*rates, *none])[:count]
        unit = 1.0 / length
        two = solve([f + 4.0 * unit * a for f, a in zip(rates, one, strict=True)] + none)[:count]
        there = [y + 2.0 * a for y, a in zip(before, one, strict=True)]
        met = landed(self._net(there), lands)
        three = solve([f + unit * (a - b) for f, a, b in zip(met, one, two, strict=True)] + none)[:count]
        there = [y + c for y, c in zip(there, three, strict=True)]
        met = landed(self._net(there), lands)
        four = solve(
            [f + unit * (a - b - 8.0 / 3.0 * c) for f, a, b, c in zip(met, one, two, three, strict=True)]
            + none
        )[:count]
        after = [y + d for y, d in zip(there, four, strict=True)]
        self._close(before, after, length)
        return after, four

    def _close(self, before: Sequence[float], after: list[float], length: float) -> None:
        """Let the tank that holds most take up what rounding has lost or won, in each system of tanks."""
        for tanks in self._systems:
            came = sum(before[tank] + self._inflow[tank] * length for tank in tanks)
            most = max(tanks, key=lambda tank: after[tank])
            after[most] += came - sum(after[tank] for tank in tanks)

    def _share_to_a_lip(self, trial: Stride, lands: Mapping[int, int]) -> float:
        """Return the share of a step at which a tank that does not run over yet has come to its lip."""
        full = [lip + spare for lip, spare in zip(self._currents.lips, self._weights, strict=True)]
        rising = [
            tank for tank, volume in enumerate(trial.after) if tank not in lands and volume > full[tank]
        ]
        if not rising:
            return 1.0
        return trial.last_share_before(lambda now: any(now[tank] > full[tank] for tank in rising))

    def _share_to_an_end(
        self, arriving: Sequence[float], later: Sequence[float], trial: Stride, lands: Mapping[int, int]
    ) -> float:
        """Return the share of a step at which a tank that runs over ceases to: what has run over does not come back."""
        share = 1.0
        for tank, below in lands.items():
            at_first, at_last = (
                (trial.rates_before[tank], trial.rates_after[tank])
                if below == tank
                else (arriving[tank], later[tank])
            )
            if at_last >= 0.0 or at_first <= 0.0:
                continue
            until = at_first / (at_first - at_last)
            taken_back = 0.5 * (1.0 - until) * trial.length * -at_last
            if taken_back > self._weights[tank]:
                share = min(share, until)
        return share

    def _keep_above_nothing(self, volumes: list[float]) -> None:
        """Give a tank that a step has overdrawn its water back from the fullest tank it is joined to."""
        if min(volumes, default=0.0) >= 0.0:
            return
        for tanks in self._systems:
            for tank in tanks:
                if volumes[tank] < 0.0:
                    most = max(tanks, key=lambda other: volumes[other])
                    volumes[most] += volumes[tank]
                    volumes[tank] = 0.0
