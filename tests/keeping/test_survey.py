"""The survey: bases told by still water, settlement over time, a link that does not pass."""

from __future__ import annotations

import sys
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from gardens import START, THREE_TOTES, at, dip, journal, rain, site

from tankdash.journal.entries import Change, Dips, TankDip
from tankdash.keeping.checking.soundings import bases_noted, theil_sen
from tankdash.keeping.checking.survey import Survey, accept_base, survey_of
from tankdash.keeping.entering.naming import EntryError
from tankdash.keeping.state.replay import replay
from tankdash.site.model import Site

BASES = {"north": 0.20, "middle": 0.17, "south": 0.23}


def survey(garden: Site, *happened: object, reference: str | None = None) -> Survey:
    entries = journal(*happened)  # type: ignore[arg-type]
    now = entries[-1].at if entries else START
    return survey_of(garden, replay(garden, entries, now, whole=True), reference)


def still(surface: float, **moved: float) -> object:
    """Return dips of all three at one surface, some bases moved."""
    return dip(**{key: surface - base - moved.get(key, 0.0) for key, base in BASES.items()})


def test_true_bases_are_confirmed() -> None:
    found = survey(site(), (START, still(0.8)))
    assert found.reference == "north" and found.finding == "none"
    assert found.tanks["south"].base_m == pytest.approx(0.23)
    assert found.tanks["south"].plus_minus_m == pytest.approx(1.7 * 0.005)
    assert found.lost_to_bases_l == pytest.approx(200.0)


def test_a_base_that_sank_shows_its_tank_deeper() -> None:
    found = survey(site(), (START, still(0.8, south=-0.03)))
    south = found.tanks["south"]
    assert (south.base_m, south.was_m, south.moved_m) == (
        pytest.approx(0.20), 0.23, pytest.approx(-0.03),
    )  # fmt: skip
    assert abs(south.moved_m) > south.plus_minus_m and found.finding == "settlement"
    assert "south stands 3 cm lower" in found.text
    told = found.as_json()
    assert {"reference", "tanks", "lost_to_bases_l", "finding"} <= told.keys()
    assert told["tanks"]["south"]["moved_m"] == -0.03


def test_readings_that_were_ranges_leave_the_base_open_by_half_of_each() -> None:
    ranged = Dips(tuple(TankDip(key, 0.8 - base, 0.79 - base, 0.81 - base) for key, base in BASES.items()))
    south = survey(site(), (START, ranged)).tanks["south"]
    assert south.plus_minus_m == pytest.approx(1.7 * 0.005 + 0.01 + 0.01)


def test_what_the_sticks_explain_is_no_settlement() -> None:
    assert survey(site(), (START, still(0.8, south=-0.006))).finding == "none"


def test_accepting_a_base_is_an_entry_from_then_on() -> None:
    garden = site()
    found = survey(garden, (START, still(0.8, south=-0.03)))
    change = accept_base(found, "south")
    assert change == Change("south", "base", 0.2)
    after = survey(
        garden, (START, still(0.8, south=-0.03)), (at(1), change), (at(2), still(0.8, south=-0.03))
    )
    assert after.finding == "none" and after.tanks["south"].was_m == 0.2
    with pytest.raises(EntryError, match="tells no base"):
        accept_base(found, "north")


def test_settlement_month_by_month_is_a_line_no_single_bad_dip_can_tilt() -> None:
    months = [30.44 * month for month in range(8)]
    happened = [
        (at(day), still(0.8, south=-0.004 * month + (0.05 if month == 3 else 0.0)))
        for month, day in enumerate(months)
    ]
    south = survey(site(), *happened).tanks["south"]
    assert south.per_month_m == pytest.approx(-0.004, abs=2e-4)


