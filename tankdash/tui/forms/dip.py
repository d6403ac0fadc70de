"""The dip form: digits and Enter on the usual tank; the picture shows the levelled result while they are typed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from textual.containers import VerticalScroll

from tankdash.journal.entries import Record
from tankdash.keeping.desk import Desk
from tankdash.keeping.entering.records import EntryError, enter_dip
from tankdash.keeping.when import moment_words
from tankdash.tui.forms.answers import dip_unit, tank_label, usual_tank
from tankdash.tui.forms.base import Form, Values
from tankdash.tui.forms.effects import change_sentences
from tankdash.tui.state import Shown
from tankdash.tui.wants import TITLES
from tankdash.tui.widgets.field import Field, TypedField
from tankdash.tui.widgets.keybar import Foot
from tankdash.tui.words import difference, volume

AT_ONCE = 4
"""Tanks whose fields stand there from the start; more are added one by one with Tab."""


class DipForm(Form):
    """A dip of one tank, or a survey of several."""

    NAME: ClassVar[str] = "dip"
    TITLE_WORDS: ClassVar[str] = TITLES["dip"]
    HELP_WORDS: ClassVar[str] = (
        "Type what the stick shows; the unit beside the field is taken for bare digits, and another one "
        "may be typed: 33 in, 3' 4 1/2\", 20-30 cm. One tank is enough when the links are open and the "
        "water stands still. Tab goes to the next tank: several together are a survey, and each stands "
        "for its own tank. For a dry length from the brim down write gap 20."
    )
    FEET: ClassVar[tuple[Foot, ...]] = (
        Foot("Enter", "save", "screen.save"),
        Foot("Esc", "leave", "screen.back"),
        Foot("Tab", "next tank", "screen.go(1)"),
        Foot("F1", "help", "screen.explain"),
    )

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return the usual tank and a few more, then time and note."""
        first = [tank for tank in shown.layout.tanks if self.draft.get(tank, "").strip()] or [
            usual_tank(shown)
        ]
        self._order = [*first, *(tank for tank in shown.layout.tanks if tank not in first)]
        kept = sum(1 for number, tank in enumerate(self._order) if number < AT_ONCE or tank in self.draft)
        return [*(self._tank_field(shown, tank) for tank in self._order[:kept]), *self.when_and_note()]

    def _tank_field(self, shown: Shown, tank: str) -> Field:
        unit = dip_unit(shown)
        is_gap = shown.site.tanks[tank].dip.measured_from == "brim"
        how = "gap from brim" if is_gap else "wet length"
        return self.ask("reading", name=tank, label=tank_label(shown, tank), unit=unit, how=how)

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the dip; tanks left empty are not part of it."""
        readings = {tank: values[tank] for tank in self._order if values.get(tank, "").strip()}
        if not readings:
            raise EntryError(self._order[0], "Type what the stick shows, such as 84 or 84 cm.")
        dips = enter_dip(desk.site, desk.layout(at), readings, at)
        return dips, "dip " + " ".join(f"{tank} {text}" for tank, text in readings.items())

    def effect_words(self, before: Shown, after: Shown) -> tuple[str, ...]:
        """Return the levelled result against the last dip and against what was reckoned."""
        units, totals = after.site.units, after.levels.totals
        said = list(change_sentences(before, after))
        last = max(before.levels.standing.read_at.values(), default=None)
        if last is not None and totals.usable_l is not None:
            with self.keeper.desk() as desk:
                then = desk.levels(last).totals.usable_l
            when = moment_words(last, after.site.zone, after.now)
            reckoned = difference(before.levels.totals.usable_l, totals.usable_l, units)
            said[0] = (
                f"{volume(totals.usable_l, units)} usable: {difference(then, totals.usable_l, units)} the dip of {when}"
            )
            said[0] += f", {reckoned} what was reckoned." if before.levels.basis == "estimate" else "."
        return tuple(said)

    def action_go(self, step: int) -> None:
        """Go to another field; from the last tank shown to one not shown yet, which is added."""
        tanks = [widget for widget in self.field_widgets if widget.field.name in self._order]
        last = tanks[-1] if tanks else None
        waiting = self._order[len(tanks) :]
        if step == 1 and waiting and isinstance(last, TypedField) and last.input.has_focus:
            field = TypedField(self._tank_field(self.shown, waiting[0]))
            self.query_one(".form-fields", VerticalScroll).mount(field, after=last)
            self.call_after_refresh(field.focus_field)
            return
        super().action_go(step)
