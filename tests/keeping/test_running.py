"""A tap left open and a pump left on are chores until somebody closes them (F34, F49)."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from gardens import START, at, dip, journal, site

from tankdash.journal.entries import TapClosed, TapOpened
from tankdash.keeping.chores.away import away_plan
from tankdash.keeping.chores.due import chores_at
from tankdash.keeping.entering.naming import EntryError
from tankdash.keeping.entering.records import enter_done

GARDEN = """
site: Below and above
timezone: Europe/Lisbon
units: metric
datum: the yard
tanks:
  low: {base: 0, shape: {kind: straight, holds: 90 m3, at: 2 m}, label: Low tank}
  header: {base: 15 m, shape: {kind: straight, holds: 10 m3, at: 2 m}, label: Header}
outlets:
  tap: {label: Garden tap, tank: low, at: 5 cm}
  intake: {label: Submerged pump, tank: low, at: 30 cm, kind: pump}
  uphill: {tank: header, at: 5 cm}
roofs:
  barn: {area: 300 m2, fills: low}
chores:
  close-uphill: {label: A chore of the file that bears the name, every: 1 year}
"""
FULL = (START, dip(low=2.0, header=0.0))
ON = (at(0, 1), TapOpened(source="low", target="header", rate_l_per_s=10_000.0 / 3.0 / 3600.0))


def running(*happened, hours: float):
    states = chores_at(site(GARDEN), journal(FULL, *happened), at(0, hours))
    return [state for state in states if state.id not in site(GARDEN).chores]


def test_F34_an_open_tap_is_due_at_once_and_late_when_its_day_is_over() -> None:
    evening = (at(0, 9), TapOpened("tap"))
    (due,) = running(evening, hours=9)
    assert (due.id, due.label, due.state) == ("close-tap", "Close Garden tap", "due")
    (late,) = running(evening, hours=23)
    assert late.state == "late"
    assert "18:00" in late.reason and "(14 h)" in late.reason
    assert running(evening, (at(0, 23), TapClosed("tap", 100 / 3600)), hours=23) == []


def test_F49_a_pump_is_late_once_it_would_have_filled_the_header_from_empty() -> None:
    """Four tanks below, a header of 10 000 L that takes 3 h: after that every litre runs over."""
    (due,) = running(ON, hours=3.5)
    assert (due.label, due.state) == ("Switch off the pump from Low tank to Header", "due")
    assert "in about 3 h" in due.reason
    assert (due.due - due.since).total_seconds() == pytest.approx(3 * 3600.0)
    (late,) = running(ON, hours=13)
    assert late.state == "late" and "40000 L by now" in late.reason


def test_a_pump_at_an_outlet_is_switched_off_and_not_closed() -> None:
    (state,) = running((at(0, 1), TapOpened("intake")), hours=2)
    assert state.label == "Switch off Submerged pump"


def test_what_runs_stands_before_all_that_the_calendar_asks() -> None:
    states = chores_at(site(GARDEN), journal(FULL, ON), at(400))
    assert states[0].id == "stop-low-header" and len(states) == 2


def test_ticking_it_notes_that_it_was_closed() -> None:
    entries = journal(FULL, (at(0, 1), TapOpened("uphill")), ON)
    # The file has a chore of that name: the tap's own is told apart from it.
    ids = [state.id for state in chores_at(site(GARDEN), entries, at(0, 2))]
    assert "close-uphill" in ids and "close-uphill-again" in ids
    closed = enter_done(site(GARDEN), "close-uphill-again", at(0, 2), entries, at(0, 2))
    assert closed == TapClosed("uphill")
    off = enter_done(site(GARDEN), "stop-low-header", at(0, 2), entries, at(0, 2))
    assert off == TapClosed(None, None, "low", "header")
    with pytest.raises(EntryError):
        enter_done(site(GARDEN), "stop-low-header", at(0, 0.5), entries, at(0, 2))


def test_nobody_leaves_for_days_with_a_tap_open() -> None:
    plan = away_plan(site(GARDEN), journal(FULL, (at(0, 1), TapOpened("tap"))), at(0, 2), 11)
    assert [chore.id for chore in plan.before] == ["close-tap"]


def test_a_tap_may_be_closed_with_the_litres_it_gave() -> None:
    """F34: 1400 L in fourteen hours; also where it is noted as opened and closed in the same minute."""
    from tankdash.keeping.entering.drawing_off import enter_tap_close
    from tankdash.keeping.state.replay import replay

    garden = site(GARDEN)
    for opened in (at(0, 9), at(0, 23)):
        entries = journal(FULL, (opened, TapOpened("tap")))
        closed = enter_tap_close(garden, replay(garden, entries, at(0, 23)), text="1400 L")
        standing = replay(garden, journal(FULL, (opened, TapOpened("tap")), (at(0, 23), closed)), at(1))
        assert standing.contents.mid["low"] == pytest.approx(90.0 - 1.4)
        assert standing.contents.low == standing.contents.high == pytest.approx(standing.contents.mid)
    with pytest.raises(EntryError, match="not both"):
        enter_tap_close(garden, replay(garden, entries, at(0, 23)), rate="2 L/min", text="1400 L")


def test_a_pump_at_an_outlet_is_told_to_be_on_and_not_open() -> None:
    from tankdash.keeping.state.levels import levels_of
    from tankdash.keeping.state.replay import replay

    entries = journal(FULL, (at(0, 1), TapOpened("intake")))
    told = levels_of(site(GARDEN), replay(site(GARDEN), entries, at(0, 2))).warnings
    (caution,) = [warning for warning in told if warning.code == "tap-open"]
    assert "Submerged pump is on since" in caution.text and "switch it off" in caution.text
