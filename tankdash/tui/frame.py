"""An app in the project's colours and sizes, with nothing in it yet."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import ClassVar

from textual import events
from textual.actions import ActionParseResult
from textual.app import App
from textual.dom import DOMNode
from textual.worker import WorkerFailed

from tankdash.drawing.cells import printable
from tankdash.tui.themes import DARK, LIGHT, SIXTEEN, THEMES, draws_ascii, usual_theme
from tankdash.tui.trouble import sentence_of, speakable
from tankdash.tui.widgets.picture import ROLES

STDIN = 0
"""Where keys come from."""
LONGEST_PASTE = 10_000
"""Characters taken of what is pasted: as long as a note can be."""


class FramedApp(App[int]):
    """Themes, style sheet and breakpoints."""

    CSS_PATH = Path(__file__).with_name("tankdash.tcss")
    COMPONENT_CLASSES: ClassVar[set[str]] = {f"picture--{role}" for role in ROLES}
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012
        (0, "-narrow"),
        (60, "-snug"),
        (80, "-wide"),
        (120, "-roomy"),
    ]
    VERTICAL_BREAKPOINTS = [  # noqa: RUF012
        (0, "-low"),
        (18, "-middle"),
        (30, "-tall"),
    ]

    def __init__(self, *, theme: str | None = None, ascii_only: bool | None = None) -> None:
        chosen = theme or usual_theme()
        # Said at once, because what NO_COLOR does is settled before a theme can be registered.
        super().__init__(ansi_color=True if chosen == SIXTEEN.name else None)
        for known in THEMES:
            self.register_theme(known)
        if self.get_theme(chosen) in (DARK, SIXTEEN):
            # Taken up before the style sheet is read; a theme that is set later has it read a second time.
            self.set_reactive(App.theme, chosen)
            self.stylesheet.set_variables(self.get_css_variables())
        else:
            self.theme = chosen
        self.ascii_only = draws_ascii() if ascii_only is None else ascii_only
        """Whether pictures keep to ASCII."""
        self._has_terminal = os.isatty(STDIN)

    def has_lost_terminal(self) -> bool:
        """Return whether the terminal it was started in is gone."""
        return self._has_terminal and not os.isatty(STDIN)

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Return the roles' colours, so that a theme from elsewhere has them too."""
        return dict(DARK.variables)

    async def on_event(self, event: events.Event) -> None:
        """Make what is pasted one line of plain text before any field, also the palette's, sees it."""
        if isinstance(event, events.Paste):
            event.text = printable(" ".join(event.text[:LONGEST_PASTE].split()))
        await super().on_event(event)

    async def run_action(
        self,
        action: str | ActionParseResult,
        default_namespace: DOMNode | None = None,
        namespaces: Mapping[str, DOMNode] | None = None,
    ) -> bool:
        """Run what a key asks for; trouble with a file is told, and the screen goes on."""
        try:
            return await super().run_action(action, default_namespace, namespaces)
        except speakable() as trouble:
            self.tell_trouble(sentence_of(trouble))
            return True

    def _handle_exception(self, error: Exception) -> None:
        """Tell of trouble with a file that a worker met, and go on; anything else is a fault of the program."""
        cause = error.error if isinstance(error, WorkerFailed) else None
        if isinstance(cause, speakable()):
            self.tell_trouble(sentence_of(cause))
        else:
            super()._handle_exception(error)

    def tell_trouble(self, sentence: str) -> None:
        """Tell of trouble; an app with notices overrides this."""

    def hush(self) -> None:
        """Take a notice away that has been read; an app with notices overrides this."""

    def action_light(self) -> None:
        """Change between light and dark."""
        if self.no_color:
            return
        self.ansi_color = None
        self.theme = LIGHT.name if self.theme != LIGHT.name else DARK.name
