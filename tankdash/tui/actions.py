"""Everything the screen can be asked to do, once: keys, footer, help and command palette are made from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from textual.binding import Binding


@dataclass(frozen=True)
class Action:
    """One thing a person can ask for."""

    id: str
    """Name that stays the same, for a keymap of the owner's own."""
    keys: str
    """Key, or keys parted by commas; the first is the one shown."""
    name: str
    """Short name, for the footer and the palette."""
    does: str
    """What it does, a sentence for help and palette."""
    run: str
    """Action string that Textual carries out."""
    group: str
    """Heading it stands under in help."""
    footer: int = 0
    """Place in the footer of a page, 1 first; 0 keeps it out."""

    @property
    def key_shown(self) -> str:
        """The first key as a person would read it off the keyboard."""
        return KEY_NAMES.get(self.keys.split(",")[0], self.keys.split(",")[0])

    @property
    def keys_shown(self) -> str:
        """All keys as a person would read them off the keyboard."""
        return " or ".join(KEY_NAMES.get(key, key) for key in self.keys.split(","))


KEY_NAMES = {
    "question_mark": "?",
    "exclamation_mark": "!",
    "less_than_sign": "<",
    "greater_than_sign": ">",
    "left_square_bracket": "[",
    "right_square_bracket": "]",
    "space": "space",
    "escape": "Esc",
    "enter": "Enter",
    "plus": "+",
    "equals_sign": "=",
    "minus": "-",
    "colon": ":",
    "slash": "/",
    "up": "↑",
    "left": "←",
    "right": "→",
    "down": "↓",
    "f1": "F1",
    "backspace": "Backspace",
    "delete": "Del",
    "tab": "Tab",
    "pagedown": "PgDn",
    "pageup": "PgUp",
    "home": "Home",
    "end": "End",
    "full_stop": ".",
    "comma": ",",
}

WRITE, LOOK, PAGES, HELP = "Write down", "Look around", "Pages", "Help and the rest"
GROUPS = (WRITE, LOOK, PAGES, HELP)

