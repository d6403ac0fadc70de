"""How long the water lasts, asked for the screen: today's answer, and the same through past years of rain."""

from __future__ import annotations

from datetime import date, timedelta

from tankdash.keeping.desk import Desk
from tankdash.keeping.rain import days as rain_days
from tankdash.keeping.when import MONTHS
from tankdash.planning.need import SOIL_DAYS
from tankdash.planning.supply import Lasting, Supply, supply
from tankdash.tui.state import Shown
from tankdash.water.model import Contents


def held(shown: Shown) -> Contents | None:
    """Return what is in the tanks, the least where only a range is known; None while nothing is known."""
    standing = shown.levels.standing
    if shown.levels.basis == "none":
        return None
    contents = standing.contents
    return {
        key: contents.low[key] if key in standing.unknown else volume for key, volume in contents.mid.items()
    }


def recent_rain(desk: Desk, shown: Shown) -> dict[date, float]:
    """Return the rain of the days a bed remembers, those that were read, [mm]."""
    today = shown.now.date()
    totals = rain_days(
        desk.entries(), shown.site.rain, shown.site.zone, today - timedelta(days=SOIL_DAYS), today
    )
    return {total.first: total.mm for total in totals if total.mm is not None}


def supply_now(desk: Desk, shown: Shown) -> Supply | None:
    """Return how long the water lasts; None without beds, or while nothing is known of the tanks."""
    contents = held(shown)
    if contents is None or not shown.site.beds:
        return None
    return supply(shown.site, shown.layout, contents, shown.now.date(), recent_rain(desk, shown))


def day_words(day: date, today: date) -> str:
    """Return a day with its month, and its year where it is another one.

    Examples
    --------
    >>> day_words(date(2026, 9, 19), date(2026, 8, 21)), day_words(date(2027, 1, 2), date(2026, 8, 21))
    ('19 Sep', '2 Jan 2027')
    """
    return f"{day.day} {MONTHS[day.month - 1]}" + (f" {day.year}" if day.year != today.year else "")


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
    return f"Lasts {count}, to {day_words(lasting.last_full_day, today)}"


def past_rain(desk: Desk) -> dict[date, float]:
    """Return the past rain brought in for planning, the middle of the range where a day has one, [mm]."""
    return {
        value.day: (value.low + value.high) / 2 for value in desk.journal.history() if value.element == "rain"
    }
