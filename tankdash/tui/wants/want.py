"""What one field of a form asks for, as it is told under the field, in its help and on the page of help."""

from __future__ import annotations

from dataclasses import dataclass, field

from tankdash.units import Units


@dataclass(frozen=True)
class Want:
    """What one field asks for."""

    label: str
    """The question, in a few words."""
    line: str
    """What stands under the field; `{unit}` is the unit that bare digits take."""
    says: str
    """What it wants and why, for who asks."""
    empty: str = ""
    """What it means to leave it empty; nothing where it cannot be."""
    examples: tuple[str, ...] = ()
    """What may be typed in a metric garden."""
    inches: tuple[str, ...] = ()
    """The same where people measure in inches and gallons; as in a metric garden when left out."""
    is_free: bool = False
    """Whether it takes any words, so that a question mark is one of them."""
    choices: dict[str, tuple[str, str]] = field(default_factory=dict)
    """Answers that never change: value to words and meaning."""

    def typed(self, units: Units) -> tuple[str, ...]:
        """Return the examples for a garden's units."""
        return self.inches if units != "metric" and self.inches else self.examples
