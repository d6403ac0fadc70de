"""The time between the first frame and all else: what is typed in it waits, and nothing is collected."""

from __future__ import annotations

import gc

from textual import events

from tankdash.tui.inorder import InOrderApp


class EarlyApp(InOrderApp):
    """The part of the app that knows whether everything has been read."""

    _typed_early: list[events.Event]
    _is_reading = False

    def reading_begins(self) -> None:
        """Keep what is typed from now on until everything has been read."""
        self._typed_early = []
        self._is_reading = True

    def reading_ends(self) -> None:
        """Take up what was typed meanwhile; what was made to start lives on, so the collector need not look at it."""
        if self._is_reading:
            self._is_reading = False
            for event in self._typed_early:
                self.post_message(event)
        if not gc.isenabled():
            gc.freeze()
            gc.enable()

    async def on_event(self, event: events.Event) -> None:
        """Let what is typed too early wait."""
        if self._is_reading and isinstance(event, events.InputEvent):
            self._typed_early.append(event)
        else:
            await super().on_event(event)
