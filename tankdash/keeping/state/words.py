"""Sentences about the water: every warning with its code, in the site's units and with its labels."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from tankdash.keeping.state.figures import Caution
from tankdash.keeping.state.held import WITHOUT_END
from tankdash.keeping.state.standing import OpenTap, Standing
from tankdash.keeping.state.tracks import Three
from tankdash.keeping.when import instant
from tankdash.site.model import Site
from tankdash.units import format_length, format_rain, format_volume
from tankdash.water.filling import pour
from tankdash.water.model import Contents
from tankdash.water.pools import Pool
from tankdash.water.sills import banks

WORTH_A_WORD = 0.0005
"""Water less than this is not spoken of, [m3]."""


def in_words(names: Sequence[str]) -> str:
    """Return names as a list in a sentence.

    Examples
    --------
    >>> in_words(["north"]), in_words(["north", "middle", "south"])
    ('north', 'north, middle and south')
    """
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def labels(site: Site, ids: Iterable[str]) -> str:
    """Return the labels of tanks, links, outlets or roofs as a list in a sentence."""
    return in_words([label(site, key) for key in ids])


def label(site: Site, key: str) -> str:
    """Return what people call a thing of the garden; its id where nobody gave it a label."""
    for group in (site.tanks, site.links, site.outlets, site.roofs):
        if key in group:
            return group[key].label or key
    return site.beds[key].label or key if key in site.beds else key


def span_in_words(seconds: float) -> str:
    """Return a length of time as a person would say it; flow figures carry 30 %, so no seconds.

    Examples
    --------
    >>> span_in_words(40), span_in_words(600), span_in_words(5400), span_in_words(200000)
    ('about a minute', 'about 10 min', 'about 1.5 h', 'about 2 days')
    """
    if seconds < 90.0:
        return "about a minute"
    if seconds < 5400.0:
        return f"about {seconds / 60.0:.0f} min"
    if seconds < 36.0 * 3600.0:
        return f"about {seconds / 3600.0:.1f} h".replace(".0 h", " h")
    return f"about {seconds / 86400.0:.0f} days"


def moment_in_words(site: Site, at: datetime) -> str:
    """Return a time in the site's zone: `Mon 4 May 06:10`."""
    here = at.astimezone(site.zone)
    return f"{here:%a} {here.day} {here:%b %H:%M}"


def cautions_of(
    site: Site,
    standing: Standing,
    held: Three[Contents],
    reach: Three[dict[str, float]],
    shared: tuple[Pool, ...],
    settle: float | None = None,
) -> Iterator[Caution]:
    """Yield what the figures alone do not say, the things to act on first; `settle` is what dips apart need, [s]."""
    yield from _things_open(site, standing)
    if standing.arrangement.is_winter:
        yield Caution(
            "winter", "The site is laid up for winter: rain is not counted until `set site in-use`."
        )
    else:
        yield from _things_seen(site, standing)
    yield from _about_the_dip(site, standing, settle)
    yield from _cut_off(site, standing, held, reach, shared)
    yield from _behind_closed_vents(site, standing, held)
    yield from _at_the_overflow(site, standing)
    if standing.moved.short > WORTH_A_WORD:
        short = format_volume(standing.moved.short, site.units)
        yield Caution(
            "short",
            f"{short} more was noted as drawn than could reach the outlet: an entry, the last dip or a base is wrong.",
        )


def _things_open(site: Site, standing: Standing) -> Iterator[Caution]:
    """Yield what somebody should close, or leave alone."""
    for tap in standing.open_taps:
        if tap.is_pump:
            yield _pump_running(site, standing, tap)
            continue
        name = label(site, tap.outlet) if tap.outlet else "a tap"
        since = moment_in_words(site, tap.since)
        placed = site.outlets.get(tap.outlet or "")
        if placed is not None and placed.thing.kind == "pump":
            words = f"{name} is on since {since}: switch it off, or note when it was."
        else:
            words = f"{name} is open since {since}: close it, or note when it was closed."
        yield Caution("tap-open", words)
    for outlet, since_locked in standing.arrangement.locked.items():
        since = f" since {moment_in_words(site, since_locked)}" if since_locked else ""
        yield Caution(
            "locked",
            f"{label(site, outlet)} is locked out{since}: leave it off until `set {outlet} unlocked`.",
        )
    for tank in sorted(standing.arrangement.void_shapes):
        yield Caution(
            "shape-void",
            f"The shape of {label(site, tank)} no longer holds: only metered or counted water says what is in it.",
        )


