"""What the design page writes for each of its parts: the words of the planning floor, in tables with signs."""

from __future__ import annotations

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import text_width
from tankdash.drawing.curve import Knot, curve, share_at
from tankdash.drawing.meter import meter
from tankdash.keeping.state.words import label
from tankdash.planning import size_words, storm_words
from tankdash.planning.choices import Sizing
from tankdash.planning.gravity import Head
from tankdash.planning.loading import BaseLoad, Loads
from tankdash.planning.outlook import Outlook
from tankdash.planning.paper import StickSheet
from tankdash.planning.storm_words import Carried
from tankdash.planning.storms import StormReport
from tankdash.planning.telling import emitter_words, locked_words
from tankdash.site.loads import GROUNDS
from tankdash.site.model import Site
from tankdash.tui.table import Cell, Column, table
from tankdash.tui.widgets.picture import paragraph
from tankdash.tui.words import volume
from tankdash.units import (
    Units,
    format_area,
    format_bearing,
    format_head,
    format_mass,
    format_volume,
)

METER = 8
"""Cells of a meter in a table."""
CURVE_ENDS = 1.2
"""The curve is drawn to so many times the largest store asked about."""
CURVE_HEIGHT = 9
"""Lines of the curve of storage."""
VERDICTS = {
    "enough": ("✓", "done"),
    "too narrow": ("▲", "warn"),
    "passes nothing": ("▲", "warn"),
    "unknown": ("?", "dim"),
}
"""Sign and role of each verdict on a link or overflow."""


# Storm


def storm_rows(report: StormReport, site: Site, width: int, *, ascii_only: bool) -> list[Row]:
    """Return what the storm asks of every link, overflow and pipe, who spills first, and how long to wait."""
    units = site.units

    def name(key: str) -> str:
        return label(site, key)

    rows = paragraph(storm_words.brings_words(report, units, name), width, "strong")
    links = storm_words.links_carried(report, units)
    if links:
        rows += [[], *carried_rows("link", "carry", links, site, width, ascii_only=ascii_only)]
    overflows = storm_words.overflows_carried(report, units)
    if overflows:
        rows += [[], *carried_rows("overflow", "pass", overflows, site, width, ascii_only=ascii_only)]
    rows.append([])
    first = storm_words.first_spill_words(report, name) if report.inflow else ""
    rows += paragraph(first, width, "strong") if first else []
    rows += paragraph(storm_words.capacity_words(report, units), width)
    for sentence in storm_words.bank_words(report, units, name):
        rows += paragraph(f"  {sentence}", width, indent=4)
    for sentence in (
        storm_words.half_hour_words(report.half_hour, units),
        storm_words.idle_words(report, name),
        *storm_words.flush_words(report, name),
        storm_words.settle_words(report),
    ):
        rows += paragraph(sentence, width) if sentence else []
    unmeasured = storm_words.unmeasured_words(report, name)
    rows += paragraph(f"! {unmeasured}", width, "warn", indent=2) if unmeasured else []
    return [*rows, [], *paragraph(storm_words.DOUBT, width, "dim")]


def carried_rows(
    what: str, does: str, carried: list[Carried], site: Site, width: int, *, ascii_only: bool
) -> list[Row]:
    """Return a table of what must be carried and can, with the share as a line and the verdict as word and sign."""
    has_head = any(one.takes for one in carried)
    columns = [Column(what), Column(f"must {does}", is_figure=True), Column(f"can {does}", is_figure=True)]
    if has_head:
        columns.append(Column("head", is_figure=True, keep=False))
        columns.append(Column("there is", is_figure=True, keep=False))
    columns += [Column("", keep=False), Column("")]
    lines = []
    for one in carried:
        sign, role = VERDICTS[one.verdict]
        cells: list[Cell] = [(label(site, one.key), "strong"), (one.must, "plain"), (one.can, "plain")]
        cells += [(one.takes, "plain"), (one.there_is, "dim")] if has_head else []
        cells += [(meter(one.share, METER, ascii_only), role), (f"{sign} {one.verdict}", role)]
        lines.append(cells)
    return table(columns, lines, width)


# Load


