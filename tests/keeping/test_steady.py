"""Levels said to be steady until some moment are: nothing but `at` differs when they are worked out anew before it."""

from __future__ import annotations

import sys
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from gardens import START, at, dip, journal, rain, site
from histories import FLUSHED, GARDEN, GROWN, THIN, journals

from tankdash.journal.entries import Entry, TapClosed, TapOpened
from tankdash.keeping.desk import Desk
from tankdash.keeping.state.levels import Levels, levels_of
from tankdash.keeping.state.replay import replay
from tankdash.keeping.state.steady import steady_until
from tankdash.site.model import Site

DRIPPING = site(FLUSHED.replace("empties: by hand", "empties: 12 h").replace(", empties: shed}", "}"))
"""The same garden with a first-flush pipe that empties itself."""
LEAVING = site(FLUSHED.replace("south: {base: 23 cm,", "south: {until: 2026-05-14, base: 23 cm,"))
"""The same, but the third tote goes in the second week."""
LONG = timedelta(days=40)


class Shelf:
    """Entries in place of a journal's file."""

    def __init__(self, entries: list[Entry]) -> None:
        self.all = entries

    def entries(self) -> list[Entry]:
        return self.all

    def stamp(self) -> int:
        return len(self.all)

    def history(self) -> list[object]:
        return []


def levels(garden: Site, entries: list[Entry], now: datetime) -> Levels:
    """Return the levels as the screen has them, with every warning."""
    return Desk(garden, Shelf(entries)).levels(now)  # type: ignore[arg-type]


def all_but_the_time(found: Levels) -> dict[str, object]:
    told = found.as_json()
    del told["at"]
    return told | {"read": dict(found.standing.read_at), "layout": found.standing.layout}


@settings(max_examples=150)
@given(
    journals(),
    st.sampled_from([GARDEN, THIN, GROWN, DRIPPING, LEAVING]),
    st.floats(-0.2, 1.2),
    st.floats(0.0, 1.0),
)
def test_steady_levels_stay_as_they_are(
    entries: list[Entry], garden: Site, asked: float, later: float
) -> None:
    first, last = entries[0].at, entries[-1].at
    now = first + (last - first) * asked
    found = levels(garden, entries, now)
    until = steady_until(garden, entries, found.standing)
    end = until if until is not None else now + LONG
    assert end >= now
    then = max(now, min(now + (end - now) * later, end - timedelta(microseconds=1)))
    assert all_but_the_time(levels(garden, entries, then)) == all_but_the_time(found)


def until(garden: Site, entries: list[Entry], now: datetime) -> datetime | None:
    return steady_until(garden, entries, replay(garden, entries, now))


def test_nothing_is_steady_while_a_tap_runs() -> None:
    entries = journal((START, dip(north=0.6)), (at(1), TapOpened("tap")), (at(2), TapClosed("tap", 0.01)))
    assert until(GARDEN, entries, at(1.5)) == at(1.5)
    assert until(GARDEN, entries, at(0.5)) == at(1)
    assert until(GARDEN, entries, at(2)) is None


def test_nothing_is_steady_while_rain_is_falling_that_was_noted_ahead() -> None:
    entries = journal((START, dip(north=0.6)), (at(1), rain(12.0, at(2), 6.0)))
    assert until(GARDEN, entries, at(1, 1)) == at(1, 18)
    assert until(GARDEN, entries, at(1, 20)) == at(1, 20)
    assert until(GARDEN, entries, at(2, 1)) is None


@pytest.mark.parametrize("garden", [GROWN, LEAVING])
def test_a_tank_that_comes_or_goes_ends_it(garden: Site) -> None:
    entries = journal((START, dip(north=0.6)))
    end = until(garden, entries, at(1))
    assert end is not None
    before, after = end - timedelta(seconds=1), end
    assert (
        levels_of(garden, replay(garden, entries, before)).tanks.keys()
        != levels_of(garden, replay(garden, entries, after)).tanks.keys()
    )
