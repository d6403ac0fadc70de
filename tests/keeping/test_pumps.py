"""A pump left running between two tanks: what it moved while nobody noted its end, and once somebody did (F49)."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from gardens import START, at, codes, dip, journal, rain, site, total

from tankdash.journal.entries import Change, Move, TapClosed, TapOpened, Use
from tankdash.keeping.entering.drawing_off import (
    enter_pump_start,
    enter_pump_stop,
    enter_tap_close,
    enter_tap_open,
)
from tankdash.keeping.entering.echo import echo_of
from tankdash.keeping.entering.naming import EntryError
from tankdash.keeping.state.levels import levels_of
from tankdash.keeping.state.replay import replay
from tankdash.keeping.state.what_if import what_if

UPHILL = """
site: Header uphill
timezone: UTC
units: metric
datum: the lower yard
tanks:
  one: {base: 0 m, shape: {kind: straight, holds: 22500 L, at: 2.2 m}}
  two: {base: 0 m, shape: {kind: straight, holds: 22500 L, at: 2.2 m}}
  three: {base: 0 m, shape: {kind: straight, holds: 22500 L, at: 2.2 m}}
  four: {base: 0 m, shape: {kind: straight, holds: 22500 L, at: 2.2 m}}
  header: {base: 18 m, shape: {kind: straight, holds: 10000 L, at: 2 m}}
links:
  yard: {join: [one, two, three, four], ports: 5 cm, bore: 100 mm, run: 2 m}
outlets:
  pump: {tank: one, at: 20 cm, kind: pump}
  hillside: {tank: header, at: 5 cm}
roofs:
  barn: {area: 300 m2, fills: one}
