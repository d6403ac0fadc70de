"""What keys ask of a page that holds a timeline, or the list of chores."""

from __future__ import annotations

from textual import on

from tankdash.tui.pages.page import Page
from tankdash.tui.widgets.chorelist import ChoreList
from tankdash.tui.widgets.timeline import TimelineView, TimelineWords


class HoldsTimeline(Page):
    """A page with a timeline and the words of the day that is pointed at."""

    def shift_days(self, step: int) -> bool:
        """Move the timeline."""
        return self.query_one(TimelineView).shift_days(step)

    def zoom_days(self, step: int) -> bool:
        """Show more or fewer days."""
        return self.query_one(TimelineView).zoom_days(step)

    def point_at_day(self, step: int) -> bool:
        """Point at another day of the timeline."""
        return self.query_one(TimelineView).point(step)

    def step_back(self) -> bool:
        """Take the cursor off the timeline."""
        return self.query_one(TimelineView).forget_cursor()

    @on(TimelineView.DayPointed)
    def _day_pointed(self, event: TimelineView.DayPointed) -> None:
        event.stop()
        self.query_one(TimelineWords).say(event.words)


class HoldsChores(Page):
    """A page with the list of chores and its mark."""

    def move_mark(self, step: int) -> bool:
        """Move the mark among the chores."""
        return self.query_one(ChoreList).move(step)

    def next_chore(self) -> bool:
        """Move the mark to the next chore that is due."""
        return self.query_one(ChoreList).move_to_pressing()

    def chore_marked(self) -> str | None:
        """Return the chore under the mark."""
        return self.query_one(ChoreList).marked
