"""What the screen knows at one moment: one frozen value that the app holds and every page shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from datetime import datetime

    from tankdash.glance import Glance
    from tankdash.journal.entries import Entry
    from tankdash.keeping.chores.state import ChoreState
    from tankdash.keeping.state.levels import Levels
    from tankdash.site.model import Site
    from tankdash.water.model import Layout


@dataclass(frozen=True)
class Notice:
    """Something to tell once."""

    words: str
    """A sentence."""
    is_trouble: bool = False
    """Whether something went wrong."""


@dataclass(frozen=True)
class Shown:
    """The garden as its file and its journal have it."""

    site: Site
    """The site."""
    now: datetime
    """The time it was worked out for."""
    layout: Layout
    """What stands today, with the changes the journal knows of."""
    levels: Levels
    """What is in the tanks."""
    chores: tuple[ChoreState, ...] = ()
    """Chores, the most pressing first."""
    entries: tuple[Entry, ...] = ()
    """The journal."""
    notice: Notice | None = None
    """What to tell, until the next key."""


Seen: TypeAlias = "Glance | Shown"
"""What the words and the picture of the home page are given."""
