"""Forms for the garden itself: a valve, plug, siphon, base or season that was changed, and notes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from textual import on

from tankdash.drawing.cells import printable
from tankdash.journal.entries import Record
from tankdash.keeping.desk import Desk
from tankdash.keeping.entering.records import EntryError, enter_note
from tankdash.keeping.entering.setting import (
    LINK_STATES,
    OUTLET_STATES,
    ROOF_STATES,
    SITE_STATES,
    TANK_STATES,
    enter_set,
)
from tankdash.tui.cautionwords import SHORT
from tankdash.tui.forms.answers import length_unit
from tankdash.tui.forms.base import Form, Values
from tankdash.tui.forms.effects import change_sentences
from tankdash.tui.state import Shown
from tankdash.tui.wants import TITLES
from tankdash.tui.widgets.field import Choice, ChoiceField, Field, FieldChanged

STATE_MEANINGS: dict[str, str] = {
    "open": "a valve lets water through; a roof delivers again",
    "closed": "a valve shut: its tanks part company",
    "primed": "the crest is full of water, the siphon works",
    "unprimed": "air stands in the crest, it passes nothing",
    "stuck": "the valve cannot be turned, whatever it is",
    "freed": "the valve turns again",
    "plugged": "a bung is in: the roof brings nothing",
    "bypass": "the roof's water is led past the tanks",
    "base": "the tank's floor stands at another height, given below",
    "vented": "air can come in and out",
    "sealed": "no air: the tank shares no level and is left out of the total",
    "drain-open": "the tank runs empty by its drain, and rain with it",
    "drain-closed": "it holds water again",
    "shape-void": "bulged or dented: its stick tells no litres any more",
    "locked": "the outlet must stay off",
    "unlocked": "it may run again",
    "winter": "laid up: rain is not credited, chores sleep",
    "in-use": "in use again",
}
"""What follows from each state that can be set."""


def settable(shown: Shown) -> dict[str, tuple[str, tuple[str, ...]]]:
    """Return what can be set: label and states by id; the whole site last."""
    site, layout = shown.site, shown.layout
    groups = (
        (site.links, layout.links, LINK_STATES),
        (site.roofs, site.roofs, ROOF_STATES),
        (site.tanks, shown.layout.tanks, ("base", *TANK_STATES)),
        (site.outlets, shown.layout.outlets, OUTLET_STATES),
    )
    found: dict[str, tuple[str, tuple[str, ...]]] = {
        key: (placed.label or key, states)
        for group, standing, states in groups
        for key, placed in group.items()
        if key in standing
    }
    for key, link in layout.links.items():
        if link.crest is None:  # nothing to prime
            label, states = found[key]
            found[key] = (label, tuple(state for state in states if state not in ("primed", "unprimed")))
    return {**found, "site": ("the whole garden", SITE_STATES)}


class SetForm(Form):
    """Something that was changed."""

    NAME: ClassVar[str] = "set"
    TITLE_WORDS: ClassVar[str] = TITLES["set"]
    HELP_WORDS: ClassVar[str] = (
        "Choose what was changed and how it is from that time on: a valve closed, a roof's plug in, a "
        "tank's base measured anew, the garden put to winter."
    )

    def caution_words(self) -> str:
        """Return the caution that goes with it."""
        said = {
            "base": "weight",
            "sealed": "lid",
            "drain-open": "frost",
            "winter": "frost",
            "unlocked": "pump",
        }
        return SHORT.get(said.get(self.values.get("state", ""), ""), "")

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return item, state, height, time and note."""
        self._settable = settable(shown)
        items = tuple(Choice(key, printable(label)) for key, (label, _) in self._settable.items())
        drafted = self.draft.get("item", "")
        item = drafted if drafted in self._settable else items[0].value
        return (
            self.ask("item", choices=items),
            self.ask("state", value=self._likely(item), choices=self._states(item)),
            self.ask("base", unit=length_unit(shown)),
            *self.when_and_note(),
        )

    def _states(self, item: str) -> tuple[Choice, ...]:
        return tuple(Choice(state, state, STATE_MEANINGS[state]) for state in self._settable[item][1])

    def _likely(self, item: str) -> str:
        """Return the state that would be a change, to begin with."""
        states, layout = self._settable[item][1], self.shown.layout
        arrangement = self.shown.levels.standing.arrangement
        if item in layout.links:
            return "closed" if layout.links[item].is_open else "open"
        if item in self.shown.site.roofs:
            return "plugged" if item in layout.roofs else "open"
        if item in arrangement.locked:
            return "unlocked"
        return "in-use" if item == "site" and arrangement.is_winter else states[0]

    @on(FieldChanged)
    def _other_item(self, event: FieldChanged) -> None:
        """Offer the states of the item chosen."""
        state = self.field_named("state")
        if event.name == "item" and isinstance(state, ChoiceField):
            state.offer(self._states(event.value))
            state.take(self._likely(event.value), quietly=True)

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the change."""
        item, state = values["item"], values["state"]
        if state == "base":
            height = values["base"].strip()
            if not height:
                raise EntryError("base", "How high is the base above the datum? Write it as 12 or 12 cm.")
            state = f"base {height}"
        elif values["base"].strip():
            raise EntryError("base", "A height goes with a tank's base only: choose base, or clear this.")
        try:
            return enter_set(desk.site, item, state, at), f"set {item} {state}"
        except EntryError as error:
            is_height = error.field == "state" and state.startswith("base ")
            raise EntryError("base" if is_height else error.field, error.sentence) from error


class NoteForm(Form):
    """Words worth keeping."""

    NAME: ClassVar[str] = "note"
    TITLE_WORDS: ClassVar[str] = TITLES["note"]
    HELP_WORDS: ClassVar[str] = (
        "Write what you saw. Whether water ran from the overflow in a heavy rain is worth a note: it is "
        "the only sign that full tanks were reached at all."
    )

    def fields(self, shown: Shown) -> Sequence[Field]:
        """Return words, what was seen, and time."""
        return (self.ask("note"), self.ask("about"), self.ask("at", value="now"))

    def effect_words(self, before: Shown, after: Shown) -> tuple[str, ...]:
        """Return what follows from it: a note moves no water."""
        _, *more = change_sentences(before, after) or ("",)
        return ("It is kept in the log; nothing changes in the tanks.", *more)

    def understand(self, values: Values, at: datetime, desk: Desk) -> tuple[Record, str]:
        """Return the note."""
        text, about = values["note"].strip(), values["about"]
        return enter_note(text, about or None), f"note {text}" if text else f"note overflow {about}"
