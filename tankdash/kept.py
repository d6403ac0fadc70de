"""What is kept from one start to the next, so that it need not be worked out twice: never the truth, only a copy.

An answer is taken up only by the very program that kept it and only for the very bytes it was worked out from.
Anything odd about a kept file, or about the folder it lies in, is the same as no file: then the files are read.
"""

from __future__ import annotations

import os
import pickle
import re
import stat
import sys
from contextlib import suppress
from dataclasses import fields, is_dataclass
from functools import lru_cache
from hashlib import blake2b
from io import BytesIO
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from tankdash import __version__

MOST_FILES = 32
"""Kept in the folder; the oldest go first. A garden has two."""
LARGEST = 4 * 1024 * 1024
"""Of one kept file, [bytes]; what a garden of forty tanks needs is a hundredth of it."""

_MARK = b"tankdash kept 1\n"
_DIGEST = 32
_MODULES = {"datetime": frozenset({"date", "datetime", "time", "timedelta", "timezone"})}
"""Classes from outside the program that a kept answer may hold."""
_ENDING = ".kept"
_OURS = re.compile(r"[a-z]+-[0-9a-f]{32}(\.kept|[a-z0-9_]{8}\.new)")
"""Names of kept files, and of those not yet in place."""
_TO_READ = (
    os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
)
"""A pipe in the way is not waited for, a link not followed."""


def folder() -> Path | None:
    """Return the folder of kept answers: `TANKDASH_CACHE`, else the user's cache folder; None to keep nothing."""
    named = os.environ.get("TANKDASH_CACHE")
    if named is not None:
        return Path(named) if named else None
    from platformdirs import user_cache_path

    return user_cache_path("tankdash", appauthor=False)


def digest_of(*parts: bytes) -> bytes:
    """Return what stands for these bytes, each with its length, so that none can lend to its neighbour."""
    summed = blake2b(digest_size=_DIGEST)
    for part in parts:
        summed.update(len(part).to_bytes(8, "big"))
        summed.update(part)
    return summed.digest()


def digest_of_file(path: Path, most: int | None = None) -> bytes | None:
    """Return what stands for the bytes of a file; None if it is no plain file, cannot be read, or holds too many."""
    summed = blake2b(digest_size=_DIGEST)
    try:
        if not path.is_file() or (most is not None and path.stat().st_size > most):
            return None
        with path.open("rb") as file:
            while piece := file.read(1 << 20):
                summed.update(piece)
    except (OSError, ValueError):
        return None
    return summed.digest()


def digest_of_content(content: bytes) -> bytes:
    """Return what `digest_of_file` gives for a file that holds these bytes."""
    return blake2b(content, digest_size=_DIGEST).digest()


def take(name: str, key: bytes) -> Any:
    """Return what was kept under `name` if it was kept for `key`, else None.

    Parameters
    ----------
    name : str
        What it is and for which garden; fit for a file's name.
    key : bytes
        Stands for everything the answer was worked out from.
    """
    place = folder()
    if place is None:
        return None
    head = _MARK + digest_of(_program(), key)
    try:
        with os.fdopen(os.open(place / (name + _ENDING), _TO_READ), "rb") as file:
            status = os.fstat(file.fileno())
            if not (stat.S_ISREG(status.st_mode) and _is_own(status) and _is_own(place.stat())):
                return None
            raw = file.read(LARGEST + 1)
        sum_, body = raw[len(head) : len(head) + _DIGEST], raw[len(head) + _DIGEST :]
        if not raw.startswith(head) or len(raw) > LARGEST or digest_of(body) != sum_:
            return None
        return _Reader(BytesIO(body)).load()
    except Exception:
        # Whatever a damaged or forged file trips over: the files themselves are still there to be read.
        return None


def keep(name: str, key: bytes, value: Any) -> None:
    """Keep `value` under `name` for `key`; where that cannot be done, nothing is kept."""
    import tempfile

    place = folder()
    if place is None:
        return
    body = BytesIO()
    try:
        _Writer(body, protocol=5).dump(value)
        whole = _MARK + digest_of(_program(), key) + digest_of(body.getvalue()) + body.getvalue()
        if len(whole) > LARGEST:
            return
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not _is_own(place.stat()):
            return
        handle, written = tempfile.mkstemp(dir=place, prefix=name, suffix=".new")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(whole)
            Path(written).replace(place / (name + _ENDING))
        except BaseException:
            with suppress(OSError):
                Path(written).unlink()
            raise
        _thin_out(place)
    except (OSError, pickle.PicklingError, TypeError, AttributeError):
        return


def _thin_out(place: Path) -> None:
    """Leave the newest files, and none that was never finished."""
    found = sorted(
        (entry for entry in os.scandir(place) if _OURS.fullmatch(entry.name)),
        key=lambda entry: entry.stat(follow_symlinks=False).st_mtime_ns,
    )
    for entry in found[:-MOST_FILES]:
        with suppress(OSError):
            Path(entry.path).unlink()


def _is_own(status: os.stat_result) -> bool:
    """Return whether nobody else could have written there."""
    if not hasattr(os, "geteuid"):
        return True
    return status.st_uid == os.geteuid() and not status.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


@lru_cache(maxsize=1)
def _program() -> bytes:
    """Return what stands for this program: its version, that of Python, and each of its files as it is on disk."""
    said = [f"{__version__} {sys.version}"]
    said.extend(sorted(_files(str(Path(__file__).parent))))
    return "\n".join(said).encode("utf-8", "surrogateescape")


def _files(place: str) -> list[str]:
    found = []
    with suppress(OSError), os.scandir(place) as entries:
        for entry in entries:
            if entry.name.endswith(".py"):
                status = entry.stat()
                found.append(f"{entry.path} {status.st_mtime_ns} {status.st_size}")
            elif entry.name != "__pycache__" and entry.is_dir():
                found += _files(entry.path)
    return found


class _Writer(pickle.Pickler):
    """Writes our own dataclasses by their fields, without what they worked out for themselves meanwhile."""

    def reducer_override(self, value: Any) -> Any:
        if is_dataclass(value) and not isinstance(value, type):
            state = {item.name: getattr(value, item.name) for item in fields(value)}
            return _new, (type(value),), state
        return NotImplemented

    def persistent_id(self, value: Any) -> Any:
        return ("zone", value.key) if isinstance(value, ZoneInfo) else None


class _Reader(pickle.Unpickler):
    """Reads nothing but our own records, days and times: a file can name no function and no other class."""

    def find_class(self, module: str, name: str) -> Any:
        if name in _MODULES.get(module, ()):
            return super().find_class(module, name)
        if module.startswith("tankdash."):
            found = super().find_class(module, name)
            if isinstance(found, type) and (is_dataclass(found) or issubclass(found, tuple)):
                return found
        raise pickle.UnpicklingError(f"{module}.{name} is not kept")

    def persistent_load(self, told: Any) -> Any:
        kind, key = told
        if kind != "zone":
            raise pickle.UnpicklingError("only a time zone is named so")
        return ZoneInfo(key)


def _new(kind: Any) -> Any:
    return kind.__new__(kind)


_new.__name__ = _new.__qualname__ = "__newobj__"