def test_a_tank_that_stays_behind_has_a_link_that_does_not_pass() -> None:
    happened = [
        (START, dip(north=0.60, middle=0.63, south=0.57)),
        (at(10), dip(north=0.40, middle=0.43, south=0.56)),
    ]
    found = survey(site(), *happened)
    assert found.finding == "link-not-passing"
    assert found.tanks["south"].finding == "link-not-passing" and found.tanks["middle"].finding == "none"
    assert "south does not follow" in found.text
    # Its water is no measure of its base: what uneven bases cost is left as noted.
    assert found.lost_to_bases_l == pytest.approx(200.0)


def test_the_same_offset_at_another_level_is_a_base() -> None:
    happened = [(START, still(0.9, south=-0.04)), (at(10), still(0.6, south=-0.04))]
    assert survey(site(), *happened).finding == "settlement"


def test_dips_in_moving_water_are_set_aside() -> None:
    thin = site(THREE_TOTES.replace("bore: 50 mm", "bore: 13 mm"))
    found = survey(
        thin,
        (START, dip(north=0.3)),
        (at(1), rain(15.0, at(1), hours=0.5)),
        (at(1, 0.2), still(0.9, north=-0.2)),
    )
    assert found.set_aside == 1 and found.finding == "no-survey"
    assert "still levelling" in found.text


def test_water_below_the_link_tells_nothing_about_bases() -> None:
    found = survey(site(), (START, dip(north=0.05, south=0.09)))
    assert "south" not in found.tanks


def test_one_dip_is_no_survey() -> None:
    found = survey(site(), (START, dip(north=0.6)))
    assert found.finding == "no-survey" and found.tanks == {}


def test_lifting_the_tank_that_spills_first_brings_back_what_it_cost() -> None:
    """North spills at 1.15, middle would at 1.22: 7 cm over three tanks, less what the lift itself costs."""
    found = survey(site(), (START, still(0.8)))
    (lift,) = found.lifts
    assert lift.tank == "north" and lift.by_m == pytest.approx(0.07)
    # Middle and south gain 7 cm each of their 1 m2; north holds its own 950 L as before.
    assert lift.gains_l == pytest.approx(140.0)


def test_another_reference_gives_the_same_differences() -> None:
    taken = (START, still(0.8, south=-0.03))
    by_north, by_south = (survey(site(), taken, reference=name) for name in ("north", "south"))
    assert by_north.tanks["south"].moved_m == pytest.approx(-by_south.tanks["north"].moved_m)
    with pytest.raises(EntryError, match="no tank"):
        survey(site(), taken, reference="nowhere")


@settings(max_examples=60, deadline=None)
@given(
    moved=st.tuples(st.floats(-0.05, 0.05), st.floats(-0.05, 0.05)),
    stick=st.tuples(*[st.floats(-0.0035, 0.0035)] * 3),
    surfaces=st.lists(st.floats(0.55, 1.0), min_size=1, max_size=5),
)
def test_the_true_base_lies_within_what_is_claimed(
    moved: tuple[float, float], stick: tuple[float, float, float], surfaces: list[float]
) -> None:
    """The same error of the stick in every survey is the worst case the single claim must cover."""
    true = {"north": 0.20, "middle": 0.17 + moved[0], "south": 0.23 + moved[1]}
    happened = [
        (
            START + timedelta(days=place),
            dip(**{key: z - base + error for (key, base), error in zip(true.items(), stick, strict=True)}),
        )
        for place, z in enumerate(surfaces)
    ]
    found = survey(site(), *happened[:1])
    for key in ("middle", "south"):
        if key in found.tanks:
            tank = found.tanks[key]
            assert abs(tank.base_m - true[key]) <= tank.plus_minus_m + 1e-9


def test_theil_sen_of_points_at_one_time_is_no_slope() -> None:
    assert theil_sen([(1.0, 0.0), (1.0, 5.0)]) is None


