"""The list of chores with its mark: each with a glyph, its state as a word, and the reason it is on the list."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.message import Message
from textual.reactive import reactive

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.cells import cut, printable
from tankdash.keeping.chores.due import ChoreState
from tankdash.tui.state import Shown
from tankdash.tui.widgets.picture import Picture, paragraph

GLYPHS = {"late": "!", "due": "○", "coming": "·", "done": "✓", "asleep": "–"}
"""What stands before a chore; `late`, `due`, ... is also written out."""

HEADINGS = {
    "late": "Now",
    "due": "Now",
    "coming": "To come",
    "done": "Done",
    "asleep": "Asleep until its season",
}
"""What stands over the chores of a state in the whole list."""

PRESSING = ("late", "due")
"""States that want something done now."""


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
        wanted = (*PRESSING, "coming") if not self.everything else tuple(GLYPHS)
        return sorted(
            (chore for chore in chores if chore.state in wanted), key=lambda chore: wanted.index(chore.state)
        )

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
            return []
        listed = self.listed
        if not listed:
            self._places = []
            asleep = "Nothing is due." if self.shown.site.chores else "The site file names no chores."
            return paragraph(asleep, width, "dim")
        blocks = [(chore, self._block(chore, width)) for chore in listed]
        if self.everything:
            self._head(blocks)
        names = [chore.id for chore in listed]
        first = 0
        if height:
            # The mark must be on the screen: leave out chores above it until its own block fits.
            place = names.index(self.marked) if self.marked in names else 0
            while first < place and sum(len(block) for _, block in blocks[first : place + 1]) > height - 1:
                first += 1
        rows: list[Row] = []
        places: list[str] = []
        for number, (chore, block) in enumerate(blocks[first:], start=first):
            if height and len(rows) + len(block) + (1 if number < len(blocks) - 1 else 0) > height:
                rest = len(blocks) - number
                while len(rows) >= height:
                    rows.pop()
                rows.append([Span(f"  and {rest} more: key 4", "dim")])
                break
            rows += block
            places += [chore.id] * len(block)
        self._places = places
        return rows

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
        """Return the lines of one chore."""
        is_marked = chore.id == self.marked
        role = chore.state if chore.state in ("late", "due", "coming", "done") else "dim"
        label = printable(chore.label)
        words = chore.state if chore.state != "coming" else ""
        name_role = "cursor" if is_marked else ("strong" if chore.state in PRESSING else "plain")
        room = width - 3 - (len(words) + 1 if words else 0)
        rows: list[Row] = []
        lines = paragraph(label, room, name_role)
        for number, line in enumerate(lines):
            head = (("▸" if is_marked else " ") + GLYPHS[chore.state] + " ") if number == 0 else "   "
            row: Row = [Span(head, role), *line]
            if number == 0 and words:
                row += [Span(" ", "plain"), Span(words, role)]
            rows.append(row)
        reason = paragraph(chore.reason, width - 3, "dim")
        if len(reason) > 1 and not (is_marked or self.everything):
            reason = [[Span(cut(chore.reason, width - 3), "dim")]]
        rows += [[Span("   ", "dim"), *line] for line in reason]
        return rows

    def on_click(self, event: events.Click) -> None:
        """Put the mark on the chore under the pointer; a second click ticks it."""
        if 0 <= event.y < len(self._places):
            chore = self._places[event.y]
            if chore == self.marked and event.chain >= 2:
                self.post_message(self.ChoreChosen(chore))
            self._marked = chore
            self.redraw()
            event.stop()
