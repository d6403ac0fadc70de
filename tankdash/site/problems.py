"""What can be wrong with a site file, as values: where it stands and a sentence that says what to do.

Light to import: every floor above names these errors, few ever load a file.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True)
class Problem:
    """One thing that keeps a site file from being used."""

    file: str
    """The file as it was named, fit to print."""
    line: int | None
    """Line on which it stands, from 1; None when the whole file is meant."""
    key: str
    """Keys that lead there, joined by dots; empty when no key is to blame."""
    sentence: str
    """What is wrong, and what to write instead."""

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        return ": ".join(filter(None, (place, self.key, self.sentence)))


class SiteError(Exception):
    """A site file that cannot be used; carries every problem found, in the order of the file."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        """All of them, the first line of the file first."""
        super().__init__("\n".join(str(problem) for problem in self.problems))


@dataclass(frozen=True)
class SiteWarning:
    """Something of a usable site that its owner should know."""

    code: str
    """One of the codes of `check`: `lips-differ`, `never-fills`, `crest`, `no-vent`, `small-first-flush`,
    `overflow-small`, `load`, `uphill`, `no-effect`."""
    text: str
    """A sentence."""


def printable(text: object) -> str:
    """Return `text` with everything a terminal might act on, and every odd space, replaced by `?`."""
    return "".join(sign if sign.isprintable() else "?" for sign in str(text))


def nearest(word: str, known: Iterable[str]) -> str:
    """Return `; did you mean ...?` for the known word next to `word`, or nothing when none is close.

    Examples
    --------
    >>> nearest("tank", ["tanks", "links"])
    '; did you mean `tanks`?'
    >>> nearest("rhubarb", ["tanks", "links"])
    ''
    """
    words = {name.lower(): name for name in known}
    close = get_close_matches(word.lower()[:60], list(words), n=1, cutoff=0.65)
    return f"; did you mean `{printable(words[close[0]])}`?" if close else ""
