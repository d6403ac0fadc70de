"""Pages to print and tape to a tank or a shed door: one file each, its own style, nothing fetched from anywhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from html import escape
from typing import Any

from tankdash.keeping.chores.due import ChoreState
from tankdash.planning.figures import litres, rounded
from tankdash.planning.stick import StickRow, litres_per_length, stick_table
from tankdash.site.model import Site
from tankdash.units import Units, format_length, format_volume
from tankdash.water.model import Layout

STYLE = """\
@page { margin: 14mm }
* { box-sizing: border-box }
body { font: 11pt/1.35 system-ui, sans-serif; color: #111; background: #fff; max-width: 190mm; margin: 6mm auto; \
padding: 0 4mm }
h1 { font-size: 17pt; margin: 0 0 1mm } h2 { font-size: 12pt; margin: 5mm 0 1mm }
p { margin: 0 0 2mm } .small { font-size: 9pt; color: #333 }
.columns { columns: 2 82mm; column-gap: 8mm }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums }
th { text-align: left; border-bottom: 0.6mm solid #111; padding: 0.6mm 1.5mm; font-size: 9pt }
td { border-bottom: 0.2mm solid #999; padding: 0.7mm 1.5mm; vertical-align: top }
th.figure, td.figure { text-align: right; white-space: nowrap }
tr { break-inside: avoid } tbody tr:nth-child(5n) td { border-bottom: 0.5mm solid #333 }
.box { display: inline-block; width: 5mm; height: 5mm; border: 0.4mm solid #111 }
.free td { height: 9mm }
@media print { body { margin: 0; max-width: none; padding: 0 } .columns thead { break-after: avoid } }
"""
"""Black on white, figures under each other, a stronger rule every fifth line to keep the eye in place."""
CAUTION = (
    "For the garden, never for drinking. Full tanks are heavy: keep clear of a base that leans or sinks."
)


@dataclass(frozen=True)
class StickSheet:
    """A stick table with all that its page needs."""

    site: Site
    tank: str
    rows: tuple[StickRow, ...]
    day: date
    """The garden as it stands on that day."""
    layout: Layout

    @property
    def how_read(self) -> str:
        """How the stick is read, in words."""
        rule = self.site.tanks[self.tank].dip
        if rule.scale is not None:
            return "Read the mark of the gauge."
        if rule.measured_from == "brim":
            return "Measure the dry gap from the brim down to the water."
        on = "the silt" if rule.on_silt else "the floor"
        return f"Stand the stick on {on} and read how far it is wet."

    @property
    def slope_words(self) -> str:
        """What a length on the stick is worth; nothing where it cannot be said."""
        slope = litres_per_length(self.rows)
        if slope is None:
            return ""
        length, words = (0.01, "1 cm") if self.site.units == "metric" else (0.0254, "1 in")
        return f"{words} on the stick is about {format_volume(slope * length, self.site.units)} over most of the table."

    @property
    def base_words(self) -> str:
        """The bases the table holds for, in words."""
        units = self.site.units
        told = ", ".join(
            f"{key} {format_length(tank.base, units)}" for key, tank in self.layout.tanks.items()
        )
        return f"Good for the bases of {self.day}: {told} above {self.site.datum or 'the datum'}."

    def as_json(self) -> dict[str, Any]:
        """Return the JSON of `stick`."""
        slope = litres_per_length(self.rows)
        return {
            "schema": 1,
            "tank": self.tank,
            "day": self.day.isoformat(),
            "litres_per_cm": None if slope is None else rounded(slope * 10.0, 4),
            "rows": [
                {
                    "reading": format_length(row.reading, self.site.units),
                    "reading_m": rounded(row.reading, 6),
                    "depth_m": rounded(row.depth, 6),
                    "total_l": litres(row.total_low) if row.is_sure else None,
                    "usable_l": litres(row.usable_low) if row.usable_is_sure else None,
                    "total_low_l": litres(row.total_low),
                    "total_high_l": litres(row.total_high),
                    "usable_low_l": litres(row.usable_low),
                    "usable_high_l": litres(row.usable_high),
                }
                for row in self.rows
            ],
        }

    def cells(self) -> list[tuple[str, str, str]]:
        """Return reading, total and usable of each line, in the site's units."""
        units = self.site.units

        def told(low: float, high: float, is_sure: bool) -> str:
            if is_sure:
                return format_volume(low, units)
            return f"{format_volume(low, units)} to {format_volume(high, units)}"

        return [
            (
                format_length(row.reading, units),
                told(row.total_low, row.total_high, row.is_sure),
                told(row.usable_low, row.usable_high, row.usable_is_sure),
            )
            for row in self.rows
        ]


def usual_step(units: Units) -> float:
    """Return the step from line to line that a stick table has unless told: a centimetre or half an inch, [m]."""
    return 0.01 if units == "metric" else 0.0127


def stick_sheet(site: Site, layout: Layout, tank: str, day: date, step: float | None = None) -> StickSheet:
    """Return the stick table of a tank with all that its page needs.

    Parameters
    ----------
    site : Site
        The garden.
    layout : Layout
        As it stands on `day`.
    tank : str
        The tank that is dipped.
    day : date
        For the bases of which day it holds.
    step : float, optional
        From line to line, [m].

    Raises
    ------
    ValueError
        If the step is not above zero, or makes more lines than anybody prints.
    """
    rows = stick_table(layout, tank, site.tanks[tank].dip, usual_step(site.units) if step is None else step)
    return StickSheet(site, tank, tuple(rows), day, layout)


def stick_page(sheet: StickSheet) -> str:
    """Return the stick table as an HTML page to print."""
    label = sheet.site.tanks[sheet.tank].label
    body = [
        f"<h1>Stick table: {escape(label)}</h1>",
        f"<p>{escape(sheet.site.name)}. {escape(sheet.how_read)} {escape(sheet.slope_words)}</p>",
        '<div class="columns">',
        *_table(("stick", "all tanks", "usable"), sheet.cells(), figures=(0, 1, 2)),
        "</div>",
        f'<p class="small">{escape(sheet.base_words)} {escape(CAUTION)}</p>',
    ]
    return _page(f"Stick table: {label}", body)


def chore_page(site: Site, states: Sequence[ChoreState], now: datetime) -> str:
    """Return the chores as an HTML page to print: what is open with a box to tick, then what comes, then free lines.

    Parameters
    ----------
    site : Site
        Labels.
    states : sequence of ChoreState
        Every chore at `now`.
    now : datetime
        When the sheet is made.
    """
    opened = [state for state in states if state.is_open]
    others = [state for state in states if not state.is_open]

    def row(state: ChoreState) -> tuple[str, str, str, str]:
        due = "" if state.due is None else f"{state.due.astimezone(site.zone):%Y-%m-%d}"
        return (state.label, state.state, due, state.reason)

    body = [
        "<h1>Chores</h1>",
        f"<p>{escape(site.name)}, as of {now.astimezone(site.zone):%Y-%m-%d %H:%M}.</p>",
    ]
    if opened:
        body += ["<h2>To do</h2>", *_table(("", "chore", "", "by", "why"), map(row, opened), has_box=True)]
    if others:
        body += ["<h2>Later, with the rain, or done</h2>"]
        body += _table(("chore", "", "by", "why"), map(row, others))
    body += ["<h2>Done and seen</h2>"]
    free = [("", "", "") for _ in range(6)]
    body += ['<div class="free">', *_table(("day", "what", "reading or remark"), free), "</div>"]
    body += [
        f'<p class="small">{escape(CAUTION)} Write each line into the journal when you are back inside.</p>'
    ]
    return _page("Chores", body)


def _table(
    heads: Sequence[str],
    rows: Iterable[Sequence[str]],
    figures: Sequence[int] = (),
    *,
    has_box: bool = False,
) -> list[str]:
    """Return the lines of a table; the columns in `figures` stand right, and a box to tick may come first."""

    def cell(name: str, number: int, text: str) -> str:
        kind = ' class="figure"' if number in figures else ""
        return f"<{name}{kind}>{escape(text)}</{name}>"

    head = "".join(cell("th", number, text) for number, text in enumerate(heads))
    box = '<td><span class="box"></span></td>' if has_box else ""
    lines = ["<table>", f"<thead><tr>{head}</tr></thead>", "<tbody>"]
    lines += [
        f"<tr>{box}{''.join(cell('td', number, text) for number, text in enumerate(row))}</tr>"
        for row in rows
    ]
    return [*lines, "</tbody>", "</table>"]


def _page(title: str, body: Sequence[str]) -> str:
    return "\n".join(
        (
            "<!DOCTYPE html>",
            '<html lang="en">',
            '<head><meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            # Nothing is ever fetched: the page says so to the browser, too.
            "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
            f"<title>{escape(title)}</title>",
            f"<style>\n{STYLE}</style></head>",
            "<body>",
            *body,
            "</body></html>",
            "",
        )
    )
