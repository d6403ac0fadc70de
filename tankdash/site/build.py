"""From checked parts to the site the floors above use: SI, defaults filled in, shapes of the water floor."""

from __future__ import annotations

from math import pi
from pathlib import Path
from typing import TypeVar, assert_never, cast
from zoneinfo import ZoneInfo

from tankdash.site import schema
from tankdash.site.crops import watered_by
from tankdash.site.model import (
    AfterRain,
    Bed,
    Chore,
    Climate,
    DipRule,
    Emitters,
    Placed,
    RainRules,
    Site,
    SiteTank,
)
from tankdash.site.parts import Parts
from tankdash.units import Need, Units
from tankdash.water.model import FirstFlush, Link, Outlet, Roof, Shape, Tank
from tankdash.water.shapes import Box, Cone, Lying, Partly, Straight, Table, Taper, Upright

T = TypeVar("T")

CLOSE = 0.001
"""Heights compared at ports, lips and the floor may differ by so much (R17), [m]."""


def sure(value: T | None) -> T:
    """Return a value that the checks have made sure of."""
    assert value is not None
    return value


def shape_of(part: schema.TankPart) -> Shape:
    """Return the inside of a tank whose shape was read; OutOfRange if its figures contradict each other."""
    shape = part.shape
    assert shape is not None
    inside: Shape
    if isinstance(shape, schema.StraightShape):
        # Its walls go on as they are, so the brim may lie above the depth at which its volume is known.
        inside = Straight(area=shape.holds / shape.at, height=max(shape.at, part.brim or 0.0))
    elif isinstance(shape, schema.BoxShape):
        inside = Box(shape.length, shape.width, shape.height)
    elif isinstance(shape, schema.UprightShape):
        inside = Upright(shape.diameter, shape.height)
    elif isinstance(shape, schema.LyingShape):
        inside = Lying(shape.diameter, shape.length)
    elif isinstance(shape, schema.TaperShape):
        inside = Taper(shape.bottom, shape.top, shape.height)
    elif isinstance(shape, schema.ConeShape):
        inside = Cone(shape.diameter, shape.cone, shape.height)
    elif isinstance(shape, schema.TableShape):
        inside = Table(shape.rows)
    else:
        assert_never(shape)
    return inside if shape.fill in (None, 1.0) else Partly(inside, sure(shape.fill))


def brim_of(part: schema.TankPart, shape: Shape) -> float:
    """Return the brim above the floor, not above the shape by rounding, [m]."""
    if part.brim is None:
        return part.shape.at if isinstance(part.shape, schema.StraightShape) else shape.height
    return min(part.brim, shape.height)


def ports_of(part: schema.LinkPart) -> tuple[float, ...]:
    """Return one port for each tank of a link, [m]."""
    ports = part.ports
    if isinstance(ports, tuple):
        return ports
    return (sure(ports),) * len(sure(part.join))


def build(parts: Parts, path: Path | None) -> Site:
    """Return the site; the parts have passed every check."""
    head = parts.head
    rules = head.rain
    climate = None if head.climate is None else _climate(head.climate)
    return Site(
        name=sure(head.site),
        zone=ZoneInfo(sure(head.timezone)),
        units=cast(Units, head.units),
        datum=sure(head.datum),
        accuracy=head.accuracy,
        tanks={key: _tank(key, part) for key, part in parts.tanks.items()},
        links={key: _link(key, part) for key, part in parts.links.items()},
        outlets={key: _outlet(key, part) for key, part in parts.outlets.items()},
        roofs={key: _roof(key, part) for key, part in parts.roofs.items()},
        beds={key: _bed(key, part, climate) for key, part in parts.beds.items()},
        rain=RainRules(rules.gap, rules.wet, rules.booked),
        chores={key: _chore(key, part) for key, part in parts.chores.items()},
        climate=climate,
        path=path,
    )


def _tank(key: str, part: schema.TankPart) -> SiteTank:
    shape = shape_of(part)
    brim = brim_of(part, shape)
    tank = Tank(
        id=key,
        shape=shape,
        base=sure(part.base),
        brim=brim,
        overflow=None if part.overflow is None else min(part.overflow, brim),
        overflow_to=part.overflow_to,
        overflow_bore=part.overflow_bore,
        silt=part.silt,
        vented=part.vented,
    )
    rule = DipRule(part.dip.from_, part.dip.offset, part.dip.on_silt, part.dip.scale)
    return SiteTank(tank, part.label or key, part.since, part.until, rule, part.footprint, part.tare)


def _link(key: str, part: schema.LinkPart) -> Placed[Link]:
    link = Link(
        id=key,
        joins=sure(part.join),
        ports=ports_of(part),
        crest=part.crest,
        primed={"true": True, "false": False}.get(part.primed or "unknown"),
        bore=part.bore,
        run=part.run,
        losses=part.losses,
        is_open=part.valve == "open",
    )
    return Placed(link, part.label or key, part.since, part.until)


def _outlet(key: str, part: schema.OutletPart) -> Placed[Outlet]:
    outlet = Outlet(key, sure(part.tank), sure(part.at), part.kind)
    return Placed(outlet, part.label or key, part.since, part.until)


def _roof(key: str, part: schema.RoofPart) -> Placed[Roof]:
    flush = part.first_flush
    first_flush = None
    if flush is not None:
        holds = (
            flush.holds if flush.holds is not None else pi / 4 * sure(flush.bore) ** 2 * sure(flush.length)
        )
        first_flush = FirstFlush(holds, flush.empties)
    roof = Roof(
        id=key,
        area=sure(part.area),
        fills=sure(part.fills),
        runoff=part.runoff,
        first_loss=part.first_loss,
        screen=part.screen,
        first_flush=first_flush,
    )
    return Placed(roof, part.label or key, part.since, part.until)


def _climate(part: schema.ClimatePart) -> Climate:
    return Climate(sure(part.latitude), part.low, part.high)


def _emitters(part: schema.EmittersPart) -> Emitters:
    return Emitters(sure(part.gives), sure(part.at), part.exponent, part.count)


def _bed(key: str, part: schema.BedPart, climate: Climate | None) -> Bed:
    bed = Bed(
        id=key,
        label=part.label or key,
        need=Need("depth", 0.0, part.crop) if part.crop is not None else cast(Need, part.need),
        outlet=sure(part.from_),
        area=part.area,
        efficiency=part.efficiency,
        height=part.height,
        min_head=part.min_head,
        months=part.months,
        crop=part.crop,
        emitters=None if part.emitters is None else _emitters(part.emitters),
    )
    if climate is None or climate.low_c is None or climate.high_c is None:
        return bed
    return watered_by(bed, climate.latitude, climate.low_c, climate.high_c)


def _chore(key: str, part: schema.ChorePart) -> Chore:
    rain = part.after_rain
    return Chore(
        id=key,
        label=part.label or key,
        after_rain=None if rain is None else AfterRain(rain.at_least, rain.rains, rain.total),
        every=part.every,
        counted_from=part.counted_from or "done",
        starting=part.starting,
        season=part.season,
        on=part.on,
        by=part.by,
        frost_c=part.frost,
        level_below=part.level_below,
        within=part.within,
        empties=part.empties,
    )
