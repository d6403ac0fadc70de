"""From a site file to a checked site: read the text, check every item by the schema, check them against each other.

All problems of a file are found in one go; a site comes back only if there is none.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from tankdash.site.build import build
from tankdash.site.crossings import cross_check
from tankdash.site.document import Document, Path_, parse_document, read_document
from tankdash.site.fields import id_sentence
from tankdash.site.model import Site
from tankdash.site.parts import Parts
from tankdash.site.problems import SiteError, nearest, printable
from tankdash.site.schema import GROUPS, ITEMS, SHAPE_PARTS, Part, SitePart
from tankdash.units import Units

PartT = TypeVar("PartT", bound=Part)

SHAPES = tuple(SHAPE_PARTS)
MOST_PROBLEMS = 1000
"""More are not shown; a file with so many is another kind of file."""

_SAMPLES = {
    "site": "My garden",
    "timezone": "Europe/Lisbon",
    "units": "metric",
    "datum": "top of the step by the door",
    "base": "20 cm",
    "shape": "{kind: straight, holds: 1000 L, at: 100 cm}",
    "join": "[north, south]",
    "ports": "8 cm",
    "tank": "north",
    "at": "10 cm",
    "area": "24 m2",
    "fills": "north",
    "need": "25 mm/week",
    "from": "tap",
}
"""A well-written value for each key that may not be left out."""


def load_site(path: Path) -> Site:
    """Return the site in the file at `path`; SiteError with every problem if it has any."""
    return _checked(read_document(path), path)


def load_text(text: str, name: str) -> Site:
    """Return the site in `text`; `name` stands for the file in problems."""
    return _checked(parse_document(text, printable(name)), None)


def _checked(document: Document, path: Path | None) -> Site:
    parts = _parts_of(document)
    cross_check(parts, document)
    if document.problems:
        raise SiteError(sorted(document.problems, key=lambda problem: problem.line or 0)[:MOST_PROBLEMS])
    return build(parts, path)


def _parts_of(document: Document) -> Parts:
    """Return every item that could be read, bad keys left out and blamed."""
    root = dict(document.root)
    sections: dict[str, dict[str, Any]] = {}
    for section in ITEMS:
        if section in root:
            sections[section] = _section(document, section, root[section])
            root[section] = {}
    if root.get("rain", {}) is None:
        del root["rain"]
    said = root.get("units")
    units: Units = "us" if said == "us" else "imperial" if said == "imperial" else "metric"
    head = _part(document, SitePart, root, (), units)
    for section in ("tanks", "outlets"):
        if section in sections and not sections[section] and isinstance(document.root[section], dict | None):
            document.blame((section,), f"is empty; a site has at least one {section[:-1]}")
    items: dict[str, dict[str, Part]] = {section: {} for section in ITEMS}
    for section, raw_items in sections.items():
        for key, raw in raw_items.items():
            items[section][key] = _part(document, ITEMS[section], raw, (section, key), units)
    return Parts.of(head, items)


def _section(document: Document, section: str, raw: Any) -> dict[str, Any]:
    """Return the items of a section that are groups of keys with a fit id."""
    if raw is None:
        return {}
    if not isinstance(raw, dict):
        document.blame((section,), "must hold a name and its keys on each line, such as `north: {...}`")
        return {}
    items = {}
    for key, item in raw.items():
        if fault := id_sentence(key):
            document.blame((section, key), fault)
        if isinstance(item, dict):
            items[key] = item
        else:
            what = ITEMS[section].WHAT
            said = "has no keys" if item is None else "is not a group of keys"
            document.blame((section, key), f"{said}; {what} needs {_needs(ITEMS[section])}")
    return items


def _needs(model: type[Part]) -> str:
    return " and ".join(f"`{key}`" for key in model.REQUIRED) or "at least one key"


def _part(document: Document, model: type[PartT], raw: dict[str, Any], path: Path_, units: Units) -> PartT:
    """Return `raw` as a part, bad keys blamed and left out; missing ones blamed too."""
    for key in model.REQUIRED:
        if key not in raw and model.INSTEAD.get(key) not in raw:
            document.blame(path, f"`{key}` is missing; add it, such as `{key}: {_SAMPLES.get(key, '...')}`")
    kept = {}
    for key, value in raw.items():
        if value is None:
            document.blame((*path, key), "has no value; write one, or take the key out")
        else:
            kept[key] = value
    while True:
        try:
            return model.model_validate(kept, context=units)
        except ValidationError as found:
            errors = found.errors(include_url=False)
            for error in errors:
                document.blame((*path, *_path_of(error)), _sentence(error, kept, model))
            kept = _without(kept, errors)


def _without(kept: dict[str, Any], errors: list[ErrorDetails]) -> dict[str, Any]:
    """Return the keys without the bad ones: an unknown key goes alone, a bad value takes its whole group along."""
    gone, inner = set(), set()
    for error in errors:
        path = _path_of(error)
        if error["type"] == "extra_forbidden" and len(path) == 2:
            inner.add(path)
        else:
            gone.add(path[0])
    left = {key: value for key, value in kept.items() if key not in gone}
    for group in {group for group, _ in inner}.intersection(left):
        left[str(group)] = {
            key: value for key, value in kept[str(group)].items() if (group, key) not in inner
        }
    return left


def _keys_of(model: type[Part]) -> list[str]:
    return [field.alias or name for name, field in model.model_fields.items()]


def _path_of(error: ErrorDetails) -> Path_:
    """Return the key to blame in its item; the kind of a shape stands in pydantic's path and is no key."""
    where = error["loc"]
    if error["type"] == "missing":
        where = where[:-1]
    if error["type"] == "union_tag_invalid":
        return (*where, "kind")
    return tuple(
        step
        for place, step in enumerate(where)
        if not (place == 1 and where[0] == "shape" and step in SHAPES)
    )


def _sentence(error: ErrorDetails, raw: dict[str, Any], model: type[Part]) -> str:
    """Return the sentence for one error of pydantic's."""
    path, kind = _path_of(error), error["type"]
    if kind == "value_error":
        return str(error["ctx"]["error"])
    if kind == "extra_forbidden":
        known, what = _known_keys(path, raw, model)
        close = nearest(str(path[-1]), known) or f"; its keys are {', '.join(known)}"
        return f"is not a key of {what}{close}"
    if kind == "missing":
        return f"`{error['loc'][-1]}` is missing; add it to the {path[0]}"
    if kind == "union_tag_not_found":
        return f"`kind` is missing; write {', '.join(SHAPES[:-1])} or {SHAPES[-1]}"
    if kind == "union_tag_invalid":
        word = printable(raw["shape"]["kind"])[:40]
        return f"'{word}' is no shape: write {', '.join(SHAPES)}{nearest(word, SHAPES)}"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return "must be a group of keys in curly brackets or on lines of their own"
    return f"is not understood ({error['msg'].lower()})"


def _known_keys(path: Path_, raw: dict[str, Any], model: type[Part]) -> tuple[list[str], str]:
    """Return the keys known where the unknown one at `path` stands, and what that place describes."""
    if len(path) == 1:
        return _keys_of(model), model.WHAT
    group = str(path[0])
    if group == "shape":
        kind = str(raw["shape"]["kind"])
        return _keys_of(SHAPE_PARTS[kind]), f"a {kind} shape"
    inner = GROUPS[group]
    return _keys_of(inner), inner.WHAT
