"""Keys in the order they were typed: each has gone all its way before the next one is let in.

A letter is taken by its field at once, but Backspace, Enter or Escape first go up through everything around the field.
Typed in one burst, as over a slow line, the letter would overtake them: `64`, Backspace, `2` would read 64, not 62.
"""

from __future__ import annotations

from collections import deque
from math import inf
from time import monotonic

from textual import events, on
from textual.message import Message
from textual.message_pump import MessagePump
from textual.screen import ModalScreen, Screen

from tankdash.tui.frame import FramedApp

LAPS = 2
"""Ways from the field to the app: one for the key itself, one for what it made its field say, such as Enter."""
PATIENCE = 2.0
"""Seconds after which the next key is let in whatever became of the last one."""
ASK_AGAIN = 0.03
"""Seconds between looks whether the next key may be let in."""


class KeyTaken(Message):
    """What was before it in the line has been done."""

    def __init__(self, key: int, lap: int) -> None:
        super().__init__()
        self.key = key
        """Which key it follows, counted from the start."""
        self.lap = lap
        """How often it has come round."""


class InOrderApp(FramedApp):
    """The part of the app that lets one key in at a time."""

    def __init__(self, *, theme: str | None = None, ascii_only: bool | None = None) -> None:
        super().__init__(theme=theme, ascii_only=ascii_only)
        self._waiting: deque[events.Event] = deque()
        self._count = 0
        """Keys let in so far."""
        self._let_in_at = -inf
        """When the last one was let in."""
        self._is_under_way = False
        self._let_in_on: Screen[object] | None = None
        """Where the way of the one under way begins: a form that has left reports on no key."""
        self._is_asking = False

    async def on_event(self, event: events.Event) -> None:
        """Let a key or a paste wait while another is under way."""
        if isinstance(event, events.Key | events.Paste) and not event.is_forwarded:
            if self._waiting or not self._may_go_on():
                self._waiting.append(event)
                self._ask_again()
            else:
                await self._let_in(event)
        else:
            await super().on_event(event)

    async def _let_in(self, event: events.Event) -> None:
        self._count += 1
        self._let_in_at, self._is_under_way = monotonic(), True
        target: MessagePump = self.focused or self.screen
        await super().on_event(event)
        self._send_round(target, 1)

    def _send_round(self, target: MessagePump, lap: int) -> None:
        self._let_in_on = self.screen
        self._is_under_way = target.post_message(KeyTaken(self._count, lap))

    @on(KeyTaken)
    async def _key_taken(self, event: KeyTaken) -> None:
        event.stop()
        if event.key != self._count:
            return
        if event.lap < LAPS:
            self._send_round(self.focused or self.screen, event.lap + 1)
            return
        self._is_under_way = False
        await self._go_on()

    async def _go_on(self) -> None:
        self._is_asking = False
        while self._waiting and self._may_go_on():
            await self._let_in(self._waiting.popleft())
        if self._waiting:
            self._ask_again()

    def _ask_again(self) -> None:
        if not self._is_asking:
            self._is_asking = True
            self.set_timer(ASK_AGAIN, self._go_on)

    def _may_go_on(self) -> bool:
        """Return whether the next key may be let in: none is under way, and no form opens or waits for the disk."""
        screen = self.screen
        if getattr(screen, "is_saving", False):
            return False
        if monotonic() - self._let_in_at > PATIENCE:
            return True
        # Without the focus of the window no field has the cursor, however long the form has been there.
        is_opening = self.app_focus and isinstance(screen, ModalScreen) and screen.focused is None
        return not is_opening and not (self._is_under_way and self._let_in_on in self.screen_stack)
