"""Where each value of a YAML text stands in it, sign by sign, so that one can be changed and the rest left alone."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

Path_ = tuple[str | int, ...]


@dataclass
class Value:
    """One value of the text."""

    kind: Literal["scalar", "mapping", "sequence", "alias"]
    start: int
    """First sign of what it says, behind an anchor."""
    end: int
    """Behind its last sign; a block ends with its last value."""
    column: int = 0
    """Of its first sign, from 0."""
    style: str | None = None
    """Quotes or block sign of a scalar."""
    is_flow: bool = False
    """Whether it stands in brackets."""
    anchor: str | None = None
    """Name it gives itself, or an alias calls."""
    text: str = ""
    """Of a scalar."""
    pairs: list[tuple[Value, Value]] = field(default_factory=list)
    """Keys and values of a mapping."""
    items: list[Value] = field(default_factory=list)
    """Of a sequence."""

    @property
    def is_null(self) -> bool:
        """Whether nothing stands there."""
        return self.kind == "scalar" and self.start == self.end

    def pair(self, key: str) -> tuple[Value, Value] | None:
        """Return a key of a mapping with its value."""
        return next((pair for pair in self.pairs if pair[0].text == key), None)

    def at(self, path: Path_) -> Value | None:
        """Return the value that a path leads to; None when it leads nowhere, or through an alias."""
        here: Value | None = self
        for step in path:
            if here is None:
                return None
            if isinstance(step, int):
                here = here.items[step] if step < len(here.items) else None
            else:
                pair = here.pair(step)
                here = None if pair is None else pair[1]
        return here


def spans_of(text: str) -> tuple[Value, frozenset[str]]:
    """Return the one mapping of a text, and the names that aliases call.

    Parameters
    ----------
    text : str
        YAML that has been read without a problem before.
    """
    from ruamel.yaml import YAML

    events = [event for event in YAML(typ="rt", pure=True).parse(text) if _is_of_values(event)]
    reader = _Reader(text, events)
    root = reader.value()
    return root, frozenset(reader.called)


def _is_of_values(event: Any) -> bool:
    return type(event).__name__.startswith(("Scalar", "Mapping", "Sequence", "Alias"))


class _Reader:
    """One pass over the parser's events."""

    def __init__(self, text: str, events: list[Any]) -> None:
        self.text = text
        self.events = events
        self.place = 0
        self.called: set[str] = set()

    def value(self) -> Value:
        """Return the next value with all that is in it."""
        event = self.events[self.place]
        self.place += 1
        name = type(event).__name__
        start, end, column = event.start_mark.index, event.end_mark.index, event.start_mark.column
        if name == "AliasEvent":
            self.called.add(event.anchor)
            return Value("alias", start, end, column, anchor=event.anchor)
        anchor = event.anchor
        start = self._behind_anchor(start, anchor)
        if name == "ScalarEvent":
            end = max(start, start + len(self.text[start:end].rstrip()))
            return Value("scalar", start, end, column, event.style, anchor=anchor, text=str(event.value))
        found = Value(
            "mapping" if name == "MappingStartEvent" else "sequence",
            start,
            end,
            column,
            is_flow=bool(event.flow_style),
            anchor=anchor,
        )
        while not type(self.events[self.place]).__name__.endswith("EndEvent"):
            one = self.value()
            if found.kind == "sequence":
                found.items.append(one)
            else:
                found.pairs.append((one, self._placed(one, self.value())))
        closing = self.events[self.place]
        self.place += 1
        if found.is_flow:
            found.end = closing.end_mark.index
        elif found.kind == "mapping":
            found.start, found.column = found.pairs[0][0].start, found.pairs[0][0].column
            found.end = found.pairs[-1][1].end
        elif found.items:
            found.end = max(found.start, found.items[-1].end)
        return found

    def _behind_anchor(self, start: int, anchor: str | None) -> int:
        """Return where the value itself begins: an anchor stands before it."""
        if anchor is None or not self.text.startswith(f"&{anchor}", start):
            return start
        start += 1 + len(anchor)
        while self.text[start : start + 1] in (" ", "\t"):
            start += 1
        return start

    def _placed(self, key: Value, value: Value) -> Value:
        """Return a value; one that is left out stands behind the colon of its key, not before the next word."""
        if value.kind == "scalar" and not value.text and value.style in (None, ""):
            value.start = value.end = self.text.index(":", key.end) + 1
        return value
