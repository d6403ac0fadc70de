"""From a layout and the figures of `levels --json` to a scene."""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

import pytest

from tankdash.drawing.canvas import as_text
from tankdash.drawing.sideview import side_view
from tankdash.drawing.stage import outline_of, scene_from
from tankdash.drawing.words import words
from tankdash.water.measured import Partly, Table
from tankdash.water.model import Layout, Link, Outlet, Shape, Tank
from tankdash.water.shapes import Box, Cone, Lying, Straight, Taper, Upright

ROUND = [
    Upright(0.8, 1.2),
    Taper(0.4, 0.9, 1.0),
    Cone(1.0, 0.4, 1.5),
    Taper(0.9, 0.4, 1.0),
    Cone(1.0, 0.0, 1.0),
]


@pytest.mark.parametrize("shape", ROUND, ids=repr)
def test_the_side_of_a_round_tank_has_the_breadth_of_its_water(shape: Shape) -> None:
    outline = outline_of(shape, shape.height)
    for share in (0.1, 0.3, 0.5, 0.9):
        height = share * shape.height
        assert outline.breadth(height) == pytest.approx(sqrt(4 * shape.area(height) / pi))


def test_a_lying_tank_is_seen_from_its_end() -> None:
    outline = outline_of(Lying(1.2, 2.0), 1.2)
    assert outline.is_closed
    assert outline.breadth(0.6) == pytest.approx(1.2)
    assert outline.breadth(0.0) == outline.breadth(1.2) == 0.0


def test_what_fills_a_tank_does_not_make_it_narrower() -> None:
    assert outline_of(Partly(Box(2.0, 1.0, 1.0), 0.4), 1.0) == outline_of(Box(2.0, 1.0, 1.0), 1.0)


def test_a_tank_known_by_its_table_is_drawn_by_its_areas() -> None:
    outline = outline_of(Table(((0.0, 0.0), (0.5, 0.1), (1.0, 0.5))), 1.0)
    assert outline.breadth(0.25) == pytest.approx(sqrt(4 * 0.2 / pi))
    assert outline.breadth(0.75) == pytest.approx(sqrt(4 * 0.8 / pi))


def two(**more: Any) -> Layout:
    tanks = {name: Tank(name, Straight(1.0, 1.0), base=0.2, brim=1.0) for name in ("left", "right")}
    return Layout(
        tanks,
        {"hose": Link("hose", ("left", "right"), (0.1, 0.1))},
        {"tap": Outlet("tap", "right", 0.1)},
        **more,
    )


def figure(volume: float | None, low: float, high: float, state: str) -> dict[str, Any]:
    return {"volume_l": volume, "low_l": low, "high_l": high, "state": state}


def test_before_the_first_dip_nothing_is_claimed() -> None:
    figures = {name: figure(None, 0.0, 1000.0, "unknown") for name in ("left", "right")}
    nothing = dict.fromkeys(("volume_l", "usable_l", "below_outlet_l", "headroom_l"))
    totals = {**nothing, "low_l": 0.0, "high_l": 2000.0, "full_l": 2000.0, "usable_full_l": 1800.0}
    scene = scene_from(two(), {"tanks": figures, "totals": totals}, units="metric")
    text = as_text(words(scene))
    assert text.startswith("What is in the tanks is not known yet; dip one.")
    assert "Nothing" not in text
    picture = side_view(scene, 80, 14)
    assert "not known" in as_text(picture)
    assert any(span.role == "band" for row in picture for span in row)
    assert not any(span.role == "water" for row in picture for span in row)


def test_a_usable_range_is_told_as_a_range() -> None:
    totals = {"volume_l": None, "low_l": 300.0, "high_l": 700.0, "usable_l": None, "usable_low_l": 100.0,
              "usable_high_l": 500.0, "below_outlet_l": None, "headroom_l": None}  # fmt: skip
    figures = {"left": figure(None, 0.0, 400.0, "cut-off"), "right": figure(300.0, 300.0, 300.0, "dipped")}
    scene = scene_from(two(), {"tanks": figures, "totals": totals}, units="metric")
    assert as_text(words(scene)).startswith("100–500 L usable of 300–700 L in the tanks.")


def test_a_tank_that_cannot_breathe_says_that_it_is_not_counted() -> None:
    figures = {"left": figure(None, 0.0, 67.0, "vent-closed"), "right": figure(300.0, 300.0, 300.0, "dipped")}
    totals = {"volume_l": 300.0, "low_l": 300.0, "high_l": 300.0, "usable_l": 200.0, "below_outlet_l": 100.0,
              "headroom_l": 700.0}  # fmt: skip
    scene = scene_from(
        two(), {"tanks": figures, "totals": totals}, units="metric", labels={"left": "Blue barrel"}
    )
    text = as_text(words(scene))
    assert "Blue barrel: 0–67 L at most, not counted: its vent is closed." in text
    assert "100 L lies below the outlet" in text
    assert "vent closed" in as_text(side_view(scene, 80, 14))


def test_a_tank_no_figure_is_given_for_is_unknown() -> None:
    scene = scene_from(two(), {}, units="us")
    assert [tank.state for tank in scene.tanks] == ["unknown", "unknown"]
    assert len(side_view(scene, 60, 12)) == 12


def test_a_ghost_within_the_sticks_accuracy_is_not_drawn() -> None:
    figures = {name: figure(500.0, 500.0, 500.0, "dipped") for name in ("left", "right")}
    scene = scene_from(
        two(), {"tanks": figures}, units="metric", ghost={"left": 0.703, "right": 0.8}, accuracy=0.005
    )
    assert [tank.ghost for tank in scene.tanks] == [None, 0.8]
