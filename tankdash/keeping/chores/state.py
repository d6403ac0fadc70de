"""One chore at one moment, as every list of chores shows it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

State = Literal["due", "late", "coming", "done", "asleep"]

STATES: tuple[State, ...] = ("late", "due", "coming", "done", "asleep")
"""The most pressing first."""


@dataclass(frozen=True)
class ChoreState:
    """A chore at one moment."""

    id: str
    label: str
    state: State
    since: datetime | None
    """When it opened; None while it is not open."""
    due: datetime | None
    """Late after this; of a chore that is not open, its next turn's, where time alone brings one."""
    missed: int
    """Further turns that passed while it was open."""
    reason: str
    """Why, in plain words with the date."""
    rains_unflushed: int = 0
    """Rains that ran into the tanks over the full first-flush pipe this chore empties."""
    done_at: datetime | None = None
    """When it was last done."""
    pressure: int = 2
    """How little it can wait while open: 0 for what the next rain or night makes worse, 1 for what the weather or the
    level brought on, 2 for what only the calendar asks."""

    @property
    def is_open(self) -> bool:
        """Return whether it is to be done now."""
        return self.state in ("due", "late")

    def as_json(self) -> dict[str, Any]:
        """Return it as the JSON of the `chores` command."""
        return {
            "id": self.id,
            "label": self.label,
            "state": self.state,
            "since": _iso(self.since),
            "due": _iso(self.due),
            "missed": self.missed,
            "reason": self.reason,
            "rains_unflushed": self.rains_unflushed,
            "done": _iso(self.done_at),
        }


def _iso(at: datetime | None) -> str | None:
    return at.isoformat() if at is not None else None