ACTIONS: tuple[Action, ...] = (
    Action(
        "dip",
        "d",
        "dip",
        "Write down a dip; the picture shows what it means while you type.",
        "form('dip')",
        WRITE,
        1,
    ),
    Action("rain", "r", "rain", "Write down what the rain gauge shows.", "form('rain')", WRITE, 2),
    Action("use", "u", "use", "Write down water drawn from an outlet.", "form('use')", WRITE, 3),
    Action("tick", "x,space", "tick", "Tick the chore under the mark as done.", "tick", WRITE, 4),
    Action("undo", "z", "undo", "Take back the last entry; the journal keeps both.", "undo", WRITE, 5),
    Action(
        "take-back",
        "backspace,delete",
        "take back",
        "On the log: take back the entry under the mark.",
        "take_back_marked",
        WRITE,
    ),
    Action(
        "correct",
        "e",
        "correct",
        "On the log: take back the entry under the mark and write it anew.",
        "correct",
        WRITE,
    ),
    Action(
        "tap", "o", "tap", "Write down a tap opened and left running, or closed again.", "form('tap')", WRITE
    ),
    Action(
        "move",
        "m",
        "move",
        "Write down water moved from one tank to another by pump or bucket.",
        "form('move')",
        WRITE,
    ),
    Action(
        "pump",
        "v",
        "pump",
        "Write down a pump switched on and left running between two tanks, or off again.",
        "form('pump')",
        WRITE,
    ),
    Action(
        "pour",
        "p",
        "pour",
        "Write down water from elsewhere: hose, melt, a neighbour.",
        "form('pour')",
        WRITE,
    ),
    Action(
        "set",
        "s",
        "set",
        "Write down a valve, plug, siphon or base that was changed, or winter.",
        "form('set')",
        WRITE,
    ),
    Action(
        "frost", "f", "frost", "Write down a forecast low, so that frost chores open.", "form('frost')", WRITE
    ),
    Action(
        "accept-base",
        "b",
        "accept base",
        "On the survey: take the base that the water tells as true, after a look at the form.",
        "accept_base",
        WRITE,
    ),
    Action("note", "n", "note", "Write down a note in your own words.", "form('note')", WRITE),
    Action(
        "garden",
        "a",
        "garden",
        "Change what stands in the garden: tanks, links, outlets, roofs. Writes the site file.",
        "garden",
        WRITE,
    ),
    Action(
        "search", "slash", "look for", "On the log: list only entries that hold some words.", "search", LOOK
    ),
    Action(
        "chores-focus", "c", "next chore", "Move the mark to the next chore that is due.", "next_chore", LOOK
    ),
    Action("mark-down", "j,down", "down", "Move the mark, or the page, one line down.", "mark(1)", LOOK),
    Action("mark-up", "k,up", "up", "Move the mark, or the page, one line up.", "mark(-1)", LOOK),
    Action(
        "screen-down",
        "pagedown",
        "screen down",
        "Move the mark, or the page, a screen down.",
        "screenful(1)",
        LOOK,
    ),
    Action(
        "screen-up", "pageup", "screen up", "Move the mark, or the page, a screen up.", "screenful(-1)", LOOK
    ),
    Action(
        "to-top",
        "home",
        "to the top",
        "Go to the first line, or the first of a list.",
        "screenful(-1000)",
        LOOK,
    ),
    Action(
        "to-end", "end", "to the end", "Go to the last line, or the last of a list.", "screenful(1000)", LOOK
    ),
    Action(
        "tanks-before",
        "comma",
        "tanks before",
        "Show tanks further left in the picture, where not all fit.",
        "tanks(-1)",
        LOOK,
    ),
    Action(
        "tanks-after",
        "full_stop",
        "tanks after",
        "Show tanks further right in the picture, where not all fit.",
        "tanks(1)",
        LOOK,
    ),
    Action(
        "day-before",
        "left",
        "day before",
        "Point at the day before on the timeline; on the design page, the part before.",
        "point(-1)",
        LOOK,
    ),
    Action(
        "day-after",
        "right",
        "day after",
        "Point at the day after on the timeline; on the design page, the part after.",
        "point(1)",
        LOOK,
    ),
    Action(
        "earlier",
        "left_square_bracket,less_than_sign",
        "earlier",
        "Move the timeline to earlier days; on the design page, another tank, rule or beginning.",
        "shift(-1)",
        LOOK,
    ),
    Action(
        "later",
        "right_square_bracket,greater_than_sign",
        "later",
        "Move the timeline to later days; on the design page, another tank, rule or beginning.",
        "shift(1)",
        LOOK,
    ),
    Action(
        "more-days",
        "minus",
        "more days",
        "Show more days on the timeline; on the design page, a smaller figure.",
        "zoom(1)",
        LOOK,
    ),
    Action(
        "fewer-days",
        "plus,equals_sign",
        "fewer days",
        "Show fewer days on the timeline; on the design page, a larger figure.",
        "zoom(-1)",
        LOOK,
    ),
    Action(
        "home",
        "1,h,escape",
        "home",
        "The picture, what is due and the rain, on one page.",
        "page('home')",
        PAGES,
    ),
    Action(
        "tanks",
        "2,t",
        "tanks",
        "Every tank with its heights, and why water is stranded.",
        "page('tanks')",
        PAGES,
    ),
    Action("rainfall", "3", "rain", "Rain events and month totals.", "page('rain')", PAGES),
    Action(
        "chores",
        "4",
        "chores",
        "Every chore with its reason, the sleeping ones too.",
        "page('chores')",
        PAGES,
    ),
    Action(
        "supply", "5", "supply", "How long the water lasts, and while you are away.", "page('supply')", PAGES
    ),
    Action(
        "survey",
        "6",
        "survey",
        "Bases by the water, and rains that brought too little.",
        "page('survey')",
        PAGES,
    ),
    Action("log", "7,l", "log", "Everything written down, newest first.", "page('log')", PAGES),
    Action(
        "design",
        "8",
        "design",
        "Storm, load on the bases, reach, what more storage brings, and the stick table.",
        "page('design')",
        PAGES,
    ),
    Action("help", "question_mark,f1", "help", "What every key does.", "help", HELP, 6),
    Action(
        "cautions", "exclamation_mark", "cautions", "Where stored water can hurt someone.", "cautions", HELP
    ),
    Action("find", "colon", "find", "Find anything on this list by name.", "command_palette", HELP),
    Action("light", "i", "light or dark", "Change between the light and the dark colours.", "light", HELP),
    Action("copy", "y", "copy summary", "Copy a plain summary of this page to the clipboard.", "copy", HELP),
    Action(
        "print",
        "w",
        "write a page",
        "Write a page to print: the stick table on the design page, the chore sheet elsewhere.",
        "print_page",
        HELP,
    ),
    Action("reload", "g", "read again", "Read the site file and the journal again now.", "reload", HELP),
    Action("quit", "q", "quit", "Leave; everything written down is already kept.", "quit", HELP),
)


def action_named(name: str) -> Action:
    """Return the action with that id.

    Raises
    ------
    KeyError
        If there is none.
    """
    for action in ACTIONS:
        if action.id == name:
            return action
    raise KeyError(name)


def key_bindings() -> list[Binding]:
    """Return a binding with an id for every action."""
    return [Binding(action.keys, action.run, action.name, show=False, id=action.id) for action in ACTIONS]


def footer_actions() -> list[Action]:
    """Return the actions of the footer in their order."""
    return sorted((action for action in ACTIONS if action.footer), key=lambda action: action.footer)


def page_actions() -> list[Action]:
    """Return the actions that lead to the pages, in the order of their numbers."""
    return [action for action in ACTIONS if action.group == PAGES]


def by_group(actions: Iterable[Action] = ACTIONS) -> list[tuple[str, list[Action]]]:
    """Return the actions under their headings, in the order of help."""
    listed = list(actions)
    return [(group, [action for action in listed if action.group == group]) for group in GROUPS]
