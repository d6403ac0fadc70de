"""What the dips tell of the garden itself: bases by the water, and rains that brought more or less than they should."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from tankdash.drawing.basetime import (
    BaseTrack,
    Measured,
    base_chart,
    common_span,
    date_axis,
    scale_width,
)
from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import cut
from tankdash.journal.entries import Change
from tankdash.keeping.checking.balance import Balance
from tankdash.keeping.checking.soundings import bases_noted
from tankdash.keeping.checking.survey import SECONDS_A_MONTH, Survey, SurveyedTank, accept_base
from tankdash.keeping.desk import Desk
from tankdash.keeping.state.words import label
from tankdash.keeping.when import MONTHS, local
from tankdash.tui.frame import FramedApp
from tankdash.tui.pages.sheetpage import SheetPage
from tankdash.tui.state import Shown
from tankdash.tui.table import Cell, Column, table
from tankdash.tui.widgets.picture import paragraph
from tankdash.units import Units, format_length

CHART_HEIGHT = 5
"""Lines of one base over time."""
STRETCHES_SHOWN = 12
"""Findings listed, newest first."""


@dataclass(frozen=True)
class SurveyAnswer:
    """What the page was told."""

    survey: Survey
    """Bases by the water."""
    balance: Balance
    """Each stretch between dips."""
    noted: dict[str, tuple[tuple[datetime | None, float], ...]]
    """Bases as they were noted, by tank: that of the site file, then each one set."""


class SurveyPage(SheetPage[SurveyAnswer]):
    """Bases and balance."""

    HEADING = "Survey"

    def ask(self, desk: Desk, shown: Shown) -> SurveyAnswer:
        """Return survey and balance."""
        entries = [entry for entry in desk.entries() if entry.at <= shown.now]
        noted = bases_noted(shown.site, entries)
        return SurveyAnswer(desk.survey(shown.now), desk.balance(shown.now), noted)

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
        survey = answer.survey
        rows: list[Row] = [[Span("Bases by the water", "strong")]]
        if survey.tanks:
            rows += base_rows(survey, shown, width)
        rows += paragraph(survey.text, width)
        if any(tank.finding == "settlement" for tank in survey.tanks.values()):
            words = "b takes the base of the tank that moved most as true: look, then Enter."
            rows += paragraph(words, width, "key")
        tracks = base_tracks(answer, shown)
        if tracks:
            ascii_only = isinstance(self.app, FramedApp) and self.app.ascii_only
            rows += [[], *track_rows(tracks, shown, width, ascii_only=ascii_only)]
        rows += [[], [Span("What the dips say of the rain and the use", "strong")]]
        return rows + balance_rows(answer.balance, shown, width)


def base_tracks(answer: SurveyAnswer, shown: Shown) -> list[BaseTrack]:
    """Return the bases that can be followed over time: several surveys, or a base that was set anew."""
    zone, found = shown.site.zone, []
    for key in shown.layout.tanks:
        tank, noted = answer.survey.tanks.get(key), answer.noted.get(key, ())
        told = () if tank is None else tank.soundings
        if len(told) < 2 and len(noted) < 2:
            continue
        found.append(
            BaseTrack(
                name=label(shown.site, key),
                measured=[Measured(local(one.at, zone).date(), one.base, one.plus_minus) for one in told],
                noted=[(None if at is None else local(at, zone).date(), base) for at, base in noted],
                trend=None if tank is None else trend_ends(tank),
            )
        )
    return found


def trend_ends(tank: SurveyedTank) -> tuple[float, float] | None:
    """Return where the line through the surveys begins and ends, [m]; None where there is no trend to speak of."""
    if not tank.is_settling or tank.per_month_m is None:
        return None
    seconds = (tank.soundings[-1].at - tank.soundings[0].at).total_seconds()
    return tank.base_m - tank.per_month_m / SECONDS_A_MONTH * seconds, tank.base_m


def track_rows(tracks: Sequence[BaseTrack], shown: Shown, width: int, *, ascii_only: bool) -> list[Row]:
    """Return the bases over time, one under the other on one scale, and what the signs mean."""
    units, last = shown.site.units, local(shown.now, shown.site.zone).date()
    days = [one.day for track in tracks for one in track.measured]
    days += [day for track in tracks for day, _ in track.noted if day is not None]
    first = min(days)
    span = common_span(tracks, first)
    scale = scale_width(tracks, first, units, span)
    rows: list[Row] = [[Span("Bases over time", "strong")]]
    for track in tracks:
        rows.append([Span(cut(track.name, width), "plain")])
        rows += base_chart(track, first, last, width, CHART_HEIGHT, units, ascii_only, span, scale)
    rows.append(date_axis(first, last, width, scale + 2))
    dot, line, slope = ("o", "-", ".") if ascii_only else ("●", "─", "·")
    words = f"{dot} what a survey said, its bar what two sticks leave open; {line} the height noted; {slope} the trend."
    return rows + paragraph(words, width, "dim")


def base_rows(survey: Survey, shown: Shown, width: int) -> list[Row]:
    """Return a line for each tank."""
    units = shown.site.units
    lines: list[list[Cell]] = []
    for key, tank in survey.tanks.items():
        month, is_reference = "", key == survey.reference
        if tank.is_settling and tank.per_month_m is not None:
            month = f"{format_length(tank.per_month_m, units)} a month"
        lines.append(
            [
                (label(shown.site, key), "strong"),
                (format_length(tank.was_m, units), "dim"),
                ("-" if is_reference else format_length(tank.base_m, units), "plain"),
                ("" if is_reference else f"± {format_length(tank.plus_minus_m, units)}", "dim"),
                base_state(survey, key, tank, units),
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


def base_state(survey: Survey, key: str, tank: SurveyedTank, units: Units) -> Cell:
    """Return how a tank stands, with its sign, in its role."""
    if key == survey.reference:
        return ("○ the reference", "dim")
    if tank.finding == "link-not-passing":
        return ("▲ link does not pass", "warn")
    if tank.finding == "settlement":
        return (
            f"▲ {format_length(abs(tank.moved_m), units)} {'lower' if tank.moved_m < 0 else 'higher'}",
            "warn",
        )
    return ("✓ as noted", "done")


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
