"""Findings of the balance in words: how much, how sure, and where to look."""

from __future__ import annotations

from tankdash.keeping.state.standing import Residual
from tankdash.keeping.state.words import labels
from tankdash.site.model import Site
from tankdash.units import format_rain, format_volume


def sentence(
    site: Site, residual: Residual, finding: str, low: float, high: float, rate: float | None
) -> str:
    """Return what a stretch comes to.

    Parameters
    ----------
    site, residual : Site, Residual
        The garden and the stretch.
    finding : str
        Its code.
    low, high : float
        Range its end may lie in without surprise, [m3].
    rate : float or None
        What went missing in a day, [m3/day]; None for two dips at one time.
    """
    opening = _opening(site, residual, low, high)
    return f"{opening} {_MAKERS[finding](site, residual, rate)}".strip()


def _opening(site: Site, residual: Residual, low: float, high: float) -> str:
    seen, expected, least, most = (
        format_volume(volume, site.units) for volume in (residual.seen.mid, residual.expected.mid, low, high)
    )
    return f"{labels(site, residual.tanks)}: expected {expected} ({least} to {most}), seen {seen}."


def _difference(site: Site, residual: Residual) -> str:
    amount = abs(residual.expected.mid - residual.seen.mid)
    share = f" ({100.0 * amount / residual.expected.mid:.1f} %)" if residual.expected.mid > 0.0 else ""
    return f"{format_volume(amount, site.units)}{share}"


def _per_day(site: Site, rate: float | None) -> str:
    return "" if rate is None else f", {format_volume(abs(rate), site.units)} a day"


def _none(site: Site, residual: Residual, rate: float | None) -> str:
    difference = residual.seen.mid - residual.expected.mid
    what = {seen.what for seen in residual.sightings}
    if residual.is_winter:
        return "Laid up for winter: nothing is looked for."
    if "unmeasured" in what and difference > 0.0:
        source = next(seen.detail for seen in residual.sightings if seen.what == "unmeasured")
        return f"{_difference(site, residual)} came by other inflow that was noted: {source}."
    if "tap-open" in what and difference < 0.0:
        days = (residual.end - residual.start).total_seconds() / 86400.0
        return (
            f"About {_difference(site, residual)} went while a tap stood open{_per_day(site, rate)}; the rate falls "
            f"with the level."
            if days > 0.0
            else ""
        )
    if "rain-on-shut-roof" in what:
        fallen = sum(seen.depth_mm for seen in residual.sightings if seen.what == "rain-on-shut-roof")
        return f"{format_rain(fallen, site.units)} fell on a roof noted as shut; nothing was expected of it."
    return "As expected."


def _below_resolution(site: Site, residual: Residual, rate: float | None) -> str:
    moved = residual.moved.caught + residual.moved.used + residual.moved.poured
    return (
        f"{format_volume(moved, site.units)} moved in this stretch, and the stick cannot show less than "
        f"{format_volume(residual.stick, site.units)}: it says nothing either way."
    )


def _not_settled(site: Site, residual: Residual, rate: float | None) -> str:
    return "One of the dips was taken while the water was still levelling: nothing can be made of the difference."


def _leak(site: Site, residual: Residual, rate: float | None) -> str:
    difference = _difference(site, residual)
    return f"{difference} went{_per_day(site, rate)}, and the loss goes on in dry days: look for a leak."


def _inlet(site: Site, residual: Residual, rate: float | None) -> str:
    caught = residual.moved.caught
    dry_overflow = any(seen.what == "overflow dry" for seen in residual.sightings)
    if dry_overflow and residual.moved.spilled > 0.0:
        return (
            f"{format_volume(residual.moved.spilled, site.units)} should have left by the overflow, and none was "
            f"seen there: look at screen, inlet and gutter."
        )
    arrived = max(0.0, caught - (residual.expected.mid - residual.seen.mid))
    return (
        f"The rain owed {format_volume(caught, site.units)} and about {format_volume(arrived, site.units)} arrived "
        f"({_ratio(arrived, caught)} of it): look at the inlet side, a bung left in, the screen, a first-flush pipe "
        f"that never fills, a gutter."
    )


def _unrecorded_use(site: Site, residual: Residual, rate: float | None) -> str:
    caught = residual.moved.caught
    difference = _difference(site, residual)
    if caught > 0.0:
        arrived = max(0.0, caught - (residual.expected.mid - residual.seen.mid))
        return (
            f"{difference} went that no entry explains: a draw not noted, or the roof brings less than its runoff "
            f"figure says ({_ratio(arrived, caught)} of what was owed)."
        )
    return (
        f"{difference} went{_per_day(site, rate)} that no entry explains: a draw not noted. If another dip in dry "
        f"days shows it going on, look for a leak."
    )


def _more_than_rain(site: Site, residual: Residual, rate: float | None) -> str:
    caught = residual.moved.caught
    difference = _difference(site, residual)
    if caught <= 0.0:
        return (
            f"{difference} came that no rain explains: dew, melt, a hose, or rain the gauge missed. "
            f"Note it as `pour`."
        )
    arrived = caught + residual.seen.mid - residual.expected.mid
    rain = format_rain(residual.rain_mm * arrived / caught, site.units)
    return (
        f"{difference} more came than the rain allows, {_ratio(arrived, caught)} of it, as if {rain} had fallen: "
        f"check where the rain was measured, and the roof area."
    )


def _ratio(arrived: float, caught: float) -> str:
    return f"{100.0 * arrived / caught:.0f} %"


_MAKERS = {
    "none": _none,
    "below-resolution": _below_resolution,
    "not-settled": _not_settled,
    "leak": _leak,
    "inlet": _inlet,
    "unrecorded-use": _unrecorded_use,
    "more-than-rain": _more_than_rain,
}
