"""The rain of past years that decisions rest on: an imported station, or what the garden's own gauge has told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from tankdash.keeping.desk import Desk
from tankdash.keeping.entering.naming import EntryError

OWN = "own gauge"
"""Name of the record that the garden's own readings make."""
LEAST_DAYS = 365
"""A record shorter than a year tells nothing of a year."""
MOST_GAPS = 0.1
"""Share of a record's days that may be missing before sizes are told from it."""

NO_PAST_RAIN = "There is no past rain yet: bring some in with `tankdash import FILE --history`."
"""What to do where nothing can be told of other years."""


@dataclass(frozen=True)
class PastRain:
    """Daily rain of one station."""

    station: str
    mm: Mapping[date, float]
    """A day that is missing is unknown, not dry; a range counts at its middle."""

    @property
    def first(self) -> date:
        """First day with a figure."""
        return min(self.mm)

    @property
    def last(self) -> date:
        """Last day with a figure."""
        return max(self.mm)

    @property
    def missing(self) -> int:
        """Days without a figure between the first and the last."""
        return (self.last - self.first).days + 1 - len(self.mm)

    def in_a_row(self) -> list[float]:
        """Return the rain of every day from the first to the last, a missing one as dry, [mm]."""
        first = self.first
        span = (self.last - first).days + 1
        return [self.mm.get(first + timedelta(days=number), 0.0) for number in range(span)]


def past_rains(desk: Desk, now: datetime) -> dict[str, PastRain]:
    """Return the records of past rain by station, the longest first; the own gauge's only if it tells of a year."""
    by_station: dict[str, dict[date, float]] = {}
    today = now.astimezone(desk.site.zone).date()
    for value in desk.journal.history():
        if value.element == "rain" and value.day <= today:
            by_station.setdefault(value.station, {})[value.day] = (value.low + value.high) / 2.0
    own = {total.first: total.mm for total in desk.rain_by_day(now, None, today) if total.mm is not None}
    if len(own) >= LEAST_DAYS and OWN not in by_station:
        by_station[OWN] = own
    longest = sorted(by_station, key=lambda name: -len(by_station[name]))
    return {name: PastRain(name, by_station[name]) for name in longest}


def choose(records: Mapping[str, PastRain], station: str | None) -> PastRain | None:
    """Return the record of `station`, the longest one when none is named; None when there is none.

    Raises
    ------
    EntryError
        If no record has that name.
    """
    if station is None:
        return next(iter(records.values()), None)
    if station not in records:
        known = ", ".join(records) or "none yet: `tankdash import FILE --history` brings one in"
        raise EntryError("station", f"There is no past rain of '{station}'; there is {known}.")
    return records[station]


def from_days(name: str, days: Sequence[tuple[date, float]]) -> PastRain:
    """Return a record from days and depths as a sheet gives them, [mm]."""
    return PastRain(name, dict(days))
