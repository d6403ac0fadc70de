"""What is printed: tables, and text from files with its control characters shown instead of obeyed.

No colour is ever sent, so it reads the same in a pipe, on paper and with NO_COLOR.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from typing import Any

INDENT = "  "
_BEYOND_ASCII = re.compile(r"[^\n -~]")


def shown(text: str) -> str:
    r"""Return text fit for a terminal: what a terminal would act on is written out.

    Examples
    --------
    >>> shown("bad\x1b[2Jlabel"), shown("caf\u00e9\u00a0bed")
    ('bad\\x1b[2Jlabel', 'café bed')
    """
    if text.isprintable():
        return text
    return "".join(
        " "
        if character == "\u00a0" or character == "\t"
        else character
        if character.isprintable()
        else character.encode("unicode_escape").decode("ascii")
        for character in text
    )


def harmless_json(text: str) -> str:
    r"""Return JSON that says the same, with what a terminal would act on or hide written as escapes.

    Examples
    --------
    >>> harmless_json('{"note": "caf\u00e9 \u202e\x9b31m"}')
    '{"note": "café \\u202e\\u009b31m"}'
    """
    return _BEYOND_ASCII.sub(lambda found: found[0] if found[0].isprintable() else _escape(found[0]), text)


def _escape(character: str) -> str:
    """Return a character as JSON writes it in ASCII: two escapes beyond the first 65536."""
    units = character.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{units[start : start + 4]}" for start in range(0, len(units), 4))


def width(text: str) -> int:
    """Return how many cells a terminal gives the text: two for wide characters, none for combining ones.

    Examples
    --------
    >>> width("north"), width("桶")
    (5, 2)
    """
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text
    )


def table(heads: Sequence[str], rows: Iterable[Sequence[object]], right: Iterable[int] = ()) -> list[str]:
    """Return lines of columns under their heads; columns whose number is in `right` stand right.

    Examples
    --------
    >>> table(("tank", "L"), [("north", 600), ("south", 57)], right=(1,))
    ['tank     L', 'north  600', 'south   57']
    """
    cells = [[shown(str(cell)) for cell in row] for row in rows]
    widths = [max(width(row[n]) for row in [list(heads), *cells]) for n in range(len(heads))]
    at_right = set(right)

    def line(row: Sequence[str]) -> str:
        parts = []
        for number, cell in enumerate(row):
            room = " " * (widths[number] - width(cell))
            parts.append(room + cell if number in at_right else cell + room)
        return INDENT.join(parts).rstrip()

    return [line(list(heads)), *map(line, cells)]


def wrapped(text: str, first: str = "", rest: str = "", room: int = 80) -> list[str]:
    """Return the text broken between words, the first line begun with `first` and the others with `rest`.

    Examples
    --------
    >>> wrapped("one two three", "! ", "  ", 9)
    ['! one two', '  three']
    """
    lines: list[str] = []
    current = first
    has_word = False
    for word in shown(text).split():
        if has_word and width(current) + 1 + width(word) > room:
            lines.append(current)
            current, has_word = rest, False
        current += f" {word}" if has_word else word
        has_word = True
    return [*lines, current]


def plain(value: Any) -> Any:
    """Return a value fit for JSON: tuples as lists, dates and times in ISO 8601."""
    if isinstance(value, dict):
        return {str(key): plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [plain(part) for part in value]
    return value.isoformat() if hasattr(value, "isoformat") else value
