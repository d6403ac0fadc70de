"""Litres that came and went since each tank was last read, kept by tank so that a dip clears only what it replaces."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields


@dataclass(frozen=True)
class Moved:
    """Water that came, went and was lost, [m3]."""

    caught: float = 0.0
    """From roofs, behind first loss, screen and first-flush pipe."""
    caught_low: float = 0.0
    """The same at the low end of the gauge's and the pipe's range."""
    caught_high: float = 0.0
    """The same at the high end; infinite when the gauge only gave a lower bound."""
    first_flush: float = 0.0
    """Kept back by first-flush pipes."""
    spilled: float = 0.0
    """Gone over a lip."""
    used: float = 0.0
    """Drawn from outlets."""
    short: float = 0.0
    """Noted as drawn or moved but not there to be had."""
    poured: float = 0.0
    """From elsewhere: hose, melt, dew."""
    transferred: float = 0.0
    """Brought by pump or bucket from other tanks, less what was taken to them."""
    removed: float = 0.0
    """Gone with a tank that left the garden, or out of an open drain."""
    corrected: float = 0.0
    """What dips showed beyond (or, negative, short of) the estimate they replaced."""

    def __add__(self, other: Moved) -> Moved:
        return Moved(**{name: getattr(self, name) + getattr(other, name) for name in _NAMES})


NOTHING_MOVED = Moved()
"""Not a drop."""

_NAMES = tuple(item.name for item in fields(Moved))


class Ledger:
    """Running `Moved` of each tank since it was last read, and of the whole garden since the start."""

    def __init__(self) -> None:
        self._by_tank: dict[str, dict[str, float]] = {}
        self._ever: dict[str, float] = dict.fromkeys(_NAMES, 0.0)

    def branch(self) -> Ledger:
        """Return a ledger of its own that goes on from here."""
        own = Ledger()
        own._by_tank = {tank: dict(lines) for tank, lines in self._by_tank.items()}
        own._ever = dict(self._ever)
        return own

    def book(self, tank: str, **amounts: float) -> None:
        """Add `amounts` of the fields of `Moved` to `tank`, [m3]."""
        lines = self._by_tank.setdefault(tank, {})
        for name, amount in amounts.items():
            if amount:
                lines[name] = lines.get(name, 0.0) + amount
                self._ever[name] += amount

    def book_all(self, name: str, amounts: Mapping[str, float]) -> None:
        """Add one kind of amount for several tanks, [m3]."""
        for tank, amount in amounts.items():
            self.book(tank, **{name: amount})

    def clear(self, tanks: Iterable[str]) -> None:
        """Start afresh for `tanks`: a dip has replaced their estimate."""
        for tank in tanks:
            self._by_tank.pop(tank, None)

    def since_read(self, tanks: Iterable[str] | None = None) -> Moved:
        """Return what moved since each tank was last read, summed over `tanks` or all."""
        chosen = self._by_tank if tanks is None else [tank for tank in tanks if tank in self._by_tank]
        total = dict.fromkeys(_NAMES, 0.0)
        for tank in chosen:
            for name, amount in self._by_tank[tank].items():
                total[name] += amount
        return Moved(**total)

    def ever(self) -> Moved:
        """Return what moved since the first dip."""
        return Moved(**self._ever)
