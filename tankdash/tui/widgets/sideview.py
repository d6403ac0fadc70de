"""The side view on the screen: the drawing floor's picture, for the state and the size at hand."""

from __future__ import annotations

from textual import events
from textual.reactive import reactive

from tankdash.drawing.canvas import Row
from tankdash.drawing.scene import Scene
from tankdash.drawing.sideview import first_shown, side_view
from tankdash.glance import Glance, scene_for
from tankdash.tui.actions import action_named
from tankdash.tui.state import Seen, Shown
from tankdash.tui.widgets.picture import Picture


def scene_of(shown: Seen, before: Shown | None = None) -> Scene:
    """Return the scene of a state.

    Parameters
    ----------
    shown : Shown or Glance
        What to draw.
    before : Shown, optional
        What stood there before; its surfaces are drawn as ghosts.
    """
    if isinstance(shown, Glance):
        return shown.scene
    ghost = None
    if before is not None:
        ghost = {
            key: tank.surface_m for key, tank in before.levels.tanks.items() if tank.surface_m is not None
        }
    return scene_for(shown.site, shown.layout, shown.levels, ghost)


def tank_keys() -> tuple[str, str]:
    """Return the keys that show tanks further left and further right."""
    return action_named("tanks-before").key_shown, action_named("tanks-after").key_shown


class SideView(Picture):
    """All tanks on one height scale."""

    shown: reactive[Seen | None] = reactive(None, init=False)
    """The state."""
    before: reactive[Shown | None] = reactive(None, init=False)
    """An earlier state, for the ghost lines."""

    def __init__(
        self,
        *,
        ascii_only: bool,
        ink: bool,
        keys: tuple[str, str] = ("", ""),
        id: str | None = None,
        classes: str | None = None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self.ascii_only = ascii_only
        """Whether it keeps to ASCII."""
        self.ink = ink
        """Whether water is drawn with signs too."""
        self.keys = keys
        """Keys that show tanks further left and right, to be told where not all fit."""
        self.first = 0
        """First tank shown when not all fit."""

    def watch_shown(self) -> None:
        """Draw again."""
        self.redraw()

    def watch_before(self) -> None:
        """Draw again."""
        self.redraw()

    def imagine(self, shown: Shown, before: Shown | None) -> None:
        """Show a state over the surfaces of an earlier one, drawn once for both."""
        self.set_reactive(SideView.before, before)
        self.set_reactive(SideView.shown, shown)
        self.redraw()

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the picture."""
        if self.shown is None or width <= 0 or height <= 0:
            return []
        scene = scene_of(self.shown, self.before)
        return side_view(
            scene, width, height, ascii=self.ascii_only, first=self.first, ink=self.ink, keys=self.keys
        )

    def scroll_tanks(self, step: int) -> None:
        """Show tanks further left or right."""
        if self.shown is not None and self.size.width > 0:
            scene, (width, height) = scene_of(self.shown), self.size
            self.first = first_shown(scene, width, height, max(0, self.first + step), self.ascii_only)
            self.redraw()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Move right."""
        self.scroll_tanks(1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Move left."""
        self.scroll_tanks(-1)
