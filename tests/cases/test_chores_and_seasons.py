"""Field cases on chores, seasons and going away, from the words typed to what the program says."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest

from tankdash.journal.entries import Entry, Record
from tankdash.keeping.chores.away import away_plan
from tankdash.keeping.chores.due import chores_at, chores_until
from tankdash.keeping.chores.marks import chore_marks
from tankdash.keeping.chores.state import ChoreState
from tankdash.keeping.entering.naming import EntryError
from tankdash.keeping.entering.records import enter_dip, enter_done, enter_frost, enter_rain, enter_set
from tankdash.keeping.rain.events import events
from tankdash.keeping.rain.flush import flush_states, runoff
from tankdash.keeping.state.levels import Levels, levels_of
from tankdash.keeping.state.replay import replay
from tankdash.keeping.when import parse_time
from tankdash.planning.supply import away
from tankdash.site import load_text
from tankdash.site.model import Site
from tankdash.water.holding import full, volume_below_outlet

HEAD = """
site: A garden
timezone: UTC
units: metric
datum: slab by the door
"""

TOTE = """
tanks:
  north: {base: 20 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}, brim: 100 cm}
outlets:
  tap: {tank: north, at: 10 cm}
"""


class Year:
    """A garden and its journal, filled with words as a person would type them."""

    def __init__(self, text: str, begins: str) -> None:
        self.site: Site = load_text(HEAD + text)
        self.entries: list[Entry] = []
        self.begins = datetime.fromisoformat(begins).replace(tzinfo=UTC)

    def at(self, typed: str) -> datetime:
        return parse_time(typed, self.site.zone, self.begins)

    def _add(self, at: datetime, record: Record) -> None:
        number = len(self.entries) + 1
        self.entries.append(Entry(number, f"u{number}", "", at, at, record, ""))
        self.entries.sort(key=lambda entry: (entry.at, entry.number))

    def rain(self, typed: str, depth: str, **more: Any) -> None:
        at = self.at(typed)
        self._add(at, enter_rain(self.site, depth, at, at, entries=self.entries, **more))

    def done(self, typed: str, chore: str, now: str | None = None) -> None:
        at = self.at(typed)
        self._add(at, enter_done(self.site, chore, at, self.entries, self.at(now) if now else at))

    def set(self, typed: str, item: str, state: str) -> None:
        self._add(self.at(typed), enter_set(self.site, item, state, self.at(typed)))

    def frost(self, typed: str, low: str, night: date | None = None) -> None:
        self._add(self.at(typed), enter_frost(self.site, low, self.at(typed), night))

    def dip(self, typed: str, **readings: str) -> None:
        at = self.at(typed)
        self._add(at, enter_dip(self.site, self.site.layout(at.date()), readings, at))

    def chores(self, typed: str) -> dict[str, ChoreState]:
        return {state.id: state for state in chores_at(self.site, self.entries, self.at(typed))}

    def levels(self, typed: str) -> Levels:
        return levels_of(self.site, replay(self.site, self.entries, self.at(typed)))


# --- F26: the net on the overflow ------------------------------------------------------------------------


def test_F26_the_net_is_due_after_a_heavy_fall_or_after_so_many_days_in_its_months() -> None:
    garden = Year(
        TOTE
        + """
roofs:
  house: {area: 40 m2, runoff: 0.9, fills: north}
chores:
  net: {label: Clear the net, after_rain: {at_least: 15 mm}, every: 3 weeks, season: 1 March to 30 June}
""",
        "2026-03-01 08:00",
    )
    garden.rain("2026-03-01 08:00", "2 mm")
    garden.done("2026-03-01 09:00", "net")
    assert garden.chores("2026-03-21 08:00")["net"].state == "coming"
    assert garden.chores("2026-03-22 08:00")["net"].state == "due"
    garden.done("2026-03-22 09:00", "net")
    garden.rain("2026-03-25 08:00", "20 mm")
    assert garden.chores("2026-03-25 09:00")["net"].reason == "20 mm on Wed 08:00"
    garden.done("2026-03-25 10:00", "net")
    garden.rain("2026-07-10 08:00", "20 mm")
    assert garden.chores("2026-07-10 09:00")["net"].state == "asleep"
    # All of it should have left a full barrel by the overflow: 20 mm x 40 m2 x 0.9 (D).
    assert runoff(garden.site.roofs["house"].thing, 20.0) == pytest.approx(0.720)


# --- F36: barely freezing --------------------------------------------------------------------------------


def test_F36_fittings_and_tank_have_their_own_frost_and_the_reason_claims_no_certainty() -> None:
    garden = Year(
        TOTE
        + """
chores:
  fittings: {label: Wrap the fittings, frost: 0 C}
  drain: {label: Drain the tank, frost: -8 C}
