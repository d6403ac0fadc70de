"""Typed words to records of things set: valves, plugs, vents, bases, lock-outs, the winter state."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from tankdash.journal.entries import Change
from tankdash.keeping.entering.naming import EntryError, find_standing, labelled, nearest
from tankdash.keeping.state.words import in_words
from tankdash.site.model import Placed, Site
from tankdash.units import QuantityError, parse_length

LINK_STATES = ("open", "closed", "primed", "unprimed", "stuck", "freed")
ROOF_STATES = ("plugged", "bypass", "open")
TANK_STATES = ("vented", "sealed", "drain-open", "drain-closed", "shape-void")
OUTLET_STATES = ("locked", "unlocked")
SITE_STATES = ("winter", "in-use")

SAME_STATE = {
    "shut": "closed",
    "close": "closed",
    "plug": "plugged",
    "bypassed": "bypass",
    "unplugged": "open",
    "drain open": "drain-open",
    "drain closed": "drain-closed",
    "vent open": "vented",
    "vent closed": "sealed",
    "in use": "in-use",
    "lock": "locked",
    "unlock": "unlocked",
    "shape void": "shape-void",
}
"""Other words people type, and the one the journal keeps."""


WHOLE_GARDEN = ("garden", "all", "everything", "winter", "spring", "summer")
"""Words somebody may write for the whole garden or what it is laid up for."""


def enter_set(site: Site, item: str, state: str, at: datetime) -> Change:
    """Return a state set from `at` on.

    Parameters
    ----------
    site : Site
        Knows what there is.
    item : str
        Id or label of a link, roof, tank or outlet, or `site`.
    state : str
        `open`, `closed`, `primed`, `unprimed`, `plugged`, `base 12 cm`, `winter` and so on.
    at : datetime
        From when on.
    """
    words = " ".join(state.split())
    plain = SAME_STATE.get(words.lower(), words.lower())
    if item.strip().casefold() == "site":
        return Change("site", _allowed("The site", plain, SITE_STATES))
    kinds: dict[str, tuple[Mapping[str, Placed[Any]], tuple[str, ...]]] = {
        "link": (site.links, LINK_STATES),
        "roof": (site.roofs, ROOF_STATES),
        "tank": (site.tanks, (*TANK_STATES, "base")),
        "outlet": (site.outlets, OUTLET_STATES),
    }
    is_base = plain.split(" ")[0] == "base"
    word = " ".join(item.split()).casefold()
    fitting = [
        noun
        for noun, (group, _) in kinds.items()
        if any(word in (key.casefold(), name.casefold()) for key, name in labelled(group).items())
    ]
    if not fitting:
        everything = {key: name for group, _ in kinds.values() for key, name in labelled(group).items()}
        everything["site"] = site.name
        if word in WHOLE_GARDEN:
            raise EntryError(
                "item", "Call the whole garden `site`: `set site winter`, and later `set site in-use`."
            )
        raise EntryError("item", f"There is nothing called '{item.strip()}'{nearest(item, everything)}")
    # A roof and a tank may share a name; the state says which is meant.
    noun = next((one for one in fitting if ("base" if is_base else plain) in kinds[one][1]), fitting[0])
    group, states = kinds[noun]
    key = find_standing("item", noun, item, group, site, at)
    if noun == "tank" and is_base:
        return Change(key, "base", _base(site, words[4:].strip()))
    if noun == "link" and plain in ("primed", "unprimed") and site.links[key].thing.crest is None:
        raise EntryError(
            "state",
            f"{key} has no crest in the site file, so there is nothing to prime; give it `crest:` first.",
        )
    return Change(key, _allowed(f"The {noun} {key}", plain, states))


def _allowed(whose: str, state: str, states: tuple[str, ...]) -> str:
    if state in states and state != "base":
        return state
    offered = [f"{one} HEIGHT" if one == "base" else one for one in states]
    what = f"cannot be '{state}'" if state else "needs a state"
    raise EntryError("state", f"{whose} {what}: write {in_words(offered[:-1])} or {offered[-1]}.")


def _base(site: Site, text: str) -> float:
    if not text:
        raise EntryError("state", "How high is the base above the datum? Write it as `base 12 cm`.")
    try:
        height = parse_length(text, site.units, negative=True)
    except QuantityError as refused:
        raise EntryError("state", str(refused)) from refused
    if abs(height) > 100.0:
        raise EntryError(
            "state", f"A base of {text} above the datum cannot be meant: write it as `base 12 cm`."
        )
    return height
