"""Which class stands behind the name of a page or a form; each is imported when it is first asked for."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from textual.screen import Screen

if TYPE_CHECKING:
    from tankdash.tui.forms.base import Form

PAGES: dict[str, tuple[str, str]] = {
    "home": ("tankdash.tui.pages.home", "HomePage"),
    "help": ("tankdash.tui.pages.help", "HelpPage"),
    "cautions": ("tankdash.tui.pages.cautions", "CautionsPage"),
}
"""Page name to module and class."""

FORMS: dict[str, tuple[str, str]] = {}
"""Form name to module and class."""


def page_class(name: str) -> type[Screen[None]]:
    """Return the class of a page.

    Raises
    ------
    KeyError
        If there is no such page.
    """
    module, found = PAGES[name]
    page: type[Screen[None]] = getattr(import_module(module), found)
    return page


def form_class(name: str) -> type[Form]:
    """Return the class of a form.

    Raises
    ------
    KeyError
        If there is no such form.
    """
    module, found = FORMS[name]
    form: type[Form] = getattr(import_module(module), found)
    return form
