"""How long the water lasts: for all beds together, for each outlet and bed, while away, and through past years."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from tankdash.drawing.bands import Spread, bands
from tankdash.drawing.canvas import Row, Span
from tankdash.keeping.desk import Desk
from tankdash.keeping.words import label
from tankdash.planning.ensemble import Ensemble, run_years
from tankdash.planning.supply import Absence, Lasting, Supply, away
from tankdash.tui.frame import FramedApp
from tankdash.tui.lasting import day_words, held, lasting_words, past_rain, supply_now
from tankdash.tui.pages.sheetpage import SheetPage
from tankdash.tui.state import Shown
from tankdash.tui.table import Cell, Column, table
from tankdash.tui.widgets.figure import large_figure
from tankdash.tui.widgets.picture import paragraph
from tankdash.tui.words import volume

AHEAD_DAYS = 120
"""How far past years are looked through."""

BANDS_HEIGHT = 9
"""Lines of the picture of past years."""

USUAL_ABSENCE = 11
"""Days of being away that the page begins with."""


@dataclass(frozen=True)
class SupplyAnswer:
    """What the page was told."""

    supply: Supply | None
    """None without beds, or while nothing is known of the tanks."""
    absence: Absence | None
    """Whether it lasts while away."""
    years: Ensemble | None
    """Past years; None without imported rain."""


class SupplyPage(SheetPage[SupplyAnswer]):
    """Days left."""

    HEADING = "Supply"
    days_away = USUAL_ABSENCE
    """How long one is away; plus and minus change it."""

    def ask(self, desk: Desk, shown: Shown) -> SupplyAnswer:
        """Return how long it lasts, and through past years where there are any."""
        contents, today = held(shown), shown.now.date()
        found = supply_now(desk, shown)
        if contents is None or found is None:
            return SupplyAnswer(found, None, None)
        absence = away(shown.site, shown.layout, contents, today, self.days_away)
        rain = past_rain(desk)
        totals = shown.levels.totals
        years = None
        if rain and totals.usable_full_l > 0:
            usable = (totals.usable_l if totals.usable_l is not None else totals.usable_low_l) / 1000
            years = run_years(
                rain,
                list(shown.layout.roofs.values()),
                list(shown.site.beds.values()),
                usable=min(usable, totals.usable_full_l / 1000),
                usable_full=totals.usable_full_l / 1000,
                today=today,
                days=AHEAD_DAYS,
            )
        return SupplyAnswer(found, absence, years)

    def write(self, shown: Shown, answer: SupplyAnswer, width: int) -> list[Row]:
        """Return days left, the table, being away, past years, and what is assumed."""
        found = answer.supply
        if found is None:
            why = "the site file names no beds" if not shown.site.beds else "no dip is written down yet"
            return paragraph(f"How long the water lasts is not known: {why}.", width)
        ascii_only = isinstance(self.app, FramedApp) and self.app.ascii_only
        rows = headline(found.together, shown, ascii_only=ascii_only)
        rows += [[], *supply_rows(found, shown, width)]
        if answer.absence is not None:
            rows += [[], *paragraph(absence_words(answer.absence, shown), width)]
            rows += paragraph("+ and - change how long you are away.", width, "dim")
        rows += [[], *paragraph(found.assumes, width, "dim")]
        if answer.years is not None and answer.years.traces:
            rows += [[], *year_rows(answer.years, shown, width, ascii_only=ascii_only)]
        return rows

    def zoom_days(self, step: int) -> bool:
        """Be away for a day more or less."""
        self.days_away = max(1, min(120, self.days_away - step))
        self.ask_again()
        return True


def headline(lasting: Lasting, shown: Shown, *, ascii_only: bool) -> list[Row]:
    """Return the days left, large, and the last full day."""
    words = lasting_words(lasting, shown.now.date())
    days = lasting.full_days
    drawn = None if days is None or ascii_only else large_figure(str(days))
    if drawn is None or days is None:
        return [[Span(words, "strong")]]
    ends = ""
    if lasting.last_full_day is not None:
        ends = f"to {day_words(lasting.last_full_day, shown.now.date())}"
    beside = ("day" if days == 1 else "days", "of watering all beds", ends)
    rows: list[Row] = [[*row, Span(f" {word}", "strong")] for row, word in zip(drawn, beside, strict=True)]
    if lasting.short > 0 and lasting.last_full_day is not None:
        after = day_words(lasting.last_full_day + timedelta(days=1), shown.now.date())
        rows.append([Span(f"{after} is short by {volume(lasting.short * 1000, shown.site.units)}.", "dim")])
    return rows


def supply_rows(found: Supply, shown: Shown, width: int) -> list[Row]:
    """Return a line for each outlet and bed."""
    units, today = shown.site.units, shown.now.date()

    def line(name: str, lasting: Lasting) -> list[Cell]:
        days = "no end" if lasting.days is None else f"{lasting.full_days} days"
        last = "" if lasting.last_full_day is None else day_words(lasting.last_full_day, today)
        return [
            (name, "strong"),
            (volume(lasting.usable * 1000, units), "plain"),
            (volume(lasting.need * 1000, units), "plain"),
            (days if lasting.need > 0 or lasting.days is not None else "asks for none", "plain"),
            (last, "dim"),
        ]

    lines = [line(label(shown.site, key), lasting) for key, lasting in found.outlets.items()]
    lines += [line(label(shown.site, key), lasting) for key, lasting in found.beds.items()]
    columns = (
        Column("outlet or bed, alone"),
        Column("can reach it", is_figure=True),
        Column("a day", is_figure=True),
        Column("lasts", is_figure=True),
        Column("last full day", is_figure=True, keep=False),
    )
    return table(columns, lines, width)


def absence_words(absence: Absence, shown: Shown) -> str:
    """Return whether the water lasts while nobody is there."""
    units = shown.site.units
    need = f"Away for {absence.days} days: the beds ask for {volume(absence.need * 1000, units)}"
    if absence.short > 0:
        return f"{need}; short by {volume(absence.short * 1000, units)}."
    return f"{need}; enough, with {volume(absence.spare * 1000, units)} to spare."


def year_rows(years: Ensemble, shown: Shown, width: int, *, ascii_only: bool) -> list[Row]:
    """Return the past years as bands, and the share of them that run short."""
    top = shown.levels.totals.usable_full_l / 1000
    curves = [years.band(share) for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    spreads = [
        Spread(years.start + timedelta(days=number), *values)
        for number, values in enumerate(zip(*curves, strict=True))
    ]
    rows: list[Row] = [[Span(f"Through the rain of {len(years.traces)} past years", "strong")]]
    rows += bands(spreads, width, BANDS_HEIGHT, top, volume(top * 1000, shown.site.units), ascii=ascii_only)
    said = []
    for days in (14, 30, 60, 90):
        share = years.dry_share(days)
        if share is not None and days < years.days:
            day = day_words(years.start + timedelta(days=days), years.start)
            said.append(f"{round(share * len(years.traces))} by {day}")
    rows += paragraph(f"Years that run short: {', '.join(said)}, of {len(years.traces)}.", width)
    if years.left_out:
        rows += paragraph(f"{len(years.left_out)} years with missing days are left out.", width, "dim")
    return rows
