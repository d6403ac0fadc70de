"""A long walk with marks along the way: what is written near its end is walked from the last mark before it.

The journal of ten years has ten thousand happenings, and a new entry is nearly always about today. What a walk comes
to depends only on its happenings, in their order; so as far as those are the ones of last time, the walk is where it
was then.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import count, takewhile
from typing import NamedTuple

from tankdash.keeping.state.happenings import Happening
from tankdash.keeping.state.walk import Walk

MARK_EVERY = 128
"""Happenings from one mark to the next: as long to walk as a mark takes to set."""


class Mark(NamedTuple):
    """Where a walk stood."""

    steps: int
    """Happenings taken by then."""
    walk: Walk
    """Never walked on itself: whoever goes on takes a branch."""


class Trail:
    """The walk of one garden through its whole journal, gone again whenever the journal has grown or shrunk."""

    def __init__(self) -> None:
        self._happenings: Sequence[Happening] = ()
        self._marks: list[Mark] = []

    def follow(self, happenings: Sequence[Happening], begin: Callable[[], Walk]) -> Walk:
        """Return the walk that has taken all `happenings`.

        Parameters
        ----------
        happenings : sequence of Happening
            All of them, in order; each holds everything that the walk does with it.
        begin : callable
            Gives the walk before the first of them.
        """
        same = _same_so_far(self._happenings, happenings)
        while self._marks and self._marks[-1].steps > same:
            self._marks.pop()
        steps, walk = (self._marks[-1].steps, self._marks[-1].walk.branch()) if self._marks else (0, begin())
        self._happenings = happenings
        for happening in happenings[steps:]:
            walk.step(happening)
            steps += 1
            if steps % MARK_EVERY == 0:
                self._marks.append(Mark(steps, walk.branch()))
        return walk


def _same_so_far(before: Iterable[Happening], after: Iterable[Happening]) -> int:
    """Return how many of the first happenings are the same."""
    pairs = zip(count(1), before, after, strict=False)
    return max((number for number, *_ in takewhile(lambda pair: pair[1] == pair[2], pairs)), default=0)
