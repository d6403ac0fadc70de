"""Field cases F49 and F51: a header tank filled by pump, tanks that move, and a valve nobody can reach."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "keeping"))
from gardens import START, at, dip, journal, site, total

from tankdash.journal.entries import Change, Move, Use
from tankdash.keeping.checking.balance import balance_of
from tankdash.keeping.entering.records import EntryError, enter_dip, enter_move
from tankdash.keeping.state.levels import levels_of
from tankdash.keeping.state.replay import replay
from tankdash.keeping.state.risk import at_risk

LOWER = ("one", "two", "three", "four")

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


def test_F49_a_pump_left_running_twelve_hours_spills_what_the_header_cannot_hold() -> None:
    """40 000 L are pumped at 3333 L/h; 10 000 L stay, 30 000 L are lost, 50 000 L are left below."""
    garden = site(UPHILL)
    entries = journal(
        (START, dip(one=2.2, two=2.2, three=2.2, four=2.2, header=0.0)),
        (at(0, 12), Move(12 * 10000.0 / 3.0, "one", "header")),
    )
    standing = replay(garden, entries, at(0, 12), whole=True)
    assert total(standing.contents.mid, LOWER) == pytest.approx(50_000.0)
    assert total(standing.contents.mid, ["header"]) == pytest.approx(10_000.0)
    assert standing.moved.spilled * 1000.0 == pytest.approx(30_000.0)
    assert total(standing.contents.mid) + standing.moved.spilled * 1000.0 == pytest.approx(90_000.0)


def test_F49_the_pump_joins_no_levels() -> None:
    garden = site(UPHILL)
    told = levels_of(garden, replay(garden, journal((START, dip(one=1.0, header=0.5))), START))
    assert told.tanks["four"].state == "level" and told.tanks["header"].state == "dipped"
    assert [pool.tanks for pool in told.pools] == [LOWER, ("header",)]
    assert told.settled.spread_m == 0.0


def test_F49_more_than_the_source_can_give_is_refused() -> None:
    garden = site(UPHILL)
    standing = replay(garden, journal((START, dip(one=1.0, header=0.5))), START)
    with pytest.raises(EntryError, match="at most"):
        enter_move(garden, standing, "50000 L", "one", "header")
    assert enter_move(garden, standing, "5000 L", "one", "header").volume_l == pytest.approx(5000.0)


MOVED = """
site: Moved round the house
timezone: UTC
units: metric
datum: the slab
tanks:
  front: {until: 2026-05-31, base: 0 m, shape: {kind: straight, holds: 4000 L, at: 2 m}}
  back: {since: 2026-06-02, base: 0 m, shape: {kind: straight, holds: 4000 L, at: 2 m}}
  large: {base: 0 m, shape: {kind: straight, holds: 20000 L, at: 2 m}}
  small: {base: 0 m, shape: {kind: straight, holds: 5000 L, at: 2 m}}
links:
  old: {join: [large, small], ports: 5 cm}
  new: {since: 2026-06-02, join: [back, large], ports: 5 cm}
outlets:
  front-tap: {tank: front, at: 0 cm}
  tap: {tank: large, at: 0 cm}
"""


def test_F51_readings_before_the_move_keep_the_old_garden_and_the_last_water_is_a_draw() -> None:
    garden = site(MOVED)
    happened = [
        (START, dip(front=0.075, large=1.0)),
        (at(2), Use(150.0, "front-tap")),
        (at(3), dip(front=0.0, large=1.0)),
        (at(40), dip(back=0.8)),
    ]
    before = replay(garden, journal(*happened), at(1))
    assert set(before.contents.mid) == {"front", "large", "small"}
    assert total(before.contents.mid) == pytest.approx(150.0 + 10_000.0 + 2_500.0)
    moved = replay(garden, journal(*happened), at(35), whole=True)
    assert set(moved.contents.mid) == {"back", "large", "small"}
    # 12 500 L now stand in 29 000 L of tanks, on one surface.
    assert total(moved.contents.mid) == pytest.approx(12_500.0)
    assert moved.contents.mid["back"] == pytest.approx(12.5 * 4.0 / 29.0)
    found = balance_of(garden, replay(garden, journal(*happened), at(40), whole=True)).stretches
    assert "leak" not in [stretch.finding for stretch in found]
    emptied = next(stretch for stretch in found if stretch.residual.tanks == ("front",))
    assert emptied.finding in ("none", "below-resolution")


def test_F51_a_reading_for_a_tank_that_is_not_there_on_that_day_is_an_error() -> None:
    garden = site(MOVED)
    with pytest.raises(EntryError, match="left after 31 May 2026"):
        enter_dip(garden, garden.layout(at(40).date()), {"front": "20 cm"}, at(40))
    with pytest.raises(EntryError, match="joined on 2 Jun 2026"):
        enter_dip(garden, garden.layout(START.date()), {"back": "20 cm"}, START)


EIGHT = (
    """
site: Eight in a row
timezone: UTC
units: metric
datum: the yard
tanks:
"""
    + "".join(
        f"  t{number}: {{base: 0 m, shape: {{kind: straight, holds: 22500 L, at: 2 m}}}}\n"
        for number in range(1, 9)
    )
    + "links:\n"
    + "".join(f"  l{number}: {{join: [t{number}, t{number + 1}], ports: 0 cm}}\n" for number in range(1, 8))
    + "outlets:\n  tap: {tank: t1, at: 0 cm}\n"
)


def test_F51_only_what_cannot_be_shut_off_is_at_risk() -> None:
    garden = site(EIGHT)
    entries = journal((START, dip(t1=2.0)), (at(0, 1), Change("l3", "stuck")))
    standing = replay(garden, entries, at(0, 1))
    held, stuck = standing.contents.mid, standing.arrangement.stuck
    assert total(held) == pytest.approx(180_000.0)
    # With every valve shut one tank is at risk; beside the buried valve it is two; with no valves all of it.
    assert at_risk(standing.layout, held, "t6", stuck=stuck) * 1000.0 == pytest.approx(22_500.0)
    assert at_risk(standing.layout, held, "t3", stuck=stuck) * 1000.0 == pytest.approx(45_000.0)
    assert at_risk(standing.layout, held, "t6", stuck=standing.layout.links) * 1000.0 == pytest.approx(
        180_000.0
    )
    assert at_risk(standing.layout, held, "t6", height=1.5, stuck=stuck) * 1000.0 == pytest.approx(5_625.0)


def test_F51_a_tank_cut_off_by_a_plug_fills_by_itself_and_joins_again_without_losing_a_drop() -> None:
    garden = site(
        EIGHT.replace("outlets:", "roofs:\n  barn: {area: 100 m2, runoff: 1.0, fills: t8}\noutlets:")
    )
    from gardens import rain

    entries = journal(
        (START, dip(t1=0.5)),
        (at(1), Change("l7", "closed")),
        (at(2), rain(20.0, at(2))),
        (at(3), Change("l7", "open")),
    )
    apart = replay(garden, entries, at(2))
    assert apart.contents.mid["t8"] == pytest.approx(5.625 + 2.0)
    assert apart.contents.mid["t7"] == pytest.approx(5.625)
    joined = replay(garden, entries, at(3))
    assert total(joined.contents.mid) == pytest.approx(47_000.0)
    assert joined.contents.mid["t1"] == pytest.approx(joined.contents.mid["t8"])
