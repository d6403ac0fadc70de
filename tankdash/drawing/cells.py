"""Text measured in terminal cells: wide letters take two, accents none, and nothing may steer the terminal.

Labels come from the owner's file, so they may hold anything; here they become harmless and fit their place.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

STAND_IN = "\N{REPLACEMENT CHARACTER}"
"""Shown where a label holds a character that has no glyph of its own."""

_MOST_MARKS = 2
"""Accents kept on one letter; more would run over the lines above."""


@lru_cache(maxsize=4096)
def char_width(char: str) -> int:
    r"""Return how many cells one printable character takes: 0, 1 or 2.

    Parameters
    ----------
    char : str
        One character, as `printable` leaves them.

    Examples
    --------
    >>> char_width("a"), char_width("水"), char_width("\N{COMBINING ACUTE ACCENT}")
    (1, 2, 0)
    """
    if char < "\u0300":
        return 1
    if unicodedata.category(char) in ("Mn", "Me") or "\u1160" <= char <= "\u11ff":
        return 0
    return 2 if unicodedata.east_asian_width(char) in ("W", "F") else 1


@lru_cache(maxsize=1024)
def printable(text: str) -> str:
    r"""Return `text` on one line with everything that could steer a terminal shown as a sign instead.

    Control characters become their control pictures, direction marks and other unseen characters the stand-in;
    right-to-left letters stay in the order they are read.

    Examples
    --------
    >>> printable("north\x1b[31m\n"), printable("a\u202eb")
    ('north␛[31m␊', 'a�b')
    """
    shown: list[str] = []
    marks = 0
    for char in unicodedata.normalize("NFC", text):
        kind = unicodedata.category(char)
        if char < " ":
            shown.append(chr(0x2400 + ord(char)))
            marks = 0
        elif char == "\x7f":
            shown.append("\N{SYMBOL FOR DELETE}")
            marks = 0
        elif "\ufe00" <= char <= "\ufe0f":
            continue  # They only choose between two looks of a sign, and terminals disagree on its width then.
        elif kind == "Zs":
            shown.append(" ")
            marks = 0
        elif kind[0] == "C" or kind in ("Zl", "Zp"):
            shown.append(STAND_IN)
            marks = 0
        elif char_width(char) == 0:
            if not shown:
                shown.append("\N{DOTTED CIRCLE}")
            marks += 1
            if marks <= _MOST_MARKS:
                shown.append(char)
        else:
            shown.append(char)
            marks = 0
    return "".join(shown)


def text_width(text: str) -> int:
    """Return how many cells `text` takes, [cells].

    Examples
    --------
    >>> text_width("tank"), text_width("水槽")
    (4, 4)
    """
    return len(text) if text.isascii() else sum(map(char_width, text))


def cut(text: str, width: int, ellipsis: str = "…") -> str:
    """Return the printable form of `text` in at most `width` cells, `ellipsis` where something is missing.

    Examples
    --------
    >>> cut("North tote", 6), cut("水槽", 3), cut("tap", 0)
    ('North…', '水…', '')
    """
    text = printable(text)
    if text_width(text) <= width:
        return text
    if width <= 0:
        return ""
    room = width - text_width(ellipsis)
    kept: list[str] = []
    for char in text:
        room -= char_width(char)
        if room < 0:
            break
        kept.append(char)
    return "".join(kept).rstrip() + ellipsis if text_width(ellipsis) <= width else ""


def pad(text: str, width: int, align: str = "left", ellipsis: str = "…") -> str:
    """Return `text` cut or filled with blanks to exactly `width` cells.

    Parameters
    ----------
    text : str
        Any text.
    width : int
        [cells].
    align : str
        `left`, `right` or `middle`.
    ellipsis : str
        What stands for the part cut off.

    Examples
    --------
    >>> pad("tap", 6, "middle"), pad("水槽", 5, "right"), pad("overflow", 5)
    (' tap  ', ' 水槽', 'over…')
    """
    text = cut(text, width, ellipsis)
    spare = max(0, width - text_width(text))
    left = {"left": 0, "right": spare, "middle": spare // 2}[align]
    return " " * left + text + " " * (spare - left)


_ASCII = {
    "…": "~",
    "·": ".",
    "–": "-",
    "—": "-",
    "−": "-",
    "×": "x",
    "’": "'",
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
}


def in_ascii(text: str) -> str:
    """Return `text` in ASCII: accents dropped, what has no ASCII form as `?`.

    Examples
    --------
    >>> in_ascii("Nördlich 水")
    'Nordlich ??'
    """
    if text.isascii():
        return text
    plain: list[str] = []
    for char in printable(text):
        for part in unicodedata.normalize("NFKD", _ASCII.get(char, char)):
            width = char_width(part)
            plain.append(part if part.isascii() else "?" * width)
    return "".join(plain)
