"""What can stand in the journal: one frozen record per kind of entry, and the entry that carries it.

Records are what was understood of the words typed, with the unit in each name; the words themselves are kept
beside them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal


@dataclass(frozen=True)
class TankDip:
    """One stick in one tank."""

    tank: str
    depth_m: float
    """Water above the tank's floor after the dip rule of that day; the middle of a range."""
    low_m: float
    high_m: float
    """Ends of the range typed; both equal to `depth_m` for a plain reading."""


@dataclass(frozen=True)
class Dips:
    """A dip; several tanks read together are one survey."""

    tanks: tuple[TankDip, ...]


@dataclass(frozen=True)
class Rain:
    """A gauge reading with its period."""

    low_mm: float
    high_mm: float | None
    """None for an open upper end (`>5.5 in`); equal to `low_mm` for a plain reading."""
    start: datetime
    end: datetime
    """The period the depth fell in."""
    gauge: str = "gauge"
    trace: bool = False
    left_in: bool = False
    """The gauge was not emptied: the next reading of it counts from this one."""
    day: date | None = None
    """Local day the depth is booked to, when the owner or the rule says so; None spreads it by the period."""


@dataclass(frozen=True)
class Use:
    """Water drawn off."""

    volume_l: float
    outlet: str | None = None
    bed: str | None = None


@dataclass(frozen=True)
class TapOpened:
    """An outlet opened and left running, or a pump between two tanks switched on and left running."""

    outlet: str | None = None
    bed: str | None = None
    source: str | None = None
    """Tank a pump takes from; None for an outlet."""
    target: str | None = None
    """Tank it fills."""
    rate_l_per_s: float | None = None
    """How fast a pump runs, where that is known."""


@dataclass(frozen=True)
class TapClosed:
    """The running outlet closed again, or the running pump switched off."""

    outlet: str | None = None
    rate_l_per_s: float | None = None
    """How fast it ran, where somebody measured it."""
    source: str | None = None
    """Tank the pump took from; None for an outlet."""
    target: str | None = None
    volume_l: float | None = None
    """What ran or was moved in all, where somebody knows; without it and the rate it may have been anything."""


@dataclass(frozen=True)
class Move:
    """A transfer by pump or bucket."""

    volume_l: float
    source: str
    target: str


@dataclass(frozen=True)
class Pour:
    """Water from elsewhere: melt, dew, hail, hose."""

    volume_l: float | None
    """None when only noticed, not measured."""
    tank: str
    what: str = "hose"


@dataclass(frozen=True)
class Change:
    """A state set from this time on: a valve, a crest, a roof's plug, a base, a vent, the whole site."""

    item: str
    """Id of a link, roof, tank or outlet, or `site`."""
    state: str
    """`open`, `closed`, `primed`, `unprimed`, `plugged`, `bypass`, `base`, `vented`, `sealed`, `shape-void`,
    `drain-open`, `drain-closed`, `locked`, `unlocked`, `in-use`, `winter`."""
    base_m: float | None = None
    """New base above the datum, for the state `base`."""


@dataclass(frozen=True)
class Frost:
    """A forecast low, typed in."""

    low_c: float
    night: date
    """The local date on which that night begins."""


@dataclass(frozen=True)
class Done:
    """A chore ticked."""

    chore: str


@dataclass(frozen=True)
class Note:
    """Words, and at most one thing seen."""

    about: Literal["", "overflow seen", "overflow dry", "gauge missed"] = ""


@dataclass(frozen=True)
class Void:
    """Takes back one earlier entry."""

    number: int


@dataclass(frozen=True)
class Imported:
    """A file brought in; the entries and history days that came with it stand or fall with this one."""

    source: str
    """Name of the file, without its folder."""
    what: Literal["gauge", "history"]
    """Readings of the owner's own gauge, or past days for planning."""
    name: str
    """The gauge or station it is kept under."""
    rows: int
    """How many rows were brought in."""


Record = (
    Dips | Rain | Use | TapOpened | TapClosed | Move | Pour | Change | Frost | Done | Note | Void | Imported
)


@dataclass(frozen=True)
class Entry:
    """One line of the journal."""

    number: int
    """Place in the order of writing, from 1."""
    uid: str
    """Name that stays the same through export and import."""
    kind: str
    """Name of the record's kind: `dip`, `rain`, `use`, `tap-opened`, `tap-closed`, `move`, `pour`, `set`,
    `frost`, `done`, `note`, `void`, `import`."""
    at: datetime
    """The time it is about, with its offset."""
    entered: datetime
    """When it was written."""
    record: Record
    words: str
    """As typed."""
    note: str = ""
    voided_by: int | None = None
    """Number of the entry that took it back."""
    zone: str = ""
    """IANA name of the zone it was typed in; `at` carries only the offset, so times subtract as instants."""
    batch: int | None = None
    """Number of the import it came with; taking that back takes this back too."""
