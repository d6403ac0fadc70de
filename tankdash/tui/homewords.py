"""The words of the home page: how much can be used, what of the rest is out of reach and why, how it is known."""

from __future__ import annotations

from collections.abc import Sequence

from tankdash.drawing.bars import capacity_bar
from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.scene import Scene
from tankdash.drawing.words import words, wrap
from tankdash.keeping.when import local_day, moment_words
from tankdash.tui.state import Seen
from tankdash.tui.widgets.figure import figure_width, large_figure
from tankdash.tui.widgets.picture import beside, paragraph, row_width
from tankdash.tui.words import volume
from tankdash.units import format_length

UNIT_NAMES = {"L": "litres", "US gal": "US gallons", "imp gal": "imperial gallons"}
"""Units in full, for the one figure that stands alone."""

NARROW = 50
"""Cells below which few lines are left for more than the figure, how long it lasts and what is due."""

MOST_LINES = 4
"""Lines for what is held back and why, where it is said in few words."""

MOST_SURFACES = 2
"""Pools whose surface is told where no picture shows it."""

PRESSING_WARNINGS = frozenset(
    {
        "not-settled",
        "above-spill",
        "provisional",
        "plugged",
        "short",
        "tap-open",
        "pump-on",
        "locked",
        "drain-open",
        "shape-void",
    }
)
"""Warnings about today; how the garden is built is told on the tanks page, full first-flush pipes by their chore."""


def usable_text(shown: Seen) -> tuple[str, str]:
    """Return the usable volume as a figure and the name of its unit; a range where only a range is known."""
    totals, units = shown.levels.totals, shown.site.units
    if totals.usable_l is not None:
        figure, _, unit = volume(totals.usable_l, units).partition(" ")
        return figure, UNIT_NAMES.get(unit, unit)
    low, _, _ = volume(totals.usable_low_l, units).partition(" ")
    high, _, unit = volume(totals.usable_high_l, units).partition(" ")
    return f"{low}–{high}", UNIT_NAMES.get(unit, unit)


def headline(shown: Seen, width: int, *, large: bool, ascii_only: bool) -> list[Row]:
    """Return the usable water, large where there is room; before the first dip, what to do."""
    if shown.levels.basis == "none":
        what_to_do = "Nobody knows what is in the tanks: put a stick in one, press d and type what it shows."
        return [[Span("No dip yet", "figure")], *paragraph(what_to_do, width, "strong")]
    figure, unit = usable_text(shown)
    percent = shown.levels.totals.percent
    share = "" if percent is None else f"{percent:.0f} % of full"
    drawn = large_figure(figure) if large and not ascii_only and figure_width(figure) <= width else None
    if drawn is None:
        said = f" {unit} usable" + (f", {share}" if share else "")
        said = said if len(figure + said) <= width else said.removesuffix(" of full")
        return wrap([Span(figure, "figure"), Span(said, "strong")], width)
    room = width - figure_width(figure) - 1
    if len(unit) > room:
        return [*drawn, [Span(f"{unit} usable" + (f", {share}" if share else ""), "strong")]]
    beside = (unit, "usable", share if len(share) <= room else share.removesuffix(" of full"))
    return [[*row, Span(f" {word}", "strong")] for row, word in zip(drawn, beside, strict=True)]


def bar(shown: Seen, width: int, *, with_words: bool, ascii_only: bool, ink: bool) -> list[Row]:
    """Return the bar of what is usable of what the tanks can hold, and under its ends in words what they are."""
    totals, told = shown.levels.totals, in_short(shown) if with_words else []
    if shown.levels.basis == "none":
        return []
    rows = [
        capacity_bar(
            min(totals.usable_low_l, totals.low_l),
            totals.low_l,
            totals.full_l,
            width,
            ascii=ascii_only,
            ink=ink,
            most=totals.high_l,
        )
    ]
    # The figures stand out, so that two of them side by side are read as two.
    parts: list[Row] = [[Span(figure, "strong"), Span(f" {said}", "dim")] for figure, said in told]
    if len(parts) == 2 and sum(map(row_width, parts)) < width:
        return [*rows, beside(parts[0], parts[1], width)]
    return rows + [row for part in parts for row in wrap(part, width)]


def range_words(shown: Seen) -> str:
    """Return between what the likely figure may lie, where it is not known to the litre."""
    totals, units = shown.levels.totals, shown.site.units
    least, most = volume(totals.usable_low_l, units), volume(totals.usable_high_l, units)
    if totals.usable_l is None or least == most or shown.levels.basis == "none":
        return ""
    return f"{least.partition(' ')[0]}–{most} possible"


