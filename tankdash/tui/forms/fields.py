"""Fields made from the table of wants."""

from __future__ import annotations

from collections.abc import Iterable

from tankdash.tui.wants import WANTS
from tankdash.tui.widgets.field import Choice, Field
from tankdash.units import Units


def asked(
    form: str,
    want: str,
    units: Units,
    *,
    name: str | None = None,
    label: str | None = None,
    value: str = "",
    unit: str = "",
    choices: Iterable[Choice] | None = None,
    **words: str,
) -> Field:
    """Return a field as the table tells of it.

    Parameters
    ----------
    form, want : str
        Where it stands in the table.
    units : Units
        Of the garden, for the examples.
    name, label : str, optional
        Its own where it comes once for each tank; those of the table when left out.
    value : str, optional
        What stands in it at first.
    unit : str, optional
        What bare digits take.
    choices : iterable of Choice, optional
        Answers that depend on the garden; those of the table when left out.
    **words : str
        What else the line under the field names.
    """
    wanted = WANTS[form][want]
    fixed = [Choice(key, answer, meaning) for key, (answer, meaning) in wanted.choices.items()]
    return Field(
        want if name is None else name,
        wanted.label if label is None else label,
        wanted.line.format(unit=unit, **words),
        value,
        unit,
        tuple(fixed if choices is None else choices),
        wanted.says,
        wanted.empty,
        wanted.typed(units),
        wanted.is_free,
    )
