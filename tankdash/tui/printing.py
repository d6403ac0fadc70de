"""Pages to print, written by a key beside the site file; over an earlier one only when the key is pressed again."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tankdash.journal.placing import begins_with, put_in_place
from tankdash.tui.pages.page import PrintedPage
from tankdash.tui.state import Shown


@dataclass(frozen=True)
class Told:
    """What came of it."""

    words: str
    is_trouble: bool = False
    is_there_already: bool = False
    """Whether an earlier page stands there, which the next press may replace."""


def chore_sheet(shown: Shown) -> PrintedPage:
    """Return the chore sheet of the garden."""
    from tankdash.planning.paper import chore_page

    return PrintedPage("chores.html", chore_page(shown.site, shown.chores, shown.now))


def place(path: Path, html: str, *, replaces: bool) -> Told:
    """Write the page and return what to tell.

    Parameters
    ----------
    path : Path
        Where it is to stand.
    html : str
        The page.
    replaces : bool
        Whether an earlier page may go.
    """
    from tankdash.planning.paper import PAGE_START, written_words

    try:
        if path.exists() and not begins_with(path, PAGE_START):
            return Told(f"{path} is there already and is no page of ours: move it away first.", True)
        if path.exists() and not replaces:
            return Told(f"{path} is there already: w once more replaces it.", False, True)
        put_in_place(path, html, overwrite=replaces)
    except OSError as refused:
        return Told(f"{path} cannot be written: {refused.strerror or refused}.", True)
    return Told(written_words(path))