def surface_words(scene: Scene) -> list[str]:
    """Return how high the water of each pool stands and where it spills, those with most tanks first."""
    labels = {tank.id: tank.label for tank in scene.tanks}
    told = []
    for pool in sorted(scene.pools, key=lambda pool: -len(pool.tanks))[:MOST_SURFACES]:
        where = "Surface" if len(scene.pools) == 1 else f"{labels[pool.tanks[0]]}: surface"
        spills = "" if pool.spill is None else f", spills at {format_length(pool.spill, scene.units)}"
        told.append(f"{where} {format_length(pool.surface, scene.units)}{spills}")
    return told


def known_by(shown: Seen, *, short: bool) -> str:
    """Return how the figures are known: by a dip, or as an estimate since one, and how long ago that was."""
    standing = shown.levels.standing
    when = max(standing.read_at.values(), default=None)
    if shown.levels.basis == "none" or when is None:
        return ""
    zone, now = shown.site.zone, shown.now
    if shown.levels.basis == "dip":
        return f"Dipped {moment_words(when, zone, now)}"
    days = (local_day(now, zone) - local_day(when, zone)).days
    ago = "today" if days == 0 else "yesterday" if days == 1 else f"{days} days ago"
    if short:
        return f"Estimate: dipped {ago}"
    return f"An estimate since the dip of {moment_words(when, zone, now)}, {ago}"


def in_short(shown: Seen) -> list[tuple[str, str]]:
    """Return what is out of reach and how much room there is: each a figure and as few words as can be."""
    totals, units = shown.levels.totals, shown.site.units
    told = []
    if totals.below_outlet_l is not None and totals.below_outlet_l >= 0.5:
        told.append((volume(totals.below_outlet_l, units), "out of reach"))
    if totals.headroom_l is not None:
        told.append((volume(totals.headroom_l, units), "room"))
    return told


def home_words(
    shown: Seen,
    scene: Scene,
    width: int,
    *,
    lasting: str | None = None,
    large: bool,
    short: bool,
    terse: bool = False,
    heights: bool = False,
    ascii_only: bool,
    ink: bool,
) -> list[Row]:
    """Return the words of the home page: what is usable, how long it lasts, what presses, how that is known.

    Parameters
    ----------
    shown : Shown or Glance
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
        Whether lines are so few that what is known goes beside the figure.
    heights : bool, optional
        Whether to say how high the water stands: no picture shows it.
    ascii_only : bool
        Whether only ASCII may be drawn.
    ink : bool
        Whether water is drawn with signs too.
    """
    known: Row = [Span(known_by(shown, short=short), "dim")]
    rows = headline(shown, width, large=large, ascii_only=ascii_only)
    if terse:
        # Beside the age of the dip the figure may have to give up what it is a share of.
        brief = headline(shown, width - row_width(known) - 1, large=large, ascii_only=ascii_only)
        rows = brief if len(brief) == 1 else rows
    is_beside = terse and row_width(rows[0]) + row_width(known) < width
    if is_beside:
        rows[0] = beside(rows[0], known, width)
    rows += bar(
        shown, width, with_words=short and not (terse and width < NARROW), ascii_only=ascii_only, ink=ink
    )
    rows += paragraph(range_words(shown), width, "dim")
    if heights:
        rows += [row for sentence in surface_words(scene) for row in paragraph(sentence, width)]
    if lasting:
        rows += paragraph(lasting, width, "strong")
    for warning in shown.levels.warnings:
        if warning.code in PRESSING_WARNINGS:
            rows += paragraph(f"! {warning.text}", width, "warn", indent=2)
    if not is_beside:
        rows += wrap(known, width)
    # The first sentence is the figure itself, which stands large above.
    sentences = [] if terse or shown.levels.basis == "none" else words(scene, ascii=ascii_only)[1:]
    if short:
        pressing = [sentence for sentence in sentences if any(span.role == "warn" for span in sentence)]
        return [*rows, *_few(pressing, width)]
    return rows + [row for sentence in sentences for row in wrap(sentence, width)]


def _few(sentences: Sequence[Row], width: int) -> list[Row]:
    """Return the first sentences, so few lines that the chores below keep theirs, and where the others stand."""
    rows: list[Row] = []
    for sentence in sentences:
        lines = wrap(sentence, width)
        if len(rows) + len(lines) > MOST_LINES:
            return [*rows, [Span("more about the tanks: key 2", "dim")]]
        rows += lines
    return rows
