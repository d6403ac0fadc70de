"""What the screen knows at one moment: one frozen value that the app holds and every page shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from tankdash.drawing.scene import Scene
    from tankdash.journal.entries import Entry
    from tankdash.keeping.chores.due import ChoreState
    from tankdash.keeping.state.figures import Caution, Totals
    from tankdash.keeping.state.levels import Levels
    from tankdash.keeping.state.standing import Basis
    from tankdash.site.model import Site
    from tankdash.units import Units
    from tankdash.water.model import Layout


@dataclass(frozen=True)
class Notice:
    """Something to tell once."""

    words: str
    """A sentence."""
    is_trouble: bool = False
    """Whether something went wrong."""


class GlanceSite(NamedTuple):
    """What the first frame says of the site."""

    name: str
    units: Units
    zone: ZoneInfo


class GlanceStanding(NamedTuple):
    """How the water is known."""

    read_at: Mapping[str, datetime]
    """When each tank's level was last read."""


class GlanceLevels(NamedTuple):
    """What is in the tanks, in the figures that the words of the home page give."""

    basis: Basis
    totals: Totals
    warnings: tuple[Caution, ...]
    standing: GlanceStanding


class Glance(NamedTuple):
    """The tanks alone: all that the first frame shows, small enough to be kept from one start to the next.

    Its names are those of `Shown`, so that the words and the picture need not know which of the two they are given.
    """

    site: GlanceSite
    now: datetime
    levels: GlanceLevels
    scene: Scene
    """The picture."""


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
