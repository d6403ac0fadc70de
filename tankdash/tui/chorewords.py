"""Which chores want something done now, and how many there are, in words; light enough for the first frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tankdash.keeping.chores.state import ChoreState

PRESSING = ("late", "due")
"""States that want something done now."""


def pressing_words(chores: Sequence[ChoreState]) -> str:
    """Return how many chores want something now; nothing where none does.

    Examples
    --------
    >>> pressing_words([])
    ''
    """
    late = sum(chore.state == "late" for chore in chores)
    pressing = sum(chore.state in PRESSING for chore in chores)
    if not pressing:
        return ""
    counted = f"{pressing} chore{'s' if pressing != 1 else ''}"
    if late == pressing:
        return f"{counted} late"
    return f"{counted} due" + (f", {late} of them late" if late else "")
