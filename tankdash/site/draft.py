"""A garden while it is changed by answers: what its file says of each item, what is typed instead, what to write.

Nothing here reads or writes a file. Values are texts as the file has them; whether they fit is for the checks to say.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tankdash.site.editing import Change, Put, Take, Written
from tankdash.site.starter import KINDS
from tankdash.units import Units

HEAD, NEW = "site", "+"
"""The section of what stands at the top of the file; the id that asks for one more item."""
STANDS, UNTIL, NEVER, ALWAYS = "stands", "until", "never", "always"
"""It stays, or a new one stands from today; today is its last day; it goes out of the file, or a new one does not come
into it; a new one has stood there all along."""

Item = tuple[str, str]
"""Section and id; the top of the file has no id."""

KEYS: dict[str, tuple[str, ...]] = {
    HEAD: ("site", "datum", "accuracy"),
    "tanks": ("label", "base", "shape.kind", "brim", "overflow", "overflow_to", "dip.from"),
    "links": ("label", "join.0", "join.1", "ports", "crest", "bore", "run", "valve"),
    "outlets": ("label", "tank", "at", "kind"),
    "roofs": ("label", "area", "runoff", "fills"),
}
"""What is asked about an item of each section; a tank's own measures follow its kind."""
USUAL = {"valve": "open", "kind": "tap", "dip.from": "floor"}
"""What holds where a key is left out."""
_BETWEEN = "; "
"""Parts the heights of a list."""


