"""What a page needs in one call, and whose past rain it rests on."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from tankdash.journal.drafts import Draft, HistoryValue
from tankdash.journal.entries import Change, Dips, Imported, Pour, Rain, TankDip
from tankdash.journal.store import Journal
from tankdash.keeping.desk import Desk
from tankdash.planning.outlook import outlook
from tankdash.planning.past import OWN, past_rains
from tankdash.site import load_text

NOW = datetime(2026, 7, 10, 12, 0, tzinfo=UTC)
TEXT = """
site: One tank
timezone: UTC
units: metric
datum: the step
tanks: {tank: {base: 0 cm, shape: {kind: straight, holds: 2000 L, at: 100 cm}}}
outlets: {tap: {tank: tank, at: 0 cm}}
roofs: {shed: {area: 20 m2, runoff: 0.9, fills: tank}}
beds: {beans: {need: 21 mm/week, area: 10 m2, from: tap}}
"""


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    with Desk(load_text(TEXT), Journal.open(tmp_path / "garden.journal.db")) as made:
        yield made


def dip(desk: Desk, depth: float = 0.3) -> None:
    desk.record(Dips((TankDip("tank", depth, depth, depth),)), NOW - timedelta(hours=2), "dip", now=NOW)


def bring_in(desk: Desk, station: str, first: date, mm: list[float], element: str = "rain") -> None:
    values = [HistoryValue(station, first + timedelta(days=n), element, one, one) for n, one in enumerate(mm)]
    desk.journal.add_history(values, Imported("f.csv", "history", station, len(values)), NOW)


def rained(desk: Desk, day: date, mm: float) -> None:
    start = datetime(day.year, day.month, day.day, tzinfo=UTC)
    end = start + timedelta(hours=20)
    desk.record(Rain(mm, mm, start, end, day=day), end, "rain", now=NOW)


def test_recent_rain_counts_in_past_years_as_in_the_supply(desk: Desk) -> None:
    """Two past years without rain run short on the day the supply names, a shower of yesterday taken off in both."""
    bring_in(desk, "village", date(2020, 1, 1), [0.0] * 731)
    rained(desk, date(2026, 7, 9), 14.0)
    dip(desk)
    found = outlook(desk, NOW, days=100)
    days = found.supply.together.days
    assert found.supply.credit["beans"] * 1000 == pytest.approx(110.0)
    assert days == pytest.approx((600 + 110) / 30)
    assert [trace.first_dry for trace in found.chance.traces] == [int(days)] * 2


def test_only_rain_is_rain_and_the_longest_record_comes_first(desk: Desk) -> None:
    bring_in(desk, "hill", date(2020, 1, 1), [1.0] * 400)
    bring_in(desk, "village", date(2019, 1, 1), [2.0] * 800)
    bring_in(desk, "village", date(2015, 1, 1), [20.0] * 3000, "tmax")
    records = past_rains(desk, NOW)
    assert list(records) == ["village", "hill"]
    assert len(records["village"].mm) == 800
    assert set(records["village"].mm.values()) == {2.0}
    assert outlook(desk, NOW).station == "village"
    assert outlook(desk, NOW, station="hill").station == "hill"


def test_the_own_gauge_is_a_record_once_it_tells_of_a_year(desk: Desk) -> None:
    def readings(count: int, before: date) -> list[Draft]:
        days = [before - timedelta(days=number) for number in range(count)]
        made = []
        for day in days:
            start = datetime(day.year, day.month, day.day, tzinfo=UTC)
            end = start + timedelta(days=1)
            made.append(Draft(Rain(1.5, 1.5, start, end, day=day), end, "rain"))
        return made

    desk.record_many(readings(300, date(2026, 7, 8)), NOW)
    assert OWN not in past_rains(desk, NOW)
    desk.record_many(readings(100, date(2026, 7, 8) - timedelta(days=300)), NOW)
    assert len(past_rains(desk, NOW)[OWN].mm) == 400


def test_a_bung_of_today_is_not_for_a_whole_year(desk: Desk) -> None:
    bring_in(desk, "village", date(2020, 1, 1), [3.0] * 731)
    dip(desk)
    before = outlook(desk, NOW).chance.traces
    desk.record(Change("shed", "plugged"), NOW - timedelta(hours=1), "set shed plugged", now=NOW)
    assert outlook(desk, NOW).layout.roofs == {}
    assert outlook(desk, NOW).chance.traces == before


def test_a_range_counts_at_its_low_end_and_says_so(tmp_path: Path) -> None:
    """Two tanks over a high link: a dip below the link leaves the other between nothing and the sill."""
    text = TEXT.replace(
        "tanks: {", "tanks: {far: {base: 0 cm, shape: {kind: straight, holds: 2000 L, at: 100 cm}}, "
    ).replace("roofs:", "links: {hose: {join: [far, tank], ports: 50 cm}}\nroofs:")
    with Desk(load_text(text), Journal.open(tmp_path / "two.journal.db")) as two:
        dip(two)
        found = outlook(two, NOW)
        assert two.levels(NOW).tanks["far"].volume_l is None
        assert found.contents["far"] == 0.0
        assert found.supply.together.usable * 1000 == pytest.approx(600.0)


HUMP = """
site: Over a hump
timezone: UTC
units: metric
datum: the pad
tanks:
  a: {base: 0, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  b: {base: 0, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
links: {hose: {join: [a, b], ports: 5 cm, crest: 55 cm}}
outlets: {tap: {tank: b, at: 5 cm}, other: {tank: a, at: 5 cm}}
beds: {beans: {need: 200 L/day, from: tap}}
"""


def test_a_total_that_is_known_does_not_make_certain_what_reaches_one_tap(tmp_path: Path) -> None:
    """560 L are there and 460 of them usable, but behind which of the two taps nobody knows."""
    with Desk(load_text(HUMP), Journal.open(tmp_path / "hump.journal.db")) as desk:
        start = NOW - timedelta(hours=3)
        both = Dips((TankDip("a", 0.40, 0.40, 0.40), TankDip("b", 0.15, 0.15, 0.15)))
        desk.record(both, start, "dip", now=NOW)
        desk.record(Pour(10.0, "a", "hose"), start + timedelta(hours=1), "pour", now=NOW)
        found = outlook(desk, NOW, days=0)
        assert found.levels.totals.usable_l == pytest.approx(460.0)
        assert found.is_low_end


def test_nothing_dipped_is_nothing_told(desk: Desk) -> None:
    bring_in(desk, "village", date(2020, 1, 1), [3.0] * 731)
    found = outlook(desk, NOW)
    assert (found.supply, found.chance) == (None, None)
    assert found.as_json()["days_left"] is None


def test_past_years_are_only_run_when_asked_for(desk: Desk) -> None:
    bring_in(desk, "village", date(2020, 1, 1), [3.0] * 731)
    dip(desk)
    assert outlook(desk, NOW, with_years=False).chance is None
