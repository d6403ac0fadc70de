"""The water in words and tables: what `levels` prints, and what an entry changed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from tankdash.cli.text import table, wrapped

if TYPE_CHECKING:
    from tankdash.keeping.state.levels import Levels, TankLevel
    from tankdash.site.model import Site

WORTH_SAYING = 0.5
"""A change below this is none that anybody could see, [L]."""


def litres(site: Site, volume: float | None, low: float | None = None, high: float | None = None) -> str:
    """Return a volume in the site's units; a range, or `unknown`, where nobody can know better."""
    from tankdash.units import format_volume

    if volume is not None:
        return format_volume(volume / 1000.0, site.units)
    if low is None or high is None:
        return "unknown"
    if low <= 0.0:
        return f"at most {format_volume(high / 1000.0, site.units)}"
    return f"{format_volume(low / 1000.0, site.units)} to {format_volume(high / 1000.0, site.units)}"


def height(site: Site, metres: float | None) -> str:
    """Return a height in the site's units; a dash for one that nobody knows."""
    from tankdash.units import format_length

    return "-" if metres is None else format_length(metres, site.units)


_BASIS = {
    "dip": "by the last dip",
    "estimate": "by the last dip and what was noted since",
    "what-if": "what if; nothing is written",
    "none": "no dip yet: dip one tank to know",
}
_STATES = {"carried": "estimated", "vent-closed": "vent closed", "cut-off": "cut off"}


def level_lines(site: Site, levels: Levels) -> list[str]:
    """Return what `levels` and `try` print."""
    heads = ("tank", "holds", "usable", "depth", "surface", "full at", "state")
    rows = [_tank_row(site, key, tank) for key, tank in levels.tanks.items()]
    lines = [f"{levels.site}, {levels.at:%Y-%m-%d %H:%M}: {_BASIS[levels.basis]}", ""]
    lines += table(heads, rows, right=(1, 2, 3, 4, 5))
    lines.append("")
    lines += total_lines(site, levels)
    for pool in levels.pools:
        if len(pool.tanks) > 1:
            lines += wrapped(
                f"{', '.join(pool.tanks)} share one surface at {height(site, pool.surface_m)};"
                f" {pool.spills_at} spills first, at {height(site, pool.spill_m)}."
            )
    lines += moved_lines(site, levels)
    lines += warning_lines(warning.text for warning in levels.warnings)
    return lines


def _tank_row(site: Site, key: str, tank: TankLevel) -> tuple[str, ...]:
    return (
        _named(site, key),
        _cell(site, tank.volume_l, tank.low_l, tank.high_l, tank.full_l),
        _cell(site, tank.usable_l, tank.usable_low_l, tank.usable_high_l, tank.full_l),
        height(site, tank.depth_m),
        height(site, tank.surface_m),
        litres(site, tank.full_l),
        _STATES.get(tank.state, tank.state),
    )


def _cell(site: Site, likely: float | None, low: float, high: float, full: float) -> str:
    """Return a volume for a table: where it is known only roughly, from where to where it reaches."""
    from tankdash.keeping.state.figures import needs_range

    return litres(site, None if needs_range(low, high, full) else likely, low, high)


def _with_range(site: Site, likely: float | None, low: float, high: float, full: float) -> str:
    """Return a volume for a sentence: the likely one, and where it is known only roughly its range."""
    from tankdash.keeping.state.figures import needs_range

    said = litres(site, likely, low, high)
    if likely is None or not needs_range(low, high, full):
        return said
    return f"{said} ({litres(site, None, low, high)})"


def _named(site: Site, key: str) -> str:
    label = site.tanks[key].label if key in site.tanks else key
    return key if label in ("", key) else f"{key} ({label})"


def total_lines(site: Site, levels: Levels) -> list[str]:
    """Return the sums: held, usable, out of reach, room left."""
    from tankdash.keeping.state.figures import needs_range

    totals = levels.totals
    reach = totals.usable_low_l, totals.usable_high_l
    share = "" if totals.percent is None else f", {totals.percent:.0f} % of what is usable when full"
    lines = wrapped(
        f"In all {_with_range(site, totals.volume_l, totals.low_l, totals.high_l, totals.full_l)};"
        f" usable {_with_range(site, totals.usable_l, *reach, totals.full_l)}{share}."
    )
    about = "about " if needs_range(totals.low_l, totals.high_l, totals.full_l) else ""
    rest = []
    if totals.below_outlet_l is not None and totals.below_outlet_l > WORTH_SAYING:
        rest.append(f"{about}{litres(site, totals.below_outlet_l)} no outlet can reach")
    if totals.headroom_l is not None:
        rest.append(f"room for {about}{litres(site, totals.headroom_l)} more")
    if totals.lost_to_bases_l > WORTH_SAYING:
        rest.append(f"{litres(site, totals.lost_to_bases_l)} of room lost to uneven bases")
    if rest:
        text = "; ".join(rest)
        lines += wrapped(f"{text[:1].upper()}{text[1:]}.")
    return lines


