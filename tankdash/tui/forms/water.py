"""Forms for water moved by hand: drawn from an outlet, a tap left running, moved between tanks, poured in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from tankdash.journal.entries import Record
from tankdash.keeping.desk import Desk
from tankdash.keeping.entering.drawing_off import (
    enter_move,
    enter_pour,
    enter_tap_close,
    enter_tap_open,
    enter_use,
)
from tankdash.keeping.entering.records import EntryError
from tankdash.tui.cautionwords import SHORT
from tankdash.tui.forms.answers import (
    bed_choices,
    outlet_choices,
    tank_choices,
    usual_outlet,
    usual_tank,
    volume_unit,
)
from tankdash.tui.forms.base import Form, Values
from tankdash.tui.state import Shown
from tankdash.tui.wants import TITLES
from tankdash.tui.widgets.field import Field


def _volume(values: Values) -> str:
    text = values["volume"].strip()
    if not text:
        raise EntryError("volume", "How much was it? Write it as 30 or 30 L.")
    return text


def _outlet_and_bed(form: Form, shown: Shown) -> list[Field]:
    fields = [form.ask("outlet", value=usual_outlet(shown), choices=outlet_choices(shown))]
    if shown.site.beds:
        fields.append(form.ask("bed", choices=bed_choices(shown)))
    return fields


class UseForm(Form):
    """Water drawn off."""

    NAME: ClassVar[str] = "use"
    TITLE_WORDS: ClassVar[str] = TITLES["use"]
    HELP_WORDS: ClassVar[str] = (
        "Type how much was drawn and from where. For a tap that was opened and left running use o: it is "
        "noted when it opens and again when it closes."
    )

    def caution_words(self) -> str:
        """Return the caution that goes with it."""
        return SHORT["edible"]

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return volume, outlet, bed, time and note."""
        volume = self.ask("volume", unit=volume_unit(shown))
        return (volume, *_outlet_and_bed(self, shown), *self.when_and_note())

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the draw."""
        outlet, bed = values["outlet"] or None, values.get("bed") or None
        volume = _volume(values)
        record = enter_use(desk.site, desk.standing(at), volume, outlet, bed)
        return record, "use " + volume + _named(outlet=outlet, bed=bed)


class TapForm(Form):
    """A tap opened, or closed again."""

    NAME: ClassVar[str] = "tap"
    TITLE_WORDS: ClassVar[str] = TITLES["tap"]
    HELP_WORDS: ClassVar[str] = (
        "Note a tap when you open it and leave it running, and again when you close it: with what ran out "
        "in all, or the rate you measured with a can and a watch. Without either only the next dip tells."
    )

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return what was done, outlet, bed, rate, what ran in all, time and note."""
        taps = shown.levels.standing.open_taps
        what = self.ask("what", value="close" if any(not tap.is_pump for tap in taps) else "open")
        amounts = self.ask("rate"), self.ask("volume", unit=volume_unit(shown))
        return (what, *_outlet_and_bed(self, shown), *amounts, *self.when_and_note())

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the tap's change."""
        outlet, bed = values["outlet"] or None, values.get("bed") or None
        standing = desk.standing(at)
        if values["what"] == "close":
            rate = values["rate"].strip() or None
            volume = values["volume"].strip()
            record: Record = enter_tap_close(desk.site, standing, outlet, rate, volume)
            said = f"use {volume} --stop" if volume else "use --stop"
            return record, said + _named(outlet=outlet, rate=rate)
        return enter_tap_open(desk.site, standing, outlet, bed), "use --start" + _named(
            outlet=outlet, bed=bed
        )


class MoveForm(Form):
    """Water moved between tanks."""

    NAME: ClassVar[str] = "move"
    TITLE_WORDS: ClassVar[str] = TITLES["move"]
    HELP_WORDS: ClassVar[str] = "Type how much was moved by pump or bucket, from which tank and into which."

    def caution_words(self) -> str:
        """Return the caution that goes with it."""
        return SHORT["pump"]

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return volume, both tanks, time and note."""
        tanks = tank_choices(shown)
        return (
            self.ask("volume", unit=volume_unit(shown)),
            self.ask("source", value=usual_tank(shown), choices=tanks),
            self.ask("target", value=tanks[-1].value, choices=tanks),
            *self.when_and_note(),
        )

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the transfer."""
        volume, source, target = _volume(values), values["source"], values["target"]
        record = enter_move(desk.site, desk.standing(at), volume, source, target)
        return record, f"move {volume} {source} {target}"


class PourForm(Form):
    """Water from elsewhere."""

    NAME: ClassVar[str] = "pour"
    TITLE_WORDS: ClassVar[str] = TITLES["pour"]
    HELP_WORDS: ClassVar[str] = (
        "Type how much came in that the rain gauge knows nothing of, and what it was. Leave the amount "
        "empty if you only noticed it. A hose from the mains must end in the air above the tank, never in "
        "the water."
    )

    def caution_words(self) -> str:
        """Return the caution that goes with it."""
        return SHORT["mains"] if self.values.get("what") == "hose" else ""

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return volume, tank, what it was, time and note."""
        return (
            self.ask("volume", unit=volume_unit(shown)),
            self.ask("tank", value=usual_tank(shown), choices=tank_choices(shown)),
            self.ask("what"),
            *self.when_and_note(),
        )

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the water poured."""
        volume, tank, what = values["volume"].strip(), values["tank"], values["what"]
        record = enter_pour(desk.site, desk.standing(at), volume or None, tank, what)
        return record, f"pour {volume or 'some'} {tank} --what {what}"


def _named(**given: str | None) -> str:
    """Return the given answers as they would be typed on the command line."""
    return "".join(f" --{name} {value}" for name, value in given.items() if value)
