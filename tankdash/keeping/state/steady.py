"""How long the water stays as it is when nobody writes anything: until the journal or the site file names a moment."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, time

from tankdash.journal.entries import Entry, Rain
from tankdash.keeping.state.arrangement import Layouts
from tankdash.keeping.state.standing import Standing
from tankdash.keeping.when import instant
from tankdash.site.model import Site


def steady_until(site: Site, entries: Iterable[Entry], standing: Standing) -> datetime | None:
    """Return the first moment after that of `standing` at which the levels may change by themselves.

    Parameters
    ----------
    site : Site
        Its dates say when something joins or leaves the garden.
    entries : iterable of Entry
        The whole journal; entries may be about days to come.
    standing : Standing
        The water as it was worked out.

    Returns
    -------
    datetime or None
        In UTC; the moment of `standing` itself while a tap runs or rain falls. None when nothing is known to come.
    """
    now = instant(standing.at)
    if standing.open_taps:
        return now
    coming = [
        midnight
        for day in Layouts(site).marks
        if (midnight := instant(datetime.combine(day, time(), tzinfo=site.zone))) > now
    ]
    for entry in entries:
        if entry.at > now:
            coming.append(instant(entry.at))
        record = entry.record
        if isinstance(record, Rain) and record.end > now:
            if record.start <= now:
                return now
            coming.append(instant(record.start))
    return min(coming, default=None)
