"""Typed words to records of water moved by hand: drawn, left running, moved between tanks, poured in."""

from __future__ import annotations

from tankdash.journal.entries import Move, Pour, TapClosed, TapOpened, Use
from tankdash.keeping.entering.naming import EntryError, find, find_standing, labelled
from tankdash.keeping.state.standing import Standing
from tankdash.keeping.state.words import label
from tankdash.site.model import Site
from tankdash.units import QuantityError, format_volume, parse_flow, parse_volume
from tankdash.water.drawing_off import transfer
from tankdash.water.holding import usable

A_LITTLE = 0.0005
"""Half a litre: less than any stick shows, so nobody is refused for it, [m3]."""


def enter_use(
    site: Site, standing: Standing, text: str, outlet: str | None = None, bed: str | None = None
) -> Use:
    """Return water drawn off.

    More than the outlet can give is taken down from a tap, where a wrong estimate is likelier than a wrong can, and
    shown as short. A pump cannot have drawn what it cannot reach: that is refused (F35).
    """
    volume = _volume(site, text, "volume")
    outlet_id, bed_id = which_outlet(site, standing, outlet, bed)
    if outlet_id is not None:
        _refuse_locked(site, standing, outlet_id)
        if standing.layout.outlets[outlet_id].kind == "pump":
            most = sum(usable(standing.layout, standing.contents.high, [outlet_id]).values())
            if volume > most + A_LITTLE:
                raise EntryError(
                    "volume",
                    f"{label(site, outlet_id)} can give {format_volume(most, site.units)} at most before it runs "
                    f"dry, not {format_volume(volume, site.units)}: dip first, or check the amount.",
                )
    return Use(volume * 1000.0, outlet_id, bed_id)


def which_outlet(
    site: Site, standing: Standing, outlet: str | None, bed: str | None
) -> tuple[str | None, str | None]:
    """Return the outlet and the bed meant.

    Raises
    ------
    EntryError
        If a name is not known, or several outlets could be meant.
    """
    bed_id = find("bed", "bed", bed, {key: one.label for key, one in site.beds.items()}) if bed else None
    if outlet:
        return find_standing("outlet", "outlet", outlet, site.outlets, site, standing.at), bed_id
    outlets = standing.layout.outlets
    if bed_id is not None and site.beds[bed_id].outlet in outlets:
        return site.beds[bed_id].outlet, bed_id
    if len(outlets) == 1:
        return next(iter(outlets)), bed_id
    if not outlets:
        raise EntryError("outlet", "No outlet stands in the garden at that time.")
    names = ", ".join(
        f"{key} ({name})" if name and name != key else key
        for key, name in labelled({key: site.outlets[key] for key in outlets}).items()
    )
    raise EntryError("outlet", f"From which outlet? There is {names}.")


def enter_tap_open(
    site: Site, standing: Standing, outlet: str | None = None, bed: str | None = None
) -> TapOpened:
    """Return an outlet opened and left running."""
    outlet_id, bed_id = which_outlet(site, standing, outlet, bed)
    if outlet_id is not None:
        _refuse_locked(site, standing, outlet_id)
    if any(tap.outlet == outlet_id for tap in standing.open_taps):
        raise EntryError(
            "outlet",
            f"{label(site, outlet_id or '')} is already noted as open: note first when it was closed.",
        )
    return TapOpened(outlet_id, bed_id)


def enter_tap_close(
    site: Site,
    standing: Standing,
    outlet: str | None = None,
    rate: str | None = None,
    text: str | None = None,
) -> TapClosed:
    """Return the running outlet closed again, with what ran in all or how fast it ran where somebody knows."""
    running = [tap.outlet for tap in standing.open_taps if not tap.is_pump]
    if not running:
        raise EntryError("outlet", "No outlet is noted as open at that time: note first when it was opened.")
    if outlet:
        key = find_standing("outlet", "outlet", outlet, site.outlets, site, standing.at)
        if key not in running:
            raise EntryError("outlet", f"{label(site, key)} is not noted as open at that time.")
    elif len(running) == 1 or len(set(running)) == 1:
        key = running[0] or ""
    else:
        raise EntryError(
            "outlet", f"Which one was closed? Open are {', '.join(one or '?' for one in running)}."
        )
    if text and text.strip():
        if rate:
            raise EntryError("rate", "Give how much ran in all or how fast it ran, not both.")
        return TapClosed(key or None, volume_l=_volume(site, text, "volume") * 1000.0)
    flow = _flow(site, rate)
    return TapClosed(key or None, None if flow is None else flow * 1000.0)


def enter_move(site: Site, standing: Standing, text: str, source: str, target: str) -> Move:
    """Return a transfer by pump or bucket; more than the source can give is refused (F49)."""
    volume = _volume(site, text, "volume")
    from_id, to_id = _from_and_to(site, standing, source, target)
    _refuse_more_than_there_was(site, standing, from_id, to_id, volume)
    return Move(volume * 1000.0, from_id, to_id)


