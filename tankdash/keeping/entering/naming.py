"""Finding what a typed name means, and the sentence with the nearest name when it means nothing."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from difflib import get_close_matches
from typing import TypeVar

from tankdash.keeping.state.words import in_words
from tankdash.site.model import Placed, Site
from tankdash.water.model import Outlet, Roof

T = TypeVar("T")


class EntryError(ValueError):
    """Words typed into a command or a form that cannot be entered; says which field and what to write instead."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field
        """The form's field or the command's argument it is about."""
        self.sentence = sentence
        """What is wrong and what to write instead."""


def find(field: str, noun: str, typed: str, choices: Mapping[str, str]) -> str:
    """Return the id that `typed` means: an id, or a label in any case.

    Parameters
    ----------
    field : str
        Named in the error.
    noun : str
        What is looked for, such as `tank`.
    typed : str
        The words.
    choices : mapping of str to str
        Labels by id.

    Raises
    ------
    EntryError
        If nothing, or more than one thing, is called so.
    """
    word = " ".join(typed.split())
    if not word:
        raise EntryError(field, f"Which {noun}? There is {in_words(list(choices)) or 'none'}.")
    if word in choices:
        return word
    lowered = word.casefold()
    fitting = [key for key, label in choices.items() if lowered in (key.casefold(), label.casefold())]
    if len(fitting) == 1:
        return fitting[0]
    if len(fitting) > 1:
        raise EntryError(field, f"'{word}' is the name of {in_words(fitting)}: write one of these.")
    raise EntryError(field, f"There is no {noun} '{word}'{nearest(word, choices)}")


def nearest(word: str, choices: Mapping[str, str]) -> str:
    """Return the end of a sentence that offers the closest name, or all of them."""
    names = {key.casefold(): key for key in choices} | {
        label.casefold(): key for key, label in choices.items() if label
    }
    close = get_close_matches(word.casefold(), names, n=1, cutoff=0.55)
    if close:
        return f"; did you mean {names[close[0]]}?"
    if not choices:
        return ": the site file names none."
    return f": there is {in_words(list(choices))}."


def labelled(group: Mapping[str, Placed[T]]) -> dict[str, str]:
    """Return labels by id."""
    return {key: placed.label for key, placed in group.items()}


def find_standing(
    field: str, noun: str, typed: str, group: Mapping[str, Placed[T]], site: Site, at: datetime
) -> str:
    """Return the id of a thing that stands in the garden at `at`.

    Raises
    ------
    EntryError
        If there is no such thing, or not on that day (F51).
    """
    key = find(field, noun, typed, labelled(group))
    placed = group[key]
    day = at.astimezone(site.zone).date()
    when = f"{day.day} {day:%b %Y}"
    if placed.stands_on(day):
        tank = _carried_by(placed.thing)
        if tank is not None and not site.tanks[tank].stands_on(day):
            raise EntryError(
                field,
                f"{placed.label or key} is not in the garden on {when}, as {site.tanks[tank].label or tank} is not.",
            )
        return key
    if placed.since is not None and day < placed.since:
        why = f"it joined on {placed.since.day} {placed.since:%b %Y}"
    else:
        assert placed.until is not None
        why = f"it left after {placed.until.day} {placed.until:%b %Y}"
    raise EntryError(field, f"{placed.label or key} is not in the garden on {when}: {why}.")


def _carried_by(thing: object) -> str | None:
    """Return the tank without which a thing is of no use."""
    if isinstance(thing, Outlet):
        return thing.tank
    return thing.fills if isinstance(thing, Roof) else None
