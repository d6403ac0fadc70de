"""Why a chore is on the list, in plain words with the date."""

from __future__ import annotations

from datetime import date, datetime

from tankdash.keeping.chores.recurring import is_by_calendar, season_start
from tankdash.keeping.chores.turns import Cause, ChoreHistory, Turn
from tankdash.keeping.when import MONTHS, date_words, local_day, moment_words
from tankdash.site.model import Chore, Site
from tankdash.units import format_rain, format_temperature


def open_reason(site: Site, past: ChoreHistory, turn: Turn, unflushed: str, now: datetime) -> str:
    """Return why a chore is to be done, such as `4 mm on Mon 06:10; 2 later rains unflushed`."""
    parts = [_cause_words(site, past, turn.cause, now)]
    if unflushed:
        parts.append(unflushed)
    elif turn.later_rains and past.chore.empties is None:
        parts.append(f"{_counted(turn.later_rains, 'later rain')} while it waits")
    if turn.missed:
        parts.append(f"{_counted(turn.missed, 'turn')} missed")
    return "; ".join(parts)


def waiting_reason(site: Site, past: ChoreHistory, now: datetime) -> str:
    """Return what a chore that is not open waits for, after when it was last done."""
    parts = []
    if past.last_done is not None:
        parts.append(f"done {moment_words(past.last_done, site.zone, now)}")
    waits = _waits(site, past, now)
    if waits:
        parts.append("next " + " or ".join(waits))
    return "; ".join(parts) or "nothing brings it on"


def asleep_reason(site: Site, past: ChoreHistory, now: datetime) -> str:
    """Return why a chore sleeps."""
    season = past.chore.season
    if past.asleep == "season" and season is not None:
        today = local_day(now, site.zone)
        return f"asleep until {date_words(season_start(season, today), today)}"
    return "asleep while the site is laid up for winter"


def unflushed_words(count: int, are_later: bool) -> str:
    """Return how many rains ran into the tanks over a full pipe, and whether all did after the first one."""
    return f"{_counted(count, 'later rain' if are_later else 'rain')} unflushed"


def interval_words(chore: Chore) -> str:
    """Return how often a chore comes round."""
    return f"every {chore.every.text}" if chore.every is not None else ""


def _cause_words(site: Site, past: ChoreHistory, cause: Cause, now: datetime) -> str:
    zone, today = site.zone, local_day(now, site.zone)
    match cause.kind:
        case "rain":
            return f"{format_rain(cause.depth_mm, site.units)} on {moment_words(cause.at, zone, now)}"
        case "rains":
            count = past.chore.after_rain.rains if past.chore.after_rain else None
            return f"{_counted(count or 1, 'rain')}, the last on {moment_words(cause.at, zone, now)}"
        case "total":
            return (
                f"{format_rain(cause.depth_mm, site.units)} in all, "
                f"reached on {moment_words(cause.at, zone, now)}"
            )
        case "every":
            every, last = interval_words(past.chore), _last_before(past, cause.at)
            if last is not None:
                return f"{every}; last done {moment_words(last, zone, now)}"
            return f"{every}; never done, due {_on(cause.day, today) or moment_words(cause.at, zone, now)}"
        case "calendar":
            return f"{interval_words(past.chore)}; the turn of {_day(cause.day, today)}"
        case "on":
            return f"every year on {_month_day(cause.day)}"
        case "by":
            return f"once, by {_day(cause.day, today)}"
        case "frost":
            low = format_temperature(cause.low_c, site.units)
            return f"a low of {low} typed in for the night of {_day(cause.day, today)}; a rule of thumb"
        case "level":
            at = moment_words(cause.at, zone, now)
            below = _percent(past.chore.level_below or 0.0)
            return f"usable is {_percent(cause.share)} of full, under {below}, since {at}"


def _waits(site: Site, past: ChoreHistory, now: datetime) -> list[str]:
    """Return what may bring the chore on next, each in a few words."""
    chore, today = past.chore, local_day(now, site.zone)
    waits = []
    rain = chore.after_rain
    if rain is not None and rain.at_least_mm is not None:
        waits.append(f"after a rain of {format_rain(rain.at_least_mm, site.units)}")
    elif rain is not None and rain.rains is not None:
        waits.append(f"after {_counted(max(1, rain.rains - past.rains), 'more rain')}")
    elif rain is not None and rain.total_mm is not None:
        left = max(0.0, rain.total_mm - past.total_mm)
        waits.append(f"after {format_rain(left, site.units)} more in all")
    if past.next_turn is not None:
        if chore.every is not None and chore.every.seconds and not is_by_calendar(chore):
            waits.append(f"at {moment_words(past.next_turn, site.zone, now)}")
        else:
            waits.append(f"on {_day(local_day(past.next_turn, site.zone), today)}")
    if chore.frost_c is not None:
        waits.append(f"on a low of {format_temperature(chore.frost_c, site.units)} or less")
    if chore.level_below is not None:
        waits.append(f"when usable is under {_percent(chore.level_below)} of full")
    return waits


def _last_before(past: ChoreHistory, at: datetime) -> datetime | None:
    return max((done for done in past.done if done < at), default=None)


def _on(day: date | None, today: date) -> str:
    return f"since {date_words(day, today)}" if day is not None else ""


def _day(day: date | None, today: date) -> str:
    return date_words(day, today) if day is not None else ""


def _month_day(day: date | None) -> str:
    return f"{day.day} {MONTHS[day.month - 1]}" if day is not None else ""


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" + ("" if count == 1 else "s")


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"
