"""Forms for what the sky does: a gauge reading, a forecast frost."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from tankdash.journal.entries import Record
from tankdash.keeping.entering import enter_frost, enter_rain
from tankdash.tui.forms.answers import rain_unit, temperature_unit
from tankdash.tui.forms.base import NOTE, WHEN, Form, Values
from tankdash.tui.state import Shown
from tankdash.tui.widgets.field import Choice, Field


class RainForm(Form):
    """What the rain gauge shows."""

    NAME: ClassVar[str] = "rain"
    TITLE_WORDS: ClassVar[str] = "Rain gauge"
    HELP_WORDS: ClassVar[str] = (
        "Type what the gauge shows. A range such as 60-90 mm, more than such as >5.5 in, and the word "
        "trace are fine. It counts from the last reading of the gauge, one day at most, unless you say "
        "how many days it covers."
    )

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return depth, days covered, what became of the gauge, time and note."""
        unit = rain_unit(shown)
        return (
            Field(
                "depth",
                "How much is in the gauge",
                f"digits are {unit}; or such as 0.42 in, 60-90 mm, trace",
                unit=unit,
            ),
            Field(
                "left_in",
                "The gauge",
                "if it was not emptied, the next reading counts from this one",
                "",
                choices=(Choice("", "was emptied"), Choice("yes", "was left as it is")),
            ),
            Field("days", "Covers how many days", "empty: since the last reading, one day at most"),
            WHEN,
            NOTE,
        )

    def understand(self, values: Values, at: datetime, shown: Shown) -> tuple[Record, str]:
        """Return the reading."""
        return enter_rain(shown, values, at)


class FrostForm(Form):
    """A forecast low."""

    NAME: ClassVar[str] = "frost"
    TITLE_WORDS: ClassVar[str] = "Forecast frost"
    HELP_WORDS: ClassVar[str] = (
        "Type the lowest temperature the forecast gives for a night. Chores that wait for frost open at "
        "it. Taps and pipes freeze long before a tank does; this is a rule of thumb, not a promise."
    )

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return low and night."""
        unit = temperature_unit(shown)
        return (
            Field("low", "Lowest temperature", f"digits are {unit}; a minus for below zero", unit=unit),
            Field(
                "night", "Which night", "tonight, or the date the night begins, such as 2026-11-03", "tonight"
            ),
            NOTE,
        )

    def understand(self, values: Values, at: datetime, shown: Shown) -> tuple[Record, str]:
        """Return the low."""
        return enter_frost(shown, values, at)