""",
        "2026-11-01 08:00",
    )
    garden.frost("2026-11-12 15:00", "-1 C")
    states = garden.chores("2026-11-12 16:00")
    assert (states["fittings"].state, states["drain"].state) == ("due", "coming")
    assert "-1" in states["fittings"].reason
    assert "rule of thumb" in states["fittings"].reason
    garden.done("2026-11-12 17:00", "fittings")
    garden.frost("2026-11-20 15:00", "-9 C")
    states = garden.chores("2026-11-20 16:00")
    assert {key: state.state for key, state in states.items()} == {"fittings": "due", "drain": "due"}


# --- F37: winter -----------------------------------------------------------------------------------------

WINTER = """
tanks:
  barrel: {base: 0 cm, shape: {kind: straight, holds: 550 US gal, at: 110 cm}, brim: 110 cm}
outlets:
  tap: {tank: barrel, at: 20 cm}
roofs:
  shed: {area: 24 m2, runoff: 0.9, fills: barrel, first_flush: {holds: 8 L, empties: by hand}}
chores:
  flush: {label: Empty the first-flush pipe, after_rain: {at_least: 0.5 mm}, empties: shed}
  filter: {label: Clean the filter, every: 2 weeks, after_rain: {at_least: 10 mm}}
  spring: {label: "Plugs in, drain shut", on: 1 March}
"""


def test_F37_in_winter_rain_is_not_credited_and_no_first_flush_or_filter_chore_is_raised() -> None:
    garden = Year(WINTER, "2026-10-01 08:00")
    garden.dip("2026-10-30 09:00", barrel="20 cm")
    garden.set("2026-11-01 09:00", "site", "winter")
    before = garden.levels("2026-11-01 10:00").totals.volume_l
    garden.rain("2026-11-20 09:00", "30 mm")
    after = garden.levels("2027-02-01 09:00")
    assert after.totals.volume_l == before
    assert after.moved.caught_l == 0.0
    states = garden.chores("2027-02-01 09:00")
    assert (states["flush"].state, states["filter"].state) == ("asleep", "asleep")
    assert states["flush"].rains_unflushed == 0
    assert states["spring"].state == "coming"
    # "Drained" to the outlet leaves 100 of 550 US gal, 379 L, that can still freeze (D).
    layout = garden.site.layout(date(2026, 11, 1))
    assert 1000 * sum(volume_below_outlet(layout, full(layout)).values()) == pytest.approx(378.5, abs=0.1)


def test_F37_in_spring_the_list_is_short_and_the_pipe_starts_empty() -> None:
    garden = Year(WINTER, "2026-10-01 08:00")
    garden.rain("2026-10-28 09:00", "12 mm")
    garden.set("2026-11-01 09:00", "site", "winter")
    for day in ("2026-11-20", "2026-12-24", "2027-01-15"):
        garden.rain(f"{day} 09:00", "30 mm")
    garden.set("2027-03-01 09:00", "site", "in-use")
    states = garden.chores("2027-03-01 10:00")
    assert {key: (state.state, state.missed) for key, state in states.items()} == {
        "spring": ("due", 0),
        "filter": ("due", 0),
        "flush": ("coming", 0),
    }
    pipe = flush_states(garden.site, garden.entries, garden.at("2027-03-01 10:00"))["shed"].pipe
    assert pipe.low == pytest.approx(0.008)
    marks = chore_marks(
        garden.site, garden.entries, date(2026, 11, 3), date(2027, 2, 28), garden.at("2027-03-01 10:00")
    )
    assert marks == {}


# --- F39: every second month on the 31st -----------------------------------------------------------------

TURNS = ["2023-12-31", "2024-02-29", "2024-04-30", "2024-06-30", "2024-08-31", "2024-10-31", "2024-12-31"]

SECOND_MONTH = (
    TOTE
    + """
chores:
  filter: {label: Clean the filter, every: 2 months, starting: 2023-12-31, counted_from: calendar}
"""
)


def test_F39_every_second_month_from_the_31st_keeps_to_the_ends_of_months() -> None:
    garden = Year(SECOND_MONTH, "2023-12-01 08:00")
    coming = chores_until(
        garden.site, garden.entries, garden.at("2023-12-01 08:00"), date(2025, 1, 1)
    )  # fmt: skip
    assert [state.due and state.due.date().isoformat() for state in coming] == TURNS


def test_F39_a_chore_done_on_each_turn_does_not_drift() -> None:
    garden = Year(SECOND_MONTH, "2023-12-01 08:00")
    garden.rain("2023-12-01 08:00", "0 mm")
    met = []
    for _ in TURNS:
        when = "2023-12-02 08:00" if not met else f"{met[-1]} 20:00"
        due = garden.chores(when)["filter"].due
        assert due is not None
        met.append(due.date().isoformat())
        garden.done(f"{met[-1]} 18:00", "filter")
    assert met == TURNS


# --- F41: three rains, one chore -------------------------------------------------------------------------

PIPE = (
    TOTE
    + """
roofs:
  shed: {area: 24 m2, runoff: 0.9, fills: north, first_flush: {bore: 75 mm, length: 1.8 m, empties: by hand}}
rain: {gap: 6 h, wet: 0.2 mm}
chores:
  drain: {label: Empty the first-flush pipe, after_rain: {at_least: 0.5 mm}, within: 1 day, empties: shed}
