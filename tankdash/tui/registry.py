"""Which class stands behind the name of a page or a form; each is imported when it is first asked for."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from textual.screen import Screen

if TYPE_CHECKING:
    from tankdash.tui.forms.base import Form

PAGES: dict[str, tuple[str, str]] = {
    "home": ("tankdash.tui.pages.home", "HomePage"),
    "tanks": ("tankdash.tui.pages.tanks", "TanksPage"),
    "rain": ("tankdash.tui.pages.rain", "RainPage"),
    "chores": ("tankdash.tui.pages.chores", "ChoresPage"),
    "supply": ("tankdash.tui.pages.supply", "SupplyPage"),
    "survey": ("tankdash.tui.pages.survey", "SurveyPage"),
    "log": ("tankdash.tui.pages.log", "LogPage"),
    "design": ("tankdash.tui.pages.design", "DesignPage"),
    "help": ("tankdash.tui.pages.help", "HelpPage"),
    "welcome": ("tankdash.tui.pages.welcome", "WelcomePage"),
    "cautions": ("tankdash.tui.pages.cautions", "CautionsPage"),
}
"""Page name to module and class."""

FORMS: dict[str, tuple[str, str]] = {
    "dip": ("tankdash.tui.forms.dip", "DipForm"),
    "rain": ("tankdash.tui.forms.weather", "RainForm"),
    "frost": ("tankdash.tui.forms.weather", "FrostForm"),
    "use": ("tankdash.tui.forms.water", "UseForm"),
    "tap": ("tankdash.tui.forms.water", "TapForm"),
    "move": ("tankdash.tui.forms.water", "MoveForm"),
    "pump": ("tankdash.tui.forms.pump", "PumpForm"),
    "pour": ("tankdash.tui.forms.water", "PourForm"),
    "set": ("tankdash.tui.forms.garden", "SetForm"),
    "note": ("tankdash.tui.forms.garden", "NoteForm"),
}
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


def page_name(screen: Screen[object]) -> str:
    """Return the name of a page that is shown; nothing for a form."""
    shown = type(screen)
    return next((name for name, place in PAGES.items() if place == (shown.__module__, shown.__name__)), "")


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
