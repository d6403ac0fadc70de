"""Readings, units, shapes, and sums with rain: situations people met, told with the functions they need."""

from __future__ import annotations

from math import pi

import pytest

from tankdash.units import QuantityError, format_volume, parse_area, parse_length, parse_rain, parse_volume
from tankdash.water.air import most_behind_closed_vent, rise_under_trapped_air
from tankdash.water.catch import catch
from tankdash.water.errors import OutOfRange
from tankdash.water.model import Layout, Link, Roof, Tank
from tankdash.water.readings import depth_from_gap, gauge_through, sensitivity, share_of_steps
from tankdash.water.shapes import Straight, Table, Upright

INCH = 0.0254
FOOT = 0.3048
GALLON = 231 * INCH**3


def test_F05_a_sealed_barrel_takes_a_fourteenth_and_stops() -> None:
    rise = rise_under_trapped_air(0.90, 0.90)
    assert rise == pytest.approx(0.067, abs=5e-4)
    assert rise / 0.90 == pytest.approx(0.075, abs=1e-3)
    barrels = {
        "open": Tank("open", Straight(0.26, 0.9), brim=0.9),
        "sealed": Tank("sealed", Straight(0.26, 0.9), brim=0.9, vented=False),
    }
    site = Layout(barrels, {"manifold": Link("manifold", ("open", "sealed"), (0.0, 0.0))})
    most = most_behind_closed_vent(site, "sealed", {"open": 0.26 * 0.9})
    assert most == pytest.approx(0.26 * 0.067, rel=0.01)


def test_F15_a_cup_on_a_string() -> None:
    tank = Tank("cistern", Upright(2 * 1.90, 2.75), brim=2.75)
    depth = depth_from_gap(1.91, 2.75)
    assert depth == pytest.approx(0.84)
    assert tank.volume(depth) * 1000 == pytest.approx(9527, abs=1)
    assert sensitivity(tank, depth) * 0.01 * 1000 == pytest.approx(113, abs=0.5)
    assert pi * 1.90**2 == pytest.approx(11.34, abs=0.005)


def test_F15_four_feet_counted_which_way() -> None:
    per_foot = 4000 * GALLON
    tank = Tank("tank", Straight(per_foot / FOOT, 12 * FOOT), brim=12 * FOOT)
    as_depth, as_gap = tank.volume(4 * FOOT), tank.volume(depth_from_gap(4 * FOOT, 12 * FOOT))
    assert as_depth / GALLON == pytest.approx(16_000)
    assert as_gap / GALLON == pytest.approx(32_000)
    # The content they reported decides: it was a depth, whatever they called it.
    assert as_depth / GALLON / 14 == pytest.approx(1143, abs=0.5)
    with pytest.raises(OutOfRange, match="height of the mark"):
        depth_from_gap(4 * FOOT, None)
    with pytest.raises(OutOfRange, match="deeper than the mark"):
        depth_from_gap(13 * FOOT, 12 * FOOT)


def test_F16_rungs_of_a_bulging_tank_give_a_share_and_no_litres() -> None:
    assert share_of_steps(2.5, 12) == pytest.approx(0.208, abs=5e-4)

    def bulging(x: float) -> float:
        """Return the volume below `x` where the area is 1 at both ends and 1.2 at mid height."""
        return x + 0.8 * (x**2 / 2 - x**3 / 3)

    shape = Table([(row / 120, bulging(row / 120)) for row in range(121)])
    assert share_of_steps(2.5, 12, shape) == pytest.approx(0.197, abs=5e-4)


@pytest.mark.parametrize(
    ("typed", "metres"),
    [
        ("3' 4 1/2\"", 1.0287), ("5' 3/4\"", 1.5431), ("10 3/8 in", 0.2635), ("4'2-1/4\"", 1.2764),
        ("7' 0 1/2\"", 2.1463), ("3' 5 7/32\"", 1.0470), ("60 ft 1 in", 18.3134), ("4\u2019 2\u00bc\u201d", 1.2764),
    ],
)  # fmt: skip
def test_F18_the_tape_as_it_is_read(typed: str, metres: float) -> None:
    assert parse_length(typed, "imperial") == pytest.approx(metres, abs=5.1e-5)


@pytest.mark.parametrize(
    "typed", ["-1' -2\"", "1'000'", "3' 12 1/2\"", "10 3/0 in", "10 3/8", "5' and a bit"]
)
def test_F18_what_is_only_partly_understood_is_refused(typed: str) -> None:
    with pytest.raises(QuantityError):
        parse_length(typed, "imperial")


def test_F19_which_gallon() -> None:
    tote, imperial, larger = (
        parse_volume(text, "metric") for text in ("275 US gal", "275 imp gal", "330 US gal")
    )
    assert [round(volume * 1000) for volume in (tote, imperial, larger)] == [1041, 1250, 1249]
    assert abs(imperial - larger) * 1000 < 1.1  # no plausibility check could tell
    assert parse_volume("275 gal", "us") == tote
    assert parse_volume("275 gal", "imperial") == imperial
    with pytest.raises(QuantityError, match="which gallon"):
        parse_volume("275 gal", "metric")
    assert "US gal" in format_volume(tote, "us")
    assert "imp gal" in format_volume(imperial, "imperial")