def _from_and_to(site: Site, standing: Standing, source: str, target: str) -> tuple[str, str]:
    from_id = find_standing("source", "tank", source, site.tanks, site, standing.at)
    to_id = find_standing("target", "tank", target, site.tanks, site, standing.at)
    if from_id == to_id:
        raise EntryError(
            "target", f"{label(site, from_id)} is named twice: from which tank into which other?"
        )
    return from_id, to_id


def _refuse_more_than_there_was(
    site: Site, standing: Standing, source: str, target: str, volume: float
) -> None:
    missing = transfer(standing.layout, standing.contents.high, source, target, volume).short
    if missing > A_LITTLE:
        most = format_volume(max(0.0, volume - missing), site.units)
        raise EntryError(
            "volume",
            f"{label(site, source)} can give {most} at most, not {format_volume(volume, site.units)}: "
            f"dip first, or check the amount.",
        )


def enter_pump_start(
    site: Site, standing: Standing, source: str, target: str, rate: str | None = None
) -> TapOpened:
    """Return a pump switched on between two tanks and left running, with its rate where it is known (F49)."""
    from_id, to_id = _from_and_to(site, standing, source, target)
    if any((tap.source, tap.target) == (from_id, to_id) for tap in standing.open_taps):
        raise EntryError(
            "source",
            f"The pump from {label(site, from_id)} to {label(site, to_id)} is already noted as on: note first when "
            "it was switched off.",
        )
    for outlet_id, outlet in standing.layout.outlets.items():
        if outlet.tank == from_id and outlet.kind == "pump":
            _refuse_locked(site, standing, outlet_id)
    flow = _flow(site, rate)
    return TapOpened(source=from_id, target=to_id, rate_l_per_s=None if flow is None else flow * 1000.0)


def enter_pump_stop(
    site: Site,
    standing: Standing,
    text: str | None = None,
    source: str | None = None,
    target: str | None = None,
    rate: str | None = None,
) -> TapClosed:
    """Return the running pump switched off again, with what it moved or how fast it ran where somebody knows.

    More than the source can have given is refused (F49).
    """
    pumps = [tap for tap in standing.open_taps if tap.is_pump]
    if source:
        key = find_standing("source", "tank", source, site.tanks, site, standing.at)
        pumps = [tap for tap in pumps if tap.source == key]
    if target:
        key = find_standing("target", "tank", target, site.tanks, site, standing.at)
        pumps = [tap for tap in pumps if tap.target == key]
    if not pumps:
        raise EntryError(
            "source", "No such pump is noted as on at that time: note first when it was switched on."
        )
    if len(pumps) > 1:
        names = ", ".join(f"{pump.source} to {pump.target}" for pump in pumps)
        raise EntryError("source", f"Which one was switched off? On are {names}.")
    [pump] = pumps
    volume = _volume(site, text, "volume") if text and text.strip() else None
    if volume is not None and pump.source is not None and pump.target is not None:
        if rate:
            raise EntryError("rate", "Give how much was moved or how fast it ran, not both.")
        _refuse_more_than_there_was(site, standing, pump.source, pump.target, volume)
    flow = _flow(site, rate)
    return TapClosed(
        rate_l_per_s=None if flow is None else flow * 1000.0,
        source=pump.source,
        target=pump.target,
        volume_l=None if volume is None else volume * 1000.0,
    )


def _flow(site: Site, rate: str | None) -> float | None:
    try:
        return parse_flow(rate, site.units) if rate else None
    except QuantityError as refused:
        raise EntryError("rate", str(refused)) from refused


def enter_pour(site: Site, standing: Standing, text: str | None, tank: str, what: str | None = None) -> Pour:
    """Return water from elsewhere: hose, melt, dew, hail; without a volume when it was only noticed (F31)."""
    key = find_standing("tank", "tank", tank, site.tanks, site, standing.at)
    word = " ".join((what or "hose").split()).lower() or "hose"
    if text is None or not text.strip() or text.strip().lower() in ("?", "some", "unknown"):
        return Pour(None, key, word)
    return Pour(_volume(site, text, "volume") * 1000.0, key, word)


def _volume(site: Site, text: str, field: str) -> float:
    try:
        volume = parse_volume(text, site.units)
    except QuantityError as refused:
        raise EntryError(field, str(refused)) from refused
    if volume <= 0.0:
        raise EntryError(field, "Nothing was moved: write how much it was, or leave the entry out.")
    return volume


def _refuse_locked(site: Site, standing: Standing, outlet: str) -> None:
    if outlet in standing.arrangement.locked:
        raise EntryError(
            "outlet",
            f"{label(site, outlet)} is locked out: it must stay off. When it may run again, "
            f"enter `set {outlet} unlocked` first.",
        )
