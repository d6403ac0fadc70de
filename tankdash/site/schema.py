"""Every key a site file may hold, with its type: pydantic models of the items of each section.

Loads pydantic, so only `tankdash.site.loading` imports this, when a file is read. Fields whose default is None may be
left out or are named in `REQUIRED`, so that one bad key never hides what is wrong with the others.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field

from tankdash.site import fields
from tankdash.site.model import Season
from tankdash.units import Need, Span
from tankdash.water.evapotranspiration import CROP_COEFFICIENTS

Length = Annotated[float, fields.length]
AnyLength = Annotated[float | None, fields.length]
"""A length, or not given. Likewise below."""
AnyDepth = Annotated[float | None, fields.height]
AnyHeight = Annotated[float | None, fields.height_of_any_sign]
Volume = Annotated[float, fields.volume]
AnyText = Annotated[str | None, fields.words]
AnyId = Annotated[str | None, fields.name]
AnyDate = Annotated[date | None, fields.day]


class Part(BaseModel):
    """What all groups of keys share."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    REQUIRED: ClassVar[tuple[str, ...]] = ()
    """Keys that may not be left out."""
    INSTEAD: ClassVar[dict[str, str]] = {}
    """Keys that may stand in the place of one of these."""
    WHAT: ClassVar[str] = ""
    """What the group describes, for a sentence."""


class Dated(Part):
    """What a tank, link, outlet or roof may carry besides its own keys."""

    label: AnyText = None
    """What people call it; the id when left out."""
    since: AnyDate = None
    """First day it stands there, such as 2026-03-01."""
    until: AnyDate = None
    """Last day it stands there."""


class ShapePart(Part):
    """What every shape may carry: inside dimensions only."""

    fill: Annotated[float | None, fields.share_up_to_one] = None
    """Share of the inside that is water, where stones or ribs take the rest."""


class StraightShape(ShapePart):
    """Volume proportional to depth, as in a tote."""

    kind: Literal["straight"]
    holds: Volume
    """What it holds when the water stands at `at`."""
    at: Length
    """Depth at which it holds that much."""


class BoxShape(ShapePart):
    """Four upright walls."""

    kind: Literal["box"]
    length: Length
    width: Length
    height: Length


class UprightShape(ShapePart):
    """A cylinder that stands."""

    kind: Literal["upright"]
    diameter: Length
    height: Length


class LyingShape(ShapePart):
    """A cylinder on its side, with flat ends."""

    kind: Literal["lying"]
    diameter: Length
    length: Length


class TaperShape(ShapePart):
    """A round tank that widens or narrows evenly."""

    kind: Literal["taper"]
    bottom: Length
    """Diameter at the floor."""
    top: Length
    """Diameter at the brim."""
    height: Length


class ConeShape(ShapePart):
    """A cylinder that stands on a cone, point down."""

    kind: Literal["cone"]
    diameter: Length
    cone: Length
    """Height of the cone."""
    height: Length
    """Height of cone and cylinder together."""


class TableShape(ShapePart):
    """Measured depths and volumes, straight lines between them."""

    kind: Literal["table"]
    rows: Annotated[tuple[tuple[float, float], ...], fields.rows]
    """[depth, volume] from [0, 0] up."""


OneShape = StraightShape | BoxShape | UprightShape | LyingShape | TaperShape | ConeShape | TableShape
"""All shapes; one that is not named here is none."""
SHAPE_PARTS: dict[str, type[ShapePart]] = {
    kind: part for part in get_args(OneShape) for kind in get_args(part.model_fields["kind"].annotation)
}
"""Model of each kind of shape."""
AnyShape = Annotated[OneShape | None, Field(discriminator="kind")]


class DipPart(Part):
    """How a tank's stick, tape or gauge is read."""

    WHAT = "a dip"
    from_: Annotated[Literal["floor", "brim"], fields.choice("floor", "brim")] = Field("floor", alias="from")
    """floor: a depth; brim: the gap from the brim down to the water."""
    offset: Annotated[float, fields.height_of_any_sign] = 0.0
    """Added to every reading."""
    on_silt: Annotated[bool, fields.flag] = False
    """Whether the stick stands on the silt instead of the floor."""
    scale: Annotated[tuple[tuple[float, float], tuple[float, float]] | None, fields.scale] = None
    """Two [mark, depth] pairs of a gauge whose marks are not depths; the line through them reads all others."""


