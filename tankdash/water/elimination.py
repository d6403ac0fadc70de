"""Linear equations of a network: few unknowns in each row, solved by elimination that keeps the rows short."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

__all__ = ["Solved", "eliminated", "short_order"]

Rows = list[dict[int, float]]
"""Coefficients by row, then by unknown; what is not named is 0."""


def short_order(pairs: Iterable[tuple[int, int]], count: int) -> list[int]:
    """Return an order of elimination that joins few unknowns anew: always the one with the fewest neighbours next.

    Parameters
    ----------
    pairs : iterable of (int, int)
        Unknowns that stand in one equation.
    count : int
        How many unknowns there are.

    Examples
    --------
    The hub of a star comes last, or before the last of its ends:

    >>> short_order([(0, 1), (0, 2), (0, 3)], 4)
    [1, 2, 0, 3]
    """
    beside: list[set[int]] = [set() for _ in range(count)]
    for one, other in pairs:
        if one != other:
            beside[one].add(other)
            beside[other].add(one)
    waiting: list[set[int]] = [set() for _ in range(count + 1)]
    for unknown, others in enumerate(beside):
        waiting[len(others)].add(unknown)
    order: list[int] = []
    fewest = 0
    while len(order) < count:
        while not waiting[fewest]:
            fewest += 1
        pivot = min(waiting[fewest])
        waiting[fewest].discard(pivot)
        order.append(pivot)
        others = beside[pivot]
        for other in others:
            waiting[len(beside[other])].discard(other)
            beside[other] |= others
            beside[other] -= {other, pivot}
            waiting[len(beside[other])].add(other)
            fewest = min(fewest, len(beside[other]))
    return order


class Solved:
    """A system whose unknowns have been eliminated once, ready for any right-hand side."""

    def __init__(
        self, steps: list[tuple[int, float, list[tuple[int, float]], list[tuple[int, float]]]]
    ) -> None:
        self._steps = steps

    def solution(self, right: Sequence[float]) -> list[float]:
        """Return the unknowns for one right-hand side."""
        found = list(right)
        for pivot, _, below, _ in self._steps:
            value = found[pivot]
            if value != 0.0:
                for row, factor in below:
                    found[row] -= factor * value
        for pivot, diagonal, _, beyond in reversed(self._steps):
            value = found[pivot]
            for column, coefficient in beyond:
                value -= coefficient * found[column]
            found[pivot] = value / diagonal
        return found


def eliminated(rows: Rows, order: Sequence[int]) -> Solved:
    """Eliminate the unknowns of a system one by one; `rows` are used up.

    No row is exchanged: that is safe where each diagonal outweighs the rest of its column, as it does where water
    that leaves one tank comes to another.

    Parameters
    ----------
    rows : list of dict
        Square; row i holds a coefficient of unknown i that is not 0.
    order : sequence of int
        In which the unknowns are eliminated, each once.

    Examples
    --------
    >>> eliminated([{0: 2.0, 1: -1.0}, {0: -1.0, 1: 2.0}], [0, 1]).solution([1.0, 1.0])
    [1.0, 1.0]
    """
    holding: list[set[int]] = [set() for _ in rows]
    for number, row in enumerate(rows):
        for column in row:
            holding[column].add(number)
    steps = []
    for pivot in order:
        row = rows[pivot]
        diagonal = row.pop(pivot)
        beyond = list(row.items())
        for column in row:
            holding[column].discard(pivot)
        below = []
        for number in holding[pivot]:
            if number == pivot:
                continue
            other = rows[number]
            factor = other.pop(pivot) / diagonal
            below.append((number, factor))
            for column, coefficient in beyond:
                if column in other:
                    other[column] -= factor * coefficient
                else:
                    other[column] = -factor * coefficient
                    holding[column].add(number)
        steps.append((pivot, diagonal, below, beyond))
    return Solved(steps)
