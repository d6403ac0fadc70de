"""What the journal has set since the site file was written, and the layout that follows from it on any day.

Valves, primings, plugs, vents, bases, drains, lock-outs and the winter state: each from the time of its entry on.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from tankdash.journal.entries import Change, Entry
from tankdash.site.model import Site
from tankdash.water.model import Layout, Tank

LEAST_LIP = 0.001
"""Height of a drain at the floor: R17 compares with 1 mm tolerance there, [m]."""


@dataclass(frozen=True)
class Arrangement:
    """Everything `set` at one moment; empty when the site is as its file says."""

    bases: Mapping[str, float] = field(default_factory=dict)
    """Base heights by tank, [m]."""
    open_links: Mapping[str, bool] = field(default_factory=dict)
    """Valves by link."""
    primed: Mapping[str, bool] = field(default_factory=dict)
    """Whether a crest is full of water, by link."""
    shut_roofs: Mapping[str, str] = field(default_factory=dict)
    """Roofs that bring nothing, with the word for it: `plugged` or `bypass`."""
    vented: Mapping[str, bool] = field(default_factory=dict)
    """Vents by tank."""
    draining: frozenset[str] = frozenset()
    """Tanks whose drain stands open."""
    locked: Mapping[str, datetime | None] = field(default_factory=dict)
    """Outlets that must stay off, with the time since when."""
    stuck: frozenset[str] = frozenset()
    """Links whose valve cannot be turned."""
    void_shapes: frozenset[str] = frozenset()
    """Tanks whose shape is no longer true, so that a stick tells nothing of their litres."""
    is_winter: bool = False
    """Whether the site is laid up: rain is not credited."""

    def after(self, change: Change, at: datetime | None = None) -> Arrangement:
        """Return the arrangement once `change` is made; an unknown state changes nothing."""
        item, state = change.item, change.state
        match state:
            case "open" | "closed" if item in self.shut_roofs and state == "open":
                return replace(
                    self, shut_roofs={key: word for key, word in self.shut_roofs.items() if key != item}
                )
            case "open" | "closed":
                return replace(self, open_links={**self.open_links, item: state == "open"})
            case "primed" | "unprimed":
                return replace(self, primed={**self.primed, item: state == "primed"})
            case "plugged" | "bypass":
                return replace(self, shut_roofs={**self.shut_roofs, item: state})
            case "base" if change.base_m is not None:
                return replace(self, bases={**self.bases, item: change.base_m})
            case "vented" | "sealed":
                return replace(self, vented={**self.vented, item: state == "vented"})
            case "drain-open":
                return replace(self, draining=self.draining | {item})
            case "drain-closed":
                return replace(self, draining=self.draining - {item})
            case "locked":
                return replace(self, locked={**self.locked, item: at})
            case "unlocked":
                return replace(self, locked={key: since for key, since in self.locked.items() if key != item})
            case "stuck":
                return replace(self, stuck=self.stuck | {item})
            case "freed":
                return replace(self, stuck=self.stuck - {item})
            case "shape-void":
                return replace(self, void_shapes=self.void_shapes | {item})
            case "winter" | "in-use":
                return replace(self, is_winter=state == "winter")
        return self

    def with_prime_lost(self, links: Iterable[str]) -> Arrangement:
        """Return the arrangement once air has come into `links`; only a `set LINK primed` brings them back (F03)."""
        return replace(self, primed={**self.primed, **dict.fromkeys(links, False)})

    def layout(self, site: Site, day: date) -> Layout:
        """Return what holds and carries water on `day` under this arrangement."""
        shut = site.roofs if self.is_winter else self.shut_roofs
        plain = site.layout(day, self.bases, self.open_links, self.primed, shut)
        if not self.vented and not self.draining:
            return plain
        tanks: dict[str, Tank] = {}
        for key, tank in plain.tanks.items():
            standing = replace(tank, vented=self.vented.get(key, tank.vented))
            if key in self.draining:
                standing = replace(standing, overflow=self._drain_height(plain, standing), overflow_to=None)
            tanks[key] = standing
        return replace(plain, tanks=tanks)

    @staticmethod
    def _drain_height(layout: Layout, tank: Tank) -> float:
        """Return the height water falls to through an open drain: the lowest outlet, else the floor (F37), [m]."""
        outlets = [outlet.at for outlet in layout.outlets.values() if outlet.tank == tank.id]
        lowest = min(outlets, default=0.0)
        return min(tank.lip, max(lowest, tank.silt + LEAST_LIP, LEAST_LIP))


def arrangement_at(entries: Iterable[Entry], now: datetime) -> Arrangement:
    """Return what all `set` entries up to `now`, in their order, have made of the site."""
    arrangement = Arrangement()
    for entry in entries:
        if entry.at <= now and isinstance(entry.record, Change):
            arrangement = arrangement.after(entry.record, entry.at)
    return arrangement


class Layouts:
    """Layouts of one site by day and arrangement, each made once."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.marks: tuple[date, ...] = tuple(sorted(_days_of_change(site)))
        """Days on which something joins or leaves the garden."""
        self._made: dict[tuple[int, int], tuple[Arrangement, Layout]] = {}

    def on(self, day: date, arrangement: Arrangement) -> Layout:
        """Return the layout of `day` under `arrangement`."""
        key = (bisect_right(self.marks, day), id(arrangement))
        made = self._made.get(key)
        if made is None:
            # The arrangement is kept beside its layout so that its identity cannot be given to another one.
            made = self._made[key] = (arrangement, arrangement.layout(self.site, day))
        return made[1]

    def at(self, moment: datetime, arrangement: Arrangement) -> Layout:
        """Return the layout at `moment`, by the local day of the site."""
        return self.on(moment.astimezone(self.site.zone).date(), arrangement)


def _days_of_change(site: Site) -> set[date]:
    days: set[date] = set()
    for group in (site.tanks, site.links, site.outlets, site.roofs):
        for placed in group.values():
            if placed.since is not None:
                days.add(placed.since)
            if placed.until is not None:
                days.add(placed.until + timedelta(days=1))
    return days
