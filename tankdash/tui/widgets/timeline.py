"""The timeline on the screen: rain from the top, water below, chores under them, moved and stretched by keys.

The days are worked out in a thread, because the whole journal has to be walked; the picture waits for them.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from textual import events, on, work
from textual.message import Message
from textual.reactive import reactive

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.daywords import DayTold, legend, value_at
from tankdash.drawing.timeline import day_at, plot_width, timeline
from tankdash.tui.keeper import Keeper
from tankdash.tui.state import Shown
from tankdash.tui.widgets.picture import Picture, beside, paragraph, row_width

if TYPE_CHECKING:
    from tankdash.keeping.track import Track

DAYS_A_COLUMN = (1 / 4, 1 / 2, 1.0, 2.0, 4.0, 12.0, 48.0)
"""Steps of the zoom, near to far; the plot is filled at each."""

USUAL_ZOOM = 2
"""Place in `DAYS_A_COLUMN` to begin with."""

AHEAD = 2
"""Days to come at the right edge, so that today does not touch it."""


class TimelineView(Picture):
    """Days of rain, water and chores."""

    class TrackRead(Message):
        """The days have been worked out."""

        def __init__(self, shown: Shown, track: Track, asked_for: tuple[object, ...]) -> None:
            super().__init__()
            self.shown = shown
            """The state they were worked out for."""
            self.track = track
            """The days."""
            self.asked_for = asked_for
            """What was asked; an answer to an older question is dropped."""

    class DayPointed(Message):
        """The cursor stands on another day, or on none."""

        def __init__(self, words: DayTold | None) -> None:
            super().__init__()
            self.words = words
            """What is known of the day; None when there is no cursor."""

    shown: reactive[Shown | None] = reactive(None, init=False)
    """The state."""

    def __init__(self, *, ascii_only: bool, ink: bool = False, id: str | None = None) -> None:
        super().__init__(id=id)
        self.ascii_only = ascii_only
        """Whether it keeps to ASCII."""
        self.ink = ink
        """Whether water is drawn with signs too."""
        self.zoom = USUAL_ZOOM
        """Place in `DAYS_A_COLUMN`."""
        self.back = 0
        """By how many days it is moved to the past."""
        self.cursor: date | None = None
        """The day pointed at."""
        self.track: Track | None = None
        """The days shown; None until they are worked out."""
        self._asked_for: tuple[object, ...] = ()

    @property
    def days(self) -> int:
        """How many days fill the plot."""
        return max(4, round(plot_width(self.size.width) * DAYS_A_COLUMN[self.zoom]))

    def watch_shown(self) -> None:
        """Ask for the days again when something was written or the day changed."""
        self.ask()

    def on_resize(self, event: events.Resize) -> None:
        """Ask for as many days as there is room for now."""
        self.ask()

    def ask(self) -> None:
        """Ask for the days to be worked out, if they are not the ones asked for last."""
        shown, keeper = self.shown, getattr(self.app, "keeper", None)
        if shown is None or not isinstance(keeper, Keeper) or self.size.width <= 0:
            return
        minute = shown.now.replace(second=0, microsecond=0)
        wanted = (shown.entries, shown.site, minute, self.days, self.back)
        if wanted != self._asked_for:
            self._asked_for = wanted
            # After the frame: the tanks are to be seen before the whole journal is walked.
            self.call_after_refresh(self._work_out, keeper, shown, self.days, wanted)

    @work(thread=True, exclusive=True, group="track")
    def _work_out(self, keeper: Keeper, shown: Shown, days: int, asked_for: tuple[object, ...]) -> None:
        end = shown.now.date() + timedelta(days=AHEAD - self.back)
        with keeper.desk() as desk:
            track = desk.track(shown.now, end - timedelta(days=days - 1), end)
        self.post_message(self.TrackRead(shown, track, asked_for))

    @on(TrackRead)
    def _track_read(self, event: TrackRead) -> None:
        event.stop()
        if event.asked_for == self._asked_for:
            self.track = event.track
            self.redraw()
            self._point(self.cursor)

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the picture of the days at hand."""
        if height <= 0:
            return []
        if self.shown is None or self.track is None:
            return [[Span("reading the journal ...", "dim")]]
        return timeline(
            self.track,
            width,
            height,
            ascii=self.ascii_only,
            units=self.shown.site.units,
            cursor=self.cursor,
            today=self.shown.now.date(),
            ink=self.ink,
        )

    def shift_days(self, step: int) -> bool:
        """Move by a third of the plot; `step` 1 goes to later days, which end with the coming ones."""
        self.back = max(0, self.back - step * max(1, self.days // 3))
        self.cursor = None
        self._point(None)
        self.ask()
        return True

    def zoom_days(self, step: int) -> bool:
        """Show more days for `step` 1, fewer for -1."""
        self.zoom = max(0, min(len(DAYS_A_COLUMN) - 1, self.zoom + step))
        if self.cursor is not None and self.shown is not None:
            # The day pointed at stays in sight.
            behind = (self.shown.now.date() - self.cursor).days + AHEAD
            if not self.back <= behind < self.back + self.days:
                self.back = max(0, behind - self.days // 2)
        self.ask()
        return True

    def point(self, step: int) -> bool:
        """Move the cursor by as many days as a column stands for, beginning at today."""
        if self.shown is None or self.track is None:
            return False
        first, last = self.track.days[0].day, self.track.days[-1].day
        stride = max(1, round(DAYS_A_COLUMN[self.zoom]))
        start = self.cursor
        if start is None:
            start = min(max(self.shown.now.date(), first), last) - timedelta(days=stride * step)
        wanted = start + timedelta(days=stride * step)
        if wanted < first:
            self.back += self.days // 3
            self.ask()
        self.cursor = min(wanted, last)
        self.redraw()
        self._point(self.cursor)
        return True

    def forget_cursor(self) -> bool:
        """Take the cursor away; return whether there was one."""
        had = self.cursor is not None
        self.cursor = None
        self.redraw()
        self._point(None)
        return had

    def _point(self, day: date | None) -> None:
        """Tell what is known of a day."""
        words = None
        if day is not None and self.track is not None and self.shown is not None:
            labels = {key: chore.label for key, chore in self.shown.site.chores.items()}
            words = value_at(self.track, day, self.shown.site.units, labels)
        self.post_message(self.DayPointed(words))

    def on_click(self, event: events.Click) -> None:
        """Point at the day under the pointer; beside the days, at none."""
        if self.track is not None:
            self.cursor = day_at(self.track, event.x, self.size.width)
            self.redraw()
            self._point(self.cursor)
            event.stop()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Go to earlier days."""
        self.shift_days(-1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Go to later days."""
        self.shift_days(1)


KEYS_HINT = "a day   + - nearer, further   [ ] move"
"""How the timeline is read, after the arrow keys, where a line is free to say so."""


class TimelineWords(Picture):
    """The lines above the timeline: what the signs mean, or what is known of the day under the cursor."""

    def __init__(self, *, ascii_only: bool, id: str | None = None) -> None:
        super().__init__(id=id)
        self.ascii_only = ascii_only
        """Whether it keeps to ASCII."""
        self.words: DayTold | None = None
        """What is known of the day; None shows the meaning of the signs."""

    def say(self, words: DayTold | None) -> None:
        """Show other words."""
        if words != self.words:
            self.words = words
            self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the words, in full where the lines there are hold them."""
        if self.words is not None:
            return self._told(self.words, width, max(1, height))
        signs: Row = legend(self.ascii_only, width)
        if height < 2:
            return [signs]
        heading: Row = [Span("Rain, water and chores", "strong")]
        hint: Row = [Span(f"{'left right' if self.ascii_only else '← →'} {KEYS_HINT}", "dim")]
        fits = row_width(heading) + row_width(hint) + 2 <= width
        return [beside(heading, hint, width) if fits else heading, signs]

    @staticmethod
    def _told(words: DayTold, width: int, height: int) -> list[Row]:
        """Return as much of what is known of a day as the lines hold, never half a figure."""
        full = paragraph(words.full, width, "strong")
        if len(full) <= height:
            return full
        name, *parts = words.parts
        kept = paragraph(f"{name} ...", width, "strong")
        for count in range(1, len(parts) + 1):
            more = " ..." if count < len(parts) else ""
            rows = paragraph(f"{name}: {'; '.join(parts[:count])}{more}", width, "strong")
            if len(rows) > height:
                break
            kept = rows
        return kept[:height]
