"""First-flush pipes through the journal: what room each rain found, and which rains ran over a full one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from tankdash.journal.entries import Change, Done, Entry, Rain, Record
from tankdash.keeping.rain.events import events
from tankdash.keeping.rain.flush import RoofFlush, flush_states, runoff
from tankdash.keeping.rain.gauges import default_period
from tankdash.keeping.when import parse_time
from tankdash.site.model import AfterRain, Chore, Placed, Site, SiteTank
from tankdash.water.model import FirstFlush, Roof, Tank
from tankdash.water.shapes import Straight

LISBON = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 5, 6, 8, 0, tzinfo=UTC)
BY_HAND = FirstFlush(0.008)
DRIPPING = FirstFlush(0.008, 6 * 3600.0)
HOUR = 3600.0


def garden(*roofs: Roof) -> Site:
    tank = Tank("north", Straight(1.0, 1.0), brim=1.0)
    return Site(
        name="garden", zone=LISBON, units="metric", datum="slab", accuracy=0.005,
        tanks={"north": SiteTank(tank, "north")},
        roofs={roof.id: Placed(roof, roof.id) for roof in roofs},
        chores={
            f"empty-{roof.id}": Chore(f"empty-{roof.id}", "Empty", AfterRain(at_least_mm=0.5), empties=roof.id)
            for roof in roofs
        },
    )  # fmt: skip


def shed(flush: FirstFlush = BY_HAND) -> Roof:
    return Roof("shed", area=24.0, fills="north", runoff=0.9, first_loss=0.0005, first_flush=flush)


def journal(*lines: tuple[str, float | Record]) -> list[Entry]:
    """Return entries; a bare number is a depth read since the last reading."""
    entries: list[Entry] = []
    for number, (typed, what) in enumerate(lines, start=1):
        at = parse_time(typed, LISBON, NOW)
        record = (
            Rain(what, what, *default_period(entries, "gauge", at, LISBON))
            if isinstance(what, float)
            else what
        )
        entries.append(Entry(number, f"u{number}", "", at, at, record, ""))
    return sorted(entries, key=lambda entry: (entry.at, entry.number))


def states(site: Site, *lines: tuple[str, float | Record]) -> Mapping[str, RoofFlush]:
    return flush_states(site, journal(*lines), NOW)


def test_runoff_is_depth_past_the_first_loss_times_the_roof() -> None:
    assert runoff(shed(), 10.0) == pytest.approx(0.0095 * 24 * 0.9)
    assert runoff(shed(), 0.4) == 0.0


def test_a_pipe_has_room_only_if_it_was_emptied_since_the_last_event() -> None:
    state = states(
        garden(shed()),
        ("2026-05-01 09:00", 10.0),
        ("2026-05-02 09:00", 10.0),
        ("2026-05-02 10:00", Done("empty-shed")),
        ("2026-05-03 09:00", 10.0),
    )["shed"]
    assert [(met.before.high, met.flushed.high, met.is_unflushed) for met in state.met] == [
        (0.008, 0.008, False), (0.0, 0.0, True), (0.008, 0.008, False),
    ]  # fmt: skip
    assert state.unflushed == 0
    assert state.pipe.is_full


def test_a_light_rain_leaves_room_for_the_next() -> None:
    state = states(garden(shed()), ("2026-05-01 09:00", 0.7), ("2026-05-02 09:00", 10.0))["shed"]
    second = state.met[1]
    assert second.before.low == pytest.approx(0.008 - 0.0002 * 24 * 0.9)
    assert not second.is_unflushed


def test_the_first_loss_is_taken_once_an_event_whatever_the_number_of_readings() -> None:
    one = states(garden(shed()), ("2026-05-01 09:00", 0.8))["shed"]
    two = states(garden(shed()), ("2026-05-01 08:00", 0.4), ("2026-05-01 09:00", 0.4))["shed"]
    assert two.pipe.low == pytest.approx(one.pipe.low)
    assert len(two.met) == 1


def test_a_wide_pipe_takes_of_each_reading_what_that_reading_brought() -> None:
    wide = FirstFlush(10.0)
    lines = ("2026-05-01 08:00", 10.0), ("2026-05-01 09:00", 10.0)
    (met,) = states(garden(shed(wide)), *lines)["shed"].met
    assert (met.flushed.low, met.flushed.high) == pytest.approx((0.0195 * 24 * 0.9,) * 2)


def test_a_few_litres_over_a_full_pipe_are_dirty_too() -> None:
    """Half a millimetre on 4 m2 is 1.8 L; a rain that only wets the roof brings none."""
    small = Roof("shed", area=4.0, fills="north", runoff=0.9, first_flush=FirstFlush(0.001))
    state = states(garden(small), ("2026-05-01 09:00", 5.0), ("2026-05-02 09:00", 0.5))["shed"]
    assert [met.is_unflushed for met in state.met] == [False, True]
    thirsty = replace(small, first_loss=0.001)
    state = states(garden(thirsty), ("2026-05-01 09:00", 5.0), ("2026-05-02 09:00", 0.5))["shed"]
    assert [met.is_unflushed for met in state.met] == [False, False]


def test_done_of_another_roof_empties_no_pipe_here() -> None:
    barn = Roof("barn", area=10.0, fills="north", first_flush=BY_HAND)
    found = states(garden(shed(), barn), ("2026-05-01 09:00", 10.0), ("2026-05-01 10:00", Done("empty-barn")))
    assert found["shed"].pipe.is_full
    assert found["barn"].pipe.low == BY_HAND.holds


@pytest.mark.parametrize(
    "shut", [Change("shed", "plugged"), Change("shed", "bypass"), Change("site", "winter")]
)
def test_rain_that_does_not_reach_the_pipe_does_not_fill_it(shut: Change) -> None:
    state = states(garden(shed()), ("2026-05-01 08:00", shut), ("2026-05-01 09:00", 10.0))["shed"]
    assert state.met == ()
    assert state.pipe.low == BY_HAND.holds


def test_a_roof_open_again_fills_its_pipe() -> None:
    state = states(
        garden(shed()),
        ("2026-05-01 08:00", Change("shed", "plugged")),
        ("2026-05-01 10:00", Change("shed", "open")),
        ("2026-05-02 09:00", 10.0),
    )["shed"]
    assert state.pipe.is_full


def test_after_winter_the_pipe_starts_empty() -> None:
    state = states(
        garden(shed()),
        ("2026-04-01 09:00", 10.0),
        ("2026-04-02 09:00", Change("site", "winter")),
        ("2026-04-20 09:00", Change("site", "in-use")),
    )["shed"]
    assert state.pipe.low == BY_HAND.holds


def test_a_self_emptying_pipe_meets_daily_rain_with_a_range() -> None:
    state = states(garden(shed(DRIPPING)), ("2026-05-01 09:00", 10.0), ("2026-05-02 09:00", 10.0))["shed"]
    found = state.met[1].before
    assert (found.low, found.high) == pytest.approx((0.0, 0.008))
    assert not state.met[1].is_unflushed
    assert state.pipe.low == pytest.approx(0.008)  # four dry days later


def test_room_is_told_for_each_event_and_the_future_is_not_looked_at() -> None:
    site = garden(shed())
    entries = journal(("2026-05-01 09:00", 10.0), ("2026-05-02 09:00", 10.0))
    first, second = events(entries, site.rain, LISBON)
    state = flush_states(site, entries, NOW)["shed"]
    room = state.room_before(second)
    assert room is not None and room.is_full
    before = flush_states(site, entries, first.end + timedelta(hours=1))["shed"]
    assert len(before.met) == 1
    assert before.room_before(second) is None


def test_rooms_of_the_replay_are_those_of_the_events() -> None:
    site = garden(shed())
    entries = journal(("2026-05-01 09:00", 10.0), ("2026-05-02 09:00", 10.0))
    rains = events(entries, site.rain, LISBON)
    pipe = flush_states(site, entries, NOW, rains)["shed"]
    rooms = [pipe.room_before(event) for event in rains]
    assert [room.high for room in rooms if room is not None] == [0.008, 0.0]
