"""Taps left open: which one an entry closes, and from when to when each has been drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from tankdash.journal.entries import TapClosed
from tankdash.keeping.state.standing import OpenTap


@dataclass(frozen=True)
class Running:
    """A tap that stands open while the journal is walked."""

    tap: OpenTap
    outlet: str | None
    rate: float | None
    """Known once the closing entry told it, [m3/s]."""
    until: datetime
    """To when it has been drawn, UTC."""


def tap_to_close(taps: Sequence[OpenTap], closed: TapClosed) -> int | None:
    """Return which of the open `taps` an entry that closes one means: the last that fits, None when none does."""
    for place in reversed(range(len(taps))):
        if closed.outlet in (None, taps[place].outlet):
            return place
    return None
