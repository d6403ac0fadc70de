"""Which things belong together, found by joining them two by two: tanks to pools, banks and systems."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["Joined"]


class Joined:
    """Sets that merge: which nodes belong together, found without walking the links again."""

    def __init__(self, size: int) -> None:
        self.above = list(range(size))

    def top(self, node: int) -> int:
        """Return the node that stands for the whole set of `node`."""
        above = self.above
        while above[node] != node:
            above[node] = above[above[node]]
            node = above[node]
        return node

    def join(self, one: int, other: int) -> None:
        """Merge the sets of two nodes; the set of `one` keeps its name."""
        self.above[self.top(other)] = self.top(one)

    def sets(self, nodes: Iterable[int]) -> list[list[int]]:
        """Return the nodes given, those of one set together, sets and nodes in the order given."""
        together: dict[int, list[int]] = {}
        for node in nodes:
            together.setdefault(self.top(node), []).append(node)
        return list(together.values())
