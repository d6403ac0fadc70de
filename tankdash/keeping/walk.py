"""The journal walked in the order of time: every happening applied to the water as the garden stood then (R14)."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import inf

from tankdash.journal.entries import Change, Dips, Entry, Move, Note, Pour, TapClosed, TapOpened, Use
from tankdash.keeping.arrangement import Arrangement, Layouts
from tankdash.keeping.catching import NOTHING, Brought, Fall, FallSoFar
from tankdash.keeping.ledger import Ledger
from tankdash.keeping.outlets import outlet_for
from tankdash.keeping.running_off import run_off
from tankdash.keeping.reading import DipResult, dip_tracks, dipped_depths
from tankdash.keeping.settling import LONGEST_LOOK_BACK, Stir, longest_wait, seconds_left
from tankdash.keeping.standing import Basis, Moment, OpenTap, Residual, Seen, Standing, Together
from tankdash.keeping.tracks import SAME_WATER, Three, alike, clamped, ordered, spread
from tankdash.keeping.when import instant
from tankdash.site.model import Site
from tankdash.water.emptying import draw, transfer, unprimed_by
from tankdash.water.filling import pour
from tankdash.water.holding import full
from tankdash.water.model import Contents, Layout, Outlet
from tankdash.water.rest import AtRest
from tankdash.water.sills import banks

WITHOUT_END = 1.0e6
"""Water asked for or poured where nobody knows how much: more than any garden holds, [m3]."""


@dataclass(frozen=True)
class Running:
    """A tap that stands open while the walk goes on."""

    tap: OpenTap
    outlet: str | None
    rate: float | None
    """Known once the closing entry told it, [m3/s]."""
    until: datetime
    """To when it has been drawn, UTC."""


@dataclass(frozen=True)
class StretchStart:
    """Where a tank's stretch of the balance begins: its last reading."""

    at: datetime
    volume: float
    stick: float
    is_settled: bool
    rain_mm: float
    """Rain noted up to then since the walk began."""
    is_winter: bool


