"""The water held while the journal is walked, in its three accounts, and what a changed garden makes of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Protocol, TypeVar

from tankdash.keeping.state.arrangement import Arrangement, Layouts
from tankdash.keeping.state.ledger import Ledger
from tankdash.keeping.state.overlap import NO_OVERLAP, Overlap, between
from tankdash.keeping.state.running_off import run_off
from tankdash.keeping.state.settling import Stirs
from tankdash.keeping.state.standing import Basis, Moment
from tankdash.keeping.state.stretches import Stretches
from tankdash.keeping.state.tracks import SAME_WATER, Three, alike, clamped, ordered, spread
from tankdash.keeping.when import instant
from tankdash.site.model import Site
from tankdash.water.drawing_off import draw
from tankdash.water.filling import pour
from tankdash.water.model import Contents, Layout, Outlet
from tankdash.water.priming import unprimed_by
from tankdash.water.rest import AtRest
from tankdash.water.sills import banks

WITHOUT_END = 1.0e6
"""Water asked for or poured where nobody knows how much: more than any garden holds, [m3]."""


class Outcome(Protocol):
    """What a function of the water floor makes of some contents."""

    @property
    def contents(self) -> dict[str, float]:
        """Return what each tank holds afterwards, [m3]."""

    @property
    def spilled(self) -> dict[str, float]:
        """Return what ran away over each lip, [m3]."""


T = TypeVar("T")
Ran = TypeVar("Ran", bound=Outcome)


class Held:
    """The water at one moment of the walk."""

    def __init__(self, site: Site, layouts: Layouts, arrangement: Arrangement, start: datetime) -> None:
        self.site, self.layouts, self.arrangement = site, layouts, arrangement
        self.now = instant(start)
        """How far the walk has come, UTC."""
        self.layout: Layout = layouts.at(start, arrangement)
        self.has_begun = False
        """Whether a dip has been walked past: nothing is known before."""
        self.basis: Basis = "none"
        self.contents: Three[Contents] = alike({})
        """[m3]; the likely account of a tank in `unknown` is carried on but tells nothing."""
        self.overlap = NO_OVERLAP
        """What the ends of `contents`, added up, tell too much."""
        self.unknown: frozenset[str] = frozenset(self.layout.tanks)
        self.rest: AtRest | None = None
        """What the last dip told; None once something came after it."""
        self.ledger = Ledger()
        self.stretches = Stretches()
        self.stirs = Stirs(site.accuracy)
        self.history: list[Moment] = []
        self.stands_above_a_lip = False
        """Whether the last dip may have shown water above a lip."""

    def run(self, work: Callable[[T, bool], Ran], given: Three[T]) -> tuple[Three[Ran], Three[Contents]]:
        """Do `work` on every account; return its outcomes, and the contents they leave.

        A crest whose priming nobody knows allows two outcomes: the ends are made wide enough for both (R5).

        Parameters
        ----------
        work : callable
            Takes what is given for one account, and what to take for crests of unknown priming.
        given : Three
            What each account gives.
        """
        ran = given.map(lambda one: work(one, False))
        self.ledger.book_all("spilled", ran.mid.spilled)
        contents: Three[Contents] = ran.map(lambda one: one.contents)
        self.overlap = _after(self.overlap, ran)
        if any(
            link.is_open and link.crest is not None and link.primed is None
            for link in self.layout.links.values()
        ):
            ran_primed = given.map(lambda one: work(one, True))
            other: Three[Contents] = ran_primed.map(lambda one: one.contents)
            ways = [(_after(self.overlap, ran_primed), other), (self.overlap, contents)]
            least, most = (
                min(way.least(held) for way, held in ways),
                max(way.most(held) for way, held in ways),
            )
            contents = Three(
                {tank: min(volume, other.low[tank]) for tank, volume in contents.low.items()},
                contents.mid,
                {tank: max(volume, other.high[tank]) for tank, volume in contents.high.items()},
            )
            self.overlap = between(contents, least, most)
            self.unknown |= {
                tank for tank, volume in contents.mid.items() if abs(volume - other.mid[tank]) > SAME_WATER
            }
        return ran, contents

    def let_run_off(self) -> None:
        """Let go what a dip showed above a lip: by the time anything else happens it has run off (R6)."""
        if self.stands_above_a_lip:
            self.stands_above_a_lip = False
            _, self.contents = self.run(lambda contents, _: run_off(self.layout, contents), self.contents)

    def becomes(
        self,
        contents: Three[Contents],
        kind: str,
        entry: int | None = None,
        spilled: float = 0.0,
        *,
        is_change: bool = True,
    ) -> None:
        """Take `contents` for what the tanks hold from now on."""
        before, self.contents = self.contents, ordered(contents)
        self.rest = None
        if is_change:
            self.basis = "estimate"
        if self.unknown:
            self._spread_unknown(before)
        self.lose_prime()
        self.remember(kind, entry, spilled)

    def remember(self, kind: str, entry: int | None, spilled: float = 0.0) -> None:
        """Put the water as it is into the history."""
        self.history.append(Moment(self.now, kind, entry, self.layout, self.contents, self.unknown, spilled))

    def lose_prime(self) -> None:
        """Note the siphons that have drawn air; they stay so when the level comes back (F03)."""
        if not any(link.crest is not None and link.primed for link in self.layout.links.values()):
            return
        lost = unprimed_by(self.layout, self.contents.low) & unprimed_by(self.layout, self.contents.high)
        if lost:
            self.arrangement = self.arrangement.with_prime_lost(sorted(lost))
            self.layout = self.layouts.at(self.now, self.arrangement)

    def take_up(self, layout: Layout, kind: str, entry: int | None) -> None:
        """Let the water find its rest in a changed garden; every tank keeps its litres first."""
        before_layout = self.layout
        if layout == before_layout:
            return
        self.layout = layout
        if not self.has_begun:
            self.unknown = frozenset(layout.tanks)
            return
        for tank in before_layout.tanks.keys() - layout.tanks.keys():
            self.ledger.book(tank, removed=self.contents.mid[tank])
        self.unknown &= layout.tanks.keys()
        before: Three[Contents] = self.contents.map(lambda contents: clamped(contents, layout))
        self.overlap = self.overlap.without(self.contents, before)
        levelled, contents = self.run(
            lambda held, primed: pour(layout, held, {}, primed_if_unknown=primed), before
        )
        contents = self._drained(contents)
        run, contents = self.run(lambda held, _: run_off(layout, held), contents)
        spilled = sum(levelled.mid.spilled.values()) + sum(run.mid.spilled.values())
        bump = {key: before.mid[key] - contents.mid[key] for key in layout.tanks}
        is_change = any(abs(amount) > SAME_WATER for amount in bump.values())
        if is_change:
            self.stirs.add(layout, self.now, self.now, bump)
        self.becomes(contents, kind, entry, spilled, is_change=is_change)

    def _drained(self, contents: Three[Contents]) -> Three[Contents]:
        """Return what open drains leave: of all that can run to one, what stands above its height goes (F37)."""
        for key in sorted(self.arrangement.draining & self.layout.tanks.keys()):
            drain = Outlet("drain", key, self.layout.tanks[key].lip)
            opened = replace(self.layout, outlets={drain.id: drain})

            def run_out(held: Contents, primed: bool, opened: Layout = opened) -> Outcome:
                return draw(opened, held, "drain", WITHOUT_END, primed_if_unknown=primed)

            before = contents
            _, contents = self.run(run_out, before)
            self.ledger.book(key, removed=sum(before.mid.values()) - sum(contents.mid.values()))
        return contents

    def _spread_unknown(self, before: Three[Contents]) -> None:
        """Keep in `unknown` what still is, and what an unknown neighbour's water has made so."""

        def has_widened(tank: str) -> bool:
            width = spread(self.contents, tank)
            return width > SAME_WATER and (
                tank not in before.mid or width > spread(before, tank) + SAME_WATER
            )

        still = {tank for tank in self.unknown if spread(self.contents, tank) > SAME_WATER}
        for bank in banks(self.layout):
            if not self.unknown.isdisjoint(bank):
                still |= {tank for tank in bank if has_widened(tank)}
        self.unknown = frozenset(still)


def _after(overlap: Overlap, ran: Three[Ran]) -> Overlap:
    """Return what is left of an overlap by what each account lost."""
    if not overlap.under and not overlap.over:
        return overlap
    low, high = (sum(one.spilled.values()) for one in (ran.low, ran.high))
    drawn_low, drawn_high = (getattr(one, "drawn", 0.0) for one in (ran.low, ran.high))
    return overlap.lost(low, high).drawn(drawn_low, drawn_high)