def _pump_running(site: Site, standing: Standing, pump: OpenTap) -> Caution:
    """Return how long a pump has been on, and how soon what it fills is full (F49)."""
    source, target = label(site, pump.source or ""), label(site, pump.target or "")
    seconds = (instant(standing.at) - instant(pump.since)).total_seconds()
    on = f"The pump from {source} to {target} is on since {moment_in_words(site, pump.since)}"
    on += f" ({elapsed_words(seconds)})" if seconds >= 60.0 else ""
    room = room_at(standing, pump.target or "")
    if room is None:
        fills = ""
    elif room <= WORTH_A_WORD:
        fills = f" {target} is full: what still comes runs over."
    elif pump.rate:
        fills = f" {target} is full in {span_in_words(room / pump.rate)}."
    else:
        most = " at most" if pump.target in standing.unknown else ""
        fills = f" {target} has room for {format_volume(room, site.units)}{most}."
    counted = " The figures are as if it still ran." if pump.rate and seconds >= 60.0 else ""
    return Caution("pump-on", f"{on}: switch it off, or note when it was.{fills}{counted}")


def room_at(standing: Standing, tank: str) -> float | None:
    """Return what can still be put into a tank before anything runs over, [m3]; None where nobody knows."""
    if tank not in standing.layout.tanks or standing.basis == "none":
        return None
    held = standing.contents.mid if tank not in standing.unknown else standing.contents.low
    poured = pour(standing.layout, held, {tank: WITHOUT_END})
    return WITHOUT_END - sum(poured.spilled.values())


