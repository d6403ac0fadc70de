"""Water moved from tank to tank while the journal is walked: by bucket at once, or by a pump that is left running.

A pump that runs at a known rate has moved that much if it still ran; when nobody noted its end, it may have stopped
at any time, so the ends of what is held reach from nothing moved to all of it. A pump of unknown rate may have moved
anything, up to all it can get.
"""

from __future__ import annotations

from datetime import datetime

from tankdash.keeping.state.held import WITHOUT_END, Held
from tankdash.keeping.state.overlap import Overlap, between
from tankdash.keeping.state.taps import Running
from tankdash.keeping.state.tracks import SAME_WATER, Three
from tankdash.water.drawing_off import transfer
from tankdash.water.model import Contents


class Pumping(Held):
    """The water held, and how pumps and buckets move it."""

    def transfer(
        self,
        source: str,
        target: str,
        volume: float,
        kind: str,
        entry: int | None = None,
        *,
        is_sure: bool = True,
    ) -> None:
        """Move water from one tank to another, [m3].

        Parameters
        ----------
        source, target : str
            Tanks that stand there.
        volume : float
            How much, >= 0, [m3].
        kind, entry
            What it is remembered as.
        is_sure : bool, optional
            Whether it is known to have gone; otherwise the ends reach from nothing moved to all of it.
        """
        self.let_run_off()
        before, overlap = self.contents, self.overlap
        done, contents = self.run(
            lambda held, primed: transfer(
                self.layout, held, source, target, volume, primed_if_unknown=primed
            ),
            before,
        )
        self.ledger.book(source, short=done.mid.short, transferred=-done.mid.drawn)
        self.ledger.book(target, transferred=done.mid.drawn)
        kept = contents if is_sure else self._reaching_to(before, overlap, contents)
        self.becomes(kept, kind, entry, sum(done.mid.spilled.values()))

    def run_pump(self, running: Running, moment: datetime) -> None:
        """Move what a running pump moves until `moment`."""
        source, target = running.tap.source, running.tap.target
        if source is None or target is None or not {source, target} <= self.layout.tanks.keys():
            return
        if moment <= running.until:
            return
        if running.rate is not None:
            volume = running.rate * (moment - running.until).total_seconds()
            self.stirs.add(self.layout, running.until, moment, {source: -volume, target: volume})
        if not self.has_begun:
            return
        self.stretches.see(self.now, "pump-on", target)
        if running.rate is None:
            self._moves_anything(source, target)
            return
        self.transfer(source, target, volume, "pump", is_sure=running.run.is_ended)

    def _moves_anything(self, source: str, target: str) -> None:
        """Widen what is held to all that a pump of unknown rate may have moved."""
        self.let_run_off()
        before, overlap = self.contents, self.overlap
        low, high = (
            transfer(self.layout, held, source, target, WITHOUT_END) for held in (before.low, before.high)
        )
        self.overlap = overlap.lost(sum(low.spilled.values()), sum(high.spilled.values()))
        reached = Three(low.contents, before.mid, high.contents)
        self.becomes(self._reaching_to(before, overlap, reached), "pump")
        self.unknown |= {
            key
            for key in self.contents.low
            if self.contents.high[key] - self.contents.low[key] > SAME_WATER
            and (
                self.contents.low[key] < before.low[key] - SAME_WATER
                or self.contents.high[key] > before.high[key] + SAME_WATER
            )
        }

    def _reaching_to(
        self, before: Three[Contents], overlap: Overlap, after: Three[Contents]
    ) -> Three[Contents]:
        """Return the ends wide enough for what was held before as well, the likely account that of after."""
        kept = Three[Contents](
            {key: min(volume, before.low.get(key, volume)) for key, volume in after.low.items()},
            after.mid,
            {key: max(volume, before.high.get(key, volume)) for key, volume in after.high.items()},
        )
        least = min(overlap.least(before), self.overlap.least(after))
        self.overlap = between(kept, least, max(overlap.most(before), self.overlap.most(after)))
        return kept
