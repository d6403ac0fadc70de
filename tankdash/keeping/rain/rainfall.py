"""The rain as it is told: events, months, years and doubts about them, for the `rainfall` command and the rain page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from tankdash.journal.entries import Entry
from tankdash.keeping.rain.events import events_of
from tankdash.keeping.rain.gauges import Reading, conflicts, counting
from tankdash.keeping.rain.totals import RainTotal, totals_of
from tankdash.keeping.when import local
from tankdash.site.model import RainRules


def rainfall(
    entries: Sequence[Entry],
    rules: RainRules,
    zone: ZoneInfo,
    until: date | None = None,
    readings: Sequence[Reading] | None = None,
) -> dict[str, Any]:
    """Return events, months and years as the JSON of the `rainfall` command; `readings` are those that count."""
    readings = counting(entries, zone) if readings is None else readings
    return {
        "booked": rules.booked,
        "events": [
            {
                "start": local(event.start, zone).isoformat(),
                "end": local(event.end, zone).isoformat(),
                "depth_mm": round(event.depth_mm, 6),
                "low_mm": round(event.low_mm, 6),
                "high_mm": _rounded(event.high_mm),
            }
            for event in events_of(readings, rules)
        ],
        "months": [
            {"month": f"{total.first:%Y-%m}"} | _total_json(total)
            for total in totals_of("month", readings, rules, zone, end=until)
        ],
        "years": [
            {"year": f"{total.first:%Y}"} | _total_json(total)
            for total in totals_of("year", readings, rules, zone, end=until)
        ],
        "conflicts": [
            {
                "entries": [conflict.first, conflict.second],
                "gauge": conflict.gauge,
                "start": local(conflict.start, zone).isoformat(),
                "end": local(conflict.end, zone).isoformat(),
            }
            for conflict in conflicts(entries, zone)
        ],
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 6)


def _total_json(total: RainTotal) -> dict[str, Any]:
    """Return the figures of a total as JSON."""
    return {
        "mm": _rounded(total.mm),
        "low_mm": _rounded(total.low_mm),
        "high_mm": _rounded(total.high_mm),
        "days_read": total.days_read,
        "days": total.days,
        "wet_days": total.wet_days,
    }