def elapsed_words(seconds: float) -> str:
    """Return how long something has been on, to the minute, and from two days on to the hour.

    Examples
    --------
    >>> elapsed_words(7500), elapsed_words(45 * 60), elapsed_words(7200), elapsed_words(50 * 3600)
    ('2 h 5 min', '45 min', '2 h', '2 days 2 h')
    """
    hours, minutes = divmod(int(seconds // 60.0), 60)
    parts = [(hours, "h"), (minutes, "min")]
    if hours >= 48:
        parts = [(hours // 24, "days"), (hours % 24, "h")]
    return " ".join(f"{count} {unit}" for count, unit in parts if count) or "0 min"


def _things_seen(site: Site, standing: Standing) -> Iterator[Caution]:
    """Yield what rain met on its way: plugs and open drains."""
    for roof, state in standing.arrangement.shut_roofs.items():
        fallen = sum(seen.depth_mm for seen in standing.sightings if seen.item == roof)
        word = "plugged" if state == "plugged" else "on bypass"
        if fallen > 0.0:
            depth = format_rain(fallen, site.units)
            yield Caution(
                "plugged",
                f"{label(site, roof)} is noted as {word}: the {depth} that fell meanwhile is not counted. "
                f"Is the bung still in? If not, note `set {roof} open`.",
            )
        else:
            yield Caution(
                "plugged", f"{label(site, roof)} is noted as {word}: rain on it will not be counted."
            )
    rained = {seen.item for seen in standing.sightings if seen.what == "rain-on-open-drain"}
    for tank in sorted(standing.arrangement.draining):
        if tank in rained:
            yield Caution(
                "drain-open",
                f"It rained while the drain of {label(site, tank)} is noted as open and the site as in use: "
                f"close the drain, or note `set site winter`.",
            )
        else:
            yield Caution(
                "drain-open", f"The drain of {label(site, tank)} is open: rain runs straight through."
            )


def _at_the_overflow(site: Site, standing: Standing) -> Iterator[Caution]:
    """Yield what a dry overflow means when the tanks were full (F26)."""
    looked = max((seen.at for seen in standing.sightings if seen.what == "overflow dry"), default=None)
    if looked is None:
        return
    # What spills later, or only in a what-if, nobody has looked for yet.
    since = max(standing.read_at.values(), default=looked)
    gone = sum(moment.spilled for moment in standing.history if since <= moment.at <= looked)
    if gone > WORTH_A_WORD:
        spilled = format_volume(gone, site.units)
        yield Caution(
            "inlet",
            f"{spilled} should have left by the overflow since the dip, and none was seen there: look at the screen, "
            f"the inlet and the gutter.",
        )


def _about_the_dip(site: Site, standing: Standing, settle: float | None) -> Iterator[Caution]:
    """Yield what makes the last dip less than sure."""
    if standing.unsettled > 0.0:
        left = span_in_words(standing.unsettled)
        yield Caution(
            "provisional",
            f"The dip was taken while the water was still levelling; dip again in {left} for a settled figure.",
        )
    if standing.rest is None:
        return
    for warning in standing.rest.warnings:
        names = labels(site, warning.tanks)
        if warning.code == "not-settled":
            apart = format_length(warning.figures["spread"], site.units)
            wait = f" Its links level that in {span_in_words(settle)}." if settle else ""
            yield Caution(
                "not-settled",
                f"The dips of {names} lie {apart} apart, more than the stick allows: the water has not settled, "
                f"a link does not pass, or a base is wrong. Each dip stands for its own tank.{wait}",
            )
        elif warning.code == "above-spill":
            over = format_length(warning.figures["surface"] - warning.figures["spill"], site.units)
            yield Caution(
                "above-spill",
                f"The dip of {names} stands {over} above where this water should spill: it is still running, "
                f"a link is blocked, or a base is wrong.",
            )
        elif warning.code == "crest":
            hoses = [
                key
                for key, link in standing.layout.links.items()
                if link.is_open and link.crest is not None and link.primed is None
            ]
            said, it = ("is", "it") if len(hoses) == 1 else ("are", "them")
            yield Caution(
                "crest",
                f"Nobody has noted whether {labels(site, hoses)} {said} full of water, so {names} may stand either "
                f"way. Bleed or prime {it}, or dip the other side, and note `set {hoses[0]} primed` or `unprimed`.",
            )


def _cut_off(
    site: Site,
    standing: Standing,
    held: Three[Contents],
    reach: Three[dict[str, float]],
    shared: tuple[Pool, ...],
) -> Iterator[Caution]:
    """Yield the water that its links no longer carry to an outlet (R4)."""
    layout = standing.layout
    taps = {outlet.tank for outlet in layout.outlets.values()}
    for bank in banks(layout):
        if standing.basis == "none" or not taps:
            continue
        if taps.isdisjoint(bank):
            known = [tank for tank in bank if tank not in standing.unknown]
            low, high = (sum(track[tank] for tank in known) for track in (held.low, held.high))
            if high > WORTH_A_WORD:
                verb = "is" if len(bank) == 1 else "are"
                yield Caution(
                    "cut-off",
                    f"{labels(site, bank)} {verb} joined to no outlet: {_between(site, low, high)} there "
                    f"can only be moved.",
                )
            continue
        joined = {tank for pool in shared if not taps.isdisjoint(pool.tanks) for tank in pool.tanks} | taps
        for tank in bank:
            # Where some of it may reach an outlet nobody can say that it stands below its link.
            if tank in joined or held.high[tank] <= WORTH_A_WORD or reach.high[tank] > WORTH_A_WORD:
                continue
            amount = _between(site, held.low[tank], held.high[tank])
            yield Caution(
                "cut-off",
                f"{label(site, tank)} stands below its link: {amount} in it cannot pass on to an outlet.",
            )


def _between(site: Site, low: float, high: float) -> str:
    """Return an amount that lies between two ends, [m3]."""
    least, most = format_volume(low, site.units), format_volume(high, site.units)
    if least == most or high - low <= WORTH_A_WORD:
        return most
    return f"up to {most}" if low <= WORTH_A_WORD else f"{least} to {most}"


def _behind_closed_vents(site: Site, standing: Standing, held: Three[Contents]) -> Iterator[Caution]:
    for key, tank in standing.layout.tanks.items():
        if not tank.vented:
            most = format_volume(held.high[key], site.units)
            yield Caution(
                "vent-closed",
                f"{label(site, key)} is not counted, its vent is closed: trapped air lets in {most} at most. "
                f"Open the vent, or dip it by itself.",
            )
