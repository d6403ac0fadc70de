"""The timeline on the screen: rain from the top, water below, chores between, moved and stretched by keys.

The days are worked out in a thread, because the whole journal has to be walked; the picture waits for them.
"""

from __future__ import annotations

from datetime import timedelta

from textual import events, on, work
from textual.message import Message
from textual.reactive import reactive

from tankdash.drawing.canvas import Row, Span
from tankdash.drawing.timeline import timeline
from tankdash.keeping.track import Track
from tankdash.tui.keeper import Keeper
from tankdash.tui.state import Shown
from tankdash.tui.widgets.picture import Picture

SPANS = (7, 14, 28, 60, 120, 366, 1098, 3660)
"""Days that can be shown, from near to far."""

USUAL_SPAN = 2
"""Place in `SPANS` to begin with."""

AHEAD = 2
"""Days to come at the right edge, so that today does not touch it."""


class TimelineView(Picture):
    """Days of rain, water and chores."""

    class TrackRead(Message):
        """The days have been worked out."""

        def __init__(self, shown: Shown, track: Track, span: int, back: int) -> None:
            super().__init__()
            self.shown = shown
            """The state they were worked out for."""
            self.track = track
            """The days."""
            self.span = span
            """How many they are, as a place in `SPANS`."""
            self.back = back
            """How many days they end before the usual end."""

    shown: reactive[Shown | None] = reactive(None, init=False)
    """The state."""

    def __init__(self, *, ascii_only: bool, ink: bool = False, id: str | None = None) -> None:
        super().__init__(id=id)
        self.ascii_only = ascii_only
        """Whether it keeps to ASCII."""
        self.ink = ink
        """Whether water is drawn with signs too."""
        self.span = USUAL_SPAN
        """How many days are shown, as a place in `SPANS`."""
        self.back = 0
        """By how many days it is moved to the past."""
        self._track: Track | None = None
        self._asked_for: tuple[object, ...] = ()

    def watch_shown(self) -> None:
        """Ask for the days again when something was written or the day changed."""
        self.ask()

    def ask(self) -> None:
        """Ask for the days to be worked out, if they are not the ones shown."""
        shown, keeper = self.shown, getattr(self.app, "keeper", None)
        if shown is None or not isinstance(keeper, Keeper):
            return
        wanted = (shown.entries, shown.site, shown.now.replace(second=0, microsecond=0), self.span, self.back)
        if wanted != self._asked_for:
            self._asked_for = wanted
            self._work_out(keeper, shown, self.span, self.back)

    @work(thread=True, exclusive=True, group="track")
    def _work_out(self, keeper: Keeper, shown: Shown, span: int, back: int) -> None:
        end = shown.now.date() + timedelta(days=AHEAD - back)
        start = end - timedelta(days=SPANS[span] - 1)
        with keeper.desk() as desk:
            track = desk.track(shown.now, start, end)
        self.post_message(self.TrackRead(shown, track, span, back))

    @on(TrackRead)
    def _track_read(self, event: TrackRead) -> None:
        event.stop()
        if (event.span, event.back) == (self.span, self.back):
            self._track = event.track
            self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the picture of the days at hand."""
        if self.shown is None or height <= 0:
            return []
        if self._track is None:
            return [[Span("reading the journal ...", "dim")]]
        return timeline(
            self._track,
            width,
            height,
            ascii=self.ascii_only,
            units=self.shown.site.units,
            today=self.shown.now.date(),
            ink=self.ink,
        )

    def shift_days(self, step: int) -> bool:
        """Move by a quarter of the span; `step` 1 goes to later days, which end with the coming ones."""
        self.back = max(0, self.back - step * max(1, SPANS[self.span] // 4))
        self.ask()
        return True

    def zoom_days(self, step: int) -> bool:
        """Show more days for `step` 1, fewer for -1."""
        self.span = max(0, min(len(SPANS) - 1, self.span + step))
        self.ask()
        return True

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Go to earlier days."""
        self.shift_days(-1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Go to later days."""
        self.shift_days(1)
