"""The journal replayed: the same water however it is split, restored by undo, and never a litre from nowhere."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from gardens import START, THREE_TOTES, at, dip, journal, rain, site, total
from histories import (
    APART,
    FLUSHED,
    GARDEN,
    GROWN,
    MOSTLY_READ,
    SLOWLY_APART,
    TANKS,
    THIN,
    journals,
    records,
)

from tankdash.journal.entries import (
    Change,
    Done,
    Entry,
    Move,
    Note,
    Pour,
    Record,
    TapClosed,
    TapOpened,
    Use,
)
from tankdash.keeping.state.ledger import NOTHING_MOVED
from tankdash.keeping.state.replay import replay
from tankdash.keeping.state.standing import Standing
from tankdash.site.model import Site


def likely(standing: Standing) -> dict[str, float]:
    return {tank: volume for tank, volume in standing.contents.mid.items() if tank not in standing.unknown}


def same_water(one: Standing, other: Standing) -> bool:
    """Return whether two standings say the same of the water, to a millilitre."""
    return (
        one.basis == other.basis
        and one.unknown == other.unknown
        and all(
            getattr(one.contents, end)[tank] == pytest.approx(getattr(other.contents, end)[tank], abs=1e-6)
            for end in ("low", "mid", "high")
            for tank in one.contents.mid
        )
        and vars(one.moved) == pytest.approx(vars(other.moved), abs=1e-6)
        and one.unsettled == pytest.approx(other.unsettled, abs=1.0)
        and one.open_taps == other.open_taps
        and one.arrangement == other.arrangement
    )


@settings(max_examples=60, deadline=None)
@given(journals(), st.data())
def test_the_order_of_writing_does_not_matter_only_the_times_do(
    entries: list[Entry], data: st.DataObject
) -> None:
    shuffled = data.draw(st.permutations(entries))
    now = entries[-1].at
    assert same_water(replay(GARDEN, shuffled, now), replay(GARDEN, entries, now))


@settings(max_examples=100, deadline=None)
@given(journals(), st.sampled_from([GARDEN, THIN, GROWN]))
def test_the_short_walk_from_the_last_deciding_dip_ends_where_the_whole_walk_ends(
    entries: list[Entry], garden: Site
) -> None:
    now = entries[-1].at + timedelta(hours=1)
    assert same_water(replay(garden, entries, now), replay(garden, entries, now, whole=True))


@settings(max_examples=200, deadline=None)
@given(
    st.one_of(journals(20), journals(20, MOSTLY_READ)),
    st.sampled_from([APART, SLOWLY_APART]),
)
def test_the_walk_from_a_dip_of_each_side_ends_where_the_whole_walk_ends(
    entries: list[Entry], garden: Site
) -> None:
    now = entries[-1].at + timedelta(hours=1)
    assert same_water(replay(garden, entries, now), replay(garden, entries, now, whole=True))


def sides_dipped_apart(days: int, *more: tuple[datetime, Record]) -> list[Entry]:
    """Return a journal of showers and cans, with one side dipped on one day and the other on the next."""
    happened = list(more)
    for day in range(days):
        side = "north" if day % 2 else "south"
        happened.append((at(day), dip(**{side: 0.3 + 0.05 * (day % 7)})))
        happened.append((at(day, 6), Use(20.0, "tap")))
        happened.append((at(day, 14), rain(4.0, at(day, 14), hours=6.0)))
    return journal(*sorted(happened, key=lambda one: one[0]))


def test_two_sides_that_are_dipped_apart_are_walked_from_their_last_dips() -> None:
    entries = sides_dipped_apart(60)
    short, whole = replay(APART, entries, at(60)), replay(APART, entries, at(60), whole=True)
    assert same_water(short, whole)
    assert len(short.history) < 20 < 150 < len(whole.history)


@pytest.mark.parametrize(
    "crossing",
    [
        [(at(58, 10), Move(500.0, "north", "south"))],
        [(at(57), TapOpened(source="north", target="south", rate_l_per_s=0.01))],
        [
            (at(40), TapOpened(source="north", target="south")),
            (at(58, 10), TapClosed(source="north", target="south", volume_l=50.0)),
        ],
    ],
)
def test_water_moved_from_side_to_side_asks_for_a_longer_walk(
    crossing: list[tuple[datetime, Record]],
) -> None:
    entries = sides_dipped_apart(60, *crossing)
    short, whole = replay(APART, entries, at(60)), replay(APART, entries, at(60), whole=True)
    assert same_water(short, whole)


TWO_ROWS = site(
    """