def load_rows(loads: Loads, site: Site, width: int, *, ascii_only: bool) -> list[Row]:
    """Return the weight on every base, how hard it presses beside what soft ground bears, and the caution."""
    units = site.units
    softest = min(GROUNDS, key=lambda ground: ground.bearing)

    def line(one: BaseLoad) -> list[Cell]:
        share = None if one.pressure is None else one.pressure / softest.bearing
        return [
            (label(site, one.tank), "strong"),
            ("?" if one.now_kg is None else format_mass(one.now_kg, units), "plain"),
            (format_mass(one.full_kg, units), "plain"),
            ("?" if one.footprint is None else format_area(one.footprint, units), "dim"),
            ("not measured" if one.pressure is None else format_bearing(one.pressure, units), "plain"),
            (meter(share, METER, ascii_only), "warn" if share is not None and share > 1.0 else "done"),
        ]

    columns = (
        Column("tank"),
        Column("now", is_figure=True, keep=False),
        Column("full", is_figure=True),
        Column("rests on", is_figure=True, keep=False),
        Column("presses", is_figure=True),
        Column("", keep=False),
    )
    rows = table(columns, [line(one) for one in loads.tanks], width)
    if loads.hardest is not None:
        bearing = format_bearing(softest.bearing, units)
        rows += paragraph(
            f"The line ends at what {softest.name} is often taken to bear, {bearing}.", width, "dim"
        )
    if any(not one.has_tare for one in loads.tanks):
        rows += paragraph("Where no tare is given the empty tank is not counted.", width, "dim")
    if any(one.footprint is None for one in loads.tanks):
        rows += paragraph("How hard a tank presses needs its `footprint` in the site file.", width, "dim")
    return [*rows, [], *paragraph(f"! {loads.caution}", width, "warn", indent=2)]


# Reach


def reach_state(head: Head) -> tuple[str, str]:
    """Return whether the water reaches a place, with its sign, and the role."""
    if head.by_pump:
        return "✓ by pump", "done"
    if not head.is_ever_reached:
        return "▲ never by gravity", "warn"
    if head.is_reached is None:
        return "? not known", "dim"
    return ("✓ reached", "done") if head.is_reached else ("▲ not now", "warn")


