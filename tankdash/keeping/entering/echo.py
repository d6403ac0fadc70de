"""What was understood of the words typed, said back: in the garden's units, and in SI beside them."""

from __future__ import annotations

from tankdash.journal.entries import Change, Dips, Frost, Move, Pour, Rain, Record, TankDip, TapClosed, Use
from tankdash.site.model import Site
from tankdash.units import (
    Units,
    format_echo_length,
    format_flow,
    format_rain,
    format_temperature,
    format_volume,
)
from tankdash.units.digits import trim


def echo_of(record: Record, site: Site) -> tuple[str, ...]:
    """Return each figure of a record as it was understood; nothing for a record without figures.

    Parameters
    ----------
    record : Record
        What was understood.
    site : Site
        Whose units come first.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> garden = Site("Hill", ZoneInfo("UTC"), "us", "slab", 0.005, tanks={})
    >>> echo_of(Use(18.927), garden), echo_of(Frost(-1.0, None), garden)
    (('5 US gal (18.93 L)',), ('30.2 F (-1 C)',))
    """
    units = site.units
    match record:
        case Dips():
            return tuple(f"{dip.tank}: depth {_depth(dip, units)}" for dip in record.tanks)
        case Rain():
            return (_rain(record, units),)
        case Use() | Move() | Pour() | TapClosed(volume_l=float()):
            return () if record.volume_l is None else (_volume(record.volume_l, units),)
        case Change() if record.base_m is not None:
            return (format_echo_length(record.base_m, units),)
        case TapClosed() if record.rate_l_per_s is not None:
            shown, plain = (
                format_flow(record.rate_l_per_s / 1000, units),
                f"{trim(record.rate_l_per_s, 3)} L/s",
            )
            return (_both(shown, plain),)
        case Frost():
            return (_both(format_temperature(record.low_c, units), f"{trim(record.low_c, 1)} C"),)
        case _:
            return ()


def _both(shown: str, plain: str) -> str:
    return shown if shown == plain else f"{shown} ({plain})"


def _depth(dip: TankDip, units: Units) -> str:
    if dip.low_m == dip.high_m:
        return format_echo_length(dip.depth_m, units)
    return f"{format_echo_length(dip.low_m, units)} to {format_echo_length(dip.high_m, units)}"


def _volume(litres: float, units: Units) -> str:
    return _both(format_volume(litres / 1000, units), f"{trim(litres, 2)} L")


def _rain(rain: Rain, units: Units) -> str:
    def depth(mm: float) -> str:
        return _both(format_rain(mm, units), f"{trim(mm, 2)} mm")

    if rain.trace:
        return "a trace"
    if rain.high_mm is None:
        return f"at least {depth(rain.low_mm)}"
    if rain.low_mm == rain.high_mm:
        return depth(rain.low_mm)
    return f"{depth(rain.low_mm)} to {depth(rain.high_mm)}"
