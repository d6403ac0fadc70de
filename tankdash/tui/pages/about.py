"""What each page tells and what can be done on it: help begins with the page it was asked on."""

from __future__ import annotations

from dataclasses import dataclass

from tankdash.tui.actions import Action, action_named


@dataclass(frozen=True)
class About:
    """One page, for who asks."""

    says: tuple[str, ...]
    """What is on it, a sentence or two for each part."""
    does: tuple[str, ...] = ()
    """Ids of the actions that mean something of their own there."""

    @property
    def actions(self) -> list[Action]:
        """Return those actions."""
        return [action_named(name) for name in self.does]


ABOUT: dict[str, About] = {
    "home": About(
        (
            "The picture: all tanks on one height scale, their bases as blocks, the water as it stands. Water"
            " drawn in another pattern than the rest cannot reach an outlet; the word under each tank says "
            "how its level is known.",
            "What is due: chores with the reason that brought them on. The mark is moved with the arrows, and"
            " a chore done is ticked.",
            "The timeline: rain hangs from the top, the water stands below, chores done and missed under it. "
            "Point at a day to read its figures.",
        ),
        ("dip", "rain", "tick", "undo", "chores-focus", "day-before", "earlier", "more-days", "tanks-after"),
    ),
    "tanks": About(
        (
            "Every tank with what it holds, what of that can reach an outlet, and its heights. Base and lip "
            "are above the datum, the depth above the tank's own floor.",
            "A tank whose water is cut off is named below with the link that cuts it off.",
        ),
        ("dip", "set", "mark-down", "tanks-after", "tanks-before"),
    ),
    "rain": About(
        (
            "Rain by month, with how many of its days were read: a month with gaps is not drier for them. "
            "Below it each rain by itself; a range is a reading that was one.",
        ),
        ("rain", "day-before", "earlier", "more-days"),
    ),
    "chores": About(
        (
            "Every chore, what is due first, each with the reason: the rain, the date or the frost that "
            "brought it on. Late ones say since when; sleeping ones say when they wake.",
        ),
        ("tick", "frost", "mark-down", "print"),
    ),
    "supply": About(
        (
            "How many days the usable water lasts the beds, without any more rain, and each outlet and bed alone.",
            "Then whether it lasts while you are away, and with the rain of past years imported in how many "
            "of them it ran dry, by date.",
        ),
        ("more-days", "fewer-days"),
    ),
    "survey": About(
        (
            "Bases by the water: tanks joined and still share one surface, so several dips taken together "
            "tell how high each floor really stands.",
            "What the dips say: for each stretch between two dips what the rain should have brought, what "
            "came, and whether the stick can tell the two apart at all.",
        ),
        ("dip", "accept-base"),
    ),
    "log": About(
        (
            "Everything written down, newest first, in the words typed. Nothing is ever rubbed out: an entry taken "
            "back stays in the list and says so.",
        ),
        ("mark-down", "search", "take-back", "correct", "undo"),
    ),
    "design": About(
        (
            "What the garden is built for, one part at a time: a storm through links and overflows, the load "
            "on each base, how far the water reaches by itself, what more storage or roof would bring, and "
            "the stick table.",
        ),
        ("day-before", "day-after", "fewer-days", "more-days", "earlier", "print"),
    ),
    "cautions": About(("Where stored water can hurt someone, and what to do about it.",)),
}
"""By the name of the page."""
