"""Forms for what the sky does: a gauge reading, a forecast frost."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from tankdash.journal.entries import Record
from tankdash.keeping.desk import Desk
from tankdash.keeping.entering.records import EntryError, enter_frost, enter_rain
from tankdash.keeping.when import TimeError, local_day, parse_day
from tankdash.tui.cautionwords import SHORT
from tankdash.tui.forms.answers import rain_unit, temperature_unit
from tankdash.tui.forms.base import Form, Values
from tankdash.tui.forms.effects import catch_sentences, change_sentences, chore_sentences
from tankdash.tui.state import Shown
from tankdash.tui.wants import TITLES
from tankdash.tui.widgets.field import Field


class RainForm(Form):
    """What the rain gauge shows."""

    NAME: ClassVar[str] = "rain"
    TITLE_WORDS: ClassVar[str] = TITLES["rain"]
    HELP_WORDS: ClassVar[str] = (
        "Type what the gauge shows. A range such as 60-90 mm, more than such as >5.5 in, and the word "
        "trace are fine. It counts from the last reading of the gauge, one day at most, unless you say "
        "how many days it covers."
    )

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return depth, what became of the gauge, days covered, time and note."""
        depth = self.ask("depth", unit=rain_unit(shown))
        return (depth, self.ask("left_in"), self.ask("days"), *self.when_and_note())

    def effect_words(self, before: Shown, after: Shown) -> tuple[str, ...]:
        """Return what the roofs bring, what is usable then, and which chores it brings on."""
        usable, *more = change_sentences(before, after) or ("",)
        said = (*catch_sentences(before, after), usable, *chore_sentences(before, after), *more)
        return tuple(sentence for sentence in said if sentence)

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the reading."""
        days_text = values["days"].strip()
        if days_text and not days_text.isdecimal():
            raise EntryError("days", "Write a whole number of days, such as 3, or leave it empty.")
        depth = _needed(values, "depth", "What does the gauge show? Write it as 12, 12 mm or trace.")
        left_in = bool(values["left_in"])
        record = enter_rain(
            desk.site,
            depth,
            at,
            self.shown.now,
            entries=desk.entries(),
            days=int(days_text) if days_text else None,
            left_in=left_in,
        )
        words = depth + (f" --days {days_text}" if days_text else "") + (" --left-in" if left_in else "")
        return record, f"rain {words}"


class FrostForm(Form):
    """A forecast low."""

    NAME: ClassVar[str] = "frost"
    TITLE_WORDS: ClassVar[str] = TITLES["frost"]
    HELP_WORDS: ClassVar[str] = (
        "Type the lowest temperature the forecast gives for a night. Chores that wait for frost open at "
        "it. Taps and pipes freeze long before a tank does; this is a rule of thumb, not a promise."
    )

    def caution_words(self) -> str:
        """Return the caution that goes with it."""
        return SHORT["frost"]

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return low, night and note."""
        low = self.ask("low", unit=temperature_unit(shown))
        return (low, self.ask("night", value="today"), self.ask("note"))

    def effect_words(self, before: Shown, after: Shown) -> tuple[str, ...]:
        """Return which chores it brings on."""
        return chore_sentences(before, after) or ("No chore is brought on that is not open already.",)

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the low."""
        night = local_day(at, desk.site.zone)
        if values["night"].strip():
            try:
                night = parse_day(values["night"], desk.site.zone, self.shown.now, ahead=True)
            except TimeError as error:
                raise EntryError("night", str(error)) from error
        low = _needed(values, "low", "How cold does the forecast say? Write it as -1 or -1 C.")
        return enter_frost(desk.site, low, at, night), f"frost {low} --night {night.isoformat()}"


def _needed(values: Values, name: str, sentence: str) -> str:
    """Return what a field holds.

    Raises
    ------
    EntryError
        With `sentence` if it holds nothing.
    """
    text = values[name].strip()
    if not text:
        raise EntryError(name, sentence)
    return text