class TankPart(Dated):
    """One tank."""

    WHAT = "a tank"
    REQUIRED = ("base", "shape")
    base: AnyHeight = None
    """Inside floor above the datum; may be negative."""
    shape: AnyShape = None
    """Inside dimensions."""
    brim: AnyLength = None
    """Top above the floor; the shape's own height when left out."""
    overflow: AnyLength = None
    """Invert of its overflow above the floor."""
    overflow_to: AnyId = None
    """Tank that its spill runs into."""
    overflow_bore: AnyLength = None
    """Inside diameter of the overflow pipe."""
    dip: DipPart = DipPart.model_validate({})
    """How it is read."""
    silt: Annotated[float, fields.height] = 0.0
    """Depth on the floor that is not water."""
    vented: Annotated[bool, fields.flag] = True
    """Whether air can leave and enter."""
    footprint: Annotated[float | None, fields.area] = None
    """Area its weight rests on."""
    tare: Annotated[float | None, fields.mass] = None
    """Weight when empty."""


class LinkPart(Dated):
    """A pipe or hose that joins two tanks, or a header that joins more."""

    WHAT = "a link"
    REQUIRED = ("join", "ports")
    join: Annotated[tuple[str, ...] | None, fields.names] = None
    """The tanks it joins, two or more."""
    ports: Annotated[float | tuple[float, ...] | None, fields.ports] = None
    """Height above each tank's own floor: one for all, or a list in the order of `join`."""
    crest: AnyHeight = None
    """Highest point above the datum, where it rises above its ports."""
    primed: Annotated[
        Literal["true", "false", "unknown"] | None, fields.choice("true", "false", "unknown")
    ] = None
    """Whether the crest is full of water."""
    bore: AnyLength = None
    """Inside diameter."""
    run: AnyLength = None
    """Length; of each leg of a header."""
    losses: Annotated[float, fields.losses] = 1.5
    """Sum of K; 1.5 is an entrance and an exit."""
    valve: Annotated[Literal["open", "closed"], fields.choice("open", "closed")] = "open"
    """How its valve stands when the journal says nothing else."""


class OutletPart(Dated):
    """A tap or a pump intake."""

    WHAT = "an outlet"
    REQUIRED = ("tank", "at")
    tank: AnyId = None
    """The tank it draws from."""
    at: AnyDepth = None
    """Height above the tank's floor below which it gives nothing, or must not run."""
    kind: Annotated[Literal["tap", "pump"], fields.choice("tap", "pump")] = "tap"


class FirstFlushPart(Part):
    """The pipe that takes the first dirty water of each rain."""

    WHAT = "a first flush"
    holds: Annotated[float | None, fields.volume] = None
    """Room when empty; or give `bore` and `length`."""
    bore: AnyLength = None
    """Inside diameter."""
    length: AnyLength = None
    empties: Annotated[float | None, fields.by_hand_or_time] = None
    """`by hand`, or the time a full pipe takes to drain by itself; by hand when left out."""


class RoofPart(Dated):
    """A surface that drains to a tank."""

    WHAT = "a roof"
    REQUIRED = ("area", "fills")
    area: Annotated[float | None, fields.area] = None
    """Plan area that drains here."""
    runoff: Annotated[float, fields.runoff] = 0.9
    """Share of the rain that runs off."""
    first_loss: Annotated[float, fields.height] = 0.0
    """Depth of each event that only wets the roof."""
    screen: Annotated[float, fields.share_up_to_one] = 1.0
    """Share that passes the leaf screen."""
    fills: AnyId = None
    """The tank it runs into."""
    first_flush: FirstFlushPart | None = None


class EmittersPart(Part):
    """What drips on a bed: q = k H^x."""

    WHAT = "emitters"
    REQUIRED = ("gives", "at")
    gives: Annotated[float | None, fields.flow] = None
    """What one of them gives at that head."""
    at: Annotated[float | None, fields.some_head] = None
    """The head it was measured at, as a height of water or a pressure."""
    exponent: Annotated[float, fields.share_up_to_one] = 0.5
    """x of the emitter; near 0 where it keeps its flow whatever the head."""
    count: Annotated[int, fields.count] = 1
    """How many there are."""


class BedPart(Part):
    """What is watered."""

    WHAT = "a bed"
    REQUIRED = ("need", "from")
    INSTEAD = {"need": "crop"}
    label: AnyText = None
    area: Annotated[float | None, fields.area] = None
    """Needed unless `need` is a volume per day."""
    need: Annotated[Need | None, fields.need] = None
    """25 mm/week, 1 gal/sq ft/week or 20 L/day."""
    crop: Annotated[str | None, fields.choice(*CROP_COEFFICIENTS)] = None
    """In place of `need`: what grows there; its need follows from the climate."""
    from_: AnyId = Field(None, alias="from")
    """The outlet it is watered from."""
    efficiency: Annotated[float, fields.share_up_to_one] = 1.0
    """Share of the water that reaches the roots."""
    height: AnyHeight = None
    """Above the datum."""
    min_head: Annotated[float, fields.head] = 0.0
    """Head it needs to run, as a height of water or a pressure."""
    months: Annotated[frozenset[int], fields.months] = frozenset(range(1, 13))
    """Months in which it is watered."""
    emitters: EmittersPart | None = None


