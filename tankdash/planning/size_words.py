"""Storage against reliability in words and table cells, the same on the screen and on the command line."""

from __future__ import annotations

from tankdash.planning.choices import Choice, Sizing
from tankdash.planning.sizing import SizeResult
from tankdash.units import Units, format_area, format_volume

HEADS = ("storage", "usable", "of the water", "of the days", "dry days", "spilled")
"""Headings over `choice_cells`."""
SHARES = (0.8, 0.9, 0.95, 0.99)
"""Shares of days served in full whose storage is told."""


def record_words(answer: Sizing) -> str:
    """Return whose rain it is, and of which years."""
    record = answer.record
    years = answer.choices[0].result.years
    missing = f"; {record.missing} missing days taken as dry" if record.missing else ""
    return f"Rain of {record.station}, {record.first} to {record.last}, {years:.1f} years{missing}."


def need_words(answer: Sizing, units: Units) -> str:
    """Return what the beds ask of the tanks in a year."""
    return f"The beds ask these tanks for {format_volume(answer.need_per_year, units)} a year."


def added_words(answer: Sizing, units: Units) -> str:
    """Return what each tank added holds, where the owner named none."""
    return "" if answer.tank is None else f"Each tank added holds {format_volume(answer.tank, units)}."


def roof_words(answer: Sizing, area: float, units: Units) -> str:
    """Return what a roof brings in a year, as a heading."""
    brings = format_volume(dict(answer.caught_per_year)[area], units)
    return f"{format_area(area, units)} of roof, which brings {brings} a year:"


def choice_cells(choice: Choice, units: Units) -> tuple[str, ...]:
    """Return one choice as cells under `HEADS`."""
    result = choice.result
    return (
        choice.name,
        format_volume(result.storage, units),
        f"{100.0 * result.volume_reliability:.1f} %",
        f"{100.0 * result.day_reliability:.1f} %",
        f"{result.dry_days_per_year:.0f}",
        format_volume(result.spilled_per_year, units),
    )


def served_words(curve: tuple[SizeResult, ...], units: Units) -> str:
    """Return the storage that serves most days, by the curve under the present roof; nothing without a curve."""
    parts = []
    for share in SHARES:
        enough = [one for one in curve if one.day_reliability >= share]
        if not enough and curve:
            parts.append(f"{100 * share:.0f} % by none up to {format_volume(curve[-1].storage, units)}")
            break
        if enough:
            parts.append(f"{100 * share:.0f} % by {format_volume(enough[0].storage, units)}")
    return f"Days served in full: {', '.join(parts)}." if parts else ""


def assumed_words(answer: Sizing) -> str:
    """Return how it was reckoned, and the cautions that go with a further tank."""
    what = "after" if answer.rule == "YAS" else "before"
    return (
        f"A daily step, yield {what} spillage ({answer.rule}), begun empty; `of the water` is the share of the litres "
        "wanted, `of the days` the share of days served in full; dry days and spill are a year. Rain on the beds is "
        "taken off their need; first-flush pipes are taken as emptied; an added tank as standing level. Before buying: "
        "a full tank weighs a tonne or more, and some codes ask for a permit."
    )
