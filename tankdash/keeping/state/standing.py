"""What a replayed journal comes to: the water as it stands, how it is known, and the record of the way there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from tankdash.keeping.state.arrangement import Arrangement
from tankdash.keeping.state.ledger import NOTHING_MOVED, Moved
from tankdash.keeping.state.overlap import NO_OVERLAP, Overlap
from tankdash.keeping.state.tracks import Three
from tankdash.water.model import Contents, Layout
from tankdash.water.rest import AtRest

Basis = Literal["dip", "estimate", "what-if", "none"]


@dataclass(frozen=True)
class OpenTap:
    """An outlet that was opened, or a pump switched on, and not yet noted as closed."""

    outlet: str | None
    since: datetime
    bed: str | None = None
    entry: int = 0
    """Number of the entry that opened it."""
    source: str | None = None
    """Tank that a pump takes from; None for an outlet."""
    target: str | None = None
    """Tank that it fills."""
    rate: float | None = None
    """How fast the pump was said to run when it was switched on, [m3/s]."""

    @property
    def is_pump(self) -> bool:
        """Whether it is a pump between two tanks."""
        return self.source is not None


@dataclass(frozen=True)
class Seen:
    """Something noted between two dips that bears on the balance."""

    at: datetime
    what: str
    """`tap-open`, `pump-on`, `unmeasured`, `overflow seen`, `overflow dry`, `drain-open`, `winter`, `in-use`,
    `rain-on-shut-roof`, `rain-on-open-drain`."""
    item: str = ""
    """Tank, outlet or roof it is about."""
    detail: str = ""
    """For water from elsewhere: dew, melt, hail ..."""
    depth_mm: float = 0.0
    """Rain it was seen with."""


@dataclass(frozen=True)
class Residual:
    """A dip against the estimate it replaced, for one bank (R14)."""

    start: datetime
    """The dip before."""
    end: datetime
    """The dip that closed the stretch, UTC."""
    entry: int
    """Number of the closing dip's journal entry."""
    tanks: tuple[str, ...]
    """Tanks whose estimate was replaced."""
    was: float
    """Water at the start, [m3]."""
    expected: Three[float]
    """Water the replay led one to expect, [m3]."""
    seen: Three[float]
    """Water the dip shows, at the ends of the range typed, [m3]."""
    stick: float
    """What the stick's accuracy at both ends of the stretch comes to, [m3]."""
    moved: Moved
    """What came and went in between."""
    rain_mm: float
    """Rain noted for the stretch."""
    is_settled: bool
    """Whether the water stood still at both dips (R12)."""
    is_winter: bool = False
    """Whether the site was laid up at either end or in between."""
    by_roof: Mapping[str, float] = field(default_factory=dict)
    """Likely catch of each roof that fills these tanks, [m3]."""
    sightings: tuple[Seen, ...] = ()
    """What was noted in between."""


@dataclass(frozen=True)
class Together:
    """Several tanks dipped at one time: a survey, if the water stood still."""

    at: datetime
    entry: int
    layout: Layout
    depths: Three[dict[str, float]]
    """Ends and middle of each reading, [m]."""
    unsettled: float
    """How long the water still had to run, [s]."""


@dataclass(frozen=True)
class Moment:
    """The water right after something happened."""

    at: datetime
    kind: str
    """Kind of journal entry, or `rain`, `tap`, `garden` for a change of the garden by date."""
    entry: int | None
    layout: Layout
    contents: Three[Contents]
    unknown: frozenset[str]
    spilled: float = 0.0
    """Over lips in this step, [m3]."""


@dataclass(frozen=True)
class Standing:
    """The water at one time and how it is known."""

    at: datetime
    basis: Basis
    layout: Layout
    arrangement: Arrangement
    contents: Three[Contents]
    """Least, likely and most in each tank, [m3]; of a tank in `unknown` only the ends count."""
    unknown: frozenset[str]
    """Tanks of which only a range can be said."""
    overlap: Overlap = NO_OVERLAP
    """What the ends of all tanks, added up, tell too much."""
    states: Mapping[str, str] = field(default_factory=dict)
    """How the last dip left each tank: dipped, level, cut-off, carried ..."""
    rest: AtRest | None = None
    """The resting state the last dip told of; None once something came after it."""
    read_at: Mapping[str, datetime] = field(default_factory=dict)
    """When each tank's level was last read, by its own stick or through its links."""
    moved: Moved = NOTHING_MOVED
    """What came and went since."""
    ever: Moved = NOTHING_MOVED
    """What came and went over all the replay walked through."""
    unsettled: float = 0.0
    """How long the water still had to run when the last dip was taken; 0 for a settled dip, [s]."""
    spread: float = 0.0
    """By how much linked tanks that were dipped together disagree, [m]."""
    open_taps: tuple[OpenTap, ...] = ()
    sightings: tuple[Seen, ...] = ()
    """Noted since the last dip."""
    history: tuple[Moment, ...] = ()
    residuals: tuple[Residual, ...] = ()
    together: tuple[Together, ...] = ()
    """Dips of several tanks at one time."""
