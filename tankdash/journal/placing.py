"""Files put out: never over what is somebody else's, and never where the garden's own files have their place."""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from tankdash.inplace import put_in_place
from tankdash.journal.lines import SheetError

__all__ = ["apart_from", "begins_with", "free_to_write", "put_in_place"]


def begins_with(path: Path, start: bytes) -> bool:
    """Return whether a file is empty or begins with these bytes, so that replacing it loses nothing of others."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(start)) in (b"", start)


def apart_from(path: Path, own: Iterable[Path]) -> None:
    """Look that a file put at `path` would not stand where the garden's own files have their place.

    Their places are kept free also while nothing stands there: SQLite may be about to write there.

    Raises
    ------
    SheetError
        If it is one of `own`, by whatever way.
    """
    for file in own:
        if _is_one_place(path, file):
            raise SheetError(f"{path} is the place of the garden's own {file.name}: name another file.")


def _is_one_place(one: Path, other: Path) -> bool:
    """Return whether two paths lead to one file, or would if there were one; capitals make no difference."""
    with suppress(OSError):
        if one.samefile(other):
            return True
    if one.name.casefold() != other.name.casefold():
        return False
    return os.path.realpath(one.parent) == os.path.realpath(other.parent)


def free_to_write(
    path: Path, start: bytes, what: str, example: str, *, overwrite: bool, own: Iterable[Path]
) -> None:
    """Look that a file may be written at `path`.

    Parameters
    ----------
    path : Path
        Where it is to stand.
    start : bytes
        How every file of its sort begins: only such a one may be replaced.
    what : str
        What its sort is called.
    example : str
        A name to offer.
    overwrite : bool
        Whether the owner said that an earlier one may go.
    own : iterable of Path
        The garden's own files: nothing is put in their places.

    Raises
    ------
    SheetError
        If something stands there that may not be replaced, the place is kept, or there is no such folder.
    """
    if path.is_dir():
        raise SheetError(f"{path} is a folder: name a file to write, such as {example}.")
    apart_from(path, own)
    if path.exists() and not overwrite:
        raise SheetError(f"{path} is there already: name another file, or say --overwrite.")
    if path.exists() and not begins_with(path, start):
        raise SheetError(f"{path} is there already and is no {what}: name another file.")
    if not path.parent.is_dir():
        raise SheetError(f"There is no folder {path.parent}: make it first, or name another file.")
