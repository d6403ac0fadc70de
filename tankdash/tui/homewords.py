"""The words of the home page: how much can be used, what of the rest is out of reach and why, how it is known."""

from __future__ import annotations

from tankdash.drawing.bars import capacity_bar
from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.scene import Scene
from tankdash.drawing.words import words, wrap
from tankdash.keeping.when import moment_words
from tankdash.tui.state import Shown
from tankdash.tui.widgets.figure import figure_width, large_figure
from tankdash.tui.widgets.picture import paragraph
from tankdash.tui.words import volume

UNIT_NAMES = {"L": "litres", "US gal": "US gallons", "imp gal": "imperial gallons"}
"""Units in full, for the one figure that stands alone."""

PRESSING_WARNINGS = frozenset(
    {
        "not-settled",
        "above-spill",
        "provisional",
        "plugged",
        "short",
        "tap-open",
        "locked",
        "drain-open",
        "shape-void",
    }
)
"""Warnings about today; how the garden is built is told on the tanks page, full first-flush pipes by their chore."""


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


def headline(shown: Shown, width: int, *, large: bool, ascii_only: bool, ink: bool) -> list[Row]:
    """Return the usable water, large where there is room, and a bar of what it is of."""
    figure, unit = usable_text(shown)
    totals = shown.levels.totals
    share = "" if totals.percent is None else f"{totals.percent:.0f} %"
    drawn = large_figure(figure) if large and not ascii_only and figure_width(figure) <= width else None
    if drawn is None:
        said = f" {unit} usable" + (f", {share}" if share else "")
        rows: list[Row] = [[Span(figure, "figure"), Span(said, "strong")]]
    elif figure_width(figure) + 1 + len(unit) <= width:
        beside = (unit, "usable", share)
        rows = [[*row, Span(f" {word}", "strong")] for row, word in zip(drawn, beside, strict=True)]
    else:
        rows = [*drawn, [Span(f"{unit} usable" + (f", {share}" if share else ""), "strong")]]
    if totals.volume_l is not None and totals.usable_l is not None:
        rows.append(
            capacity_bar(totals.usable_l, totals.volume_l, totals.full_l, width, ascii=ascii_only, ink=ink)
        )
    return rows


def known_by(shown: Shown) -> str:
    """Return how the figures are known."""
    standing = shown.levels.standing
    if shown.levels.basis == "none":
        return "No dip yet: press d and type what the stick shows."
    when = max(standing.read_at.values(), default=None)
    said = "" if when is None else f" {moment_words(when, shown.site.zone, shown.now)}"
    return f"Dipped{said}" if shown.levels.basis == "dip" else f"Reckoned since{said}"


def in_short(shown: Shown) -> list[str]:
    """Return what is out of reach and how much room there is, in as few words as can be."""
    totals, units = shown.levels.totals, shown.site.units
    told = []
    if totals.below_outlet_l is not None and totals.below_outlet_l >= 0.5:
        told.append(f"{volume(totals.below_outlet_l, units)} out of reach")
    if totals.headroom_l is not None:
        told.append(f"{volume(totals.headroom_l, units)} of room")
    return told


def home_words(
    shown: Shown,
    scene: Scene,
    width: int,
    *,
    lasting: str | None = None,
    large: bool,
    short: bool,
    terse: bool = False,
    ascii_only: bool,
    ink: bool,
) -> list[Row]:
    """Return the words of the home page.

    Parameters
    ----------
    shown : Shown
        The state.
    scene : Scene
        The same, as the picture has it.
    width : int
        Cells to fill.
    lasting : str, optional
        How long the water lasts, where that is known.
    large : bool
        Whether the figure may take three lines.
    short : bool
        Whether to say it in few words.
    terse : bool, optional
        Whether these must go on one line.
    ascii_only : bool
        Whether only ASCII may be drawn.
    ink : bool
        Whether water is drawn with signs too.
    """
    rows = headline(shown, width, large=large, ascii_only=ascii_only, ink=ink)
    if lasting:
        rows += paragraph(lasting, width)
    # The first sentence is the figure itself, which stands large above.
    sentences = [] if shown.levels.basis == "none" else words(scene, ascii=ascii_only)[1:]
    if terse:
        told, known = "; ".join(in_short(shown)), known_by(shown)
        both = f"{told}; {known[0].lower()}{known[1:]}" if told else known
        rows += paragraph(both if not told or len(both) <= width else told, width, "dim")
    elif short:
        for told in in_short(shown):
            rows += paragraph(told, width)
    if short:
        sentences = [sentence for sentence in sentences if any(span.role == "warn" for span in sentence)]
    for sentence in sentences:
        rows += wrap(sentence, width)
    if not terse:
        rows += paragraph(known_by(shown), width, "dim")
    for warning in shown.levels.warnings:
        if warning.code in PRESSING_WARNINGS:
            rows += paragraph(f"! {warning.text}", width, "warn", indent=2)
    return rows
