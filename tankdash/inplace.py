"""Files put in their place whole: written beside it, seen on disk, then given their name.

A program killed while it writes leaves its part behind; the next one that writes into the folder clears it away. A
part is held locked by whoever writes it, and a lock ends with its program, so only parts of the dead are cleared.
"""

from __future__ import annotations

import errno
import os
import re
import stat
from contextlib import suppress
from pathlib import Path
from secrets import token_hex

try:
    import fcntl
except ImportError:  # no such locks there: parts stay until their owner sees them
    fcntl = None  # type: ignore[assignment]

_PART = re.compile(r"\.tankdash-[0-9a-f]{16}\.part")
"""Names of files not yet in place."""
_NOT_FOLLOWED = getattr(os, "O_NOFOLLOW", 0)


def put_in_place(path: Path, content: str | bytes, *, overwrite: bool = True, rights: int = 0o600) -> None:
    """Write a file whole or not at all.

    Parameters
    ----------
    path : Path
        Where it is to stand; a link in the way is replaced, not followed.
    content : str or bytes
        All of it; text is written as UTF-8.
    overwrite : bool
        Whether it replaces what stands there.
    rights : int
        Who may read and write it; its owner alone if nothing is said.

    Raises
    ------
    OSError
        If the disk complains, or with `overwrite` false something stands there, also if it came only just now. It
        names the file as the owner did, not the part.
    """
    try:
        _written_and_placed(path, content, overwrite, rights)
    except OSError as problem:
        raise OSError(problem.errno, problem.strerror or str(problem), str(path)) from problem


def _written_and_placed(path: Path, content: str | bytes, overwrite: bool, rights: int) -> None:
    clear_away(path.parent)
    handle, part = _begun(path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode("utf-8") if isinstance(content, str) else content)
            file.flush()
            if rights != 0o600:
                part.chmod(rights)
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
