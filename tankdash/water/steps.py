"""Marching tank volumes through time: a Runge-Kutta-Chebyshev method that chooses its own steps.

Links make the volumes creep towards each other at very different speeds, a tote coupling in seconds, a hose in
hours. That is the one kind of stiffness this explicit method is made for: no matrices, any number of tanks.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite, sqrt

Rates = Callable[[Sequence[float]], list[float]]
"""Volumes [m3] to net inflow of each tank [m3/s]."""

MOST_STAGES = 1000
"""Stages of one step: bounds the work between two looks at the result."""


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
    """Volumes at its end, [m3]."""
    rates_before: list[float]
    """[m3/s]."""
    rates_after: list[float]
    """[m3/s]."""

    def at(self, share: float) -> list[float]:
        """Return the volumes at `share` of the step, 0 <= share <= 1, by the cubic through ends and slopes."""
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

    def last_share_before(
        self, happened: Callable[[list[float]], bool], at: Callable[[float], list[float]] | None = None
    ) -> float:
        """Return the share of the step up to which `happened` is not yet true, given that it is true at the end.

        States inside are read from the cubic, or from `at` where that must not look past what happened.
        """
        at = self.at if at is None else at
        low, high = 0.0, 1.0
        for _ in range(40):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if happened(at(middle)) else (middle, high)
        return low


@lru_cache(maxsize=MOST_STAGES)
def _coefficients(stages: int) -> tuple[float, tuple[tuple[float, float, float, float], ...]]:
    """Return the weights of the first stage and of each later one (mu, nu, mu~, gamma~)."""
    edge = 1.0 + 2.0 / (13.0 * stages * stages)
    value, first, second = [1.0, edge], [0.0, 1.0], [0.0, 0.0]
    for j in range(2, stages + 1):
        value.append(2.0 * edge * value[j - 1] - value[j - 2])
        first.append(2.0 * edge * first[j - 1] - first[j - 2] + 2.0 * value[j - 1])
        second.append(2.0 * edge * second[j - 1] - second[j - 2] + 4.0 * first[j - 1])
    pull = first[stages] / second[stages]
    b = [0.0, 0.0] + [second[j] / (first[j] * first[j]) for j in range(2, stages + 1)]
    b[0] = b[1] = b[2]
    later = []
    for j in range(2, stages + 1):
        mu = 2.0 * b[j] * edge / b[j - 1]
        nu = -b[j] / b[j - 2]
        mu_rate = 2.0 * b[j] * pull / b[j - 1]
        gamma_rate = -(1.0 - b[j - 1] * value[j - 1]) * mu_rate
        later.append((mu, nu, mu_rate, gamma_rate))
    return b[1] * pull, tuple(later)


def _attempt(
    rates: Rates, before: Sequence[float], slope: list[float], length: float, stages: int
) -> list[float]:
    """Return the volumes one step of `length` later."""
    first, later = _coefficients(stages)
    older = list(before)
    newer = [y + first * length * f for y, f in zip(before, slope, strict=True)]
    for mu, nu, mu_rate, gamma_rate in later:
        stage_rates = rates(newer)
        rest, mu_step, gamma_step = 1.0 - mu - nu, mu_rate * length, gamma_rate * length
        older, newer = (
            newer,
            [
                rest * y + mu * near + nu * far + mu_step * rate + gamma_step * f
                for y, near, far, rate, f in zip(before, newer, older, stage_rates, slope, strict=True)
            ],
        )
    return newer


class March:
    """Steps through time, each as long as its accuracy allows.

    Parameters
    ----------
    rates : callable
        Net inflow of each tank for given volumes.
    stiffness : callable
        Bound on the fastest rate at which neighbours draw level, for given volumes, [1/s].
    weights : sequence of float
        Volume error allowed in each tank and step, > 0, [m3].
    volumes : sequence of float
        Where to start, [m3].
    longest : float
        Longest single step, [s].

    References
    ----------
    B. P. Sommeijer, L. F. Shampine, J. G. Verwer, "RKC: an explicit solver for parabolic PDEs", Journal of
    Computational and Applied Mathematics 88 (1997), pp. 315-326: coefficients, error estimate and step rule.
    """

    def __init__(
        self,
        rates: Rates,
        stiffness: Callable[[Sequence[float]], float],
        weights: Sequence[float],
        volumes: Sequence[float],
        longest: float,
    ) -> None:
        self._rates = rates
        self._stiffness = stiffness
        self._weights = weights
        self.time = 0.0
        """Since the start, [s]."""
        self.volumes = list(volumes)
        """Now, [m3]."""
        self._slope = rates(self.volumes)
        self._longest = longest
        self._length = longest

    def _size(self, error: Sequence[float]) -> float:
        return max(abs(e) / w for e, w in zip(error, self._weights, strict=True))

    def _first_length(self) -> float:
        """Return a step over which no tank changes by more than its allowance would forgive many times."""
        speed = self._size(self._slope)
        return min(self._longest, 3.0 / speed) if speed > 0.0 else self._longest

    def replace(self, volumes: Sequence[float]) -> None:
        """Go on from other volumes at the same time: something spilled, an inflow began or ended."""
        self.volumes = list(volumes)
        self._slope = self._rates(self.volumes)

    def part_of(self, stride: Stride, share: float, rates: Rates) -> list[float]:
        """Return the volumes at `share` of a step by stepping afresh from its start with other `rates`."""
        length = share * stride.length
        stages = self._stages(length * self._stiffness(stride.before))
        return _attempt(rates, stride.before, stride.rates_before, length, stages)

    @staticmethod
    def _stages(stiff_length: float) -> int:
        return max(2, min(MOST_STAGES, 1 + int(sqrt(1.0 + 1.54 * stiff_length))))

    def stride(self, until: float) -> Stride:
        """Take one step, ending at `until` at the latest, and return it."""
        if self.time == 0.0:
            self._length = self._first_length()
        while True:
            stiffness = self._stiffness(self.volumes)
            stable = (MOST_STAGES**2 - 1) / (1.54 * stiffness) if stiffness > 0.0 else self._longest
            length = min(self._length, self._longest, stable)
            remaining = until - self.time
            if length > 0.99 * remaining:
                length = remaining
            stages = self._stages(length * stiffness)
            after = _attempt(self._rates, self.volumes, self._slope, length, stages)
            slope = self._rates(after)
            error = self._size(
                [
                    0.8 * (y - z) + 0.4 * length * (f + g)
                    for y, z, f, g in zip(self.volumes, after, self._slope, slope, strict=True)
                ]
            )
            growth = 0.8 / error ** (1.0 / 3.0) if error > 1e-9 else 5.0
            if not isfinite(error):
                growth = 0.1
            self._length = length * max(0.1, min(5.0, growth))
            if error <= 1.0 or length <= 1e-9:
                break
        taken = Stride(self.time, length, self.volumes, after, self._slope, slope)
        self.time = until if length == remaining else self.time + length
        self.volumes, self._slope = after, slope
        return taken
