"""Shapes of tanks: published volumes, an independent engine, and the law that the inverse undoes the forward (R17)."""

from __future__ import annotations

from math import inf, nan, pi, tau

import fluids.geometry
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tankdash.water.errors import OutOfRange
from tankdash.water.model import Shape, Tank
from tankdash.water.shapes import Box, Cone, Lying, Partly, Straight, Table, Taper, Upright
from tankdash.water.shapes import __all__ as every_shape

INCH = 0.0254
FOOT = 0.3048
US_GALLON = 231 * INCH**3

lengths = st.floats(0.001, 10.0)


@st.composite
def tables(draw: st.DrawFn) -> Table:
    steps = draw(st.lists(st.tuples(st.floats(0.001, 2.0), st.floats(0.0, 3.0)), min_size=1, max_size=8))
    rows, depth, volume = [(0.0, 0.0)], 0.0, 0.0
    for rise, more in steps:
        depth, volume = depth + rise, volume + more
        rows.append((depth, volume))
    rows[-1] = (rows[-1][0], rows[-1][1] + 0.01)
    return Table(rows)


PLAIN: dict[type, st.SearchStrategy[Shape]] = {
    Straight: st.builds(Straight, st.floats(0.001, 1000.0), lengths),
    Box: st.builds(Box, lengths, lengths, lengths),
    Upright: st.builds(Upright, lengths, lengths),
    Lying: st.builds(Lying, lengths, lengths),
    Taper: st.builds(Taper, st.one_of(st.just(0.0), lengths), lengths, lengths),
    Cone: st.builds(lambda d, c, more: Cone(d, c, c + more), lengths, lengths, lengths),
    Table: tables(),
}
plain_shapes = st.one_of(*PLAIN.values())
shapes = st.one_of(plain_shapes, st.builds(Partly, plain_shapes, st.floats(0.05, 1.0)))


def test_the_laws_below_try_every_shape_there_is() -> None:
    assert {shape.__name__ for shape in (*PLAIN, Partly)} == set(every_shape)


@settings(max_examples=200)
@given(shapes, st.just(0.0) | st.floats(1e-9, 1.0))
@example(Box(100.0, 1000.0, 10.0), 1.0)
@example(Straight(1.0, 0.001), 0.5)
def test_level_of_volume_gives_the_depth_back(shape: Shape, share: float) -> None:
    depth = share * shape.height
    volume = shape.volume(depth)
    found = shape.depth(volume)
    assert 0.0 <= found <= shape.height
    assert shape.volume(found) == pytest.approx(volume, rel=1e-12, abs=1e-300)


@settings(max_examples=150)
@given(
    st.one_of(
        st.builds(Box, lengths, lengths, lengths),
        st.builds(Upright, lengths, lengths),
        st.builds(Lying, lengths, lengths),
        st.builds(Taper, lengths, lengths, lengths),
        st.builds(lambda d, c, more: Cone(d, c, c + more), lengths, lengths, lengths),
    ),
    st.floats(1e-6, 0.5),
)
def test_the_inverse_is_good_to_twelve_digits(shape: Shape, share: float) -> None:
    depth = share * shape.height
    narrowing = isinstance(shape, Taper) and shape.top < 0.05 * shape.bottom
    assert shape.depth(shape.volume(depth)) == pytest.approx(depth, rel=1e-9 if narrowing else 1e-12)


