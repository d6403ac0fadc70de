"""The list of chores with its mark: each with a glyph, its state as a word, and the whole reason it is on the list."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual import events
from textual.message import Message
from textual.reactive import reactive

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import printable
from tankdash.drawing.words import wrap
from tankdash.tui.chorewords import PRESSING
from tankdash.tui.state import Shown
from tankdash.tui.widgets.picture import Picture, paragraph

if TYPE_CHECKING:
    from tankdash.keeping.chores.state import ChoreState

GLYPHS = {"late": "!", "due": "○", "coming": "·", "done": "✓", "asleep": "–"}
"""What stands before a chore; `late`, `due`, ... stands before the reason too."""

HEADINGS = {
    "late": "Now",
    "due": "Now",
    "coming": "To come",
    "done": "Done",
    "asleep": "Asleep until its season",
}
"""What stands over the chores of a state in the whole list."""

HEIGHT_FOR_REASON = 3
"""Lines from which the marked chore keeps its reason whatever else does not fit."""


def _ahead(reason: str) -> str:
    """Return of the reason why a chore waits only what is still to come, if anything is.

    Examples
    --------
    >>> _ahead("done Mon 09:00; next on 24 Aug"), _ahead("next on 3 Sep"), _ahead("done Mon 09:00")
    ('next on 24 Aug', 'next on 3 Sep', 'done Mon 09:00')
    """
    done, _, rest = reason.partition("; ")
    return rest if rest and done.startswith("done ") else reason


class ChoreList(Picture):
    """Chores, the most pressing first; up and down move the mark, a tick closes the chore under it."""

    class ChoreChosen(Message):
        """A chore was clicked twice: it is to be ticked."""

        def __init__(self, chore: str) -> None:
            super().__init__()
            self.chore = chore
            """Id of the chore."""

    shown: reactive[Shown | None] = reactive(None, init=False)
    """The state."""

    def __init__(self, *, everything: bool = False, id: str | None = None) -> None:
        super().__init__(id=id)
        self.everything = everything
        """Whether chores that want nothing now are listed too."""
        self._marked: str | None = None
        self._places: list[str] = []

    @property
    def listed(self) -> list[ChoreState]:
        """The chores of the list, in order."""
        chores: Sequence[ChoreState] = () if self.shown is None else self.shown.chores
        wanted = tuple(GLYPHS) if self.everything else (*PRESSING, "coming")
        return [chore for chore in chores if chore.state in wanted]

    @property
    def marked(self) -> str | None:
        """Id of the chore under the mark."""
        names = [chore.id for chore in self.listed]
        return self._marked if self._marked in names else (names[0] if names else None)

    def watch_shown(self) -> None:
        """Draw again, the mark where it was or on the first."""
        self.redraw()

    def move(self, step: int) -> bool:
        """Move the mark by `step` chores."""
        names = [chore.id for chore in self.listed]
        if not names:
            return False
        place = names.index(self.marked or names[0])
        self._marked = names[max(0, min(len(names) - 1, place + step))]
        self.redraw()
        return True

    def move_to_pressing(self) -> bool:
        """Move the mark to the next chore that is late or due, round and round."""
        pressing = [chore.id for chore in self.listed if chore.state in PRESSING]
        if not pressing:
            return False
        place = pressing.index(self.marked) if self.marked in pressing else -1
        self._marked = pressing[(place + 1) % len(pressing)]
        self.redraw()
        return True

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the chores, as many as fit, and how many are left out."""
        if self.shown is None:
            return [[Span("...", "dim")]]
        listed = self.listed
        if not listed:
            self._places = []
            asleep = "Nothing is due." if self.shown.site.chores else "The site file names no chores."
            return paragraph(asleep, width, "dim")
        blocks = [(chore, self._block(chore, width)) for chore in listed]
        if self.everything:
            self._head(blocks)
        elif height:
            self._shorten(blocks, width, height)
        first = self._first_in_sight([block for _, block in blocks], height)
        rows: list[Row] = []
        places: list[str] = []
        for number, (chore, block) in enumerate(blocks[first:], start=first):
            if height and rows and len(rows) + len(block) + (1 if number < len(blocks) - 1 else 0) > height:
                if len(rows) < height:
                    where = "below: ↓" if self.everything else "on page 4"
                    rows.append([Span(f"   {len(blocks) - number} more {where}", "dim")])
                break
            rows += block[:height] if height else block
            places += [chore.id] * len(block)
        self._places = places
        return rows

    def _first_in_sight(self, blocks: Sequence[Sequence[Row]], height: int) -> int:
        """Return the first chore to show so that the one under the mark is on the screen."""
        names = [chore.id for chore in self.listed]
        place = names.index(self.marked) if height and self.marked in names else 0
        first = 0
        while first < place and sum(map(len, blocks[first : place + 1])) > height - 1:
            first += 1
        return first

    def _shorten(self, blocks: list[tuple[ChoreState, list[Row]]], width: int, height: int) -> None:
        """Give up reasons until all fit: first of what is still to come, then from the last that presses on.

        What is to be done is worth more than why. The marked one gives its reason up last of all, and what is still to
        come may go behind a line that counts it, if only so what presses keeps its reasons.
        """
        coming = [number for number, (chore, _) in enumerate(blocks) if chore.state not in PRESSING]
        pressing = [number for number in range(len(blocks)) if number not in coming]
        for numbers, others in ((coming, 0), (pressing, 1 if coming else 0)):
            for number in sorted(numbers, key=lambda one: (blocks[one][0].id == self.marked, -one)):
                needed = sum(len(blocks[one][1]) for one in (*pressing, *(coming if not others else ())))
                chore = blocks[number][0]
                if needed + others <= height or (chore.id == self.marked and height > HEIGHT_FOR_REASON):
                    break
                brief = self._brief(*blocks[number], width)
                if len(brief) < len(blocks[number][1]):
                    blocks[number] = (chore, brief)

    @staticmethod
    def _brief(chore: ChoreState, block: list[Row], width: int) -> list[Row]:
        """Return a chore without its reason."""
        head, role, under = block[0][0], block[0][1].role, Span("   ", "dim")
        if chore.state not in PRESSING:
            lines = wrap([Span(printable(chore.label), role)], width - 3)
        else:
            lines = wrap(
                [Span(f"{chore.state}:", head.role), Span(f" {printable(chore.label)}", role)], width - 3
            )
            # The blank is no part of the label: where that is marked the blank would be lit.
            state, *label = lines[0]
            begun = [Span(span.text.removeprefix(" "), span.role) for span in label]
            lines[0] = [Span(f"{state.text} ", state.role), *begun]
        return [[under if place else head, *row] for place, row in enumerate(lines)]

    @staticmethod
    def _head(blocks: list[tuple[ChoreState, list[Row]]]) -> None:
        """Put a heading over the first chore of each state."""
        last = ""
        for number, (chore, block) in enumerate(blocks):
            heading = HEADINGS[chore.state]
            if heading != last:
                block.insert(0, [Span(heading, "strong")])
                if number:
                    block.insert(0, [])
            last = heading

    def _block(self, chore: ChoreState, width: int) -> list[Row]:
        """Return the lines of one chore: what to do, and under it since when and why."""
        is_marked = chore.id == self.marked
        is_pressing = chore.state in PRESSING
        role = chore.state if chore.state in ("late", "due", "coming", "done") else "dim"
        name_role = "cursor" if is_marked else ("strong" if is_pressing else "plain")
        head = Span(f"{'▸' if is_marked else ' '}{GLYPHS[chore.state]} ", role)
        under = Span("   ", "dim")
        named = paragraph(printable(chore.label), width - 3, name_role)
        reason = printable(chore.reason if self.everything or is_pressing else _ahead(chore.reason))
        told = [Span(chore.state, role), Span(": ", "dim")] if is_pressing else []
        rows: list[Row] = [[under if number else head, *line] for number, line in enumerate(named)]
        return rows + [[under, *line] for line in wrap([*told, Span(reason, "dim")], width - 3)]

    def on_click(self, event: events.Click) -> None:
        """Put the mark on the chore under the pointer; a second click ticks it."""
        if 0 <= event.y < len(self._places):
            chore = self._places[event.y]
            if chore == self.marked and event.chain >= 2:
                self.post_message(self.ChoreChosen(chore))
            self._marked = chore
            self.redraw()
            event.stop()
