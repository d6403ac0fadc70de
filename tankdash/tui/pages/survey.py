"""What the dips tell of the garden itself: bases by the water, and rains that brought more or less than they should."""

from __future__ import annotations

from dataclasses import dataclass

from tankdash.drawing.bands import base_moves
from tankdash.drawing.canvas import Row, Span
from tankdash.journal.entries import Change
from tankdash.keeping.checking.balance import Balance
from tankdash.keeping.checking.survey import Survey, accept_base
from tankdash.keeping.desk import Desk
from tankdash.keeping.state.words import label
from tankdash.keeping.when import MONTHS, local
from tankdash.tui.frame import FramedApp
from tankdash.tui.pages.sheetpage import SheetPage
from tankdash.tui.state import Shown
from tankdash.tui.table import Cell, Column, table
from tankdash.tui.widgets.picture import paragraph
from tankdash.units import format_length

STRETCHES_SHOWN = 12
"""Findings listed, newest first."""


@dataclass(frozen=True)
class SurveyAnswer:
    """What the page was told."""

    survey: Survey
    """Bases by the water."""
    balance: Balance
    """Each stretch between dips."""
    moves: dict[str, list[tuple[object, float]]]
    """Bases that were set, by tank and day."""


class SurveyPage(SheetPage[SurveyAnswer]):
    """Bases and balance."""

    HEADING = "Survey"

    def ask(self, desk: Desk, shown: Shown) -> SurveyAnswer:
        """Return survey and balance."""
        moves: dict[str, list[tuple[object, float]]] = {}
        for entry in desk.entries():
            record = entry.record
            if isinstance(record, Change) and record.base_m is not None and record.item in shown.site.tanks:
                first = [(entry.at.date(), shown.site.tanks[record.item].thing.base)]
                moves.setdefault(record.item, list(first)).append((entry.at.date(), record.base_m))
        return SurveyAnswer(desk.survey(shown.now), desk.balance(shown.now), moves)

    def base_to_accept(self) -> Change | None:
        """Return the base of the tank that has moved most."""
        if self._answer is None:
            return None
        survey = self._answer.survey
        moved = {key: tank.moved_m for key, tank in survey.tanks.items() if tank.finding == "settlement"}
        if not moved:
            return None
        return accept_base(survey, max(moved, key=lambda key: abs(moved[key])))

    def write(self, shown: Shown, answer: SurveyAnswer, width: int) -> list[Row]:
        """Return the bases, how they moved, then the findings of the balance."""
        rows: list[Row] = [[Span("Bases by the water", "strong")]]
        rows += paragraph(answer.survey.text, width)
        if answer.survey.tanks:
            rows += [[], *base_rows(answer.survey, shown, width)]
        if any(tank.finding == "settlement" for tank in answer.survey.tanks.values()):
            rows += [
                [],
                *paragraph("b takes the base of the tank that moved most as true: look, then Enter.", width),
            ]
        if answer.moves:
            ascii_only = isinstance(self.app, FramedApp) and self.app.ascii_only
            labels = {key: label(shown.site, key) for key in answer.moves}
            rows += [[], [Span("Bases as set over time", "strong")]]
            rows += base_moves(answer.moves, width, shown.site.units, ascii=ascii_only, labels=labels)  # type: ignore[arg-type]
        rows += [[], [Span("What the dips say of the rain and the use", "strong")]]
        return rows + balance_rows(answer.balance, shown, width)


def base_rows(survey: Survey, shown: Shown, width: int) -> list[Row]:
    """Return a line for each tank."""
    units = shown.site.units
    lines: list[list[Cell]] = []
    for key, tank in survey.tanks.items():
        moved = format_length(abs(tank.moved_m), units)
        way = "as noted" if not tank.has_moved else f"{moved} {'lower' if tank.moved_m < 0 else 'higher'}"
        month = "" if tank.per_month_m is None else f"{format_length(tank.per_month_m, units)} a month"
        lines.append(
            [
                (label(shown.site, key), "strong"),
                (format_length(tank.was_m, units), "dim"),
                (format_length(tank.base_m, units), "plain"),
                (f"± {format_length(tank.plus_minus_m, units)}", "dim"),
                (way, "warn" if tank.has_moved else "plain"),
                (month, "dim"),
            ]
        )
    columns = (
        Column("tank"),
        Column("noted", is_figure=True),
        Column("by the water", is_figure=True),
        Column("", is_figure=True, keep=False),
        Column("stands"),
        Column("", keep=False),
    )
    return table(columns, lines, width)


def balance_rows(balance: Balance, shown: Shown, width: int) -> list[Row]:
    """Return the stretches that say something, newest first."""
    told = [stretch for stretch in balance.stretches if stretch.finding != "none"]
    whole = len(balance.stretches)
    if not whole:
        return paragraph("Two dips are needed, with what came and went between them written down.", width)
    fine = whole - len(told)
    count = "1 stretch" if whole == 1 else f"{whole} stretches"
    rows = paragraph(f"{count} between dips; {fine} agree with what was written down.", width, "dim")
    for stretch in reversed(told[-STRETCHES_SHOWN:]):
        start = local(stretch.residual.start, shown.site.zone)
        end = local(stretch.residual.end, shown.site.zone)
        days = f"{start.day} {MONTHS[start.month - 1]} to {end.day} {MONTHS[end.month - 1]}"
        rows += [[], [Span(days, "strong"), Span(f"  {stretch.finding.replace('-', ' ')}", "warn")]]
        rows += paragraph(stretch.text, width)
    return rows
