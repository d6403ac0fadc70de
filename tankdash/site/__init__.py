"""The site file: YAML read with its line numbers, checked all at once, turned into an SI description."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from tankdash.site.model import Site
from tankdash.site.problems import Problem, SiteError, SiteWarning

__all__ = ["Problem", "Site", "SiteError", "SiteWarning", "check", "load", "load_text"]


def load(path: str | Path) -> Site:
    """Return the checked site in a file.

    Parameters
    ----------
    path : str or Path
        A YAML 1.2 file.

    Raises
    ------
    SiteError
        With every problem of the file, whatever its bytes are.
    """
    from tankdash.site.loading import load_site

    return load_site(Path(path))


def load_text(text: str, name: str = "site.yaml") -> Site:
    """Return the checked site in `text`; `name` stands for the file in problems."""
    from tankdash.site.loading import load_text as load_words

    return load_words(text, name)


def check(site: Site, day: date | None = None) -> list[SiteWarning]:
    """Return what the owner of a usable site should know; `day` chooses the layout, the last one when left out."""
    from tankdash.site.cautions import check as look

    return look(site, day)
