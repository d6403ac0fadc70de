"""The stretches of the balance while the journal is walked: where each began, what was seen in it, how it closed."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from tankdash.keeping.state.dipped import DipResult
from tankdash.keeping.state.ledger import Ledger
from tankdash.keeping.state.standing import Residual, Seen
from tankdash.keeping.state.tracks import Three
from tankdash.water.model import Contents, Layout
from tankdash.water.sills import banks


@dataclass(frozen=True)
class StretchStart:
    """Where a tank's stretch begins: its last reading."""

    at: datetime
    volume: float
    """[m3]."""
    stick: float
    """What the stick's accuracy comes to in it, [m3]."""
    is_settled: bool
    is_winter: bool
    rain_mm: float
    """Rain noted up to then since the walk began."""
    by_roof: Mapping[str, float]
    """Catch of each roof up to then since the walk began, [m3]."""


class Stretches:
    """What the balance needs to know, noted as it happens."""

    def __init__(self) -> None:
        self.starts: dict[str, StretchStart] = {}
        self.residuals: list[Residual] = []
        self.sightings: list[Seen] = []
        self._rain_mm = 0.0
        self._by_roof: dict[str, float] = {}

    @property
    def read_at(self) -> dict[str, datetime]:
        """Return when each tank was last read."""
        return {tank: start.at for tank, start in self.starts.items()}

    def rained(self, depth_mm: float) -> None:
        """Note rain, wherever it went."""
        self._rain_mm += depth_mm

    def caught(self, by_roof: Mapping[str, float]) -> None:
        """Note what roofs brought, [m3]."""
        for roof, amount in by_roof.items():
            self._by_roof[roof] = self._by_roof.get(roof, 0.0) + amount

    def see(self, at: datetime, what: str, item: str = "", detail: str = "", depth_mm: float = 0.0) -> None:
        """Note something that bears on the balance."""
        self.sightings.append(Seen(at, what, item, detail, depth_mm))

    def seen_since(self, start: datetime | None) -> tuple[Seen, ...]:
        """Return what was noted after `start`; all of it when that is None."""
        place = 0 if start is None else bisect_right(self.sightings, start, key=lambda seen: seen.at)
        return tuple(self.sightings[place:])

    def begin(
        self, tanks: Iterable[str], at: datetime, result: DipResult, *, is_settled: bool, is_winter: bool
    ) -> None:
        """Begin the stretch of each tank that a dip has read."""
        for tank in tanks:
            self.starts[tank] = StretchStart(
                at,
                result.contents.mid[tank],
                result.sticks.get(tank, 0.0),
                is_settled,
                is_winter,
                self._rain_mm,
                dict(self._by_roof),
            )

    def close(
        self,
        layout: Layout,
        at: datetime,
        entry: int,
        before: Three[Contents],
        result: DipResult,
        ledger: Ledger,
        *,
        is_settled: bool,
        is_winter: bool,
    ) -> None:
        """Note, bank by bank, how a dip compares with the estimate it replaces (R14)."""
        for bank in banks(layout):
            tanks = tuple(tank for tank in bank if tank in result.anchored and tank in self.starts)
            if not tanks:
                continue
            starts = [self.starts[tank] for tank in tanks]
            first = min(starts, key=lambda start: start.at)
            filling = {roof.id for roof in layout.roofs.values() if roof.fills in tanks}
            seen = self.seen_since(first.at)
            was_laid_up = any(one.what in ("winter", "in-use") for one in seen)
            sticks = [start.stick for start in starts] + [result.sticks.get(tank, 0.0) for tank in tanks]
            self.residuals.append(
                Residual(
                    start=first.at,
                    end=at,
                    entry=entry,
                    tanks=tanks,
                    was=sum(start.volume for start in starts),
                    expected=_together(before, tanks),
                    seen=_together(result.contents, tanks),
                    stick=sum(sticks),
                    moved=ledger.since_read(tanks),
                    rain_mm=self._rain_mm - first.rain_mm,
                    is_settled=is_settled and all(start.is_settled for start in starts),
                    is_winter=is_winter or was_laid_up or any(start.is_winter for start in starts),
                    by_roof={
                        roof: self._by_roof.get(roof, 0.0) - first.by_roof.get(roof, 0.0) for roof in filling
                    },
                    sightings=seen,
                )
            )


def _together(contents: Three[Contents], tanks: tuple[str, ...]) -> Three[float]:
    """Return what `tanks` hold in all, at each end, [m3]."""
    return contents.map(lambda track: sum(track[tank] for tank in tanks))
