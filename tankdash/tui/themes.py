"""Colours by role: a dark and a light theme, and one of the terminal's own sixteen colours.

Water is blue and what needs a hand is orange, so the two differ for every kind of colour sight; each state also has a
word and a glyph, so nothing is told by colour alone.
"""

from __future__ import annotations

import os
from collections.abc import Mapping

from textual.theme import Theme

ROLE_COLOURS_DARK = {
    "role-text": "#dde5ea",
    "role-dim": "#8497a3",
    "role-title": "#ffffff",
    "role-panel": "#16222b",
    "role-rule": "#31424e",
    "role-water": "#1d68a8",
    "role-on-water": "#eef7ff",
    "role-below-outlet": "#234058",
    "role-on-below-outlet": "#86a9c6",
    "role-cut-off": "#4b3722",
    "role-on-cut-off": "#e9a45c",
    "role-surface": "#62b5f2",
    "role-band": "#3f7fae",
    "role-wall": "#a9b8c2",
    "role-base": "#6d6459",
    "role-lip": "#f2b56b",
    "role-link": "#c5d2da",
    "role-link-closed": "#ff9d42",
    "role-outlet": "#ffd39a",
    "role-rain": "#6fb7f0",
    "role-rain-band": "#3d6e94",
    "role-late": "#ff9d42",
    "role-done": "#7cc4ff",
    "role-missed": "#d0823c",
    "role-ghost": "#b9c8d2",
    "role-axis": "#5f7481",
    "role-warn": "#ffb057",
    "role-notice": "#21435c",
    "role-trouble": "#5a3413",
    "role-cursor": "#24394a",
    "role-key": "#ffc27a",
    "role-field": "#1f303c",
    "role-field-focus": "#27485f",
}

ROLE_COLOURS_LIGHT = {
    "role-text": "#22313b",
    "role-dim": "#5d6d78",
    "role-title": "#0b1a24",
    "role-panel": "#ece7dc",
    "role-rule": "#c9c2b4",
    "role-water": "#7db8e8",
    "role-on-water": "#08243c",
    "role-below-outlet": "#bccfdd",
    "role-on-below-outlet": "#4d6f8a",
    "role-cut-off": "#f1d5b2",
    "role-on-cut-off": "#7d3f00",
    "role-surface": "#2f7fc4",
    "role-band": "#9cc4e4",
    "role-wall": "#4a5a65",
    "role-base": "#a4998a",
    "role-lip": "#a65a00",
    "role-link": "#36454f",
    "role-link-closed": "#b34f00",
    "role-outlet": "#8a4a00",
    "role-rain": "#1f6fb5",
    "role-rain-band": "#8db9de",
    "role-late": "#b34f00",
    "role-done": "#0b5fa5",
    "role-missed": "#a8622a",
    "role-ghost": "#5b6f7d",
    "role-axis": "#8c98a0",
    "role-warn": "#a34a00",
    "role-notice": "#cfe3f3",
    "role-trouble": "#f6d9b8",
    "role-cursor": "#d9e4ec",
    "role-key": "#8f4500",
    "role-field": "#ffffff",
    "role-field-focus": "#dceaf5",
}

ROLE_COLOURS_SIXTEEN = {
    "role-text": "ansi_default",
    "role-dim": "ansi_default",
    "role-title": "ansi_default",
    "role-panel": "ansi_default",
    "role-rule": "ansi_default",
    "role-water": "ansi_blue",
    "role-on-water": "ansi_bright_white",
    "role-below-outlet": "ansi_default",
    "role-on-below-outlet": "ansi_bright_blue",
    "role-cut-off": "ansi_default",
    "role-on-cut-off": "ansi_yellow",
    "role-surface": "ansi_bright_blue",
    "role-band": "ansi_bright_blue",
    "role-wall": "ansi_default",
    "role-base": "ansi_default",
    "role-lip": "ansi_yellow",
    "role-link": "ansi_default",
    "role-link-closed": "ansi_yellow",
    "role-outlet": "ansi_yellow",
    "role-rain": "ansi_bright_blue",
    "role-rain-band": "ansi_bright_blue",
    "role-late": "ansi_yellow",
    "role-done": "ansi_bright_blue",
    "role-missed": "ansi_yellow",
    "role-ghost": "ansi_default",
    "role-axis": "ansi_default",
    "role-warn": "ansi_yellow",
    "role-notice": "ansi_default",
    "role-trouble": "ansi_default",
    "role-cursor": "ansi_default",
    "role-key": "ansi_yellow",
    "role-field": "ansi_default",
    "role-field-focus": "ansi_default",
}

DARK = Theme(
    name="dusk",
    primary="#1d68a8",
    secondary="#6fb7f0",
    accent="#ff9d42",
    warning="#ffb057",
    error="#ff9d42",
    success="#7cc4ff",
    foreground="#dde5ea",
    background="#0f1920",
    surface="#16222b",
    panel="#1b2a35",
    dark=True,
    variables={
        **ROLE_COLOURS_DARK,
        "input-cursor-background": "#dde5ea",
        "input-cursor-foreground": "#0f1920",
    },
)
LIGHT = Theme(
    name="daylight",
    primary="#1f6fb5",
    secondary="#0b5394",
    accent="#b34f00",
    warning="#a34a00",
    error="#b34f00",
    success="#0b5fa5",
    foreground="#22313b",
    background="#f7f4ed",
    surface="#ece7dc",
    panel="#e3ddd0",
    dark=False,
    variables={
        **ROLE_COLOURS_LIGHT,
        "input-cursor-background": "#22313b",
        "input-cursor-foreground": "#ffffff",
    },
)
SIXTEEN = Theme(
    name="sixteen",
    primary="ansi_blue",
    secondary="ansi_bright_blue",
    accent="ansi_yellow",
    warning="ansi_yellow",
    error="ansi_yellow",
    success="ansi_bright_blue",
    dark=True,
    ansi=True,
    foreground="ansi_default",
    background="ansi_default",
    surface="ansi_default",
    panel="ansi_default",
    boost="ansi_default",
    variables={
        **ROLE_COLOURS_SIXTEEN,
        "ansi-background": "ansi_default",
        "ansi-foreground": "ansi_default",
        "input-cursor-background": "ansi_default",
        "input-cursor-foreground": "ansi_default",
        "input-cursor-text-style": "reverse",
    },
)
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

    Parameters
    ----------
    environ : mapping, optional
        The environment; the process's own when left out.

    Examples
    --------
    >>> draws_ascii({"LANG": "C"}), draws_ascii({"LANG": "pt_PT.UTF-8"}), draws_ascii({"TANKDASH_ASCII": "1"})
    (True, False, True)
    """
    found = os.environ if environ is None else environ
    if found.get("TANKDASH_ASCII"):
        return True
    locale = found.get("LC_ALL") or found.get("LC_CTYPE") or found.get("LANG") or ""
    return locale.split(".")[0] in {"C", "POSIX"} and "utf" not in locale.lower()
