"""Text files from elsewhere, read line by line within bounds: encodings, NULs and endless lines end in a sentence."""

from __future__ import annotations

import csv
import gzip
import re
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, cast

MAX_LINE = 400_000
"""Longest line read, in bytes."""
MAX_SHEET = 50_000_000
"""Largest sheet read, in bytes; past days of a whole network may be larger, they are read as a stream."""
MAX_STREAM = 8_000_000_000
"""Largest file read as a stream, unpacked, in bytes: some years of every station there is; more is a packing bomb."""
MAX_ROWS = 400_000
"""Most rows of a sheet of days: a thousand years."""
MAX_COLUMNS = 1000
"""Most columns of a sheet."""
MAX_CELLS = 4_000_000
"""Most cells of a sheet of days, which is held in memory."""
MAX_DOUBTS = 200
"""Doubtful lines kept word for word; more are counted."""

_CARRIAGE_RETURN = re.compile(rb"(?<=\r)(?!\n)")
"""Place behind one that no line feed follows."""


class SheetError(Exception):
    """A file cannot be brought in or written; the message is a sentence that says what to do."""


class Undecided(SheetError):
    """The file can be read in two ways and the owner has to say which."""

    def __init__(self, sentence: str, option: str) -> None:
        super().__init__(sentence)
        self.option = option
        """The option that decides it."""


@dataclass(frozen=True)
class Doubt:
    """A line that is left out, and why."""

    line: int
    sentence: str


class Doubts:
    """Doubtful lines, bounded in number."""

    def __init__(self) -> None:
        self.count = 0
        self.kept: list[Doubt] = []

    def add(self, line: int, sentence: str) -> None:
        """Note one line."""
        self.count += 1
        if len(self.kept) < MAX_DOUBTS:
            self.kept.append(Doubt(line, sentence))


@contextmanager
def opened(path: Path, limit: int | None = MAX_SHEET) -> Iterator[BinaryIO]:
    """Open a plain or gzipped file for reading; what the disk complains of becomes a sentence."""
    try:
        if not path.exists():
            raise SheetError(f"{path} is not there: look at the name.")
        if not path.is_file():
            raise SheetError(f"{path} is not a plain file.")
        if limit is not None and path.stat().st_size > limit:
            raise SheetError(f"{path} is larger than {limit // 1_000_000} MB: cut it into smaller files.")
        with path.open("rb") as file:
            packed = file.read(2) == b"\x1f\x8b"
            file.seek(0)
            if not packed:
                yield file
                return
            with gzip.open(file) as unpacked:
                yield cast("BinaryIO", unpacked)
    except (gzip.BadGzipFile, EOFError, zlib.error) as problem:
        raise SheetError(f"{path} cannot be unpacked: fetch it again.") from problem
    except OSError as problem:
        raise SheetError(f"{path} cannot be read ({problem.strerror or problem}).") from problem


def text_lines(file: BinaryIO, path: Path, limit: int | None = MAX_SHEET) -> Iterator[str]:
    """Return the lines of a UTF-8 file, with their ends; a byte order mark is passed over.

    Raises
    ------
    SheetError
        With the line, when it is too long, no UTF-8, or holds a NUL.
    """
    number = 1
    total = 0
    while raw := file.readline(MAX_LINE + 1):
        total += len(raw)
        if len(raw) > MAX_LINE:
            raise SheetError(
                f"{path}:{number}: the line is longer than {MAX_LINE} characters: is it a sheet?"
            )
        if total > (MAX_STREAM if limit is None else limit):
            most = (MAX_STREAM if limit is None else limit) // 1_000_000
            raise SheetError(f"{path} is larger than {most} MB: cut it into smaller files.")
        if number == 1:
            if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
                raise SheetError(f"{path}:1: this is UTF-16 text: save it as CSV in UTF-8.")
            raw = raw.removeprefix(b"\xef\xbb\xbf")
        # Lines of old computers end in a carriage return alone.
        for line in _CARRIAGE_RETURN.split(raw) if b"\r" in raw[:-2] else (raw,):
            if line:
                yield _decoded(line, path, number)
                number += 1


def _decoded(line: bytes, path: Path, number: int) -> str:
    """Return a line as text."""
    if b"\x00" in line:
        raise SheetError(
            f"{path}:{number}: there is a NUL in the line: is it a sheet? Save it as CSV in UTF-8."
        )
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        raise SheetError(
            f"{path}:{number}: this is not UTF-8 text, perhaps Latin-1: save it as CSV in UTF-8."
        ) from None


def rows(file: BinaryIO, path: Path, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Return the rows of a sheet with the number of their first line; empty ones are passed over."""
    reader = csv.reader(text_lines(file, path), delimiter=delimiter, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error as problem:
            what = (
                "a cell is longer than any of a sheet: is a quote never closed?"
                if "field limit" in str(problem)
                else f"the quotes of this line cannot be followed ({problem})."
            )
            raise SheetError(f"{path}:{line}: {what}") from problem
        if len(row) > MAX_COLUMNS:
            raise SheetError(f"{path}:{line}: the line has more than {MAX_COLUMNS} columns: is it a sheet?")
        if any(cell.strip() for cell in row):
            yield line, row


def shown(text: str, length: int = 40) -> str:
    """Return a cell as it may be printed: control characters written out, bounded in length."""
    plain = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text[:length])
    return f"'{plain}'" + ("..." if len(text) > length else "")