@settings(max_examples=150)
@given(shapes, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_volume_never_falls_and_ends_at_nothing_and_at_capacity(shape: Shape, one: float, two: float) -> None:
    low, high = sorted((one * shape.height, two * shape.height))
    assert shape.volume(0.0) == 0.0
    capacity = shape.volume(shape.height)
    assert 0.0 <= shape.volume(low) <= shape.volume(high) * (1 + 1e-15) <= capacity * (1 + 2e-15)
    # A table may be flat at its top: the lowest depth that holds everything is then below the brim.
    assert shape.volume(shape.depth(capacity)) == pytest.approx(capacity, rel=1e-12)


@settings(max_examples=150)
@given(shapes, st.floats(0.001, 0.999))
def test_area_is_the_slope_of_volume(shape: Shape, share: float) -> None:
    depth = share * shape.height
    step = 1e-7 * shape.height
    below, above = shape.area(max(0.0, depth - step)), shape.area(min(shape.height, depth + step))
    slope = (shape.volume(depth + step) - shape.volume(depth - step)) / (2 * step)
    spare = 1e-5 * max(below, above) + 1e-8 * shape.volume(shape.height) / shape.height
    assert min(below, above) - spare <= slope <= max(below, above) + spare


@settings(max_examples=60)
@given(lengths, lengths, st.floats(0.001, 0.999))
def test_cylinders_agree_with_an_independent_engine(diameter: float, length: float, share: float) -> None:
    """`fluids` 1.3, TANK.V_from_h with flat ends, lying and standing; it loses digits within a hair of either end."""
    lying = fluids.geometry.TANK(D=diameter, L=length, horizontal=True)
    assert Lying(diameter, length).volume(share * diameter) == pytest.approx(
        lying.V_from_h(share * diameter), rel=1e-9, abs=1e-9 * diameter**2 * length
    )
    standing = fluids.geometry.TANK(D=diameter, L=length, horizontal=False)
    assert Upright(diameter, length).volume(share * length) == pytest.approx(
        standing.V_from_h(share * length), rel=1e-9, abs=1e-12
    )


@settings(max_examples=60)
@given(lengths, lengths, lengths, st.floats(0.001, 1.0))
def test_cone_bottoms_agree_with_an_independent_engine(
    diameter: float, cone: float, cylinder: float, share: float
) -> None:
    """`fluids` 1.3, V_vertical_conical: a cone below a cylinder."""
    height = cone + cylinder
    depth = share * height
    assert Cone(diameter, cone, height).volume(depth) == pytest.approx(
        fluids.geometry.V_vertical_conical(diameter, cone, depth), rel=1e-9, abs=1e-12
    )


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 1.0])
def test_a_taper_is_a_cone_less_its_point(share: float) -> None:
    """`fluids` 1.3, V_vertical_conical: the frustum is what the long cone holds less what its point holds."""
    bottom, top, height = 0.5, 0.8, 1.1
    point = height * bottom / (top - bottom)
    whole = fluids.geometry.V_vertical_conical(top, point + height, point + share * height)
    tip = fluids.geometry.V_vertical_conical(bottom, point, point)
    assert Taper(bottom, top, height).volume(share * height) == pytest.approx(whole - tip, rel=1e-12)


@pytest.mark.parametrize(
    ("depth", "share"),
    [(0.05, 0.0187), (0.10, 0.0520), (0.20, 0.1424), (0.25, 0.1955), (0.30, 0.2523), (0.50, 0.5),
     (0.75, 0.8045), (0.90, 0.9480)],
)  # fmt: skip
def test_H13_share_full_of_a_lying_cylinder(depth: float, share: float) -> None:
    """Perry's Chemical Engineers' Handbook, table of partially filled horizontal cylinders (M), recomputed."""
    tank = Lying(diameter=1.0, length=2.5)
    assert tank.volume(depth) / tank.volume(1.0) == pytest.approx(share, abs=5.1e-5)


def test_H14_a_dip_in_a_lying_tank_of_3000_gallons() -> None:
    """Dip problem (I): 4 ft across, 3000 US gal, 22 in on the stick: 1341.0 gal."""
    length = 3000 * US_GALLON / (pi / 4 * (4 * FOOT) ** 2)
    tank = Lying(diameter=4 * FOOT, length=length)
    assert tank.volume(22 * INCH) / US_GALLON == pytest.approx(1341.0, abs=0.05)


def test_H15_an_upright_drum() -> None:
    """22.5 in across and 33.5 in high inside (D): 57.66 US gal; 55 gal stand at 31.95 in."""
    drum = Upright(diameter=22.5 * INCH, height=33.5 * INCH)
    assert drum.volume(drum.height) / US_GALLON == pytest.approx(57.66, abs=0.005)
    assert drum.depth(55 * US_GALLON) / INCH == pytest.approx(31.95, abs=0.005)


def test_H16_a_tapered_pail() -> None:
    """10 in at the floor, 12 in at the brim, 14 in high (D): 5.775 US gal."""
    pail = Taper(bottom=10 * INCH, top=12 * INCH, height=14 * INCH)
    assert pail.volume(pail.height) / US_GALLON == pytest.approx(5.775, abs=0.0005)


