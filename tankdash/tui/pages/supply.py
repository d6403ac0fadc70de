"""How long the water lasts: for all beds together, for each outlet and bed, while away, and through past years."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from tankdash.drawing.bands import bands, spreads
from tankdash.drawing.canvas import Row, Span
from tankdash.keeping.chores.away import AwayPlan, away_plan
from tankdash.keeping.desk import Desk
from tankdash.keeping.state.words import label
from tankdash.keeping.when import date_words
from tankdash.planning.absence import Room, room_before
from tankdash.planning.ensemble import Ensemble
from tankdash.planning.outlook import Outlook, outlook
from tankdash.planning.supply import Lasting
from tankdash.planning.telling import (
    absence_words,
    chance_lines,
    credit_words,
    days_in_words,
    lasting_words,
    left_open_words,
    room_words,
    unknown_need_words,
    usable_words,
)
from tankdash.tui.frame import FramedApp
from tankdash.tui.pages.sheetpage import SheetPage
from tankdash.tui.state import Shown
from tankdash.tui.table import Cell, Column, table
from tankdash.tui.widgets.figure import large_figure
from tankdash.tui.widgets.picture import paragraph
from tankdash.tui.widgets.sheet import Sheet
from tankdash.tui.words import volume
from tankdash.units import Depths, Units

BANDS_HEIGHT = 9
"""Lines of the picture of past years."""

USUAL_ABSENCE = 11
"""Days of being away that the page begins with."""

LONGEST_ABSENCE = 1000
"""As many days of being away as the command takes."""


FORECASTS_MM = (5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 80.0, 100.0)
FORECASTS_IN = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0)
"""Forecasts that the brackets go through; the page begins with the fourth."""


@dataclass(frozen=True)
class SupplyAnswer:
    """What the desk said."""

    outlook: Outlook
    """How long the water lasts, and past years."""
    room: Room
    """What a forecast would bring, and the room to make for it."""
    days: int
    """Days of being away that the chores are for."""
    plan: AwayPlan
    """Chores before one goes, and on return."""


class SupplyPage(SheetPage[SupplyAnswer]):
    """Days left."""

    HEADING = "Supply"
    days_away = USUAL_ABSENCE
    """How long one is away; plus and minus change it."""
    forecast = 3
    """Place of the rain that room is made for; the brackets change it."""
    _known: tuple[object, Outlook] | None = None

    def ask(self, desk: Desk, shown: Shown) -> SupplyAnswer:
        """Return how long it lasts, through past years too where there are any: what the command says."""
        known = self._known
        if known is None or known[0] is not shown.levels:
            known = self._known = (shown.levels, outlook(desk, shown.now))
        depth, days = forecasts(shown.site.units)[self.forecast], self.days_away
        share = desk.usable_share(shown.now)
        return SupplyAnswer(
            outlook=known[1],
            room=room_before(desk, shown.now, Depths(depth, depth)),
            days=days,
            plan=away_plan(desk.site, desk.entries(), shown.now, days, share),
        )

    def write(self, shown: Shown, answer: SupplyAnswer, width: int) -> list[Row]:
        """Return days left, the table, being away, a forecast, past years, and what is assumed."""
        found = answer.outlook
        known, units = found.supply, shown.site.units
        if known is None or not shown.site.beds:
            why = "the site file names no beds" if not shown.site.beds else "no dip is written down yet"
            return paragraph(f"How long the water lasts is not known: {why}.", width)
        ascii_only = isinstance(self.app, FramedApp) and self.app.ascii_only
        rows = headline(known.together, found, ascii_only=ascii_only)
        rows += paragraph(usable_words(known.together, units, is_low_end=found.is_low_end), width, "dim")
        rows += [[], *supply_rows(found, width)]
        for key in found.unknown_needs:
            rows += paragraph(unknown_need_words(label(shown.site, key)), width, "warn")
        for key, credit in known.credit.items():
            spared = credit / shown.site.beds[key].efficiency
            if told := credit_words(label(shown.site, key), spared, units):
                rows += paragraph(told, width, "dim")
        rows += [[], *self._away_rows(answer, shown, width)]
        rows += paragraph(f"[ and ] choose a forecast. {room_words(answer.room, units)}", width)
        if found.chance is not None:
            rows += [[], *year_rows(found.chance, found, width, ascii_only=ascii_only)]
        return [*rows, [], *paragraph(known.assumes, width, "dim")]

    def _away_rows(self, answer: SupplyAnswer, shown: Shown, width: int) -> list[Row]:
        """Return whether the water covers an absence, and the chores that go with it."""
        absence = answer.outlook.absence(self.days_away)
        if absence is None:
            return []
        rows = paragraph(f"+ and - change the days. {absence_words(absence, shown.site.units)}", width)
        if absence.left_open is not None:
            open_label = label(shown.site, absence.left_open.outlet)
            rows += paragraph(left_open_words(absence, open_label, shown.site.units), width)
        if answer.days == self.days_away:
            for title, chores in (
                ("Before you go", answer.plan.before),
                ("On return", answer.plan.on_return),
            ):
                if chores:
                    names = "; ".join(chore.label for chore in chores)
                    rows += paragraph(f"{title}: {names}.", width, "dim", indent=2)
        return rows

    def zoom_days(self, step: int) -> bool:
        """Be away for a day more or less."""
        self.days_away = max(1, min(LONGEST_ABSENCE, self.days_away - step))
        self.query_one("#sheet", Sheet).redraw()
        self.ask_again()
        return True

    def shift_days(self, step: int) -> bool:
        """Make room for more rain, or for less."""
        if self.shown is not None:
            last = len(forecasts(self.shown.site.units)) - 1
            self.forecast = max(0, min(last, self.forecast + step))
            self.ask_again()
        return True


def forecasts(units: Units) -> list[float]:
    """Return the forecasts to choose from in a garden's units, [mm]."""
    return list(FORECASTS_MM) if units == "metric" else [25.4 * inches for inches in FORECASTS_IN]


