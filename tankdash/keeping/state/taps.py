"""Taps and pumps left running: which one an entry ends, how fast each ran, and to when it has been drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from tankdash.journal.entries import Entry, TapClosed, TapOpened
from tankdash.keeping.state.standing import OpenTap
from tankdash.keeping.when import instant


@dataclass(frozen=True)
class Run:
    """What later entries tell of a tap or pump that was left running."""

    rate: float | None = None
    """[m3/s]; None where nobody told."""
    is_ended: bool = False
    """Whether it is noted when it was closed."""


STILL_RUNNING = Run()


@dataclass(frozen=True)
class Running:
    """A tap that stands open, or a pump that runs, while the journal is walked."""

    tap: OpenTap
    outlet: str | None
    run: Run
    until: datetime
    """To when it has been drawn, UTC."""

    @property
    def rate(self) -> float | None:
        """Return how fast it runs: what the closing entry told, else what was said at the start, [m3/s]."""
        return self.tap.rate if self.run.rate is None else self.run.rate


def opened_tap(entry: Entry, opened: TapOpened, outlet: str | None) -> OpenTap:
    """Return what an entry leaves running.

    Parameters
    ----------
    entry : Entry
        The entry.
    opened : TapOpened
        Its record.
    outlet : str or None
        The outlet meant; None for a pump.
    """
    rate = None if opened.rate_l_per_s is None else opened.rate_l_per_s / 1000.0
    named = None if opened.source is not None else opened.outlet or outlet
    return OpenTap(named, entry.at, opened.bed, entry.number, opened.source, opened.target, rate)


def tap_to_close(taps: Sequence[OpenTap], closed: TapClosed) -> int | None:
    """Return which of the open `taps` an entry that closes one means: the last that fits, None when none does."""
    for place in reversed(range(len(taps))):
        tap = taps[place]
        if tap.is_pump or closed.source is not None:
            fits = (tap.source, tap.target) == (closed.source, closed.target)
        else:
            fits = closed.outlet in (None, tap.outlet)
        if fits:
            return place
    return None


def run_of(tap: OpenTap, entry: Entry, closed: TapClosed) -> Run:
    """Return how a tap or pump ran, as the entry that ends it tells."""
    seconds = (instant(entry.at) - instant(tap.since)).total_seconds()
    if closed.volume_l is not None and seconds > 0.0:
        return Run(closed.volume_l / 1000.0 / seconds, is_ended=True)
    return Run(None if closed.rate_l_per_s is None else closed.rate_l_per_s / 1000.0, is_ended=True)