class ClimatePart(Part):
    """Where the garden lies, and its temperatures where they are typed in."""

    WHAT = "climate"
    REQUIRED = ("latitude",)
    latitude: Annotated[float | None, fields.latitude] = None
    """In degrees, south with a minus."""
    low: Annotated[tuple[float, ...] | None, fields.twelve_temperatures] = None
    """Mean daily low of the twelve months."""
    high: Annotated[tuple[float, ...] | None, fields.twelve_temperatures] = None
    """Mean daily high of the twelve months."""


class RainPart(Part):
    """How gauge readings become events and days."""

    WHAT = "rain"
    gap: Annotated[float, fields.hours] = 6.0
    """Dry time that parts two rain events."""
    wet: Annotated[float, fields.rain_depth] = 0.2
    """Depth from which a day counts as wet."""
    booked: Annotated[Literal["previous day", "same day"], fields.choice("previous day", "same day")] = (
        "previous day"
    )
    """Day to which a reading's depth is booked."""


class AfterRainPart(Part):
    """What of the rain opens a chore; one of the three."""

    WHAT = "after_rain"
    at_least: Annotated[float | None, fields.rain_depth] = None
    """Each event of at least this depth."""
    rains: Annotated[int | None, fields.count] = None
    """So many events since it was last done."""
    total: Annotated[float | None, fields.rain_depth] = None
    """So much rain since it was last done."""


class ChorePart(Part):
    """A job, and what brings it on."""

    WHAT = "a chore"
    TRIGGERS: ClassVar[tuple[str, ...]] = ("after_rain", "every", "on", "by", "frost", "level_below")
    """Keys that bring it on; it needs one at least."""
    label: AnyText = None
    after_rain: AfterRainPart | None = None
    every: Annotated[Span | None, fields.span] = None
    """Time between two turns."""
    counted_from: Annotated[Literal["done", "calendar"] | None, fields.choice("done", "calendar")] = None
    """done: from the last time; calendar: from `starting`."""
    starting: AnyDate = None
    """First turn of `every`."""
    season: Annotated[Season | None, fields.season] = None
    """1 April to 31 October; asleep outside it."""
    on: Annotated[tuple[int, int] | None, fields.month_day] = None
    """Yearly on this day, such as 1 November."""
    by: AnyDate = None
    """Once, by this day."""
    frost: Annotated[float | None, fields.temperature] = None
    """Opens when a low at or under it is typed in."""
    level_below: Annotated[float | None, fields.share_below_one] = None
    """Opens when usable water falls below this share of usable when full."""
    within: Annotated[Span | None, fields.span] = None
    """Late after this; 1 day after rain, at once for the rest."""
    empties: AnyId = None
    """Roof whose first-flush pipe is empty once this is done."""


class SitePart(Part):
    """The file as a whole; the sections are checked item by item."""

    WHAT = "a site file"
    REQUIRED = ("site", "timezone", "units", "datum", "tanks", "outlets")
    site: AnyText = None
    """Name of the garden."""
    timezone: Annotated[str | None, fields.zone] = None
    """An IANA name such as Europe/Lisbon."""
    units: Annotated[
        Literal["metric", "us", "imperial"] | None, fields.choice("metric", "us", "imperial")
    ] = None
    """How results are shown, and which gallon a bare gal is."""
    datum: AnyText = None
    """The fixed mark all heights are measured from, in words."""
    accuracy: Annotated[float, fields.accuracy] = 0.005
    """Of one dip."""
    tanks: Any = None
    links: Any = None
    outlets: Any = None
    roofs: Any = None
    beds: Any = None
    rain: RainPart = RainPart.model_validate({})
    chores: Any = None
    climate: ClimatePart | None = None


GROUPS: dict[str, type[Part]] = {
    "dip": DipPart,
    "first_flush": FirstFlushPart,
    "after_rain": AfterRainPart,
    "emitters": EmittersPart,
    "climate": ClimatePart,
    "rain": RainPart,
}
"""Model of each group of keys inside an item."""

ITEMS: dict[str, type[Part]] = {
    "tanks": TankPart,
    "links": LinkPart,
    "outlets": OutletPart,
    "roofs": RoofPart,
    "beds": BedPart,
    "chores": ChorePart,
}
"""Model of the items of each section, in the order of the file."""