def test_F21_a_weight_that_sinks_as_the_water_rises() -> None:
    gauge = gauge_through((1.10, 0.05), (0.20, 0.95))
    assert gauge.per_mark == pytest.approx(-1.0)
    assert gauge.depth(0.65) == pytest.approx(0.50)
    # With the sign swapped full and empty change places.
    mirrored = gauge_through((0.20, 0.05), (1.10, 0.95))
    assert mirrored.depth(0.20) == pytest.approx(0.05)
    with pytest.raises(OutOfRange, match="same depth"):
        gauge_through((1.10, 0.50), (0.20, 0.50))


def test_F21_a_plugged_sight_tube_shows_a_tenth_of_the_truth() -> None:
    shown = rise_under_trapped_air(1.2, 1.0)
    assert shown == pytest.approx(0.097, abs=5e-4)
    # And it is not even proportional to it.
    assert rise_under_trapped_air(1.2, 0.5) != pytest.approx(shown / 2, rel=0.01)


def test_F27_more_water_than_the_gauge_saw_is_no_error() -> None:
    as_seen = catch(Roof("garage", area=20.0, fills="tote", runoff=1.0), 0.008).caught
    assert as_seen == pytest.approx(0.160)
    ratio = 0.200 / as_seen
    assert ratio == pytest.approx(1.25)
    learned = catch(Roof("garage", area=20.0, fills="tote", runoff=ratio), 0.008)
    assert learned.caught == pytest.approx(0.200)
    assert learned.lost == pytest.approx(-0.040)
    assert catch(Roof("garage", area=20.0, fills="tote", runoff=1.0), 0.010).caught == pytest.approx(0.200)


def test_F29_ten_gallons_an_inch_of_stick() -> None:
    gained = 9.5 * 10 * GALLON
    rain = 0.375 * INCH
    assert gained / GALLON / 0.375 == pytest.approx(253, abs=0.5)
    roof_area = gained / rain
    assert roof_area / FOOT**2 == pytest.approx(406, abs=0.5)
    assert roof_area == pytest.approx(37.8, abs=0.05)
    barrel_area = 10 * GALLON / INCH
    assert barrel_area / FOOT**2 == pytest.approx(16.0, abs=0.05)
    stick = Tank("barrels", Straight(barrel_area, 1.0), brim=1.0)
    assert sensitivity(stick, 0.5) * INCH / GALLON == pytest.approx(10.0)


def test_F29_a_tote_hardly_wetter() -> None:
    tote = Tank("tote", Straight(275 * GALLON / (39.4 * INCH), 39.4 * INCH), brim=39.4 * INCH)
    roof = Roof("small", area=parse_area("50 sq ft", "us"), fills="tote", runoff=1.0)
    caught = catch(roof, parse_rain("1.2 in", "us").low_mm / 1000).caught
    assert caught / GALLON == pytest.approx(37.4, abs=0.05)
    assert caught / tote.capacity == pytest.approx(0.136, abs=5e-4)
    assert tote.depth(caught) / INCH == pytest.approx(5.4, abs=0.05)
    assert tote.capacity / roof.area / INCH == pytest.approx(8.82, abs=0.005)


def test_F29_square_feet_and_millimetres_in_one_sum() -> None:
    efficiency = 0.56 / (144 / 231)
    assert efficiency == pytest.approx(0.898, abs=5e-4)
    roof = Roof("big", area=parse_area("1756 sq ft", "us"), fills="tank", runoff=efficiency)
    per_millimetre = catch(roof, 0.001).caught
    assert per_millimetre / GALLON == pytest.approx(38.7, abs=0.05)
    assert per_millimetre * 1000 == pytest.approx(146.6, abs=0.1)
    assert catch(roof, 0.002).caught * 1000 == pytest.approx(293, abs=0.5)


def test_F30_making_room_for_twenty_millimetres() -> None:
    coming = catch(Roof("house", area=60.0, fills="totes", runoff=0.9), 0.020).caught
    assert coming == pytest.approx(1.080)
    free = 0.300
    assert coming - free == pytest.approx(0.780)


def test_F31_dew_runs_off_metal_and_gravel_keeps_a_light_rain() -> None:
    area = 0.379 / ((0.0020 - 0.0002) * 0.95)
    assert area == pytest.approx(221.6, abs=0.1)
    metal = Roof("metal", area, "tank", runoff=0.95, first_loss=0.0002)
    gravel = Roof("gravel", area, "tank", runoff=0.95, first_loss=0.0025)
    assert catch(metal, 0.0020).caught * 1000 == pytest.approx(379)
    assert catch(gravel, 0.0020).caught == 0.0
    # No single share of the rain gives nothing now and nearly the same as metal later.
    assert catch(gravel, 0.030).caught / catch(metal, 0.030).caught == pytest.approx(27.5 / 29.8)
