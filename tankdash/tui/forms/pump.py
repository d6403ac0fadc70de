"""The form for a pump between two tanks, switched on and left running, or switched off again."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from tankdash.journal.entries import Record
from tankdash.keeping.desk import Desk
from tankdash.keeping.entering.drawing_off import enter_pump_start, enter_pump_stop
from tankdash.tui.cautionwords import SHORT
from tankdash.tui.forms.answers import tank_choices, usual_tank, volume_unit
from tankdash.tui.forms.base import Form, Values
from tankdash.tui.state import Shown
from tankdash.tui.wants import TITLES
from tankdash.tui.widgets.field import Field


class PumpForm(Form):
    """A pump switched on, or off again."""

    NAME: ClassVar[str] = "pump"
    TITLE_WORDS: ClassVar[str] = TITLES["pump"]
    HELP_WORDS: ClassVar[str] = (
        "Note a pump when you switch it on and leave it running from one tank to another, and again when it is off. "
        "Until then the first page says how long it has been on and how soon the other tank is full."
    )

    def caution_words(self) -> str:
        """Return the caution that goes with it."""
        return SHORT["pump"]

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return what was done, both tanks, the rate, what was moved, time and note."""
        tanks = tank_choices(shown)
        on = [tap for tap in shown.levels.standing.open_taps if tap.is_pump]
        source = (on[-1].source if on else None) or usual_tank(shown)
        target = (on[-1].target if on else None) or next(
            (tank.value for tank in reversed(tanks) if tank.value != source), source
        )
        return (
            self.ask("what", value="off" if on else "on"),
            self.ask("source", value=source, choices=tanks),
            self.ask("target", value=target, choices=tanks),
            self.ask("rate"),
            self.ask("volume", unit=volume_unit(shown)),
            *self.when_and_note(),
        )

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the pump's change."""
        source, target = values["source"], values["target"]
        rate, volume = values["rate"].strip() or None, values["volume"].strip() or None
        standing = desk.standing(at)
        said = f" --rate {rate}" if rate else ""
        if values["what"] == "off":
            record: Record = enter_pump_stop(desk.site, standing, volume, source, target, rate)
            return record, f"move --stop{f' {volume}' if volume else ''} {source} {target}{said}"
        return (
            enter_pump_start(desk.site, standing, source, target, rate),
            f"move --start {source} {target}{said}",
        )
