"""Files put out: written beside their place, then put there whole, and never over what is somebody else's.

A program killed while it writes leaves its part behind; the next one that writes into the folder clears it away. A
part is held locked by whoever writes it, and a lock ends with its program, so only parts of the dead are cleared.
"""

from __future__ import annotations

import errno
import os
import re
import stat
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from secrets import token_hex

from tankdash.journal.lines import SheetError

try:
    import fcntl
except ImportError:  # no such locks there: parts stay until their owner sees them
    fcntl = None  # type: ignore[assignment]

_PART = re.compile(r"\.tankdash-[0-9a-f]{16}\.part")
"""Names of files not yet in place."""
_NOT_FOLLOWED = getattr(os, "O_NOFOLLOW", 0)


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


def put_in_place(path: Path, content: str | bytes, *, overwrite: bool = True) -> None:
    """Write a file that only its owner may read, whole or not at all.

    Parameters
    ----------
    path : Path
        Where it is to stand; a link in the way is replaced, not followed.
    content : str or bytes
        All of it; text is written as UTF-8.
    overwrite : bool
        Whether it replaces what stands there.

    Raises
    ------
    OSError
        If the disk complains, or with `overwrite` false something stands there, also if it came only just now. It
        names the file as the owner did, not the part.
    """
    try:
        _written_and_placed(path, content, overwrite=overwrite)
    except OSError as problem:
        raise OSError(problem.errno, problem.strerror or str(problem), str(path)) from problem


def _written_and_placed(path: Path, content: str | bytes, *, overwrite: bool) -> None:
    clear_away(path.parent)
    handle, part = _begun(path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode("utf-8") if isinstance(content, str) else content)
            file.flush()
            os.fsync(file.fileno())
            if fcntl is None:  # where there are no locks an open file cannot be renamed either
                file.close()
            if overwrite:
                part.replace(path)
            else:
                _put_where_nothing_is(part, path)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise


def _begun(folder: Path) -> tuple[int, Path]:
    """Return a new file beside the place, open and locked, with its name."""
    while True:
        part = folder / f".tankdash-{token_hex(8)}.part"
        handle = os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR | getattr(os, "O_BINARY", 0), 0o600)
        if fcntl is None:
            return handle, part
        with suppress(OSError):  # some network disks know no locks; then nothing is cleared there either
            fcntl.flock(handle, fcntl.LOCK_EX)
        # Somebody may have cleared it away between its making and its locking.
        if _is_still(handle, part):
            return handle, part
        os.close(handle)


def _is_still(handle: int, part: Path) -> bool:
    """Return whether the name still leads to the open file."""
    try:
        return os.path.samestat(os.fstat(handle), part.lstat())
    except FileNotFoundError:
        return False


def _put_where_nothing_is(part: Path, path: Path) -> None:
    """Give the part its name, unless that is taken."""
    taken = FileExistsError(errno.EEXIST, "something is there already", str(path))
    try:
        os.link(part, path)
    except FileExistsError:
        raise taken from None
    except OSError:  # a disk without second names: the look and the renaming are then two steps
        if os.path.lexists(path):
            raise taken from None
        part.replace(path)
    else:
        part.unlink()


def clear_away(folder: Path) -> int:
    """Remove the parts that killed programs of ours left in the folder; return how many."""
    if fcntl is None or not folder.is_dir():
        return 0
    cleared = 0
    with suppress(OSError):
        for part in [entry for entry in folder.iterdir() if _PART.fullmatch(entry.name)]:
            with suppress(OSError):
                cleared += _cleared(part)
    return cleared


def _cleared(part: Path) -> bool:
    """Remove one part if it is a plain file of this owner that nobody writes any more."""
    found = part.lstat()
    if not stat.S_ISREG(found.st_mode) or found.st_uid != os.geteuid():
        return False
    handle = os.open(part, os.O_RDONLY | _NOT_FOLLOWED)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if not _is_still(handle, part):
            return False
        part.unlink()
        return True
    finally:
        os.close(handle)
