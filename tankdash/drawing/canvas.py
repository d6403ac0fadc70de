"""What every picture is made of: rows of spans, each a piece of text with the role that gives it its colour.

A role is a word of our own such as `water` or `lip`; the screen maps it to a style, the command line to nothing.
"""

from __future__ import annotations

from typing import NamedTuple


class Span(NamedTuple):
    """A run of text in one role. Labels may hold wide characters: measure with `cells.text_width`, not `len`."""

    text: str
    role: str


Row = list[Span]
"""One line of a picture, left to right."""

GROUNDS = ("water", "below-outlet", "cut-off")
"""Roles whose colour is the background of the cell: the three kinds of water."""

INKS = ("surface", "base", "outlet", "ghost", "lip", "link", "wall", "label", "figure")
"""Roles whose glyph may lie over water; the role of such a cell is `INK-on-GROUND`."""

PLAIN_ROLES = (
    "air", "water", "below-outlet", "cut-off", "surface", "band", "cut-off-band", "water-edge", "wall", "base", "lip",
    "link", "link-closed", "outlet", "ghost", "label", "dim", "axis", "figure", "warn", "rain", "rain-band", "late",
    "done", "missed", "cursor",
)  # fmt: skip
"""Roles that stand alone; `water-edge` is a glyph in the colour that `water` has as its ground."""

ROLES = PLAIN_ROLES + tuple(f"{ink}-on-{ground}" for ink in INKS for ground in GROUNDS)
"""Every role a picture of this floor may use."""


def parts(role: str) -> tuple[str, str | None]:
    """Return the role that colours the glyph and the role that colours the cell behind it, if there is one.

    Examples
    --------
    >>> parts("outlet-on-below-outlet"), parts("surface")
    (('outlet', 'below-outlet'), ('surface', None))
    """
    ink, over, ground = role.partition("-on-")
    return (ink, ground) if over else (role, None)


def as_text(rows: list[Row]) -> str:
    """Return a picture as plain text, trailing blanks removed."""
    return "\n".join("".join(span.text for span in row).rstrip() for row in rows)
