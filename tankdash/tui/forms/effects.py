"""What an entry that is still being typed would do: the state with it in, and the change in words."""

from __future__ import annotations

from dataclasses import replace

from tankdash.journal.entries import Change, Dips, Entry, Move, Pour, Use
from tankdash.keeping.desk import Desk
from tankdash.keeping.state.levels import levels_of
from tankdash.keeping.state.replay import replay
from tankdash.keeping.state.what_if import BEYOND
from tankdash.tui.state import Shown
from tankdash.tui.understood import Understood
from tankdash.tui.words import change_words, volume


def imagined(desk: Desk, shown: Shown, understood: Understood) -> Shown:
    """Return the state as if the entry were in the journal; nothing is written.

    Parameters
    ----------
    desk : Desk
        The garden.
    shown : Shown
        The state without it.
    understood : Understood
        What is typed.
    """
    record = understood.record
    if understood.at == shown.now and isinstance(record, Dips | Change | Move | Pour | Use):
        levels = desk.preview(record, shown.now)
    else:
        entry = Entry(BEYOND, "typed", "typed", understood.at, shown.now, record, understood.words)
        levels = levels_of(desk.site, replay(desk.site, [*desk.entries(), entry], shown.now), is_what_if=True)
    return replace(shown, levels=levels, layout=levels.standing.layout)


def change_sentences(before: Shown, after: Shown) -> tuple[str, ...]:
    """Return what changes between two states: usable water, what spills, and new warnings.

    Parameters
    ----------
    before, after : Shown
        Without and with the entry.
    """
    units = after.site.units
    then, now = before.levels.totals, after.levels.totals
    said: list[str] = []
    if now.usable_l is not None:
        change = change_words(then.usable_l, now.usable_l, units)
        said.append(f"{volume(now.usable_l, units)} usable" + (f": {change}." if change else "."))
    elif after.levels.basis != "none":
        low, high = volume(now.usable_low_l, units), volume(now.usable_high_l, units)
        said.append(f"Between {low} and {high} usable.")
    spilled = after.levels.moved.spilled_l - before.levels.moved.spilled_l
    if spilled >= 0.5 and after.levels.standing.basis != "none":
        said.append(f"{volume(spilled, units)} spills over the lip.")
    known = {warning.text for warning in before.levels.warnings}
    said += [f"! {warning.text}" for warning in after.levels.warnings if warning.text not in known]
    return tuple(said)
