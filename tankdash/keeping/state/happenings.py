"""What happened in the garden in the order in which a walk takes it: entries, rain as it fell, the garden itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import Literal

from tankdash.journal.entries import Entry
from tankdash.keeping.state.arrangement import Layouts
from tankdash.keeping.state.catching import Fall
from tankdash.keeping.state.taps import STILL_RUNNING, Run
from tankdash.keeping.when import instant
from tankdash.site.model import Site


@dataclass(frozen=True)
class Happening:
    """One thing to apply, with its place in the order of time, and all that bears on it."""

    at: datetime
    rank: int
    """Of things at the same instant: the garden first, then rain, then what people did and read."""
    number: int
    what: Literal["garden", "fall-begins", "fall-ends", "entry"] = "garden"
    fall: Fall | None = None
    entry: Entry | None = None
    run: Run = STILL_RUNNING
    """What later entries tell of the tap or pump that this one opened."""

    @property
    def order(self) -> tuple[datetime, int, int]:
        """Return what the happenings are sorted by."""
        return self.at, self.rank, self.number


def in_order(
    site: Site,
    layouts: Layouts,
    entries: Iterable[Entry],
    falls: Iterable[Fall],
    runs: Mapping[int, Run],
    now: datetime,
) -> Sequence[Happening]:
    """Return everything that happened up to `now`, in order.

    Parameters
    ----------
    site, layouts : Site, Layouts
        The garden, and how it stood when.
    entries : iterable of Entry
        Those to be taken, rain left out.
    falls : iterable of Fall
        The rain. A reading may be about a period that is not over at `now`: its rain falls as far as that.
    runs : mapping of int to Run
        How each tap and pump that was closed again ran, by the number of the entry that opened it.
    now : datetime
        Nothing later happens.
    """
    until = instant(now)
    found = [
        Happening(
            instant(entry.at),
            3,
            entry.number,
            "entry",
            entry=entry,
            run=runs.get(entry.number, STILL_RUNNING),
        )
        for entry in entries
    ]
    for fall in falls:
        if fall.start <= until:
            found.append(Happening(fall.start, 1, fall.entry, "fall-begins", fall=fall))
        if fall.end <= until:
            found.append(Happening(fall.end, 2, fall.entry, "fall-ends", fall=fall))
    first = min([happening.at for happening in found], default=until)
    found.extend(_garden_marks(site, layouts, first, until))
    return sorted(found, key=lambda happening: happening.order)


def _garden_marks(site: Site, layouts: Layouts, start: datetime, until: datetime) -> Iterator[Happening]:
    """Yield the midnights at which something joins or leaves the garden."""
    for number, day in enumerate(layouts.marks):
        midnight = instant(datetime.combine(day, time(), tzinfo=site.zone))
        if start < midnight <= until:
            yield Happening(midnight, 0, number)
