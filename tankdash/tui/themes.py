"""Colours by role: a dark and a light theme, and one of the terminal's own sixteen colours.

Water is blue and what needs a hand is orange, so the two differ for every kind of colour sight; each state also has a
word and a glyph, so nothing is told by colour alone.
"""

from __future__ import annotations

import os
from collections.abc import Mapping

from textual.theme import Theme

COLOURS: Mapping[str, tuple[str, str, str]] = {
    "text": ("#dde5ea", "#22313b", "default"),
    "dim": ("#8497a3", "#5d6d78", "default"),
    "title": ("#ffffff", "#0b1a24", "default"),
    "panel": ("#16222b", "#ece7dc", "default"),
    "rule": ("#31424e", "#c9c2b4", "default"),
    "water": ("#1d68a8", "#7db8e8", "blue"),
    "on-water": ("#eef7ff", "#08243c", "bright_white"),
    "below-outlet": ("#234058", "#bccfdd", "default"),
    "on-below-outlet": ("#9dbdd8", "#35556e", "bright_blue"),
    "cut-off": ("#4b3722", "#f1d5b2", "default"),
    "on-cut-off": ("#e9a45c", "#7d3f00", "yellow"),
    "surface": ("#62b5f2", "#2f7fc4", "bright_blue"),
    "band": ("#4a8fc2", "#6ea6d3", "bright_blue"),
    "wall": ("#a9b8c2", "#4a5a65", "default"),
    "base": ("#6d6459", "#a4998a", "default"),
    "lip": ("#f2b56b", "#a65a00", "yellow"),
    "link": ("#c5d2da", "#36454f", "default"),
    "link-closed": ("#ff9d42", "#b34f00", "yellow"),
    "outlet": ("#ffd39a", "#8a4a00", "yellow"),
    "rain": ("#6fb7f0", "#1f6fb5", "bright_blue"),
    "rain-band": ("#4a8fc2", "#6ea6d3", "bright_blue"),
    "late": ("#ff9d42", "#b34f00", "yellow"),
    "done": ("#7cc4ff", "#0b5fa5", "bright_blue"),
    "missed": ("#d0823c", "#a8622a", "yellow"),
    "ghost": ("#b9c8d2", "#5b6f7d", "default"),
    "axis": ("#8294a0", "#626f78", "default"),
    "warn": ("#ffb057", "#a34a00", "yellow"),
    "notice": ("#21435c", "#cfe3f3", "default"),
    "trouble": ("#5a3413", "#f6d9b8", "default"),
    "cursor": ("#24394a", "#d9e4ec", "default"),
    "key": ("#ffc27a", "#8f4500", "yellow"),
    "field": ("#1f303c", "#ffffff", "default"),
    "field-focus": ("#27485f", "#dceaf5", "default"),
}
"""Each role's colour in the dark, in daylight, and out of the terminal's own sixteen."""


def _theme(name: str, column: int, ground: str, raised: str, on_cursor: str, *, dark: bool = True) -> Theme:
    """Return the theme of one column of `COLOURS`.

    Parameters
    ----------
    name : str
        What it is called.
    column : int
        Of the table.
    ground, raised : str
        Background of the screen, and of what stands a little above it.
    on_cursor : str
        The letter under the cursor of a field.
    dark : bool, optional
        Whether light letters stand on a dark ground.
    """
    is_own = column == 2
    roles = {role: f"ansi_{named[2]}" if is_own else named[column] for role, named in COLOURS.items()}
    panel = ground if is_own else roles["panel"]
    own = {"ansi-background": ground, "ansi-foreground": ground, "input-cursor-text-style": "reverse"}
    return Theme(
        name=name,
        primary=roles["rain"],
        secondary=roles["done"],
        accent=roles["late"],
        warning=roles["warn"],
        error=roles["late"],
        success=roles["done"],
        foreground=roles["text"],
        background=ground,
        surface=panel,
        panel=raised,
        boost=ground if is_own else None,
        dark=dark,
        ansi=is_own,
        variables={
            **{f"role-{role}": colour for role, colour in roles.items()},
            "input-cursor-background": roles["text"],
            "input-cursor-foreground": on_cursor,
            **(own if is_own else {}),
        },
    )


DARK = _theme("dusk", 0, ground="#0f1920", raised="#1b2a35", on_cursor="#0f1920")
LIGHT = _theme("daylight", 1, ground="#f7f4ed", raised="#e3ddd0", on_cursor="#ffffff", dark=False)
SIXTEEN = _theme("sixteen", 2, ground="ansi_default", raised="ansi_default", on_cursor="ansi_default")
THEMES = (DARK, LIGHT, SIXTEEN)


def usual_theme(environ: Mapping[str, str] | None = None) -> str:
    """Return the name of the theme to begin with.

    Terminals that promise no more than sixteen colours, and people who set NO_COLOR, get the terminal's own colours.

    Parameters
    ----------
    environ : mapping, optional
        The environment; the process's own when left out.

    Returns
    -------
    str
        `dusk` or `sixteen`.

    Examples
    --------
    >>> usual_theme({"TERM": "xterm-256color"}), usual_theme({"TERM": "linux"}), usual_theme({"NO_COLOR": "1"})
    ('dusk', 'sixteen', 'sixteen')
    """
    found = os.environ if environ is None else environ
    if "NO_COLOR" in found:
        return SIXTEEN.name
    if found.get("COLORTERM", "").lower() in {"truecolor", "24bit"}:
        return DARK.name
    term = found.get("TERM", "")
    plenty = ("256color", "direct", "kitty", "alacritty", "ghostty", "foot", "wezterm")
    return DARK.name if not term or any(word in term for word in plenty) else SIXTEEN.name


def draws_ascii(environ: Mapping[str, str] | None = None) -> bool:
    """Return whether the terminal is known not to show more than ASCII.

    `TANKDASH_ASCII=1` says so, `TANKDASH_ASCII=0` says the contrary. Left unsaid, it is so in the C locale, and on the
    console of Linux, whose letters have no eighths of a block, ticks and circles.

    Parameters
    ----------
    environ : mapping, optional
        The environment; the process's own when left out.

    Examples
    --------
    >>> draws_ascii({"LANG": "C"}), draws_ascii({"LANG": "pt_PT.UTF-8"}), draws_ascii({"TANKDASH_ASCII": "1"})
    (True, False, True)
    >>> draws_ascii({"TERM": "linux"}), draws_ascii({"TERM": "linux", "TANKDASH_ASCII": "0"})
    (True, False)
    """
    found = os.environ if environ is None else environ
    said = found.get("TANKDASH_ASCII", "")
    if said:
        return said.lower() not in {"0", "no", "off"}
    if found.get("TERM") == "linux":
        return True
    locale = found.get("LC_ALL") or found.get("LC_CTYPE") or found.get("LANG") or ""
    return locale.split(".")[0] in {"C", "POSIX"} and "utf" not in locale.lower()
