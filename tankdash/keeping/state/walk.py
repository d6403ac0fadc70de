"""The journal walked in the order of time: every happening applied to the water as the garden stood then (R14)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy
from dataclasses import replace
from datetime import datetime
from math import inf
from typing import Self, TypeVar

from tankdash.journal.entries import Change, Dips, Entry, Move, Note, Pour, TapClosed, TapOpened, Use
from tankdash.keeping.state.arrangement import Arrangement, Layouts
from tankdash.keeping.state.catching import NOTHING, Brought, Fall, FallSoFar
from tankdash.keeping.state.dipped import dip_tracks, dipped_depths
from tankdash.keeping.state.happenings import Happening
from tankdash.keeping.state.held import WITHOUT_END
from tankdash.keeping.state.outlets import outlet_for
from tankdash.keeping.state.pumping import Pumping
from tankdash.keeping.state.standing import OpenTap, Standing, Together
from tankdash.keeping.state.taps import STILL_RUNNING, Run, Running, opened_tap, tap_to_close
from tankdash.keeping.state.tracks import SAME_WATER, Three, alike, spread
from tankdash.keeping.when import instant
from tankdash.site.model import Site
from tankdash.water.drawing_off import draw
from tankdash.water.filling import pour
from tankdash.water.holding import full
from tankdash.water.model import Contents

T = TypeVar("T")


class Walk(Pumping):
    """The water while the journal is walked; one step per happening, in order of time."""

    def __init__(
        self,
        site: Site,
        layouts: Layouts,
        arrangement: Arrangement,
        start: datetime,
        tap_runs: Mapping[int, Run],
        open_taps: Iterable[OpenTap] = (),
    ) -> None:
        super().__init__(site, layouts, arrangement, start)
        self.states: Mapping[str, str] = {}
        self.unsettled = self.dips_spread = 0.0
        self.together: list[Together] = []
        self._fallen: dict[int, Three[float]] = {}
        self._falling: dict[int, FallSoFar] = {}
        self._running = [
            Running(tap, tap.outlet, tap_runs.get(tap.entry, STILL_RUNNING), self.now) for tap in open_taps
        ]

    def branch(self) -> Self:
        """Return a walk of its own that goes on from here; this one stays where it is."""
        own = _apart(self)
        own.ledger, own.stretches, own.stirs = self.ledger.branch(), _apart(self.stretches), copy(self.stirs)
        own._falling = {entry: _apart(so_far) for entry, so_far in self._falling.items()}
        return own

    def step(self, happening: Happening) -> None:
        """Take what happened next."""
        if happening.fall is not None:
            (self.fall_begins if happening.what == "fall-begins" else self.fall_ends)(happening.fall)
        elif happening.entry is not None:
            self.take(happening.entry, happening.run)
        else:
            self.garden_changes(happening.at)

    def is_still(self) -> bool:
        """Return whether the water stands still now, whatever is held anywhere."""
        return self.stirs.is_still(self.layout, self.now)

    # --- the walk itself

    def fall_begins(self, fall: Fall) -> None:
        """Let a gauge reading's rain begin."""
        self.advance(fall.start)
        self._falling[fall.entry] = FallSoFar(fall)

    def fall_ends(self, fall: Fall) -> None:
        """Let the rest of a reading's rain come down."""
        self.advance(fall.end)
        so_far = self._falling.pop(fall.entry, None)
        if so_far is not None:
            self._rain(so_far, fall.end)

    def fall_at_once(self, fall: Fall) -> None:
        """Let rain come down in no time, for a what-if."""
        self.advance(fall.end)
        self._rain(FallSoFar(fall), fall.end)

    def advance(self, moment: datetime) -> None:
        """Let rain fall and open taps run until `moment`."""
        moment = instant(moment)
        if moment <= self.now and not self._falling:
            return
        for so_far in self._falling.values():
            self._rain(so_far, moment)
        for place, running in enumerate(self._running):
            self._run_tap(running, moment)
            self._running[place] = replace(running, until=moment)
        self.now = max(self.now, moment)

    def garden_changes(self, moment: datetime) -> None:
        """Take up what joins or leaves the garden at `moment` by the dates of the site file."""
        self.advance(moment)
        self.take_up(self.layouts.at(moment, self.arrangement), "garden", None)

    def take(self, entry: Entry, run: Run = STILL_RUNNING) -> None:
        """Apply one journal entry; rain comes through `fall_begins` and `fall_ends` instead.

        Parameters
        ----------
        entry : Entry
            What was written down.
        run : Run, optional
            How the tap or pump that it opened ran, where a later entry tells.
        """
        self.advance(entry.at)
        match entry.record:
            case Dips() as dips:
                self._dip(entry, dips)
            case Use() as use:
                self._use(entry, use)
            case TapOpened() as opened:
                self._open_tap(entry, opened, run)
            case TapClosed() as closed:
                self._close_tap(entry, closed)
            case Move() as move:
                self._move(entry, move)
            case Pour() as poured:
                self._pour_in(entry, poured)
            case Change() as change:
                self._change(entry, change)
            case Note(about="overflow seen" | "overflow dry" as about):
                self.stretches.see(self.now, about)

    def standing(self, now: datetime) -> Standing:
        """Return the water at `now`, once everything up to then is walked."""
        self.advance(now)
        if not self.has_begun:
            top = full(self.layout)
            nothing = dict.fromkeys(self.layout.tanks, 0.0)
            middle = {tank: top[tank] / 2.0 for tank in self.layout.tanks}
            self.contents = Three(nothing, middle, dict(top))
            self.unknown = frozenset(self.layout.tanks)
        return Standing(
            at=now,
            basis=self.basis,
            layout=self.layout,
            arrangement=self.arrangement,
            contents=self.contents,
            unknown=self.unknown,
            overlap=self.overlap,
            states=dict(self.states),
            rest=self.rest if self.basis == "dip" else None,
            read_at=self.stretches.read_at,
            moved=self.ledger.since_read(),
            ever=self.ledger.ever(),
            unsettled=self.unsettled,
            spread=self.dips_spread if self.basis == "dip" else 0.0,
            open_taps=tuple(running.tap for running in self._running),
            sightings=self.stretches.seen_since(max(self.stretches.read_at.values(), default=None)),
            history=tuple(self.history),
            residuals=tuple(self.stretches.residuals),
            together=tuple(self.together),
        )

    # --- rain

    def _rain(self, so_far: FallSoFar, moment: datetime) -> None:
        """Let come down what falls of a reading until `moment`."""
        fall, before = so_far.fall, so_far.share
        share = fall.share_until(moment)
        if share <= before:
            return
        fallen = self._fallen.get(fall.event, NOTHING)
        brought, self._fallen[fall.event] = so_far.slice(self.layout, fallen, share)
        depth_mm = fall.depth_mm.mid * (share - before)
        self.stretches.rained(depth_mm)
        # Laid up for winter no rain is counted, so what it meets then is as it should be (F37).
        if self.has_begun and not self.arrangement.is_winter:
            for roof in self.arrangement.shut_roofs:
                self.stretches.see(self.now, "rain-on-shut-roof", roof, depth_mm=depth_mm)
            for tank in self.arrangement.draining:
                self.stretches.see(self.now, "rain-on-open-drain", tank, depth_mm=depth_mm)
        start = fall.start if before <= 0.0 else max(fall.start, self.now)
        self._catch(fall, brought, start, min(moment, fall.end))

    def _catch(self, fall: Fall, brought: Brought, start: datetime, end: datetime) -> None:
        caught = {tank: amount for tank, amount in brought.caught.items() if amount.high > 0.0}
        if caught:
            self.stirs.add(self.layout, start, end, {tank: amount.mid for tank, amount in caught.items()})
        if not self.has_begun:
            return
        for tank, kept in brought.flushed.items():
            self.ledger.book(tank, first_flush=kept)
        self.stretches.caught(brought.by_roof)
        if not caught:
            return
        for tank, came in caught.items():
            high = inf if fall.is_open else came.high
            self.ledger.book(tank, caught=came.mid, caught_low=came.low, caught_high=high)
        inflow = Three[Contents](
            {tank: amount.low for tank, amount in caught.items()},
            {tank: amount.mid for tank, amount in caught.items()},
            {tank: amount.high for tank, amount in caught.items()},
        )
        self._pour(inflow, "rain", fall.entry)

    def _pour(self, inflow: Three[Contents], kind: str, entry: int | None) -> None:
        self.let_run_off()
        poured, contents = self.run(
            lambda both, primed: pour(self.layout, both[0], both[1], primed_if_unknown=primed),
            self.contents.pair(inflow),
        )
        self.becomes(contents, kind, entry, sum(poured.mid.spilled.values()))

    # --- drawing

    def _use(self, entry: Entry, use: Use) -> None:
        outlet = outlet_for(self.site, self.layout, use.outlet, use.bed)
        if outlet is None:
            return
        tank = self.layout.outlets[outlet].tank
        volume = use.volume_l / 1000.0
        self.stirs.add(self.layout, self.now, self.now, {tank: -volume})
        if not self.has_begun:
            return
        self.let_run_off()
        drawn, contents = self.run(
            lambda held, primed: draw(self.layout, held, outlet, volume, primed_if_unknown=primed),
            self.contents,
        )
        self.ledger.book(tank, used=drawn.mid.drawn, short=drawn.mid.short)
        self.becomes(contents, entry.kind, entry.number)

    def _open_tap(self, entry: Entry, opened: TapOpened, run: Run) -> None:
        is_pump = opened.source is not None
        outlet = None if is_pump else outlet_for(self.site, self.layout, opened.outlet, opened.bed)
        tap = opened_tap(entry, opened, outlet)
        self._running.append(Running(tap, tap.outlet, run, self.now))
        self.stretches.see(self.now, "pump-on" if is_pump else "tap-open", tap.target or outlet or "")

    def _close_tap(self, entry: Entry, closed: TapClosed) -> None:
        place = tap_to_close([running.tap for running in self._running], closed)
        if place is None:
            return
        tap = self._running.pop(place).tap
        # Switched on and off in one minute of the journal: the litres told moved at once.
        if not closed.volume_l or instant(tap.since) < self.now:
            return
        if not tap.is_pump:
            self._use(entry, Use(closed.volume_l, tap.outlet, tap.bed))
        elif {tap.source, tap.target} <= self.layout.tanks.keys():
            self._move(entry, Move(closed.volume_l, tap.source or "", tap.target or ""))

    def _run_tap(self, running: Running, moment: datetime) -> None:
        """Draw what an open tap gives until `moment`; without a known rate, anything from nothing to all of it."""
        outlet = running.outlet
        if running.tap.is_pump:
            self.run_pump(running, moment)
            return
        if outlet is None or outlet not in self.layout.outlets or moment <= running.until:
            return
        tank = self.layout.outlets[outlet].tank
        volume = WITHOUT_END
        if running.rate is not None:
            volume = running.rate * (moment - running.until).total_seconds()
            self.stirs.add(self.layout, running.until, moment, {tank: -volume})
        if not self.has_begun:
            return
        self.stretches.see(self.now, "tap-open", outlet)
        self.let_run_off()
        if running.rate is not None:
            drawn, contents = self.run(
                lambda held, primed: draw(self.layout, held, outlet, volume, primed_if_unknown=primed),
                self.contents,
            )
            self.ledger.book(tank, used=drawn.mid.drawn)
            self.becomes(contents, "tap")
            return
        emptied = draw(self.layout, self.contents.low, outlet, volume)
        before = self.contents
        low = {key: min(volume, before.low[key]) for key, volume in emptied.contents.items()}
        self.overlap = replace(self.overlap, under=0.0)
        self.becomes(Three(low, before.mid, before.high), "tap")
        self.unknown |= {
            key for key in low if before.high[key] - low[key] > SAME_WATER and low[key] < before.low[key]
        }

    def _move(self, entry: Entry, move: Move) -> None:
        if not {move.source, move.target} <= self.layout.tanks.keys():
            return
        volume = move.volume_l / 1000.0
        self.stirs.add(self.layout, self.now, self.now, {move.source: -volume, move.target: volume})
        if self.has_begun:
            self.transfer(move.source, move.target, volume, entry.kind, entry.number)

    def _pour_in(self, entry: Entry, poured: Pour) -> None:
        if poured.tank not in self.layout.tanks:
            return
        if poured.volume_l is not None:
            self.stirs.add(self.layout, self.now, self.now, {poured.tank: poured.volume_l / 1000.0})
        if not self.has_begun:
            return
        if poured.volume_l is None:
            self.stretches.see(self.now, "unmeasured", poured.tank, poured.what)
            self._pour(Three({}, {}, {poured.tank: WITHOUT_END}), entry.kind, entry.number)
            self.unknown |= {key for key in self.layout.tanks if spread(self.contents, key) > SAME_WATER}
            return
        volume = poured.volume_l / 1000.0
        self.ledger.book(poured.tank, poured=volume)
        self._pour(alike({poured.tank: volume}), entry.kind, entry.number)

    # --- the garden changed

    def _change(self, entry: Entry, change: Change) -> None:
        self.arrangement = self.arrangement.after(change, entry.at)
        if change.state in ("drain-open", "winter", "in-use"):
            self.stretches.see(self.now, change.state, change.item)
        self.take_up(self.layouts.at(entry.at, self.arrangement), entry.kind, entry.number)

    # --- reading the water

    def _dip(self, entry: Entry, dips: Dips) -> None:
        depths = dipped_depths(self.layout, dips, self.arrangement.void_shapes)
        if not depths.mid:
            return
        before = self.contents if self.has_begun else None
        result = dip_tracks(self.layout, depths, before, self.unknown, self.site.accuracy)
        derived = result.anchored - depths.mid.keys()
        is_survey = len(depths.mid) > 1
        left = 0.0
        if self.layout.links and (derived or is_survey):
            left = self.stirs.seconds_left(self.layout, result.contents.mid, self.now)
        if is_survey:
            self.together.append(Together(self.now, entry.number, self.layout, depths, left))
        if not derived:
            # Every tank was read by its own stick: the litres are right whether or not they have levelled.
            left = 0.0
        contents = result.contents
        if before is not None:
            self.stretches.close(
                self.layout,
                self.now,
                entry.number,
                before,
                result,
                self.ledger,
                is_settled=left <= 0.0,
                is_winter=self.arrangement.is_winter,
            )
            if left > 0.0:
                contents = self._kept_open(before, contents, result.anchored)
            self._book_correction(before, contents)
            self.overlap = self.overlap.read(before, contents, result.anchored)
        self.overlap = self.overlap.rested(contents, result.rest)
        self.stretches.begin(
            result.anchored, self.now, result, is_settled=left <= 0.0, is_winter=self.arrangement.is_winter
        )
        self.ledger.clear(result.anchored)
        self.has_begun, self.basis = True, "dip"
        self.unknown, self.contents = result.unknown, contents
        self.states, self.unsettled, self.dips_spread = result.states, left, result.spread
        self.rest = result.rest
        self.stands_above_a_lip = True
        self.lose_prime()
        self.remember(entry.kind, entry.number)

    def _kept_open(
        self, before: Three[Contents], contents: Three[Contents], anchored: frozenset[str]
    ) -> Three[Contents]:
        """Return `contents` with ends wide enough for the estimate too: a provisional dip decides nothing."""
        low, high = dict(contents.low), dict(contents.high)
        for tank in anchored - self.unknown:
            low[tank] = min(low[tank], before.low[tank])
            high[tank] = max(high[tank], before.high[tank])
        return Three(low, contents.mid, high)

    def _book_correction(self, before: Three[Contents], contents: Three[Contents]) -> None:
        for tank in self.layout.tanks:
            self.ledger.book(tank, corrected=contents.mid[tank] - before.mid[tank])


def _apart(thing: T) -> T:
    """Return a copy whose lists and mappings are its own."""
    own = copy(thing)
    for name, value in vars(thing).items():
        if isinstance(value, list | dict):
            setattr(own, name, copy(value))
    return own
