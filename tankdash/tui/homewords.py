"""The words of the home page: how much can be used, what of the rest is out of reach and why, how it is known."""

from __future__ import annotations

from tankdash.drawing.canvas import Row, Span
from tankdash.keeping.when import moment_words
from tankdash.tui.state import Shown
from tankdash.tui.widgets.figure import figure_width, large_figure
from tankdash.tui.widgets.picture import paragraph
from tankdash.tui.words import volume

UNIT_NAMES = {"L": "litres", "US gal": "US gallons", "imp gal": "imperial gallons"}
"""Units in full, for the one figure that stands alone."""

TOLD_BY_PICTURE = frozenset(
    {"lips-differ", "no-vent", "overflow-small", "small-first-flush", "load", "crest"}
)
"""Warnings about how the garden is built: they belong to the tanks page, not to what is there today."""


def usable_text(shown: Shown) -> tuple[str, str]:
    """Return the usable volume as a figure and the name of its unit; a range where only a range is known."""
    totals, units = shown.levels.totals, shown.site.units
    if totals.usable_l is not None:
        figure, _, unit = volume(totals.usable_l, units).partition(" ")
        return figure, UNIT_NAMES.get(unit, unit)
    if shown.levels.basis == "none":
        return "?", UNIT_NAMES.get(volume(0.0, units).partition(" ")[2], "")
    low, _, _ = volume(totals.usable_low_l, units).partition(" ")
    high, _, unit = volume(totals.usable_high_l, units).partition(" ")
    return f"{low}–{high}", UNIT_NAMES.get(unit, unit)


def headline(shown: Shown, width: int, *, large: bool, ascii_only: bool) -> list[Row]:
    """Return the usable water: large where there is room."""
    figure, unit = usable_text(shown)
    percent = shown.levels.totals.percent
    share = "" if percent is None else f"{percent:.0f} % of what it can give"
    drawn = large_figure(figure) if large and not ascii_only and figure_width(figure) <= width else None
    if drawn is None:
        return [[Span(figure, "figure"), Span(f" {unit} usable", "strong")], *paragraph(share, width, "dim")]
    return [*drawn, [Span(f"{unit} usable", "strong")], *paragraph(share, width, "dim")]


def known_by(shown: Shown) -> str:
    """Return how the figures are known."""
    standing = shown.levels.standing
    if shown.levels.basis == "none":
        return "No dip yet: press d and type what the stick shows."
    when = max(standing.read_at.values(), default=None)
    said = "" if when is None else f" {moment_words(when, shown.site.zone, shown.now)}"
    if shown.levels.basis == "dip":
        return f"As dipped{said}"
    return f"Reckoned on from the dip{said}"


def rest_of_it(shown: Shown) -> list[tuple[str, str]]:
    """Return what else is worth knowing, as words with a role, the most useful first."""
    totals, units = shown.levels.totals, shown.site.units
    told: list[tuple[str, str]] = []
    if totals.volume_l is not None and totals.below_outlet_l is not None:
        out_of_reach = totals.below_outlet_l
        if out_of_reach >= 0.5:
            told.append((f"{volume(out_of_reach, units)} more is out of reach", "plain"))
    elif shown.levels.basis != "none":
        low, high = volume(totals.low_l, units), volume(totals.high_l, units)
        told.append((f"in all between {low} and {high}", "plain"))
    if totals.headroom_l is not None:
        told.append((f"Room for {volume(totals.headroom_l, units)}", "plain"))
    told.append((known_by(shown), "dim"))
    return told


def home_words(shown: Shown, width: int, *, large: bool, ascii_only: bool) -> list[Row]:
    """Return the words of the home page.

    Parameters
    ----------
    shown : Shown
        The state.
    width : int
        Cells to fill.
    large : bool
        Whether the figure may take three lines.
    ascii_only : bool
        Whether only ASCII may be drawn.
    """
    rows = headline(shown, width, large=large, ascii_only=ascii_only)
    for words, role in rest_of_it(shown):
        rows += paragraph(words, width, role)
    for warning in shown.levels.warnings:
        if warning.code not in TOLD_BY_PICTURE:
            rows += paragraph(f"! {warning.text}", width, "warn", indent=2)
    return rows
