"""The site file: YAML read with its line numbers, checked all at once, turned into an SI description."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import date
from pathlib import Path

from tankdash.site.document import LARGEST_FILE
from tankdash.site.model import Site
from tankdash.site.problems import Problem, SiteError, SiteWarning

__all__ = ["Problem", "Site", "SiteError", "SiteWarning", "check", "load", "load_text"]


def load(path: str | Path, *, afresh: bool = False) -> Site:
    """Return the checked site in a file.

    A file that was found good before, byte by byte the same, is not parsed and checked again.

    Parameters
    ----------
    path : str or Path
        A YAML 1.2 file.
    afresh : bool, optional
        Whether to read and check the file whatever is known of it.

    Raises
    ------
    SiteError
        With every problem of the file, whatever its bytes are.
    """
    from tankdash import kept

    path = Path(path)
    found_before = kept.digest_of_file(path, LARGEST_FILE)
    name = f"site-{kept.digest_of(os.fsencode(path.absolute())).hex()[:32]}"
    if found_before is not None and not afresh:
        known = kept.take(name, found_before)
        if isinstance(known, Site):
            return replace(known, path=path, fingerprint=found_before)
    from tankdash.site.loading import load_site

    site = load_site(path)
    if found_before is None or kept.digest_of_file(path) != found_before:
        return site
    kept.keep(name, found_before, replace(site, path=None))
    return replace(site, fingerprint=found_before)


def load_text(text: str, name: str = "site.yaml") -> Site:
    """Return the checked site in `text`; `name` stands for the file in problems."""
    from tankdash.site.loading import load_text as load_words

    return load_words(text, name)


def check(site: Site, day: date | None = None) -> list[SiteWarning]:
    """Return what the owner of a usable site should know; `day` chooses the layout, the last one when left out."""
    from tankdash.site.cautions import check as look

    return look(site, day)
