"""Every tank with its heights, what it holds and what of that can be used; and what of the build costs water."""

from __future__ import annotations

from textual.app import ComposeResult

from tankdash.drawing.canvas import Row
from tankdash.keeping.desk import Desk
from tankdash.tui.frame import FramedApp
from tankdash.tui.pages.page import Page
from tankdash.tui.pages.sheetpage import SheetPage
from tankdash.tui.state import Shown
from tankdash.tui.table import Column, table
from tankdash.tui.widgets.picture import paragraph
from tankdash.tui.widgets.sheet import Sheet
from tankdash.tui.widgets.sideview import SideView, tank_keys
from tankdash.tui.words import volume, volume_range
from tankdash.units import format_length

MANY = 3
"""Tanks that fit beside each other on every screen that shows them."""


class TanksPage(SheetPage[Shown]):
    """The tanks, drawn and in figures."""

    HEADING = "Tanks"

    def compose_body(self) -> ComposeResult:
        """Yield the picture above the figures."""
        app = self.app
        ascii_only = isinstance(app, FramedApp) and app.ascii_only
        yield SideView(ascii_only=ascii_only, ink=app.no_color, keys=tank_keys(), id="tanks-side").data_bind(
            Page.shown
        )
        yield Sheet(self._rows, id="sheet")

    def ask(self, desk: Desk, shown: Shown) -> Shown:
        """Return the state itself: it holds all that the page shows."""
        return shown

    def write(self, shown: Shown, answer: Shown, width: int) -> list[Row]:
        """Return the figures, then what the build costs."""
        units, levels = shown.site.units, shown.levels
        lines = []
        for key, tank in levels.tanks.items():
            placed, thing = shown.site.tanks[key], shown.layout.tanks[key]
            reach = tank.usable_low_l, tank.usable_high_l
            is_plain = tank.state in ("dipped", "level", "carried", "full")
            lines.append(
                [
                    (placed.label or key, "strong"),
                    (volume_range(tank.volume_l, tank.low_l, tank.high_l, tank.full_l, units), "plain"),
                    (volume_range(tank.usable_l, *reach, tank.full_l, units), "plain"),
                    (volume(tank.full_l, units), "plain"),
                    ("?" if tank.depth_m is None else format_length(tank.depth_m, units), "plain"),
                    (tank.state.replace("-", " "), "dim" if is_plain else "warn"),
                    (format_length(thing.base, units), "dim"),
                    (format_length(thing.lip_elevation, units), "dim"),
                ]
            )
        columns = (
            Column("tank"),
            Column("holds", is_figure=True),
            Column("usable", is_figure=True),
            Column("when full", is_figure=True, keep=False),
            Column("depth", is_figure=True),
            Column("state"),
            Column("base", is_figure=True, keep=False),
            Column("lip", is_figure=True, keep=False),
        )
        rows = table(columns, lines, width)
        rows.append([])
        rows += paragraph(f"Bases and lips are above the datum: {shown.site.datum}.", width, "dim")
        if len(levels.tanks) > MANY:
            rows += paragraph("Left and right move along the tanks where not all of them fit.", width, "dim")
        for warning in levels.warnings:
            rows += paragraph(f"! {warning.text}", width, "warn", indent=2)
        return rows

    def scroll_tanks(self, step: int) -> bool:
        """Show tanks further left or right, when not all fit."""
        self.query_one(SideView).scroll_tanks(step)
        return True

    def point_at_day(self, step: int) -> bool:
        """Do the same by the arrows."""
        return self.scroll_tanks(step)

    def shift_days(self, step: int) -> bool:
        """Do the same by the keys that move a timeline elsewhere."""
        return self.point_at_day(step)
