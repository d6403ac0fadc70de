"""What the ends of all tanks, added up, tell too much: what one tank may hold another cannot hold at the same time.

A pump of unknown rate leaves each of two tanks somewhere between empty and full, and a crest nobody has looked at
allows two resting states; but the litres are the same litres. So the water in all is known better than tank by tank.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tankdash.keeping.state.tracks import SAME_WATER, Three
from tankdash.water.model import Contents
from tankdash.water.rest import AtRest


@dataclass(frozen=True)
class Overlap:
    """By how much the sums of the ends overstate what is open."""

    under: float = 0.0
    """There is at least so much more than the sum of the lows, [m3]."""
    over: float = 0.0
    """There is at least so much less than the sum of the highs, [m3]."""

    def least(self, contents: Three[Contents]) -> float:
        """Return what there is in all at least, [m3]."""
        return _sum(contents.low) + self.under

    def most(self, contents: Three[Contents]) -> float:
        """Return what there is in all at most, [m3]."""
        return _sum(contents.high) - self.over

    def lost(self, least: float, most: float) -> Overlap:
        """Return what is left of it after water has gone, which of the tracks' ends lost so much, [m3].

        Where the fuller account spills more the real water may have kept it, or lost it, so both ends give way.
        """
        if not self.under and not self.over:
            return self
        return Overlap(max(0.0, self.under - max(0.0, most - least)), max(0.0, self.over - most))

    def drawn(self, least: float, most: float) -> Overlap:
        """Return what is left of it after a draw that the emptier and the fuller account could meet so far, [m3]."""
        return Overlap(max(0.0, self.under - max(0.0, most - least)), self.over)

    def without(self, before: Three[Contents], after: Three[Contents]) -> Overlap:
        """Return what is left of it when tanks have left the garden, or none of them holds more than its brim."""
        low, high = (_sum(one) - _sum(two) for one, two in zip(_ends(before), _ends(after), strict=True))
        return Overlap(max(0.0, self.under - max(0.0, high - low)), max(0.0, self.over - max(0.0, high)))

    def read(self, before: Three[Contents], after: Three[Contents], read: Iterable[str]) -> Overlap:
        """Return what is left of it when some tanks were read anew: what they hold the others do not.

        Parameters
        ----------
        before, after : Three
            What was held by the journal, and what is held by the reading, [m3].
        read : iterable of str
            The tanks whose surface the reading tells.
        """
        if not self.under and not self.over:
            return self
        # A reading tells of more tanks than it reads: what one of them is said to hold anew, it tells of that one, too.
        told = set(read)
        others = [
            tank for tank in after.mid if tank not in told and _span(tank, before) == _span(tank, after)
        ]
        known = [tank for tank in {**before.mid, **after.mid} if tank not in others]
        was_low, was_high = (_sum(end, known) for end in _ends(before))
        is_low, is_high = (_sum(end, known) for end in _ends(after))
        # The reading may be none the journal thought possible: the others hold no more or less for that.
        low, high = (_sum(end, others) for end in _ends(before))
        most = min(max(low, self.most(before) - min(max(is_low, was_low), was_high)), high)
        least = min(max(low, self.least(before) - min(max(is_high, was_low), was_high)), high)
        return between(after, is_low + least, is_high + most)

    def rested(self, contents: Three[Contents], rest: AtRest) -> Overlap:
        """Return it with what a reading tells of all tanks together: a crest allows two states, of the same water (R5).

        Parameters
        ----------
        contents : Three
            What is held by the reading, [m3].
        rest : AtRest
            What the reading came to; nothing is taken from it where other ends than its own are held.
        """
        held = {tank: (rested.low, rested.high) for tank, rested in rest.tanks.items()}
        if held != {tank: (contents.low[tank], contents.high[tank]) for tank in contents.mid}:
            return self
        if not all(rested.state != "vent-closed" for rested in rest.tanks.values()):
            return self
        # Where the two do not meet the reading is right.
        least, most = (
            min(max(told, rest.low), rest.high) for told in (self.least(contents), self.most(contents))
        )
        return between(contents, least, most)


NO_OVERLAP = Overlap()


def between(contents: Three[Contents], least: float, most: float) -> Overlap:
    """Return the overlap of contents that are known to add up to between `least` and `most`, [m3]."""
    under, over = least - _sum(contents.low), _sum(contents.high) - most
    return Overlap(under if under > SAME_WATER else 0.0, over if over > SAME_WATER else 0.0)


def _span(tank: str, contents: Three[Contents]) -> tuple[float | None, float | None]:
    return contents.low.get(tank), contents.high.get(tank)


def _ends(contents: Three[Contents]) -> tuple[Contents, Contents]:
    return contents.low, contents.high


def _sum(contents: Contents, tanks: Iterable[str] | None = None) -> float:
    return sum(contents.values()) if tanks is None else sum(contents.get(tank, 0.0) for tank in tanks)