site: Two rows
timezone: UTC
units: metric
datum: the slab
tanks:
  a1: {base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  a2: {base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  b1: {base: 10 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  b2: {base: 50 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
links:
  a: {join: [a1, a2], ports: 8 cm, bore: 9 mm, run: 4 m}
  b: {join: [b1, b2], ports: 8 cm}
outlets:
  tap: {tank: a2, at: 10 cm}
"""
)
"""Two rows that nothing joins, and nobody has measured the hose of the second."""


def test_a_hasty_dip_of_one_row_decides_nothing_while_the_other_is_not_known() -> None:
    entries = journal(
        (START, dip(a1=0.5)),
        (at(0, 1), dip(b1=0.7)),
        (at(4), Pour(300.0, "a1")),
        (at(4, 1), dip(a1=0.6)),
        (at(5), dip(b1=0.8)),
    )
    short, whole = replay(TWO_ROWS, entries, at(6)), replay(TWO_ROWS, entries, at(6), whole=True)
    assert same_water(short, whole)
    assert total(whole.contents.high) > total(whole.contents.mid)


def test_a_hasty_dip_does_not_cut_the_walk_short() -> None:
    """It decides nothing, so what came before it still widens its range."""
    entries = journal(
        (START, dip(north=0.4)), (at(1), rain(10.0, at(1), hours=0.5)), (at(1, 0.2), dip(north=0.6))
    )
    short, whole = replay(THIN, entries, at(1, 1)), replay(THIN, entries, at(1, 1), whole=True)
    assert short.unsettled > 0.0 and same_water(short, whole)
    assert total(short.contents.low) < total(short.contents.mid)


def test_a_prime_lost_long_ago_is_not_forgotten_by_a_later_dip_of_every_tank() -> None:
    garden = site(
        """
site: Over the wall
timezone: UTC
units: metric
datum: the yard
tanks:
  here: {base: 0 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  there: {base: 0 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
links:
  siphon: {join: [here, there], ports: 10 cm, crest: 120 cm, primed: true, bore: 20 mm, run: 3 m}
outlets:
  tap: {tank: here, at: 0 cm}
roofs:
  shed: {area: 10 m2, runoff: 1.0, fills: here}
"""
    )
    entries = journal(
        (START, dip(here=0.3, there=0.3)),
        (at(1), Use(500.0, "tap")),
        (at(30), dip(here=0.5, there=0.5)),
        (at(31), rain(10.0, at(31))),
    )
    short, whole = replay(garden, entries, at(31)), replay(garden, entries, at(31), whole=True)
    assert same_water(short, whole)
    assert short.contents.mid["there"] == pytest.approx(0.5)
    assert short.contents.mid["here"] == pytest.approx(0.6)


def test_a_valve_opened_shortly_before_is_looked_back_to() -> None:
    """Through these hoses the row has not levelled an hour later, whatever the dip seems to decide."""
    entries = journal(
        (START, Change("north-middle", "closed")),
        (at(1), dip(north=0.9, middle=0.4, south=0.34)),
        (at(2), Change("north-middle", "open")),
        (at(2, 1), dip(middle=0.5)),
    )
    short, whole = replay(THIN, entries, at(2, 2)), replay(THIN, entries, at(2, 2), whole=True)
    assert whole.unsettled > 0.0 and same_water(short, whole)


@settings(max_examples=80, deadline=None)
@given(journals(), st.integers(0, 14))
def test_asking_in_between_changes_nothing(entries: list[Entry], place: int) -> None:
    """The walk stopped at any entry is the beginning of the walk to the end."""
    stop = entries[min(place, len(entries) - 1)].at
    # A tap's rate is told when it is closed, so only what stood still in between is compared.
    known = [entry for entry in entries if not isinstance(entry.record, TapOpened | TapClosed)]
    part = replay(GARDEN, [entry for entry in known if entry.at <= stop], stop, whole=True)
    until_then = replay(GARDEN, known, stop, whole=True)
    assert same_water(part, until_then)


@settings(max_examples=80, deadline=None)
@given(journals(), st.data())
def test_taking_back_the_last_entry_restores_what_was_before_it(
    entries: list[Entry], data: st.DataObject
) -> None:
    late = data.draw(records(entries[-1].at + timedelta(hours=1)))
    more = journal(
        *((entry.at, entry.record) for entry in entries), (entries[-1].at + timedelta(hours=1), late)
    )
    taken_back = [*more[:-1], replace(more[-1], voided_by=99)]
    now = entries[-1].at + timedelta(hours=2)
    assert same_water(replay(GARDEN, taken_back, now), replay(GARDEN, entries, now))


@settings(max_examples=80, deadline=None)
@given(journals())
def test_litres_close_over_the_whole_history(entries: list[Entry]) -> None:
    """In = stored + gone, to a thousandth of a millilitre, as long as everything is known."""
    survey = journal((START - timedelta(days=1), dip(north=0.5, middle=0.53, south=0.47)))
    plain = [entry for entry in entries if not isinstance(entry.record, TapOpened | TapClosed)]
    shifted = [replace(entry, number=entry.number + 1) for entry in plain]
    standing = replay(GARDEN, survey + shifted, entries[-1].at, whole=True)
    if any(moment.unknown for moment in standing.history):
        return
    ever = standing.ever
    came = total(standing.history[0].contents.mid) / 1000.0 + ever.caught + ever.poured + ever.corrected
    gone = ever.used + ever.spilled + ever.removed
    assert total(standing.contents.mid) / 1000.0 == pytest.approx(came - gone, abs=1e-9 * max(1.0, came))


@settings(max_examples=80, deadline=None)
@given(journals())
def test_the_likely_figure_lies_between_the_ends(entries: list[Entry]) -> None:
    standing = replay(GARDEN, entries, entries[-1].at, whole=True)
    for moment in standing.history:
        for tank, vessel in moment.layout.tanks.items():
            low, mid, high = (getattr(moment.contents, end)[tank] for end in ("low", "mid", "high"))
            assert -1e-12 <= low <= mid + 1e-9 and mid <= high + 1e-9 and high <= vessel.capacity + 1e-9


# --- single stories


def test_rain_counts_by_the_share_of_its_period_after_the_dip() -> None:
    """12 mm read over a day, with the dip three quarters through it: only a quarter is still to come."""
    garden = site()
    entries = journal((at(0.75), dip(north=0.3)), (at(1), rain(12.0, at(1), hours=24)))
    standing = replay(garden, entries, at(1))
    assert standing.moved.caught * 1000.0 == pytest.approx(3.0 * 24.0 * 0.9)


def test_the_first_loss_and_the_first_flush_are_taken_from_the_start_of_the_rain() -> None:
    """A dip in the middle of a long rain: the pipe has taken its share before, so all of the rest arrives."""
    entries = journal((at(0.5), dip(north=0.3)), (at(1), rain(12.0, at(1), hours=24)))
    standing = replay(GARDEN, entries, at(1))
    assert standing.moved.first_flush == 0.0
    assert standing.moved.caught * 1000.0 == pytest.approx(6.0 * 24.0 * 0.9)


def test_a_pipe_left_full_takes_no_toll_of_the_next_rain() -> None:
    twice = [(at(1), rain(5.0, at(1))), (at(2), rain(5.0, at(2)))]
    left = replay(GARDEN, journal((START, dip(north=0.2)), *twice), at(3))
    emptied = replay(
        GARDEN, journal((START, dip(north=0.2)), twice[0], (at(1.5), Done("pipe")), twice[1]), at(3)
    )
    assert left.moved.first_flush * 1000.0 == pytest.approx(12.0)
    assert emptied.moved.first_flush * 1000.0 == pytest.approx(24.0)


def test_winter_credits_no_rain() -> None:
    entries = journal((START, dip(north=0.3)), (at(1), Change("site", "winter")), (at(2), rain(20.0, at(2))))
    standing = replay(GARDEN, entries, at(3))
    assert total(standing.contents.mid) == pytest.approx(900.0)
    assert standing.moved.caught == 0.0


def test_a_plugged_roof_credits_nothing_until_it_is_open_again() -> None:
    garden = site()
    entries = journal(
        (START, dip(north=0.3)),
        (at(1), Change("shed", "plugged")),
        (at(2), rain(10.0, at(2))),
        (at(3), Change("shed", "open")),
        (at(4), rain(10.0, at(4))),
    )
    assert replay(garden, entries, at(2)).moved.caught == 0.0
    assert replay(garden, entries, at(4)).moved.caught * 1000.0 == pytest.approx(216.0)


def test_a_lifted_base_keeps_its_litres_and_finds_a_new_level() -> None:
    garden = site()
    entries = journal((START, dip(north=0.6)), (at(1), Change("south", "base", 0.33)))
    standing = replay(garden, entries, at(1))
    assert total(standing.contents.mid) == pytest.approx(1800.0)
    assert standing.contents.mid["south"] == pytest.approx(0.57 - 2.0 * 0.1 / 3.0)


def test_a_valve_opened_levels_what_stood_apart() -> None:
    garden = site()
    entries = journal(
        (START, Change("middle-south", "closed")),
        (at(1), dip(north=0.6, south=0.1)),
        (at(2), Change("middle-south", "open")),
    )
    standing = replay(garden, entries, at(3))
    assert total(standing.contents.mid) == pytest.approx(600.0 + 630.0 + 100.0)
    levels = [standing.layout.tanks[tank].base + standing.contents.mid[tank] for tank in TANKS]
    assert max(levels) - min(levels) < 1e-9


def test_old_readings_keep_the_garden_of_their_date() -> None:
    """The third tote came later: the dip before it speaks for two only, and it begins empty."""
    garden = site(THREE_TOTES.replace("south: {base: 23 cm,", "south: {since: 2026-05-10, base: 23 cm,"))
    entries = journal((START, dip(north=0.6)))
    before = replay(garden, entries, at(2))
    assert set(before.contents.mid) == {"north", "middle"}
    after = replay(garden, entries, at(10))
    assert set(after.contents.mid) == {"north", "middle", "south"}
    assert total(after.contents.mid) == pytest.approx(1230.0)
    assert after.contents.mid["south"] > 0.3


def test_a_tank_that_leaves_takes_its_water_with_it() -> None:
    garden = site(THREE_TOTES.replace("south: {base: 23 cm,", "south: {until: 2026-05-10, base: 23 cm,"))
    standing = replay(garden, journal((START, dip(north=0.6))), at(10), whole=True)
    assert total(standing.contents.mid) == pytest.approx(1230.0)
    assert standing.ever.removed * 1000.0 == pytest.approx(570.0)


def test_an_open_tap_without_a_rate_leaves_a_range_until_the_next_dip() -> None:
    garden = site()
    entries = journal((START, dip(north=0.6)), (at(1), TapOpened("tap")))
    running = replay(garden, entries, at(2))
    assert total(running.contents.high) == pytest.approx(1800.0)
    assert total(running.contents.low) == pytest.approx(390.0)
    assert running.unknown == set(TANKS)
    assert [tap.outlet for tap in running.open_taps] == ["tap"]
    dipped = replay(garden, journal(*((e.at, e.record) for e in entries), (at(2), dip(north=0.4))), at(2))
    assert dipped.unknown == frozenset()
    assert total(dipped.contents.mid) == pytest.approx(1200.0)


def test_an_open_tap_with_a_rate_told_at_its_end_is_a_draw() -> None:
    garden = site()
    entries = journal((START, dip(north=0.6)), (at(1), TapOpened("tap")), (at(1, 10), TapClosed("tap", 0.01)))
    standing = replay(garden, entries, at(2))
    assert standing.moved.used * 1000.0 == pytest.approx(360.0)
    assert standing.open_taps == ()
    assert standing.unknown == frozenset()


def test_each_later_dip_leaves_a_residual_of_what_was_expected() -> None:
    garden = site()
    entries = journal((START, dip(north=0.3)), (at(1), rain(10.0, at(1))), (at(2), dip(north=0.36)))
    (residual,) = replay(garden, entries, at(2), whole=True).residuals
    assert residual.expected.mid * 1000.0 == pytest.approx(1116.0)
    assert residual.seen.mid * 1000.0 == pytest.approx(1080.0)
    # 5 mm over three tanks of 1 m2, at both ends.
    assert residual.stick * 1000.0 == pytest.approx(30.0)


def test_unmeasured_water_from_elsewhere_opens_the_upper_end() -> None:
    garden = site()
    standing = replay(garden, journal((START, dip(north=0.3)), (at(1), Pour(None, "north", "melt"))), at(1))
    assert total(standing.contents.low) == pytest.approx(900.0)
    assert total(standing.contents.high) == pytest.approx(2850.0)


def test_nothing_later_than_now_is_looked_at() -> None:
    garden = site()
    entries = journal((START, dip(north=0.3)), (at(5), dip(north=0.6)), (at(6), Note()))
    assert total(replay(garden, entries, at(4)).contents.mid) == pytest.approx(900.0)


def test_a_reading_about_a_period_not_over_yet_counts_as_far_as_now() -> None:
    garden = site()
    entries = journal((START, dip(north=0.3)), (at(1), rain(12.0, at(2), hours=48)))
    assert replay(garden, entries, at(1)).moved.caught * 1000.0 == pytest.approx(6.0 * 24.0 * 0.9)
    assert replay(garden, entries, at(3)).moved.caught * 1000.0 == pytest.approx(12.0 * 24.0 * 0.9)


def test_a_pipe_that_empties_by_itself_makes_a_range() -> None:
    """R13: within a day's total it may have kept its 12 L once, or leaked four times its room while it rained."""
    garden = site(FLUSHED.replace("empties: by hand", "empties: 12 h"))
    standing = replay(garden, journal((START, dip(north=0.3)), (at(1), rain(10.0, at(1), hours=24))), at(1))
    moved = standing.moved
    ran = (10.0 - 0.5) * 24.0 * 0.9
    assert moved.caught_high * 1000.0 == pytest.approx(ran - 12.0)
    assert moved.caught_low * 1000.0 == pytest.approx(ran - 12.0 - 48.0)
    assert moved.caught_low < moved.caught < moved.caught_high
    assert total(standing.contents.low) == pytest.approx(900.0 + ran - 60.0)
    assert total(standing.contents.high) == pytest.approx(900.0 + ran - 12.0)


def test_a_journal_that_names_what_the_site_file_no_longer_has_is_still_read() -> None:
    """Somebody renamed a tank: its old readings say nothing, the others stand."""
    garden = site()
    entries = journal(
        (START, dip(north=0.6)),
        (at(1), dip(old_tank=0.4)),
        (at(1), Use(50.0, "old-tap")),
        (at(1), Move(50.0, "north", "old-tank")),
        (at(1), Pour(50.0, "old-tank")),
        (at(1), Change("old-link", "closed")),
        (at(1), Change("old-tank", "base", 0.2)),
        (at(1), Change("old-roof", "plugged")),
        (at(1), TapOpened("old-tap")),
        (at(2), TapClosed("old-tap", 0.1)),
        (at(2), Done("old-chore")),
    )
    standing = replay(garden, entries, at(3), whole=True)
    assert total(standing.contents.mid) == pytest.approx(1800.0)
    assert same_water(standing, replay(garden, entries, at(3)))


def test_an_open_drain_takes_what_its_links_let_pass_and_no_more() -> None:
    """South drains to its tap at 0.33 m; north and middle keep what stands below that and below their links."""
    garden = site()
    standing = replay(garden, journal((START, dip(north=0.6)), (at(1), Change("south", "drain-open"))), at(1))
    assert [standing.contents.mid[tank] for tank in TANKS] == [
        pytest.approx(0.13), pytest.approx(0.16), pytest.approx(0.10),
    ]  # fmt: skip
    assert standing.moved.removed * 1000.0 == pytest.approx(1800.0 - 390.0)
    assert standing.moved.spilled == 0.0


def test_a_drain_at_the_floor_leaves_what_the_ports_hold_back() -> None:
    """Middle has no outlet of its own: it runs dry, and the others keep the 8 cm below their ports."""
    garden = site()
    standing = replay(
        garden, journal((START, dip(north=0.6)), (at(1), Change("middle", "drain-open"))), at(1)
    )
    assert standing.contents.mid["middle"] == pytest.approx(0.0, abs=0.0011)
    assert standing.contents.mid["north"] == pytest.approx(0.08)
    assert standing.contents.mid["south"] == pytest.approx(0.08)
    assert standing.moved.spilled == 0.0


def test_a_dip_above_the_lip_has_run_off_to_the_lip_by_the_next_draw() -> None:
    garden = site()
    entries = [(START, dip(north=1.0))]
    assert total(replay(garden, journal(*entries), at(1)).contents.mid) == pytest.approx(3000.0)
    later = replay(garden, journal(*entries, (at(1), Use(100.0, "tap"))), at(1))
    assert total(later.contents.mid) == pytest.approx(2850.0 - 100.0)
    assert later.moved.spilled * 1000.0 == pytest.approx(150.0)


# --- a long journal


def long_journal(years: int) -> list[Entry]:
    """Return a journal of daily rain, a dip every fourth day, and use on two days of three."""
    happened: list[tuple[datetime, Record]] = [(START, dip(north=0.5, middle=0.53, south=0.47))]
    for day in range(1, years * 365):
        morning = at(day)
        depth = (day * 37 % 11) * 0.7 if day % 3 == 0 else 0.0
        happened.append((morning, rain(depth, morning, 24.0)))
        if day % 4 == 0:
            happened.append((morning + timedelta(hours=3), dip(north=0.3 + (day * 13 % 50) / 100.0)))
        if day % 3:
            happened.append((morning + timedelta(hours=10), Use(40.0, "tap")))
        happened.append((morning + timedelta(hours=11), Done("pipe")))
    return journal(*happened)


def test_two_years_walked_whole_end_as_their_last_days_do() -> None:
    entries = long_journal(2)
    now = entries[-1].at
    assert same_water(replay(GARDEN, entries, now), replay(GARDEN, entries, now, whole=True))


def test_a_tap_noted_open_before_its_outlet_stands_is_walked_alike_from_anywhere() -> None:
    entries = journal(
        (START, TapOpened("tap")),
        (START + timedelta(days=3), dip(north=1.0)),
        (START + timedelta(days=8), dip(north=0.0)),
    )
    now = entries[-1].at + timedelta(hours=1)
    for garden in (GARDEN, THIN, GROWN):
        assert same_water(replay(garden, entries, now), replay(garden, entries, now, whole=True))


def test_where_nothing_happened_not_a_drop_has_moved() -> None:
    garden = site()
    still = replay(garden, journal((START, dip(north=0.6))), at(2)).moved
    assert still == NOTHING_MOVED
    assert set(vars(NOTHING_MOVED).values()) == {0.0}
