"""Pages to print and tape to a tank or a shed door: one file each, its own style, nothing fetched from anywhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from html import escape
from itertools import pairwise
from statistics import median
from typing import Any

from tankdash.keeping.chores.state import ChoreState
from tankdash.planning.figures import litres, rounded
from tankdash.planning.stick import StickRow, bank_of, litres_per_length, stick_table
from tankdash.site.model import Site
from tankdash.units import Units, format_length, format_volume
from tankdash.water.model import Layout

PAGE_START = b"<!DOCTYPE html>"
"""How every page begins: nothing that begins otherwise is ever replaced by one."""

STYLE = """\
@page { margin: 12mm 14mm }
* { box-sizing: border-box }
html { color-scheme: only light }
body { font: 11.5pt/1.35 system-ui, "Liberation Sans", sans-serif; color: #000; background: #fff; max-width: 190mm; \
margin: 6mm auto; padding: 0 4mm; overflow-wrap: anywhere }
h1 { font-size: 20pt; line-height: 1.15; margin: 0 0 1.5mm }
h2 { font-size: 14pt; margin: 5mm 0 1mm; break-after: avoid }
p { margin: 0 0 2.5mm } .small { font-size: 9pt; margin-top: 2.5mm }
.columns { columns: 2 80mm; column-gap: 9mm; column-fill: balance } .columns.three { columns: 3 54mm; column-gap: 6mm }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums }
thead { display: table-header-group }
th { text-align: start; border-bottom: 0.6mm solid #000; padding: 0.4mm 1.2mm; font-size: 9pt }
th.whose { border: 0; font-weight: normal; padding-bottom: 0 }
td { border-bottom: 0.2mm solid #888; padding: 0.45mm 1.2mm; vertical-align: top }
th.figure, td.figure { text-align: right; white-space: nowrap; overflow-wrap: normal }
td.reading { font-weight: bold; font-size: 13pt }
tr { break-inside: avoid } tr.strong td { border-bottom: 0.6mm solid #000 }
.three td { padding: 0.1mm 1mm; line-height: 1.25 } .three th { font-size: 8pt; padding: 0.3mm 1mm }
.chores { table-layout: fixed } .chores td { padding-top: 1.2mm; padding-bottom: 1.2mm }
.chores .label { font-size: 12.5pt }
.when { white-space: nowrap; overflow-wrap: normal }
.box { display: inline-block; width: 6mm; height: 6mm; border: 0.5mm solid #000 }
.columns td { vertical-align: baseline } .free td { height: 10mm }
@media print { body { margin: 0; max-width: none; padding: 0 } }
"""
"""Black on white, figures under each other, a stronger rule under round readings to keep the eye in place."""
FREE_LINES = 6
"""Empty lines at the foot of the chore sheet."""
NARROW = 19
"""Characters of a line of the stick table up to which three columns fit beside each other."""
STRONG = ' class="strong"'
"""What a line with a stronger rule is marked with."""
STRONG_EVERY = 5
"""Lines from one strong rule to the next in a stick table."""
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
    def bank(self) -> tuple[str, ...]:
        """The tanks it tells of."""
        return bank_of(self.layout, self.tank)

    @property
    def heads(self) -> tuple[str, str, str]:
        """What stands over the three columns."""
        whose = "this tank" if len(self.bank) == 1 else "linked tanks"
        return ("stick", "all tanks" if len(self.bank) == len(self.layout.tanks) else whose, "usable")

    @property
    def unit(self) -> str:
        """The unit of both volumes."""
        return format_volume(0.0, self.site.units).partition(" ")[2]

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
        told = ", ".join(f"{key} {format_length(self.layout.tanks[key].base, units)}" for key in self.bank)
        return f"Good for the bases of {self.day}: {told} above {self.site.datum or 'the datum'}."

    def as_json(self) -> dict[str, Any]:
        """Return the JSON of `stick`."""
        slope = litres_per_length(self.rows)
        return {
            "schema": 1,
            "tank": self.tank,
            "tanks": list(self.bank),
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
        return [
            (reading, self._with_unit(total), self._with_unit(usable))
            for reading, total, usable in self.bare_cells()
        ]

    def bare_cells(self) -> list[tuple[str, str, str]]:
        """Return the same without the unit of volumes, for a table that has it over its columns."""
        units = self.site.units

        def figure(low: float, high: float, is_sure: bool) -> str:
            ends = (low,) if is_sure else (low, high)
            return " to ".join(format_volume(end, units).partition(" ")[0] for end in ends)

        return [
            (
                format_length(row.reading, units),
                figure(row.total_low, row.total_high, row.is_sure),
                figure(row.usable_low, row.usable_high, row.usable_is_sure),
            )
            for row in self.rows
        ]

    def _with_unit(self, text: str) -> str:
        return " to ".join(f"{end} {self.unit}" for end in text.split(" to "))


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
    unit, (_, whose, usable) = escape(sheet.unit), sheet.heads
    lines = _stick_cells(sheet)
    columns = "columns three" if _widest(lines) <= NARROW else "columns"
    body = [
        f"<h1>Stick table: {_name(label)}</h1>",
        f"<p>{_name(sheet.site.name)}. {escape(sheet.how_read)} {escape(sheet.slope_words)}</p>",
        f'<div class="{columns}">',
        # The name stands over every column and every page, which may be cut apart and taped elsewhere.
        f'<table><thead><tr><th class="whose" colspan="3">{_name(label)}</th></tr>',
        f'<tr><th class="figure">stick</th><th class="figure">{whose}, {unit}</th>'
        f'<th class="figure">{usable}, {unit}</th></tr></thead>',
        "<tbody>",
        *(
            f'<tr{STRONG if is_round else ""}><td class="figure reading">{escape(reading)}</td>'
            f'<td class="figure">{escape(total)}</td><td class="figure">{escape(reached)}</td></tr>'
            for is_round, reading, total, reached in lines
        ),
        "</tbody></table></div>",
        f'<p class="small">{escape(sheet.base_words)} {escape(CAUTION)}</p>',
    ]
    return _page(f"Stick table: {label}", body)


def _widest(lines: Sequence[tuple[bool, str, str, str]]) -> int:
    """Return the characters that the widest cells of the three columns take together."""
    return sum(max((len(texts[place]) for _, *texts in lines), default=0) for place in range(3))


def _stick_cells(sheet: StickSheet) -> list[tuple[bool, str, str, str]]:
    """Return each line: whether its reading is a multiple of five steps, the reading, and both volumes unitless."""
    rows = sheet.rows
    steps = [abs(after.reading - before.reading) for before, after in pairwise(rows)]
    step = median(steps) if steps else 0.0
    lines = []
    for row, cells in zip(rows, sheet.bare_cells(), strict=True):
        place = row.reading / step if step > 0.0 else 1.0
        is_round = abs(place - round(place)) < 1e-3 and round(place) % STRONG_EVERY == 0
        lines.append((is_round, *cells))
    return lines


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
    body = [
        "<h1>Chores</h1>",
        f"<p>{_name(site.name)}, as of {now.astimezone(site.zone):%Y-%m-%d %H:%M}.</p>",
    ]
    if opened:
        body += ["<h2>To do</h2>", *_chore_table(site, opened, has_box=True)]
    if others:
        body += ["<h2>Later, with the rain, or done</h2>", *_chore_table(site, others, has_box=False)]
    free = "<tr><td></td><td></td><td></td></tr>"
    body += [
        '<div class="free"><h2>Done and seen</h2>',
        f'<p class="small">Write each line into the journal when you are back inside. {escape(CAUTION)}</p>',
        '<table><colgroup><col style="width: 28mm"><col><col style="width: 45%"></colgroup>',
        "<thead><tr><th>day</th><th>what</th><th>reading or remark</th></tr></thead>",
        f"<tbody>{free * FREE_LINES}</tbody></table></div>",
    ]
    return _page("Chores", body)


def _chore_table(site: Site, states: Sequence[ChoreState], *, has_box: bool) -> list[str]:
    """Return chores as a table, with a box to tick before each of those to do."""
    widths = ["11mm"] * has_box + ["41%", "18mm", "27mm", ""]
    columns = "".join(f'<col style="width: {width}">' if width else "<col>" for width in widths)
    heads = "".join(f"<th>{head}</th>" for head in [""] * has_box + ["chore", "", "by", "why"])
    lines = [
        f'<table class="chores"><colgroup>{columns}</colgroup>',
        f"<thead><tr>{heads}</tr></thead><tbody>",
    ]
    box = '<td><span class="box"></span></td>' if has_box else ""
    for state in states:
        due = "" if state.due is None else f"{state.due.astimezone(site.zone):%Y-%m-%d}"
        told = f"<b>{escape(state.state)}</b>" if state.state == "late" else escape(state.state)
        lines.append(
            f'<tr>{box}<td class="label" dir="auto">{escape(state.label)}</td><td class="when">{told}</td>'
            f'<td class="when">{due}</td><td dir="auto">{escape(state.reason)}</td></tr>'
        )
    return [*lines, "</tbody></table>"]


def _name(label: str) -> str:
    """Return a name from the site file among words of ours: whichever way it is written, it turns nothing round."""
    return f"<bdi>{escape(label)}</bdi>"


def written_words(name: object) -> str:
    """Return that a page was written, and what to do with it."""
    return f"Written: {name}. Open it in a browser and print it."


def _page(title: str, body: Sequence[str]) -> str:
    return "\n".join(
        (
            PAGE_START.decode(),
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