def headline(lasting: Lasting, answer: Outlook, *, ascii_only: bool) -> list[Row]:
    """Return the days left, large, and the last full day."""
    units, today = answer.site.units, answer.today
    days, last = lasting.full_days, lasting.last_full_day
    drawn = None if days is None or ascii_only else large_figure(str(days))
    if drawn is None or days is None:
        return [[Span(f"All beds together: {lasting_words(lasting, today, units)}.", "strong")]]
    ends = "" if last is None else f"to {date_words(last, today)}"
    beside = ("day" if days == 1 else "days", "of watering all beds", ends)
    rows: list[Row] = [[*row, Span(f" {word}", "strong")] for row, word in zip(drawn, beside, strict=True)]
    if lasting.short > 0:
        after = "Today" if last is None else date_words(last + timedelta(days=1), today)
        rows.append([Span(f"{after} is short by {volume(lasting.short * 1000, units)}.", "dim")])
    return rows


def supply_rows(answer: Outlook, width: int) -> list[Row]:
    """Return a line for each outlet and bed; a bed whose need nobody knows has none."""
    site, found, today = answer.site, answer.supply, answer.today
    if found is None:
        return []

    def line(name: str, lasting: Lasting) -> list[Cell]:
        days = "no end" if lasting.days is None else days_in_words(lasting.full_days or 0)
        last = "" if lasting.last_full_day is None else date_words(lasting.last_full_day, today)
        return [
            (name, "strong"),
            (volume(lasting.usable * 1000, site.units), "plain"),
            (volume(lasting.need * 1000, site.units), "plain"),
            (days if lasting.need > 0 or lasting.days is not None else "asks for none", "plain"),
            (last, "dim"),
        ]

    lines = [line(label(site, key), lasting) for key, lasting in found.outlets.items()]
    lines += [
        line(label(site, key), lasting)
        for key, lasting in found.beds.items()
        if key not in answer.unknown_needs
    ]
    columns = (
        Column("outlet or bed, alone"),
        Column("can reach it", is_figure=True),
        Column("a day", is_figure=True),
        Column("lasts", is_figure=True),
        Column("last full day", is_figure=True, keep=False),
    )
    return table(columns, lines, width)


def year_rows(years: Ensemble, answer: Outlook, width: int, *, ascii_only: bool) -> list[Row]:
    """Return the past years in sentences, and as bands."""
    units = answer.site.units
    curves = [years.band(share) for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    top = max(answer.levels.totals.usable_full_l / 1000, *curves[-1])
    rows: list[Row] = []
    for sentence in chance_lines(years, answer.station or "", units):
        rows += paragraph(sentence, width)
    if top > 0:
        drawn = spreads(years.start, *curves)
        rows += [[], *bands(drawn, width, BANDS_HEIGHT, top, volume(top * 1000, units), ascii=ascii_only)]
    return rows
