"""Sets the scene: takes a layout and the figures of its tanks and makes what the side view draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf, pi, sqrt
from typing import Any

from tankdash.drawing.scene import Outline, Scene, SceneLink, SceneOutlet, ScenePool, SceneTank, Totals
from tankdash.units import Units
from tankdash.water.holding import usable_from
from tankdash.water.measured import Partly
from tankdash.water.model import Layout, Link, Shape, Tank
from tankdash.water.shapes import Box, Cone, Lying, Straight, Taper, Upright

_TOTALS = (
    "volume", "low", "high", "usable", "usable_low", "usable_high", "below_outlet", "full", "usable_full", "headroom",
)  # fmt: skip

_ROUND_STEPS = 24
"""Straight pieces in the outline of a round end."""


def outline_of(shape: Shape, brim: float) -> Outline:
    """Return the side of a tank of this shape up to its brim.

    A lying cylinder is seen from its end. Where only areas are known the tank is drawn as if it were round.

    Parameters
    ----------
    shape : Shape
        Inside dimensions.
    brim : float
        Top of the tank above its floor, [m].
    """
    while isinstance(shape, Partly):
        shape = shape.shape
    if isinstance(shape, Taper):
        top = shape.bottom + (shape.top - shape.bottom) * brim / shape.height
        return Outline(((0.0, shape.bottom), (brim, top)))
    if isinstance(shape, Cone):
        if 0.0 < shape.cone < brim:
            return Outline(((0.0, 0.0), (shape.cone, shape.diameter), (brim, shape.diameter)))
        narrow = shape.diameter if shape.cone == 0.0 else shape.diameter * brim / shape.cone
        return Outline(((0.0, shape.diameter if shape.cone == 0.0 else 0.0), (brim, narrow)))
    if isinstance(shape, Lying):
        steps = [brim * step / _ROUND_STEPS for step in range(_ROUND_STEPS + 1)]
        return Outline(
            tuple((height, 2.0 * sqrt(max(0.0, height * (shape.diameter - height)))) for height in steps),
            is_closed=brim > 0.9 * shape.diameter,
        )
    upright: float | None = None
    if isinstance(shape, Box):
        upright = shape.length
    elif isinstance(shape, Upright):
        upright = shape.diameter
    elif isinstance(shape, Straight):
        upright = sqrt(shape.area_inside)
    if upright is not None:
        return Outline(((0.0, upright), (brim, upright)))
    steps = [brim * (step + 0.5) / _ROUND_STEPS for step in range(_ROUND_STEPS)]
    return Outline(tuple((height, sqrt(4.0 * shape.area(height) / pi)) for height in steps))


def scene_from(
    layout: Layout,
    levels: Mapping[str, Any],
    *,
    units: Units,
    labels: Mapping[str, str] | None = None,
    ghost: Mapping[str, float] | None = None,
    accuracy: float = 0.005,
) -> Scene:
    """Return the scene for a layout and the figures of its tanks.

    Parameters
    ----------
    layout : Layout
        What stands there; its tanks are drawn in their order.
    levels : mapping
        What `levels --json` prints: `tanks`, `pools` and `totals` are read. A tank not in it is drawn as unknown.
    units : Units
        In which the picture is written.
    labels : mapping of str to str, optional
        What people call tanks, outlets and links, by id.
    ghost : mapping of str to float, optional
        Surface of each tank at the last dip, above the datum, [m].
    accuracy : float
        Of one dip; a ghost nearer to the surface than this is not drawn, [m].

    Returns
    -------
    Scene
        Ready for `side_view`, `level_list` and `words`.
    """
    labels, ghost = labels or {}, ghost or {}
    reach = usable_from(layout)
    figures: Mapping[str, Any] = levels.get("tanks", {})
    tanks = tuple(
        _tank(
            tank,
            figures.get(key),
            labels.get(key, key),
            reach.get(key, inf),
            layout,
            ghost.get(key),
            accuracy,
        )
        for key, tank in layout.tanks.items()
    )
    return Scene(
        tanks=tanks,
        units=units,
        links=tuple(_link(link, layout, labels.get(key, "")) for key, link in layout.links.items()),
        outlets=tuple(
            SceneOutlet(
                key,
                labels.get(key, key),
                outlet.tank,
                layout.tanks[outlet.tank].base + outlet.at,
                outlet.kind == "pump",
            )
            for key, outlet in layout.outlets.items()
        ),
        pools=_pools(levels.get("pools", ())),
        totals=_totals(levels.get("totals")),
    )


def _tank(
    tank: Tank,
    figure: Mapping[str, Any] | None,
    label: str,
    reach: float,
    layout: Layout,
    ghost: float | None,
    accuracy: float,
) -> SceneTank:
    """Return one tank of the scene."""
    figure = figure or {}
    state = str(figure.get("state", "unknown"))
    volume = _cubic(figure.get("volume_l"))
    low = _cubic(figure.get("low_l"))
    high = _cubic(figure.get("high_l"))
    low = low if low is not None else (volume or 0.0)
    high = high if high is not None else (volume or 0.0)
    surface = _surface(tank, volume)
    if surface is not None and isinstance(figure.get("surface_m"), int | float):
        surface = max(tank.base, min(float(figure["surface_m"]), tank.base + tank.brim))
    outlets = [layout.tanks[outlet.tank].base + outlet.at for outlet in layout.outlets.values()]
    top = surface if surface is not None else _surface(tank, high)
    own = [
        layout.tanks[outlet.tank].base + outlet.at
        for outlet in layout.outlets.values()
        if outlet.tank == tank.id
    ]
    is_held = top is not None and reach > top and not own and bool(outlets) and min(outlets) < top
    return SceneTank(
        id=tank.id,
        label=label,
        base=tank.base,
        brim=tank.base + tank.brim,
        lip=tank.lip_elevation,
        outline=outline_of(tank.shape, tank.brim),
        low=surface if volume is not None and low == volume else _surface(tank, low),
        surface=surface,
        high=surface if volume is not None and high == volume else _surface(tank, high),
        low_volume=low,
        volume=volume,
        high_volume=high,
        state=state,
        usable_from=None if reach == inf else reach,
        is_stranded=state in ("cut-off", "vent-closed") or is_held or (reach == inf and bool(outlets)),
        overflow_to=tank.overflow_to,
        ghost=None if ghost is None or (surface is not None and abs(ghost - surface) <= accuracy) else ghost,
    )


def _surface(tank: Tank, volume: float | None) -> float | None:
    """Return where `volume` stands in the tank; None when there is none."""
    return None if volume is None or volume <= 0.0 else tank.base + tank.depth(volume)


def _cubic(litres: Any) -> float | None:
    return None if litres is None else float(litres) / 1000.0


def _link(link: Link, layout: Layout, label: str) -> SceneLink:
    ends = tuple(
        (name, layout.tanks[name].base + port) for name, port in zip(link.joins, link.ports, strict=True)
    )
    crest = link.crest if link.crest is not None and link.crest > max(height for _, height in ends) else None
    return SceneLink(link.id, ends, crest, link.primed, link.is_open, "" if label == link.id else label)


def _pools(pools: Sequence[Mapping[str, Any]]) -> tuple[ScenePool, ...]:
    return tuple(
        ScenePool(tuple(pool["tanks"]), float(pool["surface_m"]), pool.get("spill_m"), pool.get("spills_at"))
        for pool in pools
        if pool.get("surface_m") is not None
    )


def _totals(totals: Mapping[str, Any] | None) -> Totals | None:
    if not totals:
        return None
    found = {name: _cubic(totals.get(f"{name}_l")) for name in _TOTALS}
    low, high, usable = found["low"] or 0.0, found["high"] or 0.0, found["usable"]
    usable_low, usable_high = found["usable_low"], found["usable_high"]
    return Totals(
        volume=found["volume"],
        low=low,
        high=high,
        usable=usable,
        usable_low=usable_low if usable_low is not None else usable or 0.0,
        usable_high=usable_high if usable_high is not None else usable if usable is not None else high,
        below_outlet=found["below_outlet"],
        full=found["full"] or 0.0,
        usable_full=found["usable_full"] or 0.0,
        headroom=found["headroom"],
    )
