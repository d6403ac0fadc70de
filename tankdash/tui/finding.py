"""Finding anything on the screen by the words a person would type, and what only a command does.

Words are held against the name of an action, the words people use for it, and the sentence that says what it does.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from typing import Any

from textual.command import DiscoveryHit, Hit, Hits, Provider

from tankdash.tui.actions import ACTIONS, GROUPS

ALSO: dict[str, str] = {
    "dip": "stick measure reading level depth gap height gauge tank check water",
    "rain": "gauge millimetres inches shower storm wet precipitation weather",
    "use": "watered watering can drawn drew took tap litres gallons bed garden",
    "tick": "job task finished did cleaned emptied flushed first flush screen",
    "undo": "mistake wrong delete remove cancel back",
    "take-back": "mistake wrong delete remove",
    "correct": "edit change mistake wrong amend",
    "tap": "hose running left on off stop start leave",
    "move": "transfer bucket carry",
    "pump": "transfer start stop running",
    "pour": "mains snow dew hail fill top up add",
    "set": "open close closed opened plug bung sank settle vent drain lay up spring switch turn lock",
    "frost": "cold freeze freezing ice night temperature degrees weather",
    "accept-base": "sank settled moved",
    "note": "remark comment write saw wasps overflow diary",
    "garden": "edit settings configure add new tank barrel tote butt link pipe hose roof size overflow setup",
    "search": "find entries filter",
    "chores-focus": "due job task",
    "mark-down": "scroll next",
    "mark-up": "scroll previous",
    "day-before": "tank left scroll",
    "day-after": "tank right scroll",
    "earlier": "scroll back past history",
    "later": "scroll forward",
    "more-days": "zoom out month season",
    "fewer-days": "zoom in week",
    "home": "level levels start overview main usable full how much",
    "tanks": "barrel tote butt level levels depth surface lip cut off weight",
    "rainfall": "months total year weather history",
    "chores": "jobs tasks due late to do list coming",
    "supply": "run out dry drought holiday away vacation absence enough days left last",
    "survey": "settle settled sank leak leaking blocked missing balance inlet height should have brought",
    "log": "journal history diary entries past",
    "design": "weight heavy size bigger another tank buy pressure head overflow print",
    "help": "keys shortcuts manual words meaning",
    "cautions": "safety danger drinking drink children weight",
    "light": "theme dark colours colors bright",
    "copy": "clipboard",
    "print": "paper html stick table chores sheet export",
    "reload": "refresh again update",
    "quit": "exit close leave stop end",
}
"""Words somebody may look for an action by, beside those of its name and of what it does, by its id."""

COMMANDS_ALONE = {
    "import": (
        "import FILE",
        "Bring in a rain sheet, open data or an export.",
        "csv file load history past rain",
    ),
    "export": ("export DIR", "Write everything as CSV.", "backup save csv spreadsheet file copy"),
    "calendar": (
        "calendar FILE.ics",
        "Write the chores as a calendar file.",
        "ics phone remind reminder chores",
    ),
    "check": ("check", "Look the site file over.", "yaml file problem error warning load weight"),
    "try": ("try", "Tell the levels after something, without writing it.", "what if imagine test"),
    "new": ("new FILE", "Write a site file to begin with.", "garden setup yaml start another"),
}
"""What the screen has no key for: the command, what it does, and words people use for it."""

FILLING = frozenset(
    (
        "a",
        "an",
        "and",
        "at",
        "do",
        "does",
        "for",
        "from",
        "how",
        "i",
        "in",
        "is",
        "it",
        "my",
        "of",
        "on",
        "the",
        "to",
        "what",
        "with",
    )
)
"""Words that say nothing of what is looked for, as long as others do."""
BY_NAME, BY_USE, BY_SENTENCE = 1.0, 0.7, 0.4
"""How much a word found there counts."""
ENDINGS = frozenset(("s", "es", "ing", "ed"))
"""What a word typed may have behind a known one: `barrels` finds `barrel`."""


@dataclass(frozen=True)
class Offer:
    """One thing that can be found."""

    title: str
    """What it is called, its heading first."""
    does: str
    """What it does, and by which keys."""
    run: str
    """Action string; empty where only a command does it."""
    words: tuple[tuple[frozenset[str], float], ...]
    """Words it is found by, with how much they count."""


@cache
def offers() -> tuple[Offer, ...]:
    """Return everything that can be found, in the order of help; what only commands do is last."""
    listed = sorted(
        (action for action in ACTIONS if action.id != "find"), key=lambda action: GROUPS.index(action.group)
    )
    on_screen = [
        Offer(
            f"{action.group}: {action.name}",
            f"{action.does} ({action.keys_shown})",
            action.run,
            _weighed(action.name, ALSO.get(action.id, ""), action.does),
        )
        for action in listed
    ]
    by_command = [
        Offer(
            f"Only as a command: {name}",
            f"{does} Leave with q and type `tankdash {call}`.",
            "",
            _weighed(name, also, does),
        )
        for name, (call, does, also) in COMMANDS_ALONE.items()
    ]
    return (*on_screen, *by_command)


def _weighed(name: str, also: str, does: str) -> tuple[tuple[frozenset[str], float], ...]:
    kinds = ((name, BY_NAME), (also, BY_USE), (does, BY_SENTENCE))
    return tuple((frozenset(_words_of(text)), weight) for text, weight in kinds)


def _words_of(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", text.lower())


def found(query: str) -> list[tuple[float, Offer]]:
    """Return what fits the words typed, the best first, each with a mark above 0 and up to 1.

    Where nothing fits all of the words, what fits most of them is told.

    Examples
    --------
    >>> [offer.title for _, offer in found("freezing")][:1]
    ['Write down: frost']
    >>> [offer.title for _, offer in found("how long")][:1]
    ['Pages: supply']
    """
    words = _words_of(query)
    telling = [word for word in words if word not in FILLING] or words
    marks: list[tuple[int, float, Offer]] = []
    for offer in offers():
        weights = [_weight(word, offer) for word in telling]
        fitting = sum(weight > 0.0 for weight in weights)
        if fitting:
            marks.append((fitting, sum(weights) / len(telling), offer))
    most = max((fitting for fitting, _, _ in marks), default=0)
    best = [(mark, offer) for fitting, mark, offer in marks if fitting == most]
    return sorted(best, key=lambda one: -one[0])


def _weight(typed: str, offer: Offer) -> float:
    """Return how much a word typed counts for an offer; 0 where it does not fit."""
    return max(
        (weight for words, weight in offer.words if any(_fits(typed, word) for word in words)), default=0.0
    )


def _fits(typed: str, word: str) -> bool:
    return word.startswith(typed) or (typed.startswith(word) and typed[len(word) :] in ENDINGS)


class Finder(Provider):
    """Tells the palette what there is, and what fits."""

    async def discover(self) -> Hits:
        """Yield everything."""
        for offer in offers():
            yield DiscoveryHit(offer.title, self._doer(offer), help=offer.does)

    async def search(self, query: str) -> Hits:
        """Yield what fits the words typed; help where nothing does."""
        fitting = found(query)
        for place, (mark, offer) in enumerate(fitting):
            # The palette orders by the mark alone; what fits equally well keeps the order of help.
            yield Hit(mark - place * 1e-4, offer.title, self._doer(offer), help=offer.does)
        if not fitting:
            yield Hit(
                0.1,
                f"Nothing here is called '{query.strip()}'.",
                partial(self.app.call_later, self.app.run_action, "help"),
                help="Enter opens the help: it tells what every key does.",
            )

    def _doer(self, offer: Offer) -> Callable[[], object]:
        app: Any = self.app
        if offer.run:
            return partial(app.call_later, app.run_action, offer.run)
        return partial(app.call_later, app.tell, offer.does)
