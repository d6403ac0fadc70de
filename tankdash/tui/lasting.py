"""How long the water lasts, in the few words that the home page has room for."""

from __future__ import annotations

from datetime import date

from tankdash.keeping.when import date_words
from tankdash.planning.supply import Lasting


def lasting_words(lasting: Lasting, today: date, *, at_least: bool = False) -> str:
    """Return in a few words how long it lasts.

    Parameters
    ----------
    lasting : Lasting
        How long.
    today : date
        The year is said where it is another.
    at_least : bool, optional
        Whether it was reckoned from the low end of what is in the tanks.

    Examples
    --------
    >>> lasting_words(Lasting(6.0, 0.14, 42.86, date(2026, 6, 11), 0.02), date(2026, 5, 1))
    'Lasts 42 days without rain, to 11 Jun'
    """
    if lasting.days is None:
        return "No bed asks for water now" if lasting.need <= 0 else "No end in sight for the beds"
    days = lasting.full_days or 0
    if days == 0 or lasting.last_full_day is None:
        return f"{'May not be' if at_least else 'Not'} enough for the beds today"
    count = "1 day" if days == 1 else f"{days} days"
    sure = "at least " if at_least else ""
    return f"Lasts {sure}{count} without rain, to {date_words(lasting.last_full_day, today)}"