"""
)


@pytest.fixture
def storms() -> Year:
    garden = Year(PIPE, "2026-05-06 12:00")  # a Wednesday
    garden.rain("2026-05-04 06:10", "4 mm")
    garden.rain("2026-05-04 15:40", "2 mm")
    garden.rain("2026-05-05 00:30", "6 mm")
    return garden


def test_F41_three_rains_open_one_chore_and_two_are_unflushed(storms: Year) -> None:
    (state,) = storms.chores("2026-05-05 05:00").values()
    assert (state.state, state.since, state.missed) == ("due", storms.at("monday 06:10"), 0)
    assert state.rains_unflushed == 2
    assert state.reason == "4 mm on Mon 06:10; 2 later rains unflushed"


def test_F41_being_done_closes_it_and_a_shower_under_the_threshold_opens_none(storms: Year) -> None:
    storms.done("2026-05-05 08:00", "drain")
    storms.rain("2026-05-06 08:00", "0.1 mm")
    (state,) = storms.chores("2026-05-06 09:00").values()
    assert (state.state, state.rains_unflushed) == ("done", 0)
    marks = chore_marks(
        storms.site, storms.entries, date(2026, 5, 3), date(2026, 5, 6), storms.at("2026-05-06 09:00")
    )
    kinds = {day.day: sorted(mark.kind for mark in those) for day, those in marks.items()}
    assert kinds[4] == ["unflushed"]
    assert "unflushed" in kinds[5] and "done" in kinds[5]
    assert 6 not in kinds


def test_F41_a_full_pipe_takes_no_toll_so_the_dirty_water_arrives_undiminished(storms: Year) -> None:
    met = flush_states(storms.site, storms.entries, storms.at("2026-05-05 08:00"))["shed"].met
    assert [one.is_unflushed for one in met] == [False, True, True]
    assert [one.flushed.high for one in met] == pytest.approx([0.00795, 0.0, 0.0], abs=1e-5)
    dipped = Year(PIPE, "2026-05-06 12:00")
    dipped.dip("2026-05-02 06:00", north="20 cm")
    dipped.entries += [
        Entry(entry.number + 1, entry.uid + "x", "", entry.at, entry.at, entry.record, "")
        for entry in storms.entries
    ]
    # 12 mm x 24 m2 x 0.9 less one filling of the pipe, 259.2 - 7.95 L (D).
    assert dipped.levels("2026-05-05 08:00").moved.caught_l == pytest.approx(259.2 - 7.95, abs=0.01)


def test_F41_it_cannot_have_been_done_before_the_rain(storms: Year) -> None:
    with pytest.raises(EntryError, match="came due on Mon 06:10"):
        storms.done("2026-05-04 05:00", "drain", now="2026-05-05 08:00")
    storms.done("2026-05-04 07:00", "drain", now="2026-05-05 08:00")
    state = storms.chores("2026-05-05 08:00")["drain"]
    assert (state.since, state.rains_unflushed) == (storms.at("monday 15:40"), 1)


# --- F42: eleven days away -------------------------------------------------------------------------------


def test_F42_eleven_days_away_need_and_chores_before_and_after() -> None:
    garden = Year(
        PIPE
        + """
  screen: {label: Wipe the leaf screen, every: 2 weeks}
  look: {label: Look for larvae, every: 1 week}
  sludge: {label: Check for sludge, every: 2 years, starting: 2028-03-01}
beds:
  tomatoes: {need: 18 L/day, from: tap}
""",
        "2026-06-01 08:00",
    )
    garden.rain("2026-06-01 08:00", "3 mm")
    garden.done("2026-06-01 09:00", "drain")
    garden.done("2026-06-01 09:00", "screen")
    garden.done("2026-06-01 09:00", "look")
    now = garden.at("2026-06-05 09:00")
    plan = away_plan(garden.site, garden.entries, now, 11)
    assert [(chore.id, chore.day) for chore in plan.before] == [
        ("screen", date(2026, 6, 15)),
        ("look", date(2026, 6, 8)),
    ]
    # One line each on return, not one alarm a day.
    assert [chore.id for chore in plan.on_return] == ["look", "drain"]
    layout = garden.site.layout(now.date())
    absence = away(garden.site, layout, {"north": 0.500}, now.date(), 11)
    # 12 plants x 1.5 L x 11 days; 400 L stand above the tap (D).
    assert 1000 * absence.need == pytest.approx(198.0)
    assert (1000 * absence.short, 1000 * absence.spare) == pytest.approx((0.0, 202.0))


def test_F42_rain_of_the_absence_is_one_sum_typed_in_and_its_timing_stays_unknown() -> None:
    garden = Year(PIPE, "2026-06-16 08:00")
    garden.rain("2026-06-05 08:00", "0 mm")
    assert garden.chores("2026-06-16 08:00")["drain"].state == "coming"  # rain is not guessed
    garden.rain("2026-06-16 08:00", "31 mm", days=11)
    (event,) = events(garden.entries, garden.site.rain, garden.site.zone)
    assert event.is_sum
    states = garden.chores("2026-06-16 09:00")
    assert (states["drain"].state, states["drain"].since) == ("due", garden.at("2026-06-16 08:00"))