@dataclass
class Draft:
    """A garden that is being changed."""

    root: Mapping[str, Any]
    """What the file says, as texts."""
    today: date
    """Last day of what is taken away."""
    units: Units = "metric"
    """Of the garden, for the common sizes of a new tank."""
    typed: dict[Item, dict[str, str]] = field(default_factory=dict)
    """What was typed of each item that was looked at, by dotted key."""
    added: list[Item] = field(default_factory=list)
    """Items that are not in the file."""

    def ids(self, section: str) -> list[str]:
        """Return the items of a section that stand today, those added last."""
        items = self.root.get(section) or {}
        standing = [key for key, item in items.items() if isinstance(item, dict) and self._stands(item)]
        return standing + [key for group, key in self.added if group == section]

    def _stands(self, item: Mapping[str, Any]) -> bool:
        until = item.get("until")
        return not isinstance(until, str) or until >= self.today.isoformat()

    def label(self, section: str, key: str) -> str:
        """Return what people call an item."""
        return self.value((section, key), "label") or key

    def keys(self, item: Item) -> list[str]:
        """Return what is asked about an item, dotted keys, a tank's measures behind its kind."""
        keys = list(KEYS[item[0]])
        if item[0] == "links" and len(self._written(item).get("join") or ()) > 2:
            keys = [key for key in keys if not key.startswith("join")]
        if item[0] == "tanks":
            place = keys.index("shape.kind") + 1
            keys[place:place] = [f"shape.{name}" for name in self._measures(item)]
        return keys

    def value(self, item: Item, key: str) -> str:
        """Return what is typed, or what the file says."""
        typed = self.typed.get(item, {}).get(key)
        return self.first(item, key) if typed is None else typed

    def first(self, item: Item, key: str) -> str:
        """Return what the file says; nothing where it leaves the key out."""
        if key == STANDS:
            return UNTIL if self._written(item).get("until") == self.today.isoformat() else STANDS
        if key == "shape.kind":
            return ""
        here: Any = self._written(item)
        for step in key.split("."):
            if isinstance(here, Mapping):
                here = here.get(step)
            elif isinstance(here, list) and step.isdecimal() and int(step) < len(here):
                here = here[int(step)]
            else:
                here = None
        if isinstance(here, list):
            return _BETWEEN.join(str(one) for one in here)
        return str(here) if isinstance(here, str) else USUAL.get(key, "") if item not in self.added else ""

    def put(self, item: Item, key: str, text: str) -> None:
        """Take what is typed; a tank of another kind takes the common size of it."""
        known = self.typed.setdefault(item, {})
        if key == "shape.kind" and text and text != known.get(key):
            kind = KINDS[text]
            for name, measure in measures_of(kind.shape(self.units)).items():
                known[f"shape.{name}"] = measure
            known["brim"] = kind.brim[self.units != "metric"] if kind.brim is not None else ""
        elif key == "shape.kind" and not text and known.get(key):
            for name in [name for name in known if name.startswith("shape.") or name == "brim"]:
                del known[name]
        known[key] = text.strip()

    def add(self, section: str) -> Item:
        """Return a new item of a section, filled with what is likely."""
        noun = section[:-1]
        taken = {*(self.root.get(section) or {}), *(key for group, key in self.added if group == section)}
        number = next(
            number for number in range(len(taken) + 1, len(taken) + 100) if f"{noun}-{number}" not in taken
        )
        item = (section, f"{noun}-{number}")
        tanks = self.ids("tanks")
        self.added.append(item)
        metric = self.units == "metric"
        height = "10 cm" if metric else "4 in"
        likely = {
            "tanks": {
                "label": f"Tank {number}",
                "base": self.value(("tanks", tanks[-1]), "base") if tanks else "0",
                "shape.kind": "tote",
            },
            "links": {"join.0": tanks[-2] if len(tanks) > 1 else "", "join.1": tanks[-1], "ports": height},
            "outlets": {"tank": tanks[-1], "at": height},
            "roofs": {"area": "6 x 4 m" if metric else "20 x 12 ft", "fills": tanks[0]},
        }[section]
        for key, text in likely.items():
            self.put(item, key, text)
        return item

    def changes(self) -> list[Change]:
        """Return what is to be written, in the order of the items as they were looked at."""
        changes: list[Change] = []
        for item, typed in self.typed.items():
            path = (item[0], item[1]) if item[1] else ()
            if item in self.added:
                if typed.get(STANDS) != NEVER:
                    changes.append(Put(path, self._whole(item)))
            elif typed.get(STANDS) == NEVER:
                changes.append(Take(path))
            else:
                changes += self._changed(item, path)
        return changes

    def _changed(self, item: Item, path: tuple[str, ...]) -> list[Change]:
        changes: list[Change] = []
        has_other_kind = bool(self.value(item, "shape.kind")) if item[0] == "tanks" else False
        if has_other_kind:
            changes.append(Put((*path, "shape"), self._shape(item)))
        keys = [key for key in self.keys(item) if not (has_other_kind and key.startswith("shape."))]
        for key in keys:
            first, now = self.first(item, key), self.value(item, key)
            if now == first:
                continue
            steps = tuple(int(step) if step.isdecimal() else step for step in key.split("."))
            changes.append(Put((*path, *steps), _written(key, now)) if now else Take((*path, *steps)))
        if self.value(item, STANDS) != self.first(item, STANDS):
            gone = self.value(item, STANDS) == UNTIL
            until = (*path, "until")
            changes.append(Put(until, self.today.isoformat()) if gone else Take(until))
        return changes

    def _whole(self, item: Item) -> dict[str, Written]:
        """Return all keys of a new item."""
        whole: dict[str, Written] = {}
        for key in self.keys(item):
            text = self.value(item, key)
            if key == "shape.kind":
                whole["shape"] = self._shape(item)
            elif key.startswith("join."):
                whole["join"] = [self.value(item, "join.0"), self.value(item, "join.1")]
            elif text and not key.startswith("shape.") and text != USUAL.get(key):
                first, _, rest = key.partition(".")
                whole[first] = {rest: text} if rest else _written(key, text)
        if self.value(item, STANDS) == STANDS:
            whole["since"] = self.today.isoformat()
        return whole

    def _shape(self, item: Item) -> dict[str, Written]:
        kind = measures_of(KINDS[self.value(item, "shape.kind")].shape(self.units), with_kind=True)["kind"]
        shape: dict[str, Written] = {"kind": kind}
        for name in self._measures(item):
            shape[name] = self.value(item, f"shape.{name}")
        return shape

    def _measures(self, item: Item) -> list[str]:
        """Return the measures of a tank's shape that are one text each."""
        other = self.typed.get(item, {}).get("shape.kind")
        if other:
            return list(measures_of(KINDS[other].shape(self.units)))
        shape = self._written(item).get("shape")
        if not isinstance(shape, Mapping):
            return []
        return [name for name, text in shape.items() if name != "kind" and isinstance(text, str)]

    def _written(self, item: Item) -> Mapping[str, Any]:
        """Return what the file says of an item."""
        if not item[1]:
            return self.root
        found = (self.root.get(item[0]) or {}).get(item[1])
        return found if isinstance(found, Mapping) else {}


def measures_of(shape: str, *, with_kind: bool = False) -> dict[str, str]:
    """Return the measures that a starter's shape names.

    Examples
    --------
    >>> measures_of("{kind: upright, diameter: 57 cm, height: 85 cm}")
    {'diameter': '57 cm', 'height': '85 cm'}
    """
    found = dict(re.findall(r"(\w+): ([^,}]+)", shape))
    return {name: text for name, text in found.items() if with_kind or name != "kind"}


def _written(key: str, text: str) -> Written:
    """Return a typed text as the file has it: several heights are a list."""
    if key == "ports" and ";" in text:
        return [part.strip() for part in text.split(";")]
    return text
