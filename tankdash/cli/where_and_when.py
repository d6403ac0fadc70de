"""What can be read of a call without the parser of all commands: where the garden is, and what time it is there."""

from __future__ import annotations

import re
from datetime import datetime
from types import SimpleNamespace

_COMPLETE_TIME = re.compile(r"(?:19|20)\d\d-\d\d-\d\dT\d\d:\d\d(?::\d\d(?:\.\d{1,6})?)?[+-]\d\d:\d\d")


def where_and_when(argv: list[str]) -> SimpleNamespace | None:
    """Return what was typed when it only says where the garden is and what time it is; None for the parser to read.

    Opening the screen needs no more, and building the parser of all commands takes as long as the first frame may.

    Examples
    --------
    >>> found = where_and_when(["--site", "garden.yaml"])
    >>> found.site, found.journal, where_and_when(["levels"])
    ('garden.yaml', None, None)
    """
    found = SimpleNamespace(site=None, journal=None, now=None, fold=None, json=False)
    rest = iter(argv)
    for word in rest:
        name, sign, value = word.partition("=")
        if name not in ("--site", "--journal", "--now"):
            return None
        if not sign:
            value = next(rest, "")
        if not value or value.startswith("-") or "\x00" in value:
            return None
        setattr(found, name.removeprefix("--"), value)
    return found


def complete_time(text: str) -> datetime | None:
    """Return the instant of an ISO time that carries its own offset, None for words that need the garden's clock.

    Examples
    --------
    >>> complete_time("2026-05-04T07:30+01:00").isoformat(), complete_time("today 7:30")
    ('2026-05-04T07:30:00+01:00', None)
    """
    if not _COMPLETE_TIME.fullmatch(text):
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None
