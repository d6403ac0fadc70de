"""The desk both faces sit at: one site and its journal, and every question and entry there is.

What the screen shows a command prints, because both ask here. Nothing reads the clock: `now` is always an argument.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar

from tankdash.journal.entries import Change, Dips, Entry, Frost, Move, Note, Pour, Rain, Record, Use
from tankdash.journal.store import Draft, Journal, default_journal_path
from tankdash.keeping.checking.balance import Balance, balance_of
from tankdash.keeping.checking.survey import Survey, survey_of
from tankdash.keeping.chores.due import chores_at
from tankdash.keeping.chores.history import histories
from tankdash.keeping.chores.state import ChoreState
from tankdash.keeping.chores.turns import ChoreHistory
from tankdash.keeping.entering import records
from tankdash.keeping.rain.flush import Fallen, fallen_by
from tankdash.keeping.rain.rainfall import rainfall
from tankdash.keeping.rain.temperatures import with_past_temperatures
from tankdash.keeping.rain.totals import RainTotal, totals_of
from tankdash.keeping.state.arrangement import arrangement_at
from tankdash.keeping.state.faults import layout_cautions
from tankdash.keeping.state.figures import Caution
from tankdash.keeping.state.levels import Levels, levels_of
from tankdash.keeping.state.replay import in_force, replay, walk_to
from tankdash.keeping.state.standing import Standing
from tankdash.keeping.state.steady import steady_until
from tankdash.keeping.state.trail import Trail
from tankdash.keeping.state.walk import Walk
from tankdash.keeping.state.what_if import Flush, imagined, what_if
from tankdash.keeping.state.words import label
from tankdash.keeping.track import Track, track_of
from tankdash.site import load
from tankdash.site.model import Site
from tankdash.units import Depths
from tankdash.water.model import Layout

T = TypeVar("T")

KEPT_ANSWERS = 64
"""Answers kept for one state of the journal; a screen asks for few and often."""


@dataclass(frozen=True)
class Signs:
    """What tells that somebody else has changed the files."""

    site: tuple[int, int] | None
    """Time and size of the site file; None when there is none."""
    journal: int
    """Stamp of the journal."""


class Desk:
    """A site and its journal. Answers are kept until either changes."""

    def __init__(self, site: Site, journal: Journal) -> None:
        self.journal = journal
        self.site = with_past_temperatures(site, journal)
        self._answers: dict[object, Any] = {}
        self._answers_stamp = -1
        self._trail = Trail()
        self._fallen_last: Fallen | None = None
        self._entries: list[Entry] = []
        self._signs = self._look()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the journal's file."""
        self.journal.close()

    # --- the files

    def changed_on_disk(self) -> bool:
        """Return whether the site file or the journal was changed since this was last asked or entered here."""
        signs = self._look()
        changed = signs != self._signs
        self._signs = signs
        return changed

    def reload_site(self) -> None:
        """Read the site file again; raises its problems and keeps the old site if there are any."""
        if self.site.path is not None:
            self.site = with_past_temperatures(load(self.site.path), self.journal)
            self._answers.clear()
            self._trail, self._fallen_last = Trail(), None

    def _look(self) -> Signs:
        path, sign = self.site.path, None
        if path is not None:
            try:
                stat = path.stat()
                sign = (stat.st_mtime_ns, stat.st_size)
            except OSError:
                sign = None
        return Signs(sign, self.journal.stamp())

    # --- questions

    def entries(self) -> list[Entry]:
        """Return the journal in the order of the times it is about, entries taken back left out."""
        self._refresh()
        return self._entries

    def standing(self, now: datetime) -> Standing:
        """Return the water at `now` and how it is known."""
        return self._kept(("standing", now), lambda: self._walk(now).branch().standing(now))

    def layout(self, now: datetime) -> Layout:
        """Return the garden as it stands at `now`, with what the journal has set."""
        return self.standing(now).layout

    def levels(self, now: datetime) -> Levels:
        """Return the figures of `levels`."""
        return self._kept(
            ("levels", now),
            lambda: levels_of(self.site, self.standing(now), extra=self._other_cautions(now)),
        )

    def try_out(
        self,
        now: datetime,
        records: Sequence[Record] = (),
        rain: Depths | None = None,
        flush: Flush | None = None,
    ) -> Levels:
        """Return the levels after what has not happened; writes nothing."""
        return what_if(
            self.site,
            self.entries(),
            now,
            records,
            rain,
            flush,
            extra=self._kept(("evenness", now), lambda: self._other_cautions(now, only_site=True)),
            walk=self._walk(now),
        )

    def preview(self, record: Record, now: datetime, at: datetime | None = None) -> Levels:
        """Return the levels at `now` as if `record` were entered for `at`, for now unless given; writes nothing."""
        if isinstance(record, Frost) or record == Note():  # neither of these moves water
            return self.levels(now)
        if at in (None, now) and isinstance(record, Dips | Change | Move | Pour | Use):
            return self._kept(("preview", record, now), lambda: self.try_out(now, [record]))
        entry = imagined(record, at or now, now)
        return levels_of(self.site, replay(self.site, [*self.entries(), entry], now), is_what_if=True)

    def preview_chores(self, record: Record, now: datetime, at: datetime | None = None) -> list[ChoreState]:
        """Return every chore at `now` as if `record` were entered for `at`, for now unless given."""
        if not isinstance(record, Rain | Frost):  # nothing else that a form asks for brings a chore on
            return self.chores(now)
        entries = [*self.entries(), imagined(record, at or now, now)]
        return chores_at(self.site, entries, now, self.usable_share(now))

    def chores(self, now: datetime) -> list[ChoreState]:
        """Return every chore with its state and reason."""
        share = self.usable_share(now)
        return self._kept(
            ("chores", now),
            lambda: chores_at(
                self.site, self.entries(), now, share, fallen=self._fallen(now), pasts=self._pasts(now)
            ),
        )

    def usable_share(self, now: datetime) -> float | None:
        """Return what is usable as a share of what is usable when full; None when nobody can know."""
        percent = self.levels(now).totals.percent
        return None if percent is None else percent / 100.0

    def steady_until(self, standing: Standing) -> datetime | None:
        """Return the first moment after that of `standing` at which the water may change by itself."""
        return steady_until(self.site, self.entries(), standing)

    def rain_by_day(self, now: datetime, start: date | None, end: date) -> list[RainTotal]:
        """Return the rain of each local day from `start`, or the first one booked, to `end`, both inclusive."""
        return totals_of("day", self._fallen(now).readings, self.site.rain, self.site.zone, start, end)

    def rainfall(self, now: datetime, until: date | None = None) -> dict[str, Any]:
        """Return events, months and completeness: the JSON of `rainfall`."""
        known = in_force(self.entries(), now)
        return rainfall(known, self.site.rain, self.site.zone, until, self._fallen(now).readings)

    def history(self, now: datetime) -> Standing:
        """Return the water at `now` with all the way there: every moment and every residual."""
        return self._kept(
            ("history", now),
            lambda: replay(
                self.site, self.entries(), now, whole=True, fallen=self._fallen(now), trail=self._trail
            ),
        )

    def track(self, now: datetime, start: date, end: date) -> Track:
        """Return what the timeline draws for the local days from `start` to `end`, both inclusive."""
        key = ("track", now, start, end)
        return self._kept(
            key,
            lambda: track_of(
                self.site,
                self.entries(),
                self.history(now),
                now,
                start,
                end,
                fallen=self._fallen(now),
                pasts=self._pasts(now),
            ),
        )

    def balance(self, now: datetime) -> Balance:
        """Return each stretch between dips with its finding, and the runoff learned from them."""
        return self._kept(("balance", now), lambda: balance_of(self.site, self.history(now)))

    def survey(self, now: datetime, reference: str | None = None) -> Survey:
        """Return the bases by the water itself, and what they cost."""
        key = ("survey", now, reference)
        return self._kept(key, lambda: survey_of(self.site, self.history(now), reference))

    # --- entries

    def record(
        self, record: Record, at: datetime, words: str, note: str = "", now: datetime | None = None
    ) -> Entry:
        """Write one entry; it is on disk when this returns."""
        entry = self.journal.add(record, at, words, note, entered=now if now is not None else at)
        self._signs = self._look()
        return entry

    def record_many(self, drafts: Iterable[Draft], now: datetime) -> list[Entry]:
        """Write several entries, all of them or none."""
        entries = self.journal.add_many(drafts, now)
        self._signs = self._look()
        return entries

    def undo(self, now: datetime, words: str = "undo") -> Entry | None:
        """Take the last entry back and return it; None when there is none."""
        entry = self.journal.undo(now, words)
        self._signs = self._look()
        return entry

    def tick(self, chore: str, at: datetime, now: datetime, note: str = "") -> Entry:
        """Note a chore as done; raises EntryError for an unknown one, or a time before the rain it answers."""
        rains = self._fallen(now).rains
        done = records.enter_done(self.site, chore, at, self.entries(), now, rains)
        return self.record(done, at, f"done {chore.strip()}", note, now)

    # --- within

    def _walk(self, now: datetime) -> Walk:
        """Return the journal walked to `now`; whoever walks on takes a branch of it."""
        return self._kept(
            ("walk", now), lambda: walk_to(self.site, self.entries(), now, fallen=self._fallen(now))
        )

    def _fallen(self, now: datetime) -> Fallen:
        """Return the rain up to `now`, which levels, warnings and chores all ask for."""
        return self._kept(("fallen", now), lambda: self._fall(now))

    def _fall(self, now: datetime) -> Fallen:
        self._fallen_last = fallen_by(self.site, self.entries(), now, self._fallen_last)
        return self._fallen_last

    def _pasts(self, now: datetime) -> list[ChoreHistory]:
        """Return how every chore fared up to `now`, which states and marks both ask for."""
        return self._kept(
            ("pasts", now), lambda: histories(self.site, self.entries(), self._fallen(now).rains, now)
        )

    def _refresh(self) -> None:
        stamp = self.journal.stamp()
        if stamp != self._answers_stamp:
            self._answers.clear()
            self._answers_stamp = stamp
            self._entries = self.journal.entries()

    def _kept(self, key: object, answer: Callable[[], T]) -> T:
        self._refresh()
        if key not in self._answers:
            if len(self._answers) >= KEPT_ANSWERS:
                self._answers.pop(next(iter(self._answers)))
            self._answers[key] = answer()
        kept: T = self._answers[key]
        return kept

    def _other_cautions(self, now: datetime, only_site: bool = False) -> tuple[Caution, ...]:
        """Return what others know that belongs beside the levels: the layout's faults, pipes left full."""
        layout = arrangement_at(self.entries(), now).layout(self.site, now.astimezone(self.site.zone).date())
        cautions = list(layout_cautions(self.site, layout))
        if not only_site:
            for roof, state in self._fallen(now).pipes.items():
                if state.unflushed:
                    rains = "1 rain" if state.unflushed == 1 else f"{state.unflushed} rains"
                    cautions.append(
                        Caution(
                            "unflushed",
                            f"{rains} ran into the tanks over the full first-flush pipe of "
                            f"{label(self.site, roof)}: empty it.",
                        )
                    )
        return tuple(cautions)


def open_desk(site_path: Path | str, journal_path: Path | str | None = None) -> Desk:
    """Return the desk for a site file and its journal beside it, or elsewhere.

    Raises
    ------
    SiteError
        With every problem of the site file.
    JournalError
        If the journal cannot be read.
    """
    site = load(Path(site_path))
    path = Path(journal_path) if journal_path is not None else default_journal_path(Path(site_path))
    return Desk(site, Journal.open(path))
