"""A storm in words and table cells, the same on the screen and on the command line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tankdash.keeping.state.words import span_in_words
from tankdash.planning.storms import StormReport
from tankdash.site.loads import listed
from tankdash.units import Units, format_flow, format_length, format_rain, format_volume
from tankdash.water.storm import StormRun

DOUBT = (
    "Flow figures carry about a third of doubt in a real garden. Lead overflow water away from walls, and ask "
    "about your local code before you change a downpipe."
)
"""Said under every answer about a storm."""
NO_BORE = "How long the links need to level afterwards is unknown: a bore or a run was never measured."
MOST_NAMES = 4
"""Links or overflows named one by one."""
WORTH_SAYING = 5e-4
"""Half a litre, [m3]."""

Name = Callable[[str], str]
"""From an id to what the face calls it."""


@dataclass(frozen=True)
class Carried:
    """One link, overflow or first-flush pipe: what it must carry and can, in words."""

    key: str
    must: str
    can: str
    takes: str
    """Head it takes, or for a first-flush pipe how soon it is full; empty for an overflow."""
    there_is: str
    """Head there is; empty where it does not apply."""
    verdict: str
    """`enough`, `too narrow`, `passes nothing` or `unknown`."""
    share: float | None
    """What it must carry as a share of what it can; None where either is unknown."""


def _flow(rate: float | None, units: Units) -> str:
    return "not measured" if rate is None else format_flow(rate, units)


def _verdict(is_short: bool, carries: float | None) -> str:
    if carries is None:
        return "unknown"
    if carries <= 0.0:
        # Its sill lies above the lip: no water gets there at all, however wide it is.
        return "passes nothing"
    return "too narrow" if is_short else "enough"


def _share(must: float | None, carries: float | None) -> float | None:
    return None if must is None or carries is None or carries <= 0.0 else must / carries


def links_carried(report: StormReport, units: Units) -> list[Carried]:
    """Return every open link that some of the rain may have to pass."""
    return [
        Carried(
            key,
            _flow(load.must, units),
            _flow(load.carries, units),
            "-" if load.head is None else format_length(load.head, units),
            format_length(load.available, units),
            _verdict(load.is_short, load.carries),
            _share(load.must, load.carries),
        )
        for key, load in report.links.items()
        if load.must is None or load.must > 0.0
    ]


def overflows_carried(report: StormReport, units: Units) -> list[Carried]:
    """Return every overflow that some of the rain may have to pass."""
    return [
        Carried(
            key,
            _flow(load.must, units),
            _flow(load.carries, units),
            "",
            "",
            _verdict(load.is_short, load.carries),
            _share(load.must, load.carries),
        )
        for key, load in report.overflows.items()
        if load.must > 0.0
    ]


def idle_words(report: StormReport, name: Name = str) -> str:
    """Return the links and overflows that none of the rain has to pass; nothing where there are none."""
    links = [name(key) for key, load in report.links.items() if load.must is not None and load.must <= 0.0]
    over = [name(key) for key, load in report.overflows.items() if load.must <= 0.0]
    told = [_few(links), f"the overflow of {_few(over)}" if over else ""]
    idle = "; ".join(one for one in told if one)
    return f"None of it has to pass {idle}." if idle and report.inflow else ""


def _few(names: list[str]) -> str:
    """Return names as a list, the last of many as a number."""
    if len(names) <= MOST_NAMES:
        return listed(names) if names else ""
    return f"{', '.join(names[:MOST_NAMES])} and {len(names) - MOST_NAMES} more"


def rate_words(rate_mm_h: float, units: Units) -> str:
    """Return a rain rate.

    Examples
    --------
    >>> rate_words(100.0, "metric"), rate_words(101.6, "us")
    ('100 mm an hour', '4.00 in an hour')
    """
    return f"{format_rain(rate_mm_h, units)} an hour"


def brings_words(report: StormReport, units: Units, name: Name = str) -> str:
    """Return what the rain brings into which tank."""
    brings = ", ".join(
        f"{format_flow(rate, units)} into {name(tank)}" for tank, rate in report.inflow.items() if rate > 0.0
    )
    return f"Rain of {rate_words(report.rate_mm_h, units)} brings {brings or 'nothing: no roof is open'}."


def flush_words(report: StormReport, name: Name = str) -> list[str]:
    """Return how soon each first-flush pipe is full."""
    return [
        f"The first-flush pipe of {name(key)} is full after {span_in_words(flush.fills_in)}."
        for key, flush in report.flushes.items()
        if flush.fills_in is not None
    ]


def capacity_words(report: StormReport, units: Units) -> str:
    """Return both capacities: of a slow fill, and before the first loss in this rain."""
    begun = "empty tanks" if report.is_from_empty else "what the tanks hold now"
    static, storm = (format_volume(part, units) for part in (report.static_capacity, report.storm_capacity))
    return (
        f"Begun with {begun}: filled slowly they take {static} (static capacity); in this rain {storm} before the "
        "first is lost (storm capacity)."
    )


def first_spill_words(report: StormReport, name: Name = str) -> str:
    """Return which tank spills first, and when; nothing without rain."""
    run = report.run
    if run.first_to_spill is not None and run.first_spill_at is not None:
        return f"First to spill: {name(run.first_to_spill)}, after {span_in_words(run.first_spill_at)}."
    return "Nothing spills." if report.inflow else ""


def bank_words(report: StormReport, units: Units, name: Name = str) -> list[str]:
    """Return both capacities for what runs into each bank by itself, where rain runs into more than one."""
    lines = []
    for bank in report.banks:
        static, storm = (format_volume(part, units) for part in (bank.static_capacity, bank.storm_capacity))
        lines.append(
            f"What runs into {listed(list(map(name, bank.tanks)))} by itself: {static} slowly, {storm} in this rain."
        )
    return lines


def half_hour_words(run: StormRun, units: Units) -> str:
    """Return what half an hour of it loses; nothing where that is not worth saying."""
    lost = sum(run.spilled.values())
    if lost <= WORTH_SAYING:
        return ""
    while_room = ""
    if run.spilled_with_room > WORTH_SAYING:
        while_room = f", {format_volume(run.spilled_with_room, units)} of it while others still have room"
    return f"Half an hour of it loses {format_volume(lost, units)}{while_room}."


def unmeasured_words(report: StormReport, name: Name = str) -> str:
    """Return which links were taken as passing nothing."""
    reasons = (
        ("bore or run was never measured", report.run.unmeasured),
        ("nobody knows whether its crest is full of water", report.unlooked_at),
    )
    told = [f"because {why}: {', '.join(map(name, links))}" for why, links in reasons if links]
    return f"Taken as passing nothing, {'; '.join(told)}." if told else ""


def settle_words(report: StormReport) -> str:
    """Return how long to wait after it before a dip is good again; nothing when there is no need to."""
    if report.settle is None:
        return NO_BORE
    if report.settle <= 0.0:
        return ""
    return f"Wait {span_in_words(report.settle)} after it before a dip is good again."
