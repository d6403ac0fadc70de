"""What the items of a site file must not say about each other: names that are not there, heights that cannot be."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from tankdash.site.build import CLOSE, brim_of, ports_of, shape_of
from tankdash.site.document import Document
from tankdash.site.parts import Parts
from tankdash.site.problems import nearest, printable
from tankdash.site.schema import ChorePart, Dated, LinkPart, TankPart
from tankdash.units import Units, format_length
from tankdash.water.errors import OutOfRange


def cross_check(parts: Parts, document: Document) -> None:
    """Blame everything that does not fit together; keys that could not be read are passed over."""
    _Check(parts, document).all()


class _Check:
    """The checks of one file; what they need to know of its tanks is worked out once."""

    def __init__(self, parts: Parts, document: Document) -> None:
        self.parts, self.document = parts, document
        self.units: Units = parts.head.units or "metric"
        self.brims: dict[str, float] = {}
        self.lips: dict[str, float] = {}

    def all(self) -> None:
        for key, tank in self.parts.tanks.items():
            self.tank(key, tank)
        self.rings()
        for key, link in self.parts.links.items():
            self.link(key, link)
        self.outlets()
        self.roofs()
        self.beds()
        self.climate()
        for key, chore in self.parts.chores.items():
            self.chore(key, chore)
        self.names()
        for section in ("tanks", "links", "outlets", "roofs"):
            for key, item in getattr(self.parts, section).items():
                self.dates(section, key, item)

    def blame(self, path: tuple[str | int, ...], sentence: str) -> None:
        self.document.blame(path, sentence)

    def length(self, metres: float) -> str:
        return format_length(metres, self.units)

    def is_there(self, path: tuple[str | int, ...], name: str | None, section: str) -> bool:
        """Return whether `name` is an id of `section`, and blame the value at `path` if it is not."""
        raw = self.document.root.get(section)
        known: Iterable[str] = raw if isinstance(raw, dict) else ()
        if name is None or name in known:
            return name is not None
        there = ", ".join(printable(key)[:40] for key in list(known)[:8]) or "none"
        said = nearest(name, known) or f"; there is {there}"
        self.blame(path, f"there is no {section[:-1]} called `{name}`{said}")
        return False

    def tank(self, key: str, part: TankPart) -> None:
        """Check the heights of one tank against each other, and where its spill goes."""
        path = ("tanks", key)
        if (
            part.overflow_to is not None
            and self.is_there((*path, "overflow_to"), part.overflow_to, "tanks")
            and (part.overflow_to == key)
        ):
            self.blame((*path, "overflow_to"), "names its own tank; name another, or take the key out")
        if part.dip.scale is not None and part.dip.from_ == "brim":
            self.blame(
                (*path, "dip", "from"), "goes with no scale: a scale turns its marks into depths by itself"
            )
        if part.shape is None:
            return
        try:
            shape = shape_of(part)
            if not shape.volume(shape.height) > 0:
                raise OutOfRange("it would hold nothing")
        except (OutOfRange, OverflowError, ZeroDivisionError) as fault:
            self.blame((*path, "shape"), f"cannot be: {fault}")
            return
        if part.brim is not None and part.brim > shape.height + CLOSE:
            self.blame((*path, "brim"), f"lies above the top of its shape ({self.length(shape.height)}); "
                       "describe the shape up to there, or lower it")  # fmt: skip
            return
        brim = self.brims[key] = brim_of(part, shape)
        lip = self.lips[key] = brim if part.overflow is None else min(brim, part.overflow)
        if part.overflow is not None and part.overflow > brim + CLOSE:
            self.blame((*path, "overflow"), f"lies above the brim, {self.length(brim)} above the floor; "
                       "measure its lowest inside point from the floor")  # fmt: skip
        if part.silt >= lip - CLOSE:
            self.blame(
                (*path, "silt"),
                f"reaches the lip, {self.length(lip)} above the floor; there would be no room for water",
            )

    def rings(self) -> None:
        """Blame each ring of tanks that spill into one another, once."""
        spills = {key: part.overflow_to for key, part in self.parts.tanks.items() if part.overflow_to != key}
        seen: set[str] = set()
        for start in spills:
            way: dict[str, None] = {}
            place: str | None = start
            while place is not None and place in spills and place not in seen and place not in way:
                way[place] = None
                place = spills[place]
            if place in way:
                ring = [*way][[*way].index(place):]  # fmt: skip
                shown = " -> ".join([*ring, ring[0]]) if len(ring) <= 8 else f"{len(ring)} tanks"
                self.blame(
                    ("tanks", ring[-1], "overflow_to"),
                    f"closes a ring of overflows ({shown}); one must run away",
                )
            seen.update(way)

    def link(self, key: str, part: LinkPart) -> None:
        """Check that a link joins tanks that are there, below their brims."""
        path = ("links", key)
        if part.join is None:
            return
        if len(part.join) < 2:
            self.blame((*path, "join"), "must name two tanks or more")
            return
        for place, name in enumerate(part.join):
            self.is_there((*path, "join", place), name, "tanks")
            if name in part.join[:place]:
                self.blame((*path, "join", place), f"names `{name}` twice; a link joins different tanks")
        if part.ports is None:
            return
        ports = ports_of(part)
        if len(ports) != len(part.join):
            self.blame(
                (*path, "ports"),
                f"must be one height, or one for each of the {len(part.join)} tanks it joins",
            )
            return
        is_list = isinstance(part.ports, tuple)
        for place, (name, port) in enumerate(zip(part.join, ports, strict=True)):
            if port > self.brims.get(name, port) + CLOSE:
                self.blame(
                    (*path, "ports", place) if is_list else (*path, "ports"),
                    f"lies above the brim of `{name}`, {self.length(self.brims[name])} above its floor",
                )

    def outlets(self) -> None:
        for key, part in self.parts.outlets.items():
            if not self.is_there(("outlets", key, "tank"), part.tank, "tanks"):
                continue
            lip = self.lips.get(part.tank or "")
            if part.at is not None and lip is not None and part.at >= lip - CLOSE:
                self.blame(("outlets", key, "at"),
                           f"lies at or above the lip of `{part.tank}` ({self.length(lip)} above "
                           "its floor), so it would never give water")  # fmt: skip

    def roofs(self) -> None:
        for key, part in self.parts.roofs.items():
            self.is_there(("roofs", key, "fills"), part.fills, "tanks")
            flush = part.first_flush
            if flush is None:
                continue
            path = ("roofs", key, "first_flush")
            by_size = flush.bore is not None or flush.length is not None
            if flush.holds is not None and by_size:
                self.blame(path, "gives its room twice; keep `holds`, or `bore` and `length`")
            elif flush.holds is None and (flush.bore is None or flush.length is None):
                self.blame(path, "does not say its room; give `holds`, or both `bore` and `length`")

    def beds(self) -> None:
        for key, part in self.parts.beds.items():
            self.is_there(("beds", key, "from"), part.from_, "outlets")
            raw = self.document.root["beds"][key]
            if part.need is not None and part.need.kind != "volume" and "area" not in raw:
                self.blame(
                    ("beds", key),
                    "`area` is missing; a need by depth or by area goes with it, such as `area: 12 m2`",
                )
            if part.emitters is not None:
                self.has_all(("beds", key, "emitters"), raw["emitters"], {"gives": "4 L/h", "at": "10 m"})
            if "crop" not in raw:
                continue
            if "need" in raw:
                self.blame(("beds", key, "crop"), "says the need a second time; keep `crop` or `need`")
            if "area" not in raw:
                self.blame(("beds", key), "`area` is missing; a crop goes with it, such as `area: 12 m2`")
            if "climate" not in self.document.root:
                self.blame(
                    ("beds", key, "crop"),
                    "takes the place the garden lies at; add `climate: {latitude: 41.2}` to the file",
                )

    def has_all(self, path: tuple[str, ...], raw: Mapping[str, object], samples: Mapping[str, str]) -> None:
        """Blame a group for each key that may not be left out of it."""
        for name, sample in samples.items():
            if name not in raw:
                self.blame(path, f"`{name}` is missing; add it, such as `{name}: {sample}`")

    def climate(self) -> None:
        found = self.parts.head.climate
        if found is None:
            return
        self.has_all(("climate",), self.document.root["climate"], {"latitude": "41.2"})
        if len({"low", "high"} & self.document.root["climate"].keys()) == 1:
            self.blame(("climate",), "gives only one of `low` and `high`; give both, or import temperatures")
        if found.low is not None and found.high is not None:
            for month, (low, high) in enumerate(zip(found.low, found.high, strict=True), start=1):
                if low > high:
                    self.blame(("climate", "low"), f"of month {month} lies above the high of that month")

    def chore(self, key: str, part: ChorePart) -> None:
        """Check that something brings a chore on, and that its keys go together."""
        path = ("chores", key)
        raw = self.document.root["chores"][key]
        triggers = [name for name in part.TRIGGERS if name in raw]
        if not triggers:
            *others, last = part.TRIGGERS
            self.blame(path, f"has nothing that brings it on; give it {', '.join(others)} or {last}")
        elif "by" in triggers and len(triggers) > 1:
            other = next(name for name in triggers if name != "by")
            self.blame((*path, "by"), f"is for a chore done once; take it out, or take out {other}")
        rain = part.after_rain
        if rain is not None:
            given = [name for name in ("at_least", "rains", "total") if getattr(rain, name) is not None]
            if len(given) != 1:
                self.blame((*path, "after_rain"), "must hold exactly one of at_least, rains and total")
            elif rain.total == 0:
                self.blame((*path, "after_rain", "total"), "must be above zero: write a depth such as 50 mm")
        if part.every is not None and not (part.every.months or part.every.days or part.every.seconds):
            self.blame((*path, "every"), "must be longer than nothing: write a time such as 2 weeks")
        for name in ("counted_from", "starting"):
            if name in raw and "every" not in raw:
                self.blame((*path, name), "goes with `every`; add it, or take this out")
        if part.counted_from == "calendar" and "starting" not in raw:
            self.blame(
                (*path, "counted_from"),
                "counts from a first day: add `starting`, such as `starting: 2026-03-01`",
            )
        if part.counted_from == "calendar" and part.every is not None and part.every.seconds:
            self.blame(
                (*path, "every"), "must be whole days, weeks, months or years when counted from the calendar"
            )
        season = part.season
        if season is not None and part.on is not None and not season.holds(date(2024, *part.on)):
            self.blame((*path, "on"), "lies outside its own season, so the chore would never come")
        if season is not None and part.by is not None and not season.holds(part.by):
            self.blame((*path, "by"), "lies outside its own season, so the chore would never come")
        if part.empties is not None and self.is_there((*path, "empties"), part.empties, "roofs"):
            roof = self.document.root["roofs"][part.empties]
            if isinstance(roof, dict) and "first_flush" not in roof:
                self.blame(
                    (*path, "empties"),
                    f"names a roof without a first flush; give `{part.empties}` one",
                )

    def names(self) -> None:
        """Blame ids that a command could take for something else."""
        for section in ("tanks", "links", "outlets", "roofs"):
            if "site" in getattr(self.parts, section):
                self.blame((section, "site"), "cannot be an id: the word stands for the whole site")
        for key in self.parts.links:
            if key in self.parts.roofs:
                self.blame(
                    ("roofs", key), "is also the id of a link, and both can be open; rename one of them"
                )

    def dates(self, section: str, key: str, item: Dated) -> None:
        if item.since is not None and item.until is not None and item.until < item.since:
            self.blame((section, key, "until"), f"lies before since ({item.since}); it would never be there")