def moved_lines(site: Site, levels: Levels) -> list[str]:
    """Return what came and went after the dip."""
    from tankdash.units import format_volume

    moved = levels.moved
    parts = []
    if moved.caught_l > WORTH_SAYING or (moved.caught_high_l or 0.0) > WORTH_SAYING:
        high = (
            "no known end"
            if moved.caught_high_l is None
            else format_volume(moved.caught_high_l / 1000.0, site.units)
        )
        low = format_volume(moved.caught_low_l / 1000.0, site.units)
        extent = "" if low == high else f" ({low} to {high})"
        parts.append(f"caught {litres(site, moved.caught_l)}{extent}")
    for amount, words in (
        (moved.poured_l, "poured in"),
        (moved.used_l, "used"),
        (moved.spilled_l, "spilled"),
        (moved.first_flush_l, "went to the first flush"),
        (moved.short_l, "drawn that was not there"),
    ):
        if amount > WORTH_SAYING:
            parts.append(f"{litres(site, amount)} {words}")
    return wrapped(f"Since the dip: {', '.join(parts)}.") if parts else []


def warning_lines(texts: Iterable[str]) -> list[str]:
    """Return warnings, each with its mark."""
    return [line for text in texts for line in wrapped(text, "! ", "  ")]


def change_in_litres(before: Levels, after: Levels) -> float | None:
    """Return by how much the water changed, [L]; None where it was or is not known."""
    if before.totals.volume_l is None or after.totals.volume_l is None:
        return None
    return after.totals.volume_l - before.totals.volume_l


def change_lines(site: Site, before: Levels, after: Levels, *, is_dip: bool) -> list[str]:
    """Return what an entry changed, in litres and in words; for a dip, against what was expected."""
    change = change_in_litres(before, after)
    if change is None:
        return ["This is the first dip."] if before.basis == "none" and is_dip else []
    amount = litres(site, abs(change))
    over = after.moved.spilled_l - before.moved.spilled_l
    spilled = wrapped(f"{litres(site, over)} ran over a lip and is lost.") if over > WORTH_SAYING else []
    if is_dip:
        if abs(change) < WORTH_SAYING:
            return ["That is just what was expected."]
        return [f"That is {amount} {'more' if change > 0 else 'less'} than what was noted led to expect."]
    if abs(change) < WORTH_SAYING:
        return [_usable_change(site, before, after), *spilled]
    surface = _common_surface(before), _common_surface(after)
    by = ""
    if surface[0] is not None and surface[1] is not None and abs(surface[1] - surface[0]) >= 0.001:
        word = "rises" if surface[1] > surface[0] else "falls"
        by = f"; the surface {word} by {height(site, abs(surface[1] - surface[0]))}"
    said = f"{_how_sure(before, after)}{amount} {'more' if change > 0 else 'less'}{by}."
    return [said[:1].upper() + said[1:], *spilled]


def _how_sure(before: Levels, after: Levels) -> str:
    """Return the word before a change that left the water less well known than it was."""
    below, above = (_open(after, name) - _open(before, name) > WORTH_SAYING for name in ("low_l", "high_l"))
    if above and not below and _open(after, "low_l") <= WORTH_SAYING:
        return "at least "
    return "about " if above or below else ""


def _open(levels: Levels, end: str) -> float:
    """Return how far an end lies from the likely water in all, [L]."""
    totals = levels.totals
    likely = totals.low_l if totals.volume_l is None else totals.volume_l
    return abs(float(getattr(totals, end)) - likely)


def _usable_change(site: Site, before: Levels, after: Levels) -> str:
    """Return what changed for the outlets where no litre came or went."""
    reach = before.totals.usable_l, after.totals.usable_l
    if reach[0] is None or reach[1] is None or abs(reach[1] - reach[0]) < WORTH_SAYING:
        return "The water stays as it is."
    word = "more" if reach[1] > reach[0] else "less"
    return f"No litre comes or goes; {litres(site, abs(reach[1] - reach[0]))} {word} of it is usable."


def since_last_dip(site: Site, at_last: Levels, after: Levels) -> list[str]:
    """Return how the water changed since the dip before."""
    change = change_in_litres(at_last, after)
    if change is None:
        return []
    from tankdash.keeping.state.words import moment_in_words

    when = moment_in_words(site, at_last.at)
    if abs(change) < WORTH_SAYING:
        return [f"As much as at the last dip, {when}."]
    word = "more" if change > 0 else "less"
    return [f"{litres(site, abs(change))} {word} than at the last dip, {when}."]


def _common_surface(levels: Levels) -> float | None:
    """Return the surface of the pool with the most tanks, when there is only one such."""
    if not levels.pools:
        return None
    most = max(len(pool.tanks) for pool in levels.pools)
    largest = [pool for pool in levels.pools if len(pool.tanks) == most]
    return largest[0].surface_m if len(largest) == 1 else None
