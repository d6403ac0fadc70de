"""Bands of past years, bases that moved, the bar of how full, the dip stick."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.drawing.bands import Spread, bands
from tankdash.drawing.bars import capacity_bar
from tankdash.drawing.canvas import ROLES, Row, as_text
from tankdash.drawing.cells import text_width

Golden = Callable[[str, list[Row]], None]
START = date(2026, 5, 1)


def falling(count: int) -> list[Spread]:
    """Curves that part as the summer goes on."""
    found = []
    for spot in range(count):
        middle = 2000.0 * max(0.0, 1.0 - spot / 100)
        doubt = min(900.0, 12.0 * spot)
        found.append(
            Spread(
                START + timedelta(days=spot),
                max(0.0, middle - 1.5 * doubt),
                max(0.0, middle - 0.6 * doubt),
                middle,
                min(2460.0, middle + 0.6 * doubt),
                min(2460.0, middle + 1.5 * doubt),
            )
        )
    return found


def test_pictures_of_bands(golden: Golden) -> None:
    golden("bands-80x10", bands(falling(90), 80, 10, 2460.0, "2460 L"))
    golden("bands-ascii-80x10", bands(falling(90), 80, 10, 2460.0, "2460 L", ascii=True))


@given(width=st.integers(1, 160), height=st.integers(1, 40), count=st.integers(0, 400), plain=st.booleans())
@settings(max_examples=60, deadline=None)
def test_bands_fill_their_size(width: int, height: int, count: int, plain: bool) -> None:
    rows = bands(falling(count), width, height, 2460.0, "2460 L", ascii=plain)
    assert len(rows) == height
    assert all(sum(text_width(span.text) for span in row) == width for row in rows)
    assert all(span.role in ROLES for row in rows for span in row)
    if plain:
        assert as_text(rows).isascii()


def test_one_dry_day_among_many_is_still_seen() -> None:
    high = [
        Spread(START + timedelta(days=spot), 2000.0, 2000.0, 2000.0, 2000.0, 2000.0) for spot in range(300)
    ]
    dry = [
        Spread(one.day, 0.0, 2000.0, 2000.0, 2000.0, 2000.0) if spot == 151 else one
        for spot, one in enumerate(high)
    ]
    foot = bands(dry, 60, 10, 2460.0, "2460 L")[8]
    assert sum(span.text.count("░") for span in foot) == 1


@given(usable=st.floats(0, 1), held=st.floats(0, 1.5), width=st.integers(0, 80))
def test_a_bar_takes_exactly_its_room(usable: float, held: float, width: int) -> None:
    row = capacity_bar(min(usable, held), held, 1.0, width)
    assert sum(len(span.text) for span in row) == width


def test_a_little_water_shows_and_none_does_not() -> None:
    assert any(span.role != "axis" for span in capacity_bar(0.001, 0.001, 1.0, 10))
    assert all(span.role == "axis" for span in capacity_bar(0.0, 0.0, 1.0, 10))
