"""An entry turned back into what would be typed, so that it can be put right and written anew."""

from __future__ import annotations

from tankdash.journal.entries import (
    Change,
    Dips,
    Entry,
    Frost,
    Move,
    Note,
    Pour,
    Rain,
    TapClosed,
    TapOpened,
    Use,
)
from tankdash.keeping.when import local
from tankdash.site.model import Site
from tankdash.units import format_length, format_temperature, format_volume


def form_and_draft(entry: Entry, site: Site) -> tuple[str, dict[str, str]] | None:
    """Return the name of the form that writes such entries and what to put in its fields.

    Parameters
    ----------
    entry : Entry
        What was written.
    site : Site
        For units and dip rules.

    Returns
    -------
    tuple of (str, dict) or None
        None for entries that no form writes: a ticked chore, an import.
    """
    named = _fields(entry, site)
    if named is None:
        return None
    form, fields = named
    if form != "frost":
        fields["at"] = f"{local(entry.at, site.zone):%Y-%m-%d %H:%M}"
    if form != "note":
        fields["note"] = entry.note
    return form, fields


def _fields(entry: Entry, site: Site) -> tuple[str, dict[str, str]] | None:
    record, units = entry.record, site.units

    def volume(litres: float) -> str:
        return format_volume(litres / 1000, units)

    match record:
        case Dips():
            return "dip", {dip.tank: _dip(site, dip.tank, dip.low_m, dip.high_m) for dip in record.tanks}
        case Rain():
            return "rain", {"depth": _rain(record), "left_in": "yes" if record.left_in else ""}
        case Use():
            drawn = {
                "volume": volume(record.volume_l),
                "outlet": record.outlet or "",
                "bed": record.bed or "",
            }
            return "use", drawn
        case TapOpened(source=str() as source) | TapClosed(source=str() as source):
            litres = record.volume_l if isinstance(record, TapClosed) else None
            amount = "" if litres is None else volume(litres)
            rate = "" if record.rate_l_per_s is None else f"{record.rate_l_per_s:.6g} L/s"
            done = "on" if isinstance(record, TapOpened) else "off"
            between = {"source": source, "target": record.target or ""}
            return "pump", {"what": done, **between, "rate": rate, "volume": amount}
        case TapOpened():
            return "tap", {"what": "open", "outlet": record.outlet or "", "bed": record.bed or ""}
        case TapClosed():
            amount = "" if record.volume_l is None else volume(record.volume_l)
            rate = "" if record.rate_l_per_s is None else f"{record.rate_l_per_s:.6g} L/s"
            return "tap", {"what": "close", "outlet": record.outlet or "", "rate": rate, "volume": amount}
        case Move():
            moved = {"volume": volume(record.volume_l), "source": record.source, "target": record.target}
            return "move", moved
        case Pour():
            amount = "" if record.volume_l is None else volume(record.volume_l)
            return "pour", {"volume": amount, "tank": record.tank, "what": record.what}
        case Change():
            base = "" if record.base_m is None else format_length(record.base_m, units)
            return "set", {"item": record.item, "state": record.state, "base": base}
        case Frost():
            low = format_temperature(record.low_c, units)
            return "frost", {"low": low, "night": record.night.isoformat()}
        case Note():
            about = {"overflow seen": "yes", "overflow dry": "no"}.get(record.about, "")
            return "note", {"note": entry.words.removeprefix("note").strip(), "about": about}
        case _:
            return None


def _dip(site: Site, tank: str, low: float, high: float) -> str:
    """Return a reading as a depth, said to be one where the tank is usually read as a gap."""
    ends = [format_length(depth, site.units) for depth in (low, high)]
    text = ends[0] if ends[0] == ends[1] else f"{ends[0]} - {ends[1]}"
    placed = site.tanks.get(tank)
    return f"depth {text}" if placed is not None and placed.dip.measured_from == "brim" else text


def _rain(record: Rain) -> str:
    if record.trace:
        return "trace"
    low = f"{record.low_mm:g}"
    if record.high_mm is None:
        return f">{low} mm"
    return f"{low} mm" if record.high_mm == record.low_mm else f"{low}-{record.high_mm:g} mm"
