"""Everything written down, newest first, what was taken back too."""

from __future__ import annotations

from tankdash.drawing.canvas import Row, Span
from tankdash.journal.entries import Entry
from tankdash.keeping.desk import Desk
from tankdash.keeping.when import local
from tankdash.tui.pages.sheetpage import SheetPage
from tankdash.tui.state import Shown
from tankdash.tui.widgets.picture import paragraph
from tankdash.tui.words import entry_words


class LogPage(SheetPage[tuple[Entry, ...]]):
    """The journal."""

    HEADING = "Log"

    def ask(self, desk: Desk, shown: Shown) -> tuple[Entry, ...]:
        """Return every entry, newest first by the time it is about."""
        entries = desk.journal.entries(include_voided=True)
        return tuple(sorted(entries, key=lambda entry: (entry.at, entry.number), reverse=True))

    def write(self, shown: Shown, answer: tuple[Entry, ...], width: int) -> list[Row]:
        """Return the entries under their days."""
        if not answer:
            return paragraph(
                "Nothing is written down yet. d writes a dip, r the rain, u what was used.", width
            )
        rows: list[Row] = []
        day = None
        for entry in answer:
            if entry.kind == "void":
                continue
            at = local(entry.at, shown.site.zone)
            if at.date() != day:
                day = at.date()
                if rows:
                    rows.append([])
                rows.append([Span(f"{day:%a} {day.day} {day:%b %Y}", "strong")])
            is_back = entry.voided_by is not None
            head: Row = [Span(f"  {at:%H:%M}  ", "dim")]
            words = entry_words(entry, shown.site) + (f" ({entry.note})" if entry.note else "")
            lines = paragraph(
                words + (" — taken back" if is_back else ""), width - 9, "dim" if is_back else "plain"
            )
            rows.append([*head, *lines[0]] if lines else head)
            rows += [[Span(" " * 9, "plain"), *line] for line in lines[1:]]
        return rows