def test_a_base_taken_as_true_goes_on_being_followed() -> None:
    """Sunk 4 mm a month, accepted at each survey: the settlement is still told, and the base is as noted."""
    garden, happened = site(), []
    for month in range(6):
        sunk = -0.004 * month
        happened.append((at(30.44 * month), still(0.8, south=sunk)))
        happened.append((at(30.44 * month, 1.0), Change("south", "base", round(0.23 + sunk, 4))))
    south = survey(garden, *happened).tanks["south"]
    assert len(south.soundings) == 6
    assert south.is_settling
    assert south.per_month_m == pytest.approx(-0.004, abs=2e-4)
    assert south.finding == "none"
    assert "south sinks by about 4 mm a month over 6 surveys" in survey(garden, *happened).text


def test_a_tank_set_on_new_blocks_begins_anew() -> None:
    """What surveys said of the old place says nothing of the new one."""
    months = [(at(30.44 * month), still(0.8, south=-0.004 * month)) for month in range(5)]
    lifted = (at(150), Change("south", "base", 0.33))
    found = survey(site(), *months, lifted)
    assert "south" not in found.tanks
    again = survey(site(), *months, lifted, (at(160), still(0.8, south=0.10)))
    south = again.tanks["south"]
    assert (len(south.soundings), south.per_month_m, south.finding) == (1, None, "none")


def test_a_base_that_sinks_is_told_where_it_has_come_to() -> None:
    """Ten surveys, 1.5 mm a month: the mean of them would be 7 mm behind."""
    happened = [(at(30.44 * month), still(0.8, south=-0.0015 * month)) for month in range(10)]
    south = survey(site(), *happened).tanks["south"]
    assert south.base_m == pytest.approx(0.23 - 0.0135, abs=1e-4)
    assert south.finding == "settlement"


def test_a_few_shaky_dips_are_no_settlement() -> None:
    happened = [(at(7), still(0.8, south=0.004)), (at(14), still(0.8)), (at(21), still(0.8, south=-0.004))]
    found = survey(site(), *happened)
    south = found.tanks["south"]
    assert south.per_month_m is not None
    assert not south.is_settling
    assert "a month" not in found.text


def test_raising_all_to_the_highest_lip_brings_back_all_that_uneven_bases_cost() -> None:
    """Lips at 1.15, 1.22 and 1.28 m: 13 and 6 cm of packing bring back the whole 200 L."""
    found = survey(site(), (START, still(0.8)))
    assert found.levelling is not None
    assert found.levelling.by_m == {"north": pytest.approx(0.13), "middle": pytest.approx(0.06)}
    assert found.levelling.gains_l == pytest.approx(found.lost_to_bases_l) == pytest.approx(200.0)
    assert "Raising north by 13 cm and middle by 6 cm brings back 200 L." in found.text
    assert "Empty a tank before you raise it" in found.text


def test_the_noted_bases_are_those_of_the_file_and_of_every_set() -> None:
    entries = journal(
        (at(1), Change("south", "base", 0.21)), (at(2), still(0.8)), (at(3), Change("south", "base", 0.2))
    )
    noted = bases_noted(site(), entries)
    assert [base for _, base in noted["south"]] == [0.23, 0.21, 0.2]
    assert noted["north"] == ((None, 0.2),)


def test_tanks_that_share_no_water_with_the_reference_are_named_with_the_way_to_ask_of_them() -> None:
    """Somebody who dipped four tanks and sees two wants to know where the others are."""
    garden = site(
        """
site: Two rows
timezone: UTC
units: metric
datum: the lower step
tanks:
  north: {base: 120 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  south: {base: 118 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  drum: {label: Drum, base: 10 cm, shape: {kind: straight, holds: 1000 L, at: 100 cm}}
  trough: {label: Trough, base: 12 cm, shape: {kind: straight, holds: 500 L, at: 60 cm}}
links:
  above: {join: [north, south], ports: 8 cm}
  below: {join: [drum, trough], ports: 8 cm}
outlets: {tap: {tank: trough, at: 10 cm}}
"""
    )
    dips = dip(north=0.6, south=0.62, drum=0.4, trough=0.38)
    found = survey(garden, (START, dips))
    assert "Drum and Trough share no water with it" in found.text and "--reference drum" in found.text
    assert set(survey(garden, (START, dips), reference="drum").tanks) == {"drum", "trough"}
