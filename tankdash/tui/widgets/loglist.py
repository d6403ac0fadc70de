"""The journal as a list under its days, newest first, with a mark; only what is in sight is drawn."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.reactive import reactive

from tankdash.drawing.canvas import Row, Span
from tankdash.journal.entries import Entry
from tankdash.keeping.when import local
from tankdash.tui.state import Shown
from tankdash.tui.widgets.picture import Picture, paragraph
from tankdash.tui.words import entry_words

HINT = "e corrects the marked entry   Backspace takes it back   / looks for words"
"""What can be done with the list."""


class LogList(Picture):
    """Entries with a mark."""

    shown: reactive[Shown | None] = reactive(None, init=False)
    """The state."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id, classes="sheet")
        self.wanted = ""
        """Words that an entry must hold to be listed."""
        self._entries: tuple[Entry, ...] = ()
        self._listed: list[Entry] = []
        self._mark = 0
        self._first = 0
        self._places: list[int] = []

    @property
    def listed(self) -> Sequence[Entry]:
        """The entries that are listed, newest first."""
        return self._listed

    @property
    def marked(self) -> Entry | None:
        """The entry under the mark."""
        return self._listed[self._mark] if self._mark < len(self._listed) else None

    def take(self, entries: Sequence[Entry]) -> None:
        """Show other entries; the mark stays on its entry if that is still listed."""
        kept = self.marked
        self._entries = tuple(entries)
        self._choose(kept)

    def search(self, words: str) -> None:
        """List only entries that hold all of the words, in what was typed, its meaning or its note."""
        kept = self.marked
        self.wanted = words
        self._choose(kept)

    def _choose(self, kept: Entry | None) -> None:
        words = self.wanted.casefold().split()
        site = None if self.shown is None else self.shown.site

        def holds(entry: Entry) -> bool:
            meaning = entry_words(entry, site) if site is not None else ""
            text = f"{entry.words} {meaning} {entry.note} {entry.at:%Y-%m-%d %d %B}".casefold()
            return all(word in text for word in words)

        self._listed = [entry for entry in self._entries if not words or holds(entry)]
        numbers = [entry.number for entry in self._listed]
        self._mark = numbers.index(kept.number) if kept is not None and kept.number in numbers else 0
        self._first = min(self._first, self._mark)
        self.redraw()

    def move(self, step: int) -> None:
        """Move the mark."""
        self._mark = max(0, min(len(self._listed) - 1, self._mark + step))
        self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the entries around the mark."""
        if self.shown is None or width <= 0:
            return []
        if not self._listed:
            if self.wanted:
                return paragraph(f"Nothing holds '{self.wanted}'. / searches for something else.", width)
            return paragraph(
                "Nothing is written down yet. d writes a dip, r the rain, u what was used.", width
            )
        head = (
            paragraph(f"Only what holds '{self.wanted}'; / changes that.", width, "dim")
            if self.wanted
            else []
        )
        hint: list[Row] = [[], [Span(HINT, "dim")]] if height >= 8 and width >= len(HINT) else []
        room = max(1, height - len(head) - len(hint)) if height > 0 else len(self._listed) * 4
        self._first = min(self._first, self._mark)
        while True:
            rows, places, last = self._window(self._first, width, room)
            if last >= self._mark or self._first >= self._mark:
                break
            self._first += 1
        self._places = [-1] * len(head) + places
        blank: list[Row] = [[] for _ in range(room - len(rows))] if hint else []
        return [*head, *rows, *blank, *hint]

    def _window(self, first: int, width: int, room: int) -> tuple[list[Row], list[int], int]:
        """Return the rows from entry `first` on that fit, the entry of each row, and the last entry that fits."""
        rows: list[Row] = []
        places: list[int] = []
        day, last = None, first - 1
        assert self.shown is not None
        for number in range(first, len(self._listed)):
            entry = self._listed[number]
            at = local(entry.at, self.shown.site.zone)
            block: list[Row] = []
            if at.date() != day:
                day = at.date()
                if rows:
                    block.append([])
                block.append([Span(f"{day:%a} {day.day} {day:%b %Y}", "strong")])
            block += self._block(entry, f"{at:%H:%M}", width, is_marked=number == self._mark)
            if len(rows) + len(block) > room:
                break
            rows += block
            places += [number] * len(block)
            last = number
        return rows, places, last

    def _block(self, entry: Entry, clock: str, width: int, *, is_marked: bool) -> list[Row]:
        assert self.shown is not None
        is_back = entry.voided_by is not None
        words = entry_words(entry, self.shown.site) + (f" ({entry.note})" if entry.note else "")
        role = "cursor" if is_marked else "dim" if is_back else "plain"
        lines = paragraph(words + (" — taken back" if is_back else ""), width - 9, role) or [[]]
        head = ("▸ " if is_marked else "  ") + f"{clock}  "
        rows: list[Row] = [[Span(head, "key" if is_marked else "dim"), *lines[0]]]
        rows += [[Span(" " * 9, "plain"), *line] for line in lines[1:]]
        if is_marked:
            entered = local(entry.entered, self.shown.site.zone)
            typed = f"typed as '{entry.words}', entered {entered:%Y-%m-%d %H:%M}"
            rows += [[Span(" " * 9, "plain"), *line] for line in paragraph(typed, width - 9, "dim")]
        return rows

    def on_click(self, event: events.Click) -> None:
        """Put the mark on the entry under the pointer."""
        if 0 <= event.y < len(self._places) and self._places[event.y] >= 0:
            self._mark = self._places[event.y]
            self.redraw()
            event.stop()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Go to older entries."""
        self.move(2)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Go to newer entries."""
        self.move(-2)
