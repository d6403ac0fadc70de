"""What every picture is made of: rows of spans, each a piece of text with the role that gives it its colour.

A role is a word of our own such as `water` or `sill`; the screen maps it to a style, the command line to nothing.
"""

from __future__ import annotations

from typing import NamedTuple


class Span(NamedTuple):
    """A run of text in one role, one terminal cell a character."""

    text: str
    role: str


Row = list[Span]
"""One line of a picture, left to right."""


def as_text(rows: list[Row]) -> str:
    """Return a picture as plain text, trailing blanks removed."""
    return "\n".join("".join(span.text for span in row).rstrip() for row in rows)
