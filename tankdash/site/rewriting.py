"""The site file replaced by a changed one: only if it is still what was read, whole or not at all, the old one kept."""

from __future__ import annotations

import stat
from dataclasses import dataclass
from pathlib import Path

from tankdash.inplace import put_in_place

BEFORE = ".before"
"""Ends the name under which the file is kept as it was before the last change."""
_MARK = "\ufeff".encode()
"""Some editors begin a file with it."""


class RewriteError(OSError):
    """The file cannot be replaced; says why and what to do."""


@dataclass(frozen=True)
class Original:
    """A site file as it was read."""

    path: Path
    """Where it is, links followed."""
    raw: bytes
    """All of it."""

    @property
    def text(self) -> str:
        """Return what it says, line ends as they are."""
        return self.raw.decode("utf-8-sig")


def read_original(path: Path) -> Original:
    """Return a site file as it stands, to be changed.

    Raises
    ------
    RewriteError
        If it cannot be read.
    """
    try:
        real = path.resolve(strict=True)
        found = Original(real, real.read_bytes())
        found.text  # noqa: B018
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise RewriteError(f"{path} cannot be read ({reason}): edit it by hand.") from error
    return found


def rewrite(original: Original, text: str) -> Path | None:
    """Put a changed text in the place of the file and return where the old one is kept; None if nothing changed.

    Raises
    ------
    RewriteError
        If the file was changed meanwhile or cannot be replaced; it is then as it was.
    SiteError
        With the problems the changed file would have; it is then as it was.
    """
    from tankdash.site import load_text

    raw = (_MARK if original.raw.startswith(_MARK) else b"") + text.encode()
    if raw == original.raw:
        return None
    load_text(text)
    path = original.path
    try:
        if path.read_bytes() != original.raw:
            raise RewriteError(
                f"{path.name} was changed by somebody else meanwhile and is left as it is: leave this, look at "
                "the file, and begin again."
            )
        kept = path.with_name(path.name + BEFORE)
        rights = stat.S_IMODE(path.stat().st_mode)
        put_in_place(kept, original.raw, rights=rights)
        put_in_place(path, raw, rights=rights)
    except RewriteError:
        raise
    except OSError as error:
        raise RewriteError(
            f"{path} cannot be replaced ({error.strerror or error}): it is as it was. Mend that, or edit it by hand."
        ) from error
    return kept