class Walk:
    """The water while the journal is walked; one step per happening, in order of time."""

    def __init__(
        self,
        site: Site,
        layouts: Layouts,
        arrangement: Arrangement,
        start: datetime,
        tap_rates: Mapping[int, float | None],
        open_taps: Iterable[OpenTap] = (),
    ) -> None:
        self.site, self.layouts, self.arrangement = site, layouts, arrangement
        self.now = instant(start)
        self.layout: Layout = layouts.at(start, arrangement)
        self.has_begun = False
        self.contents: Three[Contents] = alike({})
        self.unknown: frozenset[str] = frozenset(self.layout.tanks)
        self.ledger = Ledger()
        self.states: Mapping[str, str] = {}
        self.rest: AtRest | None = None
        self.unsettled = self.dips_spread = 0.0
        self.history: list[Moment] = []
        self.residuals: list[Residual] = []
        self.together: list[Together] = []
        self.sightings: list[Seen] = []
        self.basis: Basis = "none"
        self._tap_rates = tap_rates
        self._fallen: dict[int, Three[float]] = {}
        self._falling: dict[int, FallSoFar] = {}
        self._running = [Running(tap, tap.outlet, tap_rates.get(tap.entry), self.now) for tap in open_taps]
        self._stands_above_a_lip = False
        self._stirs: list[Stir] = []
        self._waits: dict[int, tuple[timedelta, Layout]] = {}
        self._starts: dict[str, StretchStart] = {}
        self._rain_mm = 0.0
        self._by_roof: dict[str, float] = {}
        self._roof_starts: dict[str, dict[str, float]] = {}

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
        self._take_up(self.layouts.at(moment, self.arrangement), "garden", None)

    def take(self, entry: Entry) -> None:
        """Apply one journal entry; rain comes through `fall_begins` and `fall_ends` instead."""
        self.advance(entry.at)
        match entry.record:
            case Dips() as dips:
                self._dip(entry, dips)
            case Use() as use:
                self._use(entry, use)
            case TapOpened() as opened:
                self._open_tap(entry, opened)
            case TapClosed() as closed:
                self._close_tap(closed)
            case Move() as move:
                self._move(entry, move)
            case Pour() as poured:
                self._pour_in(entry, poured)
            case Change() as change:
                self._change(entry, change)
            case Note(about="overflow seen" | "overflow dry" as about):
                self._sight(about)

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
            states=dict(self.states),
            rest=self.rest if self.basis == "dip" else None,
            read_at={tank: start.at for tank, start in self._starts.items()},
            moved=self.ledger.since_read(),
            ever=self.ledger.ever(),
            unsettled=self.unsettled,
            spread=self.dips_spread if self.basis == "dip" else 0.0,
            open_taps=tuple(running.tap for running in self._running),
            sightings=tuple(self._seen_since(max((s.at for s in self._starts.values()), default=None))),
            history=tuple(self.history),
            residuals=tuple(self.residuals),
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
        self._rain_mm += depth_mm
        if self.has_begun:
            if self.arrangement.is_winter:
                self._sight("rain-in-winter", depth_mm=depth_mm)
            for roof in self.arrangement.shut_roofs:
                self._sight("rain-on-shut-roof", roof, depth_mm=depth_mm)
            for tank in self.arrangement.draining:
                self._sight("rain-on-open-drain", tank, depth_mm=depth_mm)
        start = fall.start if before <= 0.0 else max(fall.start, self.now)
        self._catch(fall, brought, start, min(moment, fall.end))

    def _catch(self, fall: Fall, brought: Brought, start: datetime, end: datetime) -> None:
        caught = {tank: amount for tank, amount in brought.caught.items() if amount.high > 0.0}
        if caught:
            self._stir(start, end, {tank: amount.mid for tank, amount in caught.items()})
        if not self.has_begun:
            return
        for tank, kept in brought.flushed.items():
            self.ledger.book(tank, first_flush=kept)
        for roof, amount in brought.by_roof.items():
            self._by_roof[roof] = self._by_roof.get(roof, 0.0) + amount
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
        self._let_run_off()
        poured = self.contents.pair(inflow).map(lambda both: pour(self.layout, both[0], both[1]))
        self.ledger.book_all("spilled", poured.mid.spilled)
        self._becomes(poured.map(lambda one: one.contents), kind, entry, sum(poured.mid.spilled.values()))

    def _let_run_off(self) -> None:
        """Let go what a dip showed above a lip: by the time anything else happens it has run off (R6)."""
        if self._stands_above_a_lip:
            self._stands_above_a_lip = False
            run = self.contents.map(lambda contents: run_off(self.layout, contents))
            self.ledger.book_all("spilled", run.mid.spilled)
            self.contents = run.map(lambda one: one.contents)

    # --- drawing

    def _use(self, entry: Entry, use: Use) -> None:
        outlet = outlet_for(self.site, self.layout, use.outlet, use.bed)
        if outlet is None:
            return
        tank = self.layout.outlets[outlet].tank
        volume = use.volume_l / 1000.0
        self._stir(self.now, self.now, {tank: -volume})
        if not self.has_begun:
            return
        self._let_run_off()
        drawn = self.contents.map(lambda contents: draw(self.layout, contents, outlet, volume))
        self.ledger.book(tank, used=drawn.mid.drawn, short=drawn.mid.short)
        self.ledger.book_all("spilled", drawn.mid.spilled)
        self._becomes(drawn.map(lambda one: one.contents), entry.kind, entry.number)

    def _open_tap(self, entry: Entry, opened: TapOpened) -> None:
        outlet = outlet_for(self.site, self.layout, opened.outlet, opened.bed)
        tap = OpenTap(opened.outlet or outlet, entry.at, opened.bed, entry.number)
        self._running.append(Running(tap, outlet, self._tap_rates.get(entry.number), self.now))
        self._sight("tap-open", outlet or "")

    def _close_tap(self, closed: TapClosed) -> None:
        place = tap_to_close([running.tap for running in self._running], closed)
        if place is not None:
            del self._running[place]

    def _run_tap(self, running: Running, moment: datetime) -> None:
        """Draw what an open tap gives until `moment`; without a known rate, anything from nothing to all of it."""
        outlet = running.outlet
        if outlet is None or outlet not in self.layout.outlets or moment <= running.until:
            return
        tank = self.layout.outlets[outlet].tank
        volume = WITHOUT_END
        if running.rate is not None:
            volume = running.rate * (moment - running.until).total_seconds()
            self._stir(running.until, moment, {tank: -volume})
        if not self.has_begun:
            return
        self._sight("tap-open", outlet)
        self._let_run_off()
        if running.rate is not None:
            drawn = self.contents.map(lambda contents: draw(self.layout, contents, outlet, volume))
            self.ledger.book(tank, used=drawn.mid.drawn)
            self.ledger.book_all("spilled", drawn.mid.spilled)
            self._becomes(drawn.map(lambda one: one.contents), "tap", None)
            return
        emptied = draw(self.layout, self.contents.low, outlet, volume)
        before = self.contents
        low = {key: min(volume, before.low[key]) for key, volume in emptied.contents.items()}
        self._becomes(Three(low, before.mid, before.high), "tap", None)
        self.unknown |= {
            key for key in low if before.high[key] - low[key] > SAME_WATER and low[key] < before.low[key]
        }

    def _move(self, entry: Entry, move: Move) -> None:
        if not {move.source, move.target} <= self.layout.tanks.keys():
            return
        volume = move.volume_l / 1000.0
        self._stir(self.now, self.now, {move.source: -volume, move.target: volume})
        if not self.has_begun:
            return
        self._let_run_off()
        done = self.contents.map(
            lambda contents: transfer(self.layout, contents, move.source, move.target, volume)
        )
        self.ledger.book_all("spilled", done.mid.spilled)
        self.ledger.book(move.source, short=done.mid.short)
        self._becomes(
            done.map(lambda one: one.contents), entry.kind, entry.number, sum(done.mid.spilled.values())
        )

    def _pour_in(self, entry: Entry, poured: Pour) -> None:
        if poured.tank not in self.layout.tanks:
            return
        if poured.volume_l is not None:
            self._stir(self.now, self.now, {poured.tank: poured.volume_l / 1000.0})
        if not self.has_begun:
            return
        if poured.volume_l is None:
            self._sight("unmeasured", poured.tank, poured.what)
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
            self._sight(change.state, change.item)
        self._take_up(self.layouts.at(entry.at, self.arrangement), entry.kind, entry.number)

    def _take_up(self, layout: Layout, kind: str, entry: int | None) -> None:
        """Let the water find its rest in a changed garden; every tank keeps its litres first."""
        before_layout, self.layout = self.layout, layout
        if not self.has_begun:
            self.unknown = frozenset(layout.tanks)
            return
        if layout is before_layout:
            return
        for tank in before_layout.tanks.keys() - layout.tanks.keys():
            self.ledger.book(tank, removed=self.contents.mid[tank])
        self.unknown &= layout.tanks.keys()
        before = self.contents.map(lambda contents: clamped(contents, layout))
        rested = before.map(lambda contents: pour(layout, contents, {}))
        self.ledger.book_all("spilled", rested.mid.spilled)
        run = rested.map(lambda one: run_off(layout, one.contents))
        self.ledger.book_all("spilled", run.mid.spilled)
        after = self._drained(run.map(lambda one: one.contents))
        bump = {key: before.mid[key] - after.mid[key] for key in layout.tanks}
        if any(abs(amount) > SAME_WATER for amount in bump.values()):
            self._stir(self.now, self.now, bump)
            spilled = sum(rested.mid.spilled.values()) + sum(run.mid.spilled.values())
            self._becomes(after, kind, entry, spilled)
        else:
            self._becomes(after, kind, entry, is_change=False)

    def _drained(self, contents: Three[Contents]) -> Three[Contents]:
        """Return what open drains leave: the water above the drain's height, of all that can run to it, goes (F37)."""
        for key in self.arrangement.draining & self.layout.tanks.keys():
            drain = Outlet("drain", key, self.layout.tanks[key].lip)
            opened = replace(self.layout, outlets={drain.id: drain})
            run = contents.map(lambda held, opened=opened: draw(opened, held, "drain", WITHOUT_END))  # type: ignore[misc]
            self.ledger.book(key, removed=run.mid.drawn)
            self.ledger.book_all("spilled", run.mid.spilled)
            contents = run.map(lambda one: one.contents)
        return contents

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
            left = self._still_running(result.contents.mid)
        if is_survey:
            self.together.append(Together(self.now, entry.number, self.layout, depths, left))
        if not derived:
            # Every tank was read by its own stick: the litres are right whether or not they have levelled.
            left = 0.0
        contents = result.contents
        if before is not None:
            self._close_stretches(entry, before, result, left <= 0.0)
            if left > 0.0:
                contents = self._kept_open(before, contents, result.anchored)
            self._book_correction(before, contents)
        for tank in result.anchored:
            self._starts[tank] = StretchStart(
                self.now,
                contents.mid[tank],
                result.sticks.get(tank, 0.0),
                left <= 0.0,
                self._rain_mm,
                self.arrangement.is_winter,
            )
            self._roof_starts[tank] = dict(self._by_roof)
        self.ledger.clear(result.anchored)
        self.has_begun, self.basis = True, "dip"
        self.unknown, self.contents = result.unknown, contents
        self.states, self.unsettled, self.dips_spread = result.states, left, result.spread
        self.rest = result.rest
        self._stands_above_a_lip = True
        self._lose_prime()
        self._remember(entry.kind, entry.number)

    def _still_running(self, contents: Contents) -> float:
        """Return how long the links still need to level what was stirred before a dip (R12), [s]."""
        recent = [stir for stir in self._stirs if self.now - stir.end < LONGEST_LOOK_BACK]
        if not recent:
            return 0.0
        wait = self._waits.get(id(self.layout))
        if wait is None:
            # The layout is kept beside it so that its identity cannot be given to another one.
            wait = self._waits[id(self.layout)] = (
                longest_wait(self.layout, self.site.accuracy),
                self.layout,
            )
        recent = [stir for stir in recent if self.now - stir.end < wait[0]]
        return seconds_left(self.layout, contents, recent, self.now, self.site.accuracy)

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

    def _close_stretches(
        self, entry: Entry, before: Three[Contents], result: DipResult, is_settled: bool
    ) -> None:
        """Note, bank by bank, how the dip compares with the estimate it replaces."""
        for bank in banks(self.layout):
            tanks = tuple(tank for tank in bank if tank in result.anchored and tank in self._starts)
            if not tanks:
                continue
            starts = [self._starts[tank] for tank in tanks]
            first = min(starts, key=lambda start: start.at)
            filling = {roof.id for roof in self.layout.roofs.values() if roof.fills in tanks}
            earlier = self._roof_starts.get(tanks[0], {})
            self.residuals.append(
                Residual(
                    start=first.at,
                    end=self.now,
                    entry=entry.number,
                    tanks=tanks,
                    was=sum(start.volume for start in starts),
                    expected=_together(before, tanks),
                    seen=_together(result.contents, tanks),
                    stick=sum(start.stick for start in starts)
                    + sum(result.sticks.get(tank, 0.0) for tank in tanks),
                    moved=self.ledger.since_read(tanks),
                    rain_mm=self._rain_mm - first.rain_mm,
                    is_settled=is_settled and all(start.is_settled for start in starts),
                    is_winter=self.arrangement.is_winter or any(start.is_winter for start in starts),
                    by_roof={roof: self._by_roof.get(roof, 0.0) - earlier.get(roof, 0.0) for roof in filling},
                    sightings=tuple(self._seen_since(first.at)),
                )
            )

    # --- small change

    def _becomes(
        self,
        contents: Three[Contents],
        kind: str,
        entry: int | None,
        spilled: float = 0.0,
        is_change: bool = True,
    ) -> None:
        before, self.contents = self.contents, ordered(contents)
        if is_change:
            self.basis = "estimate"
        if self.unknown:
            self._spread_unknown(before)
        self._lose_prime()
        self._remember(kind, entry, spilled)

    def _spread_unknown(self, before: Three[Contents]) -> None:
        """Keep in `unknown` what still is, and what an unknown neighbour's water has made so."""
        still = {tank for tank in self.unknown if spread(self.contents, tank) > SAME_WATER}
        for bank in banks(self.layout):
            if not self.unknown.isdisjoint(bank):
                still |= {
                    tank
                    for tank in bank
                    if spread(self.contents, tank) > SAME_WATER
                    and (
                        tank not in before.mid
                        or spread(self.contents, tank) > spread(before, tank) + SAME_WATER
                    )
                }
        self.unknown = frozenset(still)

    def _lose_prime(self) -> None:
        """Note the siphons that have drawn air; they stay so when the level comes back (F03)."""
        if not any(link.crest is not None and link.primed for link in self.layout.links.values()):
            return
        lost = unprimed_by(self.layout, self.contents.low) & unprimed_by(self.layout, self.contents.high)
        if lost:
            self.arrangement = self.arrangement.with_prime_lost(sorted(lost))
            self.layout = self.layouts.at(self.now, self.arrangement)

    def _remember(self, kind: str, entry: int | None, spilled: float = 0.0) -> None:
        self.history.append(Moment(self.now, kind, entry, self.layout, self.contents, self.unknown, spilled))

    def _stir(self, start: datetime, end: datetime, bump: Mapping[str, float]) -> None:
        if not self.layout.links:
            return
        oldest = end - LONGEST_LOOK_BACK
        self._stirs = [stir for stir in self._stirs if stir.end >= oldest]
        self._stirs.append(Stir(start, end, dict(bump)))

    def _sight(self, what: str, item: str = "", detail: str = "", depth_mm: float = 0.0) -> None:
        self.sightings.append(Seen(self.now, what, item, detail, depth_mm))

    def _seen_since(self, start: datetime | None) -> list[Seen]:
        if start is None:
            return list(self.sightings)
        place = bisect_right(self.sightings, start, key=lambda seen: seen.at)
        return self.sightings[place:]


def _together(contents: Three[Contents], tanks: tuple[str, ...]) -> Three[float]:
    """Return what `tanks` hold in all, at each end, [m3]."""
    return contents.map(lambda track: sum(track[tank] for tank in tanks))


def tap_to_close(taps: list[OpenTap], closed: TapClosed) -> int | None:
    """Return which of the open `taps` an entry that closes one means: the last that fits, None when none does."""
    for place in reversed(range(len(taps))):
        if closed.outlet in (None, taps[place].outlet):
            return place
    return None