@pytest.mark.parametrize("bad", [-0.01, 1.01, nan, inf, -inf])
@pytest.mark.parametrize(
    "shape",
    [Straight(1.0, 1.0), Box(1.0, 1.0, 1.0), Upright(1.0, 1.0), Lying(1.0, 1.0), Taper(0.5, 1.0, 1.0),
     Cone(1.0, 0.5, 1.0), Table([(0, 0), (1, 1)]), Partly(Straight(1.0, 1.0), 0.5)],
    ids=lambda shape: type(shape).__name__,
)  # fmt: skip
def test_what_lies_outside_is_refused(shape: Shape, bad: float) -> None:
    for ask in (shape.volume, shape.depth, shape.area):
        with pytest.raises(OutOfRange):
            ask(bad)


def test_a_hair_outside_is_forgiven_and_negative_zero_is_zero() -> None:
    tote = Straight(area=1.0, height=1.05)
    assert tote.volume(1.05 + 5e-10) == tote.volume(1.05)
    assert str(tote.volume(-0.0)) == "0.0"
    assert tote.depth(-5e-10) == 0.0
    with pytest.raises(OutOfRange):
        tote.volume(1.05 + 2e-8)


@pytest.mark.parametrize("bad", [0.0, -1.0, nan, inf])
def test_impossible_dimensions_are_refused(bad: float) -> None:
    for build in (
        lambda: Straight(bad, 1.0), lambda: Straight(1.0, bad), lambda: Box(1.0, bad, 1.0),
        lambda: Upright(1.0, bad), lambda: Lying(bad, 1.0), lambda: Taper(1.0, bad, 1.0),
        lambda: Cone(bad, 0.1, 1.0), lambda: Partly(Straight(1.0, 1.0), bad),
    ):  # fmt: skip
        with pytest.raises(OutOfRange):
            build()


@pytest.mark.parametrize(
    "rows",
    [[], [(0, 0)], [(0, 0.1), (1, 1)], [(0.1, 0), (1, 1)], [(0, 0), (1, 1), (1, 2)], [(0, 0), (1, 1), (2, 0.5)],
     [(0, 0), (1, 0)], [(0, 0), (nan, 1)], [(0, 0), (1, inf)]],
)  # fmt: skip
def test_tables_that_do_not_rise_are_refused(rows: list[tuple[float, float]]) -> None:
    with pytest.raises(OutOfRange):
        Table(rows)


def test_a_table_with_equal_volumes_gives_the_lowest_depth() -> None:
    ledge = Table([(0, 0), (0.4, 0.5), (0.6, 0.5), (1.0, 1.0)])
    assert ledge.depth(0.5) == 0.4
    assert ledge.depth(0.5 + 1e-6) > 0.6
    assert ledge.volume(0.5) == 0.5


def test_a_cone_taller_than_its_tank_is_refused() -> None:
    with pytest.raises(OutOfRange, match="higher than the whole tank"):
        Cone(diameter=1.0, cone=1.2, height=1.0)


def test_only_straight_walls_have_one_plan_area() -> None:
    assert Upright(2.0, 1.0).plan_area == pytest.approx(pi)
    assert Partly(Box(2.0, 1.0, 1.0), 0.5).plan_area == 1.0
    assert Taper(1.0, 1.0, 2.0).plan_area == pytest.approx(tau / 8)
    assert Table([(0, 0), (2, 3)]).plan_area == 1.5
    for shape in (
        Lying(1.0, 1.0),
        Taper(1.0, 1.1, 1.0),
        Cone(1.0, 0.1, 1.0),
        Table([(0, 0), (1, 1), (2, 3)]),
    ):
        assert shape.plan_area is None


def test_silt_is_not_water() -> None:
    tank = Tank("north", Straight(1.0, 1.05), brim=1.05, overflow=0.95, silt=0.05)
    assert tank.volume(0.05) == 0.0
    assert tank.volume(0.60) == pytest.approx(0.55)
    assert tank.depth(0.55) == pytest.approx(0.60)
    assert tank.depth(0.0) == 0.05
    assert tank.lip_volume == pytest.approx(0.90)
