"""What a turn of a chore is: what opened it, until when it may wait, how it ended; and what a chore's turns tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from tankdash.keeping.when import day_after, instant, last_second, local_day, moment_after
from tankdash.site.model import Chore, Site
from tankdash.units import Span

RAIN_GRACE = Span(days=1)
"""How long after rain a chore may wait unless the file says otherwise: the next day (F8, trade practice)."""


@dataclass(frozen=True)
class Cause:
    """What opened a turn."""

    kind: Literal["rain", "rains", "total", "every", "calendar", "on", "by", "frost", "level"]
    at: datetime
    """When."""
    depth_mm: float = 0.0
    """Depth of the event, or since last done."""
    day: date | None = None
    """Local day of a turn by the calendar; night of a frost."""
    low_c: float = 0.0
    """The low typed in."""
    share: float = 0.0
    """Usable over usable when full, of a low level."""

    @property
    def is_rain(self) -> bool:
        """Return whether rain brought it on."""
        return self.kind in ("rain", "rains", "total")

    @property
    def is_time(self) -> bool:
        """Return whether it came round by itself; what comes round while a turn is open is a turn missed."""
        return self.kind in ("every", "calendar", "on", "by")


@dataclass(frozen=True)
class Turn:
    """One time a chore was due."""

    since: datetime
    """When it opened."""
    due: datetime
    """Late after this."""
    cause: Cause
    closed: datetime | None = None
    """When it was done."""
    dropped: datetime | None = None
    """When it fell asleep undone."""
    missed: int = 0
    """Further turns that passed while it was open."""
    later_rains: int = 0
    """Further rains that would have opened it."""

    @property
    def is_open(self) -> bool:
        """Return whether it is still to be done."""
        return self.closed is None and self.dropped is None

    def is_late(self, now: datetime) -> bool:
        """Return whether it was not done in time, as seen at `now`."""
        end = self.closed or self.dropped or now
        return instant(end) > instant(self.due)


def open_of(turns: Sequence[Turn]) -> Turn | None:
    """Return the turn that is still to be done; only the last can be."""
    return turns[-1] if turns and turns[-1].is_open else None


@dataclass(frozen=True)
class ChoreHistory:
    """A chore as the journal leaves it."""

    chore: Chore
    turns: tuple[Turn, ...]
    """All turns, in time; only the last can be open."""
    done: tuple[datetime, ...] = ()
    """Every time it was done."""
    asleep: Literal["", "season", "winter"] = ""
    """Why it sleeps now."""
    next_turn: datetime | None = None
    """Start of the next turn that the clock alone will bring, if nothing comes before."""
    next_due: datetime | None = None
    """Late after this, for the next turn."""
    rains: int = 0
    """Rain events since it was last done."""
    total_mm: float = 0.0
    """Rain since it was last done, [mm]."""

    @property
    def open_turn(self) -> Turn | None:
        """Return the turn that is still to be done."""
        return open_of(self.turns)

    @property
    def last_done(self) -> datetime | None:
        """Return when it was last done."""
        return self.done[-1] if self.done else None


def sleeps_in_winter(chore: Chore) -> bool:
    """Return whether a chore rests while the site is laid up: all but those of a date or of a frost do (F37)."""
    return chore.on is None and chore.by is None and chore.frost_c is None


def deadline(site: Site, chore: Chore, cause: Cause) -> datetime:
    """Return the instant after which a turn of that cause is late.

    Rain and hours run by the clock from the opening; days run to their last second.
    """
    zone = site.zone
    within = chore.within if chore.within is not None else RAIN_GRACE if cause.is_rain else Span()
    if cause.is_rain or _by_the_hour(chore, cause):
        return moment_after(cause.at, within, zone)
    day = cause.day if cause.day is not None else local_day(cause.at, zone)
    end = last_second(day_after(day, within), zone)
    return moment_after(end, Span(seconds=within.seconds), zone)


def _by_the_hour(chore: Chore, cause: Cause) -> bool:
    return cause.kind == "every" and chore.every is not None and chore.every.seconds > 0
