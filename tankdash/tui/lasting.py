"""How long the water lasts, in the few words that the home page has room for."""

from __future__ import annotations

from datetime import date

from tankdash.keeping.when import date_words
from tankdash.planning.supply import Lasting


def lasting_words(lasting: Lasting, today: date) -> str:
    """Return in a few words how long it lasts.

    Examples
    --------
    >>> lasting_words(Lasting(6.0, 0.14, 42.86, date(2026, 6, 11), 0.02), date(2026, 5, 1))
    'Lasts 42 days, to 11 Jun'
    """
    if lasting.days is None:
        return "Nothing asks for water now" if lasting.need <= 0 else "No end in sight for the beds"
    days = lasting.full_days or 0
    if days == 0 or lasting.last_full_day is None:
        return "Not enough for the beds today"
    count = "1 day" if days == 1 else f"{days} days"
    return f"Lasts {count}, to {date_words(lasting.last_full_day, today)}"
