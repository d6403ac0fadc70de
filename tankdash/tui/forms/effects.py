"""What an entry that is still being typed would do: the state with it in, and the change in words."""

from __future__ import annotations

from dataclasses import replace

from tankdash.drawing.cells import printable
from tankdash.keeping.desk import Desk
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
    typed = understood.record, shown.now, understood.at
    levels, chores = desk.preview(*typed), tuple(desk.preview_chores(*typed))
    return replace(shown, levels=levels, layout=levels.standing.layout, chores=chores)


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
        if now.usable_high_l - now.usable_low_l >= 1.0:
            low, high = volume(now.usable_low_l, units), volume(now.usable_high_l, units)
            said.append(f"It may be anything between {low} and {high}.")
    elif after.levels.basis != "none":
        low, high = volume(now.usable_low_l, units), volume(now.usable_high_l, units)
        said.append(f"Between {low} and {high} usable.")
    spilled = after.levels.moved.spilled_l - before.levels.moved.spilled_l
    if spilled >= 0.5 and after.levels.standing.basis != "none":
        said.append(f"{volume(spilled, units)} spills over the lip.")
    known = {warning.text for warning in before.levels.warnings}
    said += [f"! {warning.text}" for warning in after.levels.warnings if warning.text not in known]
    return tuple(said)


def catch_sentences(before: Shown, after: Shown) -> tuple[str, ...]:
    """Return what a rain brings into the tanks beyond what the last dip has in it already.

    Parameters
    ----------
    before, after : Shown
        Without and with the reading.
    """
    units, then, now = after.site.units, before.levels.moved, after.levels.moved
    if not after.layout.roofs:
        return ()
    caught, low = now.caught_l - then.caught_l, now.caught_low_l - then.caught_low_l
    high = None if now.caught_high_l is None else now.caught_high_l - (then.caught_high_l or 0.0)
    if high is None:
        return (f"The roofs bring {volume(low, units)} or more.",)
    if high < 0.5:
        return ("Nothing comes into the tanks that the last dip has not in it already.",)
    said = f"The roofs bring {volume(caught, units)}"
    return (
        f"{said}."
        if high - low < 1.0
        else f"{said}, anything from {volume(low, units)} to {volume(high, units)}.",
    )


def chore_sentences(before: Shown, after: Shown) -> tuple[str, ...]:
    """Return which chores an entry brings on.

    Parameters
    ----------
    before, after : Shown
        Without and with the entry.
    """
    open_before = {chore.id for chore in before.chores if chore.is_open}
    brought_on = [
        printable(chore.label) for chore in after.chores if chore.is_open and chore.id not in open_before
    ]
    return (f"Then to be done: {'; '.join(brought_on)}.",) if brought_on else ()
