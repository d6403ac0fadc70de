"""A site file changed in place: one value, key or item at a time; every other sign of it stays as it was typed.

The text is changed where the YAML reader says a value stands. What comes out is read again and must say what it said
before, with the change and nothing else.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from tankdash.site.document import parse_document
from tankdash.site.problems import SiteError
from tankdash.site.spans import Path_, Value, spans_of
from tankdash.site.starter import scalar

Written = str | Sequence[str] | Mapping[str, Any]
"""A value to write: text, a list of texts, or keys with values."""


class EditError(ValueError):
    """A change that cannot be made safely; says what to do instead."""


@dataclass(frozen=True)
class Put:
    """A value to put at a path, whether or not something stands there."""

    path: Path_
    value: Written


@dataclass(frozen=True)
class Take:
    """A key to take out, with all that belongs to it."""

    path: Path_


Change = Put | Take


def edited(text: str, changes: Sequence[Change]) -> str:
    r"""Return the text of a site file with changes made in it, one after the other.

    Parameters
    ----------
    text : str
        A file that can be read; it need not be free of problems.
    changes : sequence of Put or Take
        In this order.

    Raises
    ------
    EditError
        If one cannot be made without touching something else: a value that an alias shares, for one.

    Examples
    --------
    >>> print(edited("tanks:\n  north: {base: 20 cm}  # by the door\n", [Put(("tanks", "north", "base"), "22 cm")]))
    tanks:
      north: {base: 22 cm}  # by the door
    <BLANKLINE>
    """
    wanted = deepcopy(dict(parse_document(text, "site file").root))
    for change in changes:
        if isinstance(change, Put):
            text = _put(text, change.path, change.value)
            _put_in(wanted, change.path, change.value)
        else:
            text = _take(text, change.path)
            _take_out(wanted, change.path)
    try:
        found = parse_document(text, "site file")
    except SiteError as error:
        raise _beyond(changes) from error
    if found.problems or not _same(found.root, wanted):
        raise _beyond(changes)
    return text


def _beyond(changes: Sequence[Change]) -> EditError:
    named = ", ".join(sorted({".".join(str(step) for step in change.path[:2]) for change in changes}))
    return EditError(
        f"The file is written in a way in which {named} cannot be changed here: edit it by hand."
    )


# Putting.


def _put(text: str, path: Path_, value: Written) -> str:
    root, called = spans_of(text)
    _refuse_shared(root, path, called)
    there = root.at(path)
    if there is None:
        return _add(text, root, path, value)
    if isinstance(value, str) and there.kind == "scalar" and not there.is_null:
        return text[: there.start] + _in_style(value, there.style) + text[there.end :]
    if there.is_flow or there.kind in ("scalar", "alias"):
        space = " " if there.is_null else ""
        return text[: there.start] + space + in_flow(value) + text[there.end :]
    # A block in lines of its own gives way to one value behind its key; what the key's line says further stays.
    parent = root.at(path[:-1])
    pair = None if parent is None else parent.pair(str(path[-1]))
    if pair is None:
        raise _beyond([Put(path, value)])
    colon = text.index(":", pair[0].end) + 1
    first_line = _line_end(text, colon)
    return f"{text[:colon]} {in_flow(value)}{text[colon:first_line]}{text[_line_end(text, there.end) :]}"


def _add(text: str, root: Value, path: Path_, value: Written) -> str:
    """Return the text with a key that was not there."""
    parent_path, key = path[:-1], str(path[-1])
    parent = root.at(parent_path)
    if parent is None:
        return _put(text, parent_path, {key: value})
    if parent.is_null:
        return _add_below(text, root, parent_path, parent, {key: value})
    if parent.kind != "mapping":
        raise _beyond([Put(path, value)])
    if parent.is_flow:
        if not parent.pairs:
            return f"{text[: parent.start]}{in_flow({key: value})}{text[parent.end :]}"
        last = parent.pairs[-1][1].end
        return f"{text[:last]}, {scalar(key)}: {in_flow(value)}{text[last:]}"
    lines = _in_lines({key: value}, parent.column, _step(root))
    return _insert_lines(text, parent.end, lines if parent_path else ["", *lines], parent.column)


def _add_below(text: str, root: Value, path: Path_, empty: Value, value: Mapping[str, Any]) -> str:
    """Return the text with keys below one that had none."""
    parent = root.at(path[:-1])
    pair = None if parent is None else parent.pair(str(path[-1]))
    if parent is None or pair is None or parent.is_flow:
        return f"{text[: empty.start]} {in_flow(value)}{text[empty.end :]}"
    column = pair[0].column + _step(root)
    return _insert_lines(text, empty.start, _in_lines(value, column, _step(root)), column)


def _insert_lines(text: str, place: int, lines: Sequence[str], column: int) -> str:
    """Return the text with lines of their own after what `place` is in and the comments that belong to that."""
    newline = "\r\n" if "\r\n" in text else "\n"
    end = _end_with_comments(text, place, column)
    return text[:end] + "".join(newline + line for line in lines) + text[end:]


def _end_with_comments(text: str, place: int, column: int) -> int:
    """Return where the line of `place` ends, or the last comment line below it that is deeper than `column`."""
    end = _line_end(text, place)
    while True:
        begin = text.find("\n", end) + 1
        if begin == 0:
            return end
        line = text[begin : _line_end(text, begin)]
        if not line.lstrip(" ").startswith("#") or len(line) - len(line.lstrip(" ")) <= column:
            return end
        end = begin + len(line)


def _in_lines(value: Mapping[str, Any], column: int, step: int) -> list[str]:
    """Return keys as lines; the keys of an item below it, what is in those in brackets."""
    lines = []
    for key, one in value.items():
        if isinstance(one, Mapping) and any(isinstance(inner, Mapping) for inner in one.values()):
            lines += [f"{' ' * column}{scalar(key)}:", *_in_lines(one, column + step, step)]
        else:
            lines.append(f"{' ' * column}{scalar(key)}: {in_flow(one)}")
    return lines


def in_flow(value: Written) -> str:
    """Return a value on one line.

    Examples
    --------
    >>> in_flow({"join": ["a", "b"], "ports": "8 cm", "label": "a: b"})
    '{join: [a, b], ports: 8 cm, label: "a: b"}'
    """
    if isinstance(value, str):
        return scalar(value)
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{scalar(key)}: {in_flow(one)}" for key, one in value.items()) + "}"
    return "[" + ", ".join(in_flow(one) for one in value) + "]"


def _in_style(value: str, style: str | None) -> str:
    """Return a text in the quotes that stood there, if any did."""
    if style == "'":
        return "'" + value.replace("'", "''") + "'"
    return json.dumps(value, ensure_ascii=False) if style == '"' else scalar(value)


def _step(root: Value) -> int:
    """Return by how much the file indents one level more than the last."""
    for _, value in root.pairs:
        if value.kind == "mapping" and not value.is_flow:
            return max(1, value.column - root.column)
    return 2


# Taking out.


def _take(text: str, path: Path_) -> str:
    root, called = spans_of(text)
    parent = root.at(path[:-1])
    _refuse_shared(root, path[:-1], called)
    places = (
        []
        if parent is None
        else [place for place, pair in enumerate(parent.pairs) if pair[0].text == path[-1]]
    )
    if parent is None or not places:
        raise _beyond([Take(path)])
    place = places[0]
    key, value = parent.pairs[place]
    if parent.is_flow:
        start = key.start if place == 0 else parent.pairs[place - 1][1].end
        end = value.end
        if place == 0 and len(parent.pairs) > 1:
            end = parent.pairs[1][0].start
        return text[:start] + text[end:]
    start = text.rfind("\n", 0, key.start) + 1
    end = _end_with_comments(text, max(key.end, value.end), parent.column)
    rest = text[end:]
    rest = rest[2:] if rest.startswith("\r\n") else rest[1:]
    return text[:start] + rest


def _refuse_shared(root: Value, path: Path_, called: frozenset[str]) -> None:
    """Refuse to change what an alias shows in another place too."""
    for depth in range(1, len(path) + 1):
        there = root.at(path[:depth])
        if there is None:
            above = root.at(path[: depth - 1])
            if above is not None and above.kind == "alias":
                raise _shared(path, above.anchor)
            return
        if there.kind != "alias" and there.anchor is not None and there.anchor in called:
            raise _shared(path, there.anchor)


def _shared(path: Path_, anchor: str | None) -> EditError:
    named = ".".join(str(step) for step in path)
    return EditError(
        f"{named} is written once for several places, by the anchor `&{anchor}`: change it in the file by hand."
    )


def _line_end(text: str, place: int) -> int:
    """Return where the line that `place` is in ends, before its line break."""
    end = text.find("\n", place)
    if end < 0:
        return len(text)
    return end - 1 if text[end - 1 : end] == "\r" and end > place else end


# What the text must say afterwards.


def _put_in(wanted: dict[str, Any], path: Path_, value: Written) -> None:
    here: Any = wanted
    for step in path[:-1]:
        if isinstance(here, dict) and not isinstance(here.get(step), dict | list):
            here[step] = {}
        here = here[step]
    here[path[-1]] = deepcopy(value)


def _take_out(wanted: dict[str, Any], path: Path_) -> None:
    here: Any = wanted
    for step in path[:-1]:
        here = here[step]
    del here[path[-1]]


def _same(found: Any, wanted: Any) -> bool:
    """Return whether two values say the same: nothing and an empty group of keys do."""
    if isinstance(wanted, Mapping):
        keys = found.keys() if isinstance(found, Mapping) else ()
        return not (found or wanted) or (
            isinstance(found, Mapping)
            and list(keys) == list(wanted)
            and all(_same(found[key], wanted[key]) for key in wanted)
        )
    if isinstance(wanted, list | tuple):
        return isinstance(found, list) and len(found) == len(wanted) and all(map(_same, found, wanted))
    return bool((found or "") == (wanted or ""))
