"""Heights on a picture: which line of cells a height falls in, and where the axis gets its ticks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor

from tankdash.units import Units

_HAIR = 1e-9
"""Heights nearer to a cell's edge than this share of a cell lie on it."""

_INCH = 0.0254
_STEPS_METRIC = (0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0)
_STEPS_TAPE = (3 * _INCH, 6 * _INCH, 12 * _INCH, 24 * _INCH, 60 * _INCH, 120 * _INCH, 240 * _INCH)


@dataclass(frozen=True)
class Ladder:
    """Lines of cells over a range of heights; line 0 is the lowest."""

    foot: float
    """Height of the lower edge of line 0, [m]."""
    step: float
    """Height of a cell, [m]."""
    lines: int

    def place(self, height: float) -> float:
        """Return `height` counted in cells above the foot."""
        cells = (height - self.foot) / self.step
        nearest = round(cells)
        return float(nearest) if abs(cells - nearest) < _HAIR * max(1.0, abs(cells)) + 1e-7 else cells

    def line(self, height: float) -> int:
        """Return the line that `height` is in; a height on an edge belongs to the line below it."""
        return ceil(self.place(height)) - 1

    def eighths(self, height: float) -> int:
        """Return how much of its line lies under `height`, in eighths, 1 to 8."""
        place = self.place(height)
        return max(1, min(8, ceil(8.0 * (place - (ceil(place) - 1)) - 1e-6)))

    def middle(self, line: int) -> float:
        """Return the height in the middle of a line, [m]."""
        return self.foot + (line + 0.5) * self.step


def ladder_for(heights: Iterable[float], lines: int) -> Ladder:
    """Return the ladder of so many lines that shows all `heights`, the lowest line being ground under the lowest.

    The datum, 0, is shown too, unless everything stands so high above it that little else would be seen.
    """
    found = list(heights)
    top, lowest = max(found), min(found)
    lower = min(0.0, lowest) if lowest < 1.2 * (top - lowest) + 0.3 else lowest - 0.1 * (top - lowest)
    span = max(top - lower, 0.05)
    step = span / max(1, lines - 1)
    return Ladder(lower - step, step, lines)


def ticks(ladder: Ladder, units: Units, apart: int = 2) -> tuple[str, list[tuple[int, str]]]:
    """Return the unit of the axis and its ticks as (line, text), at least `apart` lines from each other.

    Examples
    --------
    >>> ticks(Ladder(-0.1, 0.1, 12), "metric")
    ('cm', [(0, '0'), (2, '20'), (4, '40'), (6, '60'), (8, '80'), (10, '100')])
    """
    sizes = _STEPS_METRIC if units == "metric" else _STEPS_TAPE
    size = next((step for step in sizes if step >= apart * ladder.step * 0.999), sizes[-1])
    lower, upper = ladder.foot + 1e-9, ladder.foot + ladder.lines * ladder.step + 1e-9
    in_metres = units == "metric" and (upper > 3.0 or size >= 1.0)
    found: list[tuple[int, str]] = []
    for count in range(ceil(lower / size - 1e-6), floor(upper / size + 1e-6) + 1):
        height = count * size
        line = ladder.line(height)
        if not 0 <= line < ladder.lines or (found and line - found[-1][0] < apart):
            continue
        found.append((line, _tick_text(height, units, in_metres, size)))
    return ("m" if in_metres else "cm") if units == "metric" else "ft in", found


def _tick_text(height: float, units: Units, in_metres: bool, size: float) -> str:
    if units != "metric":
        inches = round(height / _INCH)
        feet, rest = divmod(abs(inches), 12)
        sign = "-" if inches < 0 else ""
        if inches == 0:
            return "0"
        return f"{sign}{feet}' {rest}\"" if feet and rest else f"{sign}{feet}'" if feet else f'{sign}{rest}"'
    if in_metres:
        return (
            f"{height:.0f}" if size >= 1.0 else f"{height:.2f}" if round(size * 100) % 10 else f"{height:.1f}"
        )
    return f"{height * 100:.0f}"
