"""Gardens to draw, and pictures kept as text.

A picture that was changed on purpose is written anew with `TANKDASH_REFRESH_GOLDENS=1 pytest tests/drawing`;
look at the difference before it is committed.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from tankdash.drawing.canvas import Row, as_text
from tankdash.drawing.scene import Scene
from tankdash.drawing.stage import scene_from
from tankdash.water.holding import usable
from tankdash.water.model import Layout, Link, Outlet, Tank
from tankdash.water.rest import at_rest
from tankdash.water.shapes import Box, Cone, Lying, Straight, Taper, Upright

GOLDENS = Path(__file__).parent / "goldens"


def levels_of(
    layout: Layout, dips: Mapping[str, float], known: Mapping[str, float] | None = None
) -> dict[str, Any]:
    """Return what `levels --json` would print for these dips, as far as a picture needs it."""
    rest = at_rest(layout, dips, known)
    tanks = {
        name: {
            "surface_m": tank.surface,
            "volume_l": None if tank.volume is None else tank.volume * 1000,
            "low_l": tank.low * 1000,
            "high_l": tank.high * 1000,
            "state": tank.state,
        }
        for name, tank in rest.tanks.items()
    }
    least = {name: tank.low for name, tank in rest.tanks.items()}
    held, reachable = sum(least.values()), sum(usable(layout, least).values())
    full = sum(tank.lip_volume for tank in layout.tanks.values())
    return {
        "tanks": tanks,
        "pools": [
            {
                "tanks": pool.tanks,
                "surface_m": pool.surface,
                "spill_m": pool.spill,
                "spills_at": pool.spills_at,
            }
            for pool in rest.pools
        ],
        "totals": {
            "volume_l": held * 1000,
            "low_l": rest.low * 1000,
            "high_l": rest.high * 1000,
            "usable_l": reachable * 1000,
            "below_outlet_l": (held - reachable) * 1000,
            "full_l": full * 1000,
            "usable_full_l": full * 1000,
            "headroom_l": (full - held) * 1000,
        },
    }


def three_totes(depth: float = 0.6, **more: Any) -> Scene:
    bases = {"north": 0.20, "middle": 0.17, "south": 0.23}
    tanks = {
        name: Tank(
            name, Straight(1.0, 1.05), base=base, brim=1.05, overflow=0.95 if name == "north" else None
        )
        for name, base in bases.items()
    }
    layout = Layout(
        tanks,
        {
            "north-middle": Link("north-middle", ("north", "middle"), (0.08, 0.08)),
            "middle-south": Link("middle-south", ("middle", "south"), (0.08, 0.08)),
        },
        {"tap": Outlet("tap", "south", 0.10)},
    )
    settings: dict[str, Any] = {
        "units": "metric",
        "labels": {"north": "North tote", "middle": "Middle tote", "south": "South tote"},
    }
    return scene_from(layout, levels_of(layout, {"north": depth}), **{**settings, **more})


def two_terraces(*, is_open: bool = False) -> Scene:
    tanks = {
        "upper-a": Tank(
            "upper-a", Box(1.2, 1.0, 1.0), base=1.6, brim=1.0, overflow=0.92, overflow_to="lower-a"
        ),
        "upper-b": Tank("upper-b", Box(1.2, 1.0, 1.0), base=1.65, brim=1.0),
        "lower-a": Tank("lower-a", Upright(0.8, 1.2), base=0.1, brim=1.2, overflow=1.1),
        "lower-b": Tank("lower-b", Upright(0.8, 1.2), base=0.15, brim=1.2),
    }
    layout = Layout(
        tanks,
        {
            "upper": Link("upper", ("upper-a", "upper-b"), (0.08, 0.08)),
            "lower": Link("lower", ("lower-a", "lower-b"), (0.1, 0.1)),
            "down": Link("down", ("upper-b", "lower-a"), (0.05, 0.9), is_open=is_open),
        },
        {"tap": Outlet("tap", "lower-b", 0.1), "high": Outlet("high", "upper-b", 0.1)},
    )
    return scene_from(layout, levels_of(layout, {"upper-a": 0.7, "lower-a": 0.45}), units="metric")


def four_shapes() -> Scene:
    tanks = {
        "lying": Tank("lying", Lying(1.2, 2.0), base=0.3, brim=1.2, overflow=1.1),
        "cone": Tank("cone", Cone(1.0, 0.4, 1.5), base=0.5, brim=1.5),
        "bucket": Tank("bucket", Taper(0.4, 0.9, 1.0), base=0.4, brim=1.0),
        "box": Tank("box", Box(2.0, 1.0, 1.0), base=0.0, brim=1.0),
    }
    layout = Layout(
        tanks,
        {
            "over": Link("over", ("lying", "cone"), (0.1, 0.3), crest=1.5),
            "low": Link("low", ("cone", "bucket"), (0.1, 0.15)),
            "shut": Link("shut", ("bucket", "box"), (0.2, 0.1), is_open=False),
        },
        {"tap": Outlet("tap", "cone", 0.2), "pump": Outlet("pump", "box", 0.15, "pump")},
    )
    return scene_from(layout, levels_of(layout, {"lying": 0.8, "cone": 0.7, "box": 0.6}), units="us")


def row_of_butts(count: int = 12, depth: float = 0.55) -> Scene:
    tanks = {
        f"t{i}": Tank(f"t{i}", Upright(0.58, 0.9), base=0.2 + 0.02 * (i % 4), brim=0.9)
        for i in range(1, count + 1)
    }
    layout = Layout(
        tanks, {"header": Link("header", tuple(tanks), (0.05,) * count)}, {"tap": Outlet("tap", "t1", 0.1)}
    )
    labels = {name: f"Butt {name[1:]}" for name in tanks}
    return scene_from(layout, levels_of(layout, {"t1": depth}), units="metric", labels=labels)


def one_cut_off(known: float | None = None) -> Scene:
    tanks = {
        "first": Tank("first", Straight(0.6, 0.9), base=0.0, brim=0.9),
        "second": Tank("second", Straight(0.6, 0.9), base=0.0, brim=0.9, overflow=0.85),
        "far": Tank("far", Straight(0.6, 0.9), base=0.05, brim=0.9),
    }
    layout = Layout(
        tanks,
        {
            "low": Link("low", ("first", "second"), (0.08, 0.08)),
            "high": Link("high", ("second", "far"), (0.65, 0.60)),
        },
        {"tap": Outlet("tap", "first", 0.1)},
    )
    labels = {"first": "First butt", "second": "Second butt", "far": "Far butt"}
    figures = levels_of(layout, {"first": 0.4}, None if known is None else {"far": known})
    return scene_from(layout, figures, units="metric", labels=labels)


def one_tank(
    depth: float, *, shape: Any = None, base: float = 0.3, label: str = "Tank", units: str = "metric"
) -> Scene:
    vessel = Tank("one", shape or Straight(1.0, 1.0), base=base, brim=(shape or Straight(1.0, 1.0)).height)
    layout = Layout({"one": vessel}, {}, {"tap": Outlet("tap", "one", 0.1)})
    return scene_from(layout, levels_of(layout, {"one": depth}), units=units, labels={"one": label})  # type: ignore[arg-type]


GARDENS: dict[str, Callable[..., Scene]] = {
    "three totes": three_totes,
    "two terraces": two_terraces,
    "four shapes": four_shapes,
    "row of butts": row_of_butts,
    "one cut off": one_cut_off,
    "one tank": one_tank,
}


@pytest.fixture
def garden() -> Callable[..., Scene]:
    """A garden by name, with what it may be told."""

    def build(name: str, *told: Any, **named: Any) -> Scene:
        return GARDENS[name](*told, **named)

    return build


@pytest.fixture
def golden() -> Callable[[str, list[Row]], None]:
    """Compare a picture with the one kept under `goldens/`, or keep it anew when asked to."""

    def compare(name: str, rows: list[Row]) -> None:
        kept = GOLDENS / f"{name}.txt"
        shown = as_text(rows) + "\n"
        if os.environ.get("TANKDASH_REFRESH_GOLDENS"):
            kept.parent.mkdir(exist_ok=True)
            kept.write_text(shown, encoding="utf-8")
        assert kept.exists(), (
            f"{kept.name} is not kept yet; write it with TANKDASH_REFRESH_GOLDENS=1 and look at it"
        )
        assert shown == kept.read_text(encoding="utf-8")

    return compare
