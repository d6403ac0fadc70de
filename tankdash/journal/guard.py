"""Text in a CSV cell that no spreadsheet takes for a formula, and back without loss.

A cell that begins like a formula gets an apostrophe in front, and so does one that begins with an apostrophe, so
that taking one away is always right. Control characters, those that turn the reading direction, and backslashes are
written out: one row stays one line, and reads as what it is.
"""

from __future__ import annotations

import re

_STARTS = ("=", "+", "-", "@", "|", "%", "'", "＝", "＋", "－", "＠")
_CONTROL = re.compile(r"[\\\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
_ESCAPE = re.compile(r"\\(?:(\\)|u([0-9a-f]{4}))")


def guarded(text: str) -> str:
    r"""Return the text as it may stand in a cell.

    Examples
    --------
    >>> guarded("=1+1"), guarded("two\nlines"), guarded("plain")
    ("'=1+1", 'two\\u000alines', 'plain')
    """
    written = _CONTROL.sub(lambda m: "\\\\" if m[0] == "\\" else f"\\u{ord(m[0]):04x}", text)
    return f"'{written}" if written.lstrip().startswith(_STARTS) else written


def unguarded(cell: str) -> str:
    """Return the text that `guarded` was given."""
    written = cell.removeprefix("'") if cell.lstrip().startswith("'") else cell
    return _ESCAPE.sub(lambda m: "\\" if m[1] else chr(int(m[2], 16)), written)