"""
LOWER = ("one", "two", "three", "four")
RATE = 10_000.0 / 3.0 / 3600.0
"""Ten thousand litres in three hours, [L/s]."""
FULL_BELOW = (START, dip(one=2.2, two=2.2, three=2.2, four=2.2, header=0.0))
ON = (START, TapOpened(source="one", target="header", rate_l_per_s=RATE))
UNMEASURED = (START, TapOpened(source="one", target="header"))


def off(hours: float, volume_l: float | None = None, rate: float | None = None) -> object:
    return (at(0, hours), TapClosed(None, rate, "one", "header", volume_l))


def water(*happened, hours: float, whole: bool = True):
    return replay(site(UPHILL), journal(FULL_BELOW, *happened), at(0, hours), whole=whole)


def test_F49_twelve_hours_at_the_rate_of_three_to_fill_it_lose_thirty_thousand_litres() -> None:
    """40 000 L leave at 3333 L/h: 10 000 L stay uphill, 30 000 L are lost, 50 000 L are left below."""
    standing = water(ON, off(12), hours=12)
    assert total(standing.contents.mid, LOWER) == pytest.approx(50_000.0)
    assert total(standing.contents.mid, ["header"]) == pytest.approx(10_000.0)
    assert standing.moved.spilled * 1000.0 == pytest.approx(30_000.0)
    assert standing.contents.low == standing.contents.high == pytest.approx(standing.contents.mid)
    assert standing.open_taps == ()


def test_a_run_that_is_ended_is_the_transfer_it_was() -> None:
    by_pump = water(ON, off(2), hours=2).contents.mid
    by_hand = water((at(0, 2), Move(RATE * 7200.0, "one", "header")), hours=2).contents.mid
    assert by_pump == pytest.approx(by_hand)


def test_while_nobody_noted_its_end_the_ends_reach_from_nothing_moved_to_all_of_it() -> None:
    standing = water(ON, hours=2)
    assert total(standing.contents.mid, ["header"]) == pytest.approx(6666.7, abs=0.1)
    assert total(standing.contents.low, ["header"]) == pytest.approx(0.0)
    assert total(standing.contents.high, ["header"]) == pytest.approx(6666.7, abs=0.1)
    assert total(standing.contents.high, LOWER) == pytest.approx(90_000.0)
    assert total(standing.contents.low, LOWER) == pytest.approx(90_000.0 - 6666.7, abs=0.1)
    told = levels_of(site(UPHILL), standing)
    assert told.tanks["header"].volume_l == pytest.approx(6666.7, abs=0.1)
    assert (told.tanks["header"].low_l, told.tanks["header"].high_l) == pytest.approx((0.0, 6666.7), abs=0.1)


@settings(max_examples=40, deadline=None)
@given(
    now=st.floats(0.5, 14.0),
    share=st.floats(0.0, 1.0),
    rained=st.floats(0.0, 30.0),
    drawn=st.floats(0.0, 2000.0),
    is_measured=st.booleans(),
)
def test_wherever_it_truly_ended_the_water_lies_within_what_was_said_before(
    now: float, share: float, rained: float, drawn: float, is_measured: bool
) -> None:
    """Rain comes and water is drawn uphill meanwhile; then the end is noted: by its time, or by the litres."""
    shower = (at(0, now * 0.4), rain(rained, at(0, now * 0.4), hours=0.2))
    meanwhile = [shower, (at(0, now * 0.7), Use(drawn, "hillside"))]
    begun = ON if is_measured else UNMEASURED
    before = water(begun, *meanwhile, hours=now)
    ended = off(now * share) if is_measured else off(now, volume_l=share * 80_000.0)
    after = water(begun, *meanwhile, ended, hours=now)
    assert after.open_taps == ()
    for tank, volume in after.contents.mid.items():
        assert before.contents.low[tank] - 1e-6 <= volume <= before.contents.high[tank] + 1e-6, tank


def test_a_pump_of_unknown_rate_may_have_moved_anything() -> None:
    standing = water(UNMEASURED, hours=1)
    assert standing.unknown == {*LOWER, "header"}
    assert total(standing.contents.high, ["header"]) == pytest.approx(10_000.0)
    assert total(standing.contents.low, LOWER) < 3_000.0


def test_the_litres_told_at_the_end_close_the_band() -> None:
    standing = water(UNMEASURED, off(2, volume_l=4000.0), hours=3)
    assert standing.unknown == frozenset()
    assert total(standing.contents.mid, ["header"]) == pytest.approx(4000.0)
    at_once = water((at(0, 1), UNMEASURED[1]), off(1, volume_l=4000.0), hours=2)
    assert at_once.contents.mid == pytest.approx(standing.contents.mid)


def test_the_end_previewed_is_the_end_noted() -> None:
    garden, now = site(UPHILL), at(0, 5)
    entries = journal(FULL_BELOW, UNMEASURED)
    closing = TapClosed(None, None, "one", "header", 4000.0)
    previewed = what_if(garden, entries, now, [closing]).tanks["header"].volume_l
    noted = levels_of(garden, water(UNMEASURED, off(5, volume_l=4000.0), hours=5)).tanks["header"].volume_l
    assert previewed == pytest.approx(noted) == pytest.approx(4000.0)


def test_a_dip_while_it_runs_is_taken_and_the_run_goes_on() -> None:
    read = (at(0, 2), dip(one=2.0, two=2.0, three=2.0, four=2.0, header=1.2))
    for whole in (True, False):
        standing = water(ON, read, hours=3, whole=whole)
        assert total(standing.contents.mid, ["header"]) == pytest.approx(6000.0 + RATE * 3600.0)
        assert [tap.target for tap in standing.open_taps] == ["header"]


def test_the_short_walk_and_the_whole_one_agree_on_a_pump_switched_on_long_before() -> None:
    """The dip that decides everything lies days after the pump was noted as on."""
    happened = [
        ON,
        (at(9), dip(one=1.0, two=1.0, three=1.0, four=1.0, header=0.5)),
        (at(9, 1), Use(100.0, "hillside")),
    ]
    short, whole = (
        replay(site(UPHILL), journal(FULL_BELOW, *happened), at(9, 2), whole=which) for which in (False, True)
    )
    assert short.contents == whole.contents
    assert short.open_taps == whole.open_taps


def test_a_tap_and_a_pump_are_closed_by_their_own_entries() -> None:
    tap = (at(0, 1), TapOpened("hillside"))
    closes_tap = (at(0, 2), TapClosed())
    left = water(tap, ON, closes_tap, hours=3).open_taps
    assert [(one.outlet, one.target) for one in left] == [(None, "header")]
    left = water(tap, ON, off(2), hours=3).open_taps
    assert [(one.outlet, one.target) for one in left] == [("hillside", None)]


def test_it_is_told_how_long_it_has_been_on_and_how_soon_the_header_is_full() -> None:
    garden = site(UPHILL)

    def told(hours: float, *happened) -> str:
        warnings = levels_of(garden, water(*happened, hours=hours)).warnings
        assert "pump-on" in codes(warnings)
        return next(one.text for one in warnings if one.code == "pump-on")

    assert "header is full in about 3 h" in told(0, ON)
    assert "(2 h)" in told(2, ON)
    assert "header is full in about 60 min" in told(2, ON)
    assert "header is full: what still comes runs over" in told(12, ON)
    assert "header has room for 10000 L at most" in told(2, UNMEASURED)
    assert "pump-on" not in codes(levels_of(garden, water(ON, off(1), hours=2)).warnings)


# What is typed


def test_starting_names_two_tanks_and_is_refused_twice_and_where_the_pump_is_locked() -> None:
    garden = site(UPHILL)
    quiet = water(hours=1)
    assert enter_pump_start(garden, quiet, "one", "header", "3333 L/h") == TapOpened(
        source="one", target="header", rate_l_per_s=pytest.approx(3333 / 3600)
    )
    with pytest.raises(EntryError, match="twice"):
        enter_pump_start(garden, quiet, "one", "one")
    with pytest.raises(EntryError, match="no tank"):
        enter_pump_start(garden, quiet, "one", "attic")
    with pytest.raises(EntryError, match="already noted as on"):
        enter_pump_start(garden, water(ON, hours=1), "one", "header")
    with pytest.raises(EntryError, match="locked out"):
        enter_pump_start(garden, water((START, Change("pump", "locked")), hours=1), "one", "header")


def test_stopping_finds_the_one_that_runs_and_asks_where_there_are_two() -> None:
    garden = site(UPHILL)
    with pytest.raises(EntryError, match="noted as on"):
        enter_pump_stop(garden, water(hours=1))
    assert enter_pump_stop(garden, water(ON, hours=1)) == TapClosed(None, None, "one", "header")
    two = water(ON, (START, TapOpened(source="two", target="header")), hours=1)
    with pytest.raises(EntryError, match="Which one"):
        enter_pump_stop(garden, two)
    assert enter_pump_stop(garden, two, "500 L", "two").volume_l == pytest.approx(500.0)
    with pytest.raises(EntryError, match="not both"):
        enter_pump_stop(garden, water(ON, hours=1), "500 L", rate="5 L/min")


def test_F49_more_than_the_source_can_have_given_is_refused() -> None:
    with pytest.raises(EntryError, match="at most"):
        enter_pump_stop(site(UPHILL), water(UNMEASURED, hours=1), "95000 L")


def test_a_tap_is_neither_opened_nor_closed_by_a_pump() -> None:
    garden = site(UPHILL)
    with pytest.raises(EntryError, match="No outlet is noted as open"):
        enter_tap_close(garden, water(ON, hours=1))
    assert enter_tap_open(garden, water(ON, hours=1), "hillside") == TapOpened("hillside")


def test_the_rate_of_a_pump_is_told_back_in_the_units_of_the_garden_and_in_litres() -> None:
    garden = site(UPHILL.replace("units: metric", "units: us"))
    assert echo_of(TapClosed(None, 0.5, "one", "header"), garden) == ("7.9 US gal/min (0.5 L/s)",)
    assert echo_of(TapClosed(None, 0.5, "one", "header"), site(UPHILL)) == ("0.5 L/s",)