def reach_rows(outlook: Outlook, width: int, *, ascii_only: bool) -> list[Row]:
    """Return the head at every outlet and bed, now and full, what it asks for, and what can still reach it."""
    site, units, known = outlook.site, outlook.site.units, outlook.supply
    top = max((head.full for head in outlook.heads.values() if not head.by_pump), default=0.0)

    def line(key: str, head: Head) -> list[Cell]:
        bed = key.removeprefix("bed:") if key.startswith("bed:") else None
        answers = None if known is None else (known.outlets if bed is None else known.beds)
        lasting = None if answers is None else answers.get(bed or key)
        state, role = reach_state(head)
        share = None if head.now is None or top <= 0.0 else max(0.0, head.now) / top
        mark = head.needed / top if head.needed > 0.0 and top > 0.0 else None
        return [
            (label(site, bed or key), "strong"),
            ("pump" if head.by_pump else _head(head.now, units), "plain"),
            ("" if head.by_pump else _head(head.full, units), "plain"),
            (format_head(head.needed, units) if head.needed > 0.0 else "-", "dim"),
            ("?" if lasting is None else volume(lasting.usable * 1000.0, units), "plain"),
            ("" if head.by_pump else meter(share, METER, ascii_only, mark), role),
            (state, role),
        ]

    columns = (
        Column("outlet or bed"),
        Column("head now", is_figure=True),
        Column("when full", is_figure=True),
        Column("asks for", is_figure=True, keep=False),
        Column("reaches it", is_figure=True, keep=False),
        Column("", keep=False),
        Column(""),
    )
    rows = table(columns, [line(key, head) for key, head in outlook.heads.items()], width)
    missing = [key for key in site.beds if f"bed:{key}" not in outlook.heads]
    if missing:
        names = ", ".join(label(site, key) for key in missing)
        rows += paragraph(f"No `height` in the site file, so no head: {names}.", width, "dim")
    tick = meter(0.0, METER, ascii_only, 0.5)[METER // 2]
    if any(span.text.strip(" ").count(tick) for row in rows[1:] for span in row):
        rows += paragraph("The mark on a line stands where the place asks for its head.", width, "dim")
    for key, bed in site.beds.items():
        now, full = outlook.flows(key)
        if bed.emitters is not None and full is not None:
            rows += paragraph(emitter_words(bed.label, now, full, units), width)
    for key, since in outlook.locked.items():
        words = locked_words(label(site, key), site, since)
        rows += paragraph(f"! {words}", width, "warn", indent=2)
    closing = (
        "Pipe losses left out: head is height alone. Open lines one at a time where the far end runs dry."
    )
    return [*rows, [], *paragraph(closing, width, "dim")]


def _head(metres: float | None, units: Units) -> str:
    if metres is None:
        return "unknown"
    return "none" if metres <= 0.0 else format_head(metres, units)


# Sizes


def size_rows(answer: Sizing, site: Site, width: int, *, ascii_only: bool, ink: bool) -> list[Row]:
    """Return what more storage would bring: a table under each roof, the bend in words, and the curve."""
    units = site.units
    rows = paragraph(size_words.record_words(answer), width, "dim")
    rows += paragraph(size_words.need_words(answer, units), width)
    if answer.tank is not None:
        rows += paragraph(size_words.added_words(answer, units), width)
    for place, area in enumerate(answer.roofs):
        rows += [[], *paragraph(size_words.roof_words(answer, area, units), width, "strong")]
        choices = answer.of_roof(area)
        lines = []
        for number, choice in enumerate(choices):
            name, *figures = size_words.choice_cells(choice, units)
            sign = f"{number} " if place == 0 else ""
            lines.append([(sign + name, "strong"), *((text, "plain") for text in figures)])
        heads = size_words.HEADS
        columns = [Column(heads[0])]
        columns += [
            Column(head, is_figure=True, keep=head in ("usable", "of the days", "dry days"))
            for head in heads[1:]
        ]
        rows += table(columns, lines, width)
        rows += paragraph(answer.knee(area), width)
        if place == 0:
            rows += [[], *curve_rows(answer, width, site, ascii_only=ascii_only, ink=ink)]
    return [*rows, [], *paragraph(size_words.assumed_words(answer), width, "dim")]


def curve_rows(answer: Sizing, width: int, site: Site, *, ascii_only: bool, ink: bool) -> list[Row]:
    """Return the curve of storage against days served, with the choices on it by number."""
    choices = [choice.result for choice in answer.of_roof(answer.roofs[0])]
    top = CURVE_ENDS * max(one.storage for one in choices)
    known = sorted((one.storage, one.day_reliability) for one in (*answer.curve, *choices))
    points = [point for point in known if point[0] < top] + [(top, share_at(known, top))]
    knots = [Knot(one.storage, one.day_reliability, str(number)) for number, one in enumerate(choices[:10])]
    floor = max(0.0, int(10.0 * min(knot.share for knot in knots) - 1.0) / 10.0)
    ends = ("days served in full, by storage from nothing", f"to {format_volume(top, site.units)}")
    rows = curve(points, knots, width, CURVE_HEIGHT, ends, ascii_only, floor, ink)
    served = size_words.served_words(answer.curve, site.units)
    return [*rows, *paragraph(served, width)] if served else rows


# Stick table


def stick_rows(sheet: StickSheet, width: int, reading: float | None) -> list[Row]:
    """Return the stick table in as many columns as fit, the line nearest to the present reading marked.

    Parameters
    ----------
    sheet : StickSheet
        The table.
    width : int
        [cells].
    reading : float, optional
        What the stick would show now, [m].
    """
    site = sheet.site
    words = (f"{label(site, sheet.tank)}.", sheet.how_read, sheet.slope_words, f"Volumes in {sheet.unit}.")
    rows = paragraph(" ".join(word for word in words if word), width, "plain")
    cells = sheet.bare_cells()
    if not cells:
        return rows
    heads = sheet.heads
    sizes = [max(text_width(row[n]) for row in (heads, *cells)) for n in range(3)]
    block = sum(sizes) + 4 + 2
    count = max(1, min(4, (width + 3) // (block + 3)))
    per = -(-len(cells) // count)
    nearest = -1
    if reading is not None:
        nearest = min(range(len(cells)), key=lambda n: abs(sheet.rows[n].reading - reading))

    def line(text: tuple[str, ...], role: str, figure: str, sign: str = " ") -> Row:
        first, second, third = (
            " " * max(0, size - text_width(one)) + one for one, size in zip(text, sizes, strict=True)
        )
        return [Span(f"{sign} {first}", figure), Span(f"  {second}", role), Span(f"  {third}", role)]

    header: Row = []
    for number in range(min(count, -(-len(cells) // per))):
        header += [Span("   ", "plain")] if number else []
        header += line(heads, "dim", "dim")
    rows += [[], header]
    for place in range(per):
        row: Row = []
        for number in range(count):
            spot = number * per + place
            if spot >= len(cells):
                break
            row += [Span("   ", "plain")] if number else []
            is_now = spot == nearest
            row += line(cells[spot], "figure" if is_now else "plain", "figure" if is_now else "strong",
                        "▸" if is_now else " ")  # fmt: skip
        rows.append(row)
    told = "▸ is what the stick would show now. " if nearest >= 0 else ""
    return [*rows, [], *paragraph(told + sheet.base_words, width, "dim")]
