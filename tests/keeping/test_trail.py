"""What was walked before is not walked again, and nobody can tell: whatever was added, dated back or taken back."""

from __future__ import annotations

import sys
from datetime import timedelta
from pathlib import Path
from unittest.mock import patch

from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from gardens import START, at, dip, journal, rain
from histories import GARDEN, GROWN, journals

from tankdash.journal.entries import Entry, TapClosed, TapOpened, Use
from tankdash.keeping.rain import flush
from tankdash.keeping.rain.flush import fallen_by
from tankdash.keeping.state import trail as trails
from tankdash.keeping.state.replay import replay
from tankdash.keeping.state.trail import Trail
from tankdash.keeping.state.walk import Walk
from tankdash.site.model import Site

JOURNAL = journal(
    (START, dip(north=0.6)),
    (at(1), rain(8.0, at(1))),
    (at(2), TapOpened("tap")),
    (at(3), Use(40.0, "tap")),
    (at(4), TapClosed("tap", 0.01)),
    (at(5), dip(middle=0.5)),
)


@settings(max_examples=150, deadline=None)
@given(st.data(), journals(), st.sampled_from([GARDEN, GROWN]))
def test_a_journal_seen_before_is_replayed_as_if_it_never_was(
    data: st.DataObject, whole: list[Entry], garden: Site
) -> None:
    trail, fallen = Trail(), None
    with patch.object(trails, "MARK_EVERY", data.draw(st.integers(1, 4))):
        for _ in range(4):
            left_out = data.draw(st.sets(st.sampled_from(range(len(whole))), max_size=3))
            entries = [entry for place, entry in enumerate(whole) if place not in left_out]
            now = data.draw(st.sampled_from(whole)).at + timedelta(hours=data.draw(st.integers(0, 50)))
            fallen = fallen_by(garden, entries, now, fallen)
            assert fallen == fallen_by(garden, entries, now)
            again = replay(garden, entries, now, whole=True, fallen=fallen, trail=trail)
            assert again == replay(garden, entries, now, whole=True)


def steps_walked(trail: Trail, entries: list[Entry]) -> int:
    """Return how many happenings a replay takes that has the trail to go by."""
    count = 0
    step = Walk.step

    def counted(walk: Walk, happening: object) -> None:
        nonlocal count
        count += 1
        step(walk, happening)  # type: ignore[arg-type]

    with patch.object(Walk, "step", counted), patch.object(trails, "MARK_EVERY", 2):
        replay(GARDEN, entries, at(9), whole=True, trail=trail)
    return count


def test_only_what_came_after_the_last_mark_is_walked_again() -> None:
    trail = Trail()
    everything = steps_walked(trail, JOURNAL)
    assert everything == 7, "six entries, of which the rain begins and ends"
    assert steps_walked(trail, JOURNAL) == 1
    assert steps_walked(trail, JOURNAL[1:]) == 6, "the first entry was taken back"


def test_rain_is_reckoned_again_only_when_it_is_another() -> None:
    before = fallen_by(GARDEN, JOURNAL[:2], at(9))
    with patch.object(flush, "counting", side_effect=AssertionError("the rain is the same")):
        after = fallen_by(GARDEN, JOURNAL, at(9), before)
    assert after.rains is before.rains
    assert fallen_by(GARDEN, JOURNAL[:1], at(9), before).rains == ()


def test_a_tap_that_is_closed_later_ran_otherwise_from_the_start() -> None:
    trail = Trail()
    steps_walked(trail, JOURNAL[:4])
    assert steps_walked(trail, JOURNAL[:5]) == 4, "from the mark before the tap was opened"
    assert replay(GARDEN, JOURNAL, at(9), whole=True, trail=trail) == replay(
        GARDEN, JOURNAL, at(9), whole=True
    )
