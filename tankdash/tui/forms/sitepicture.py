"""A garden drawn as it is described, every tank full: what the guided setup and the changing of a garden show."""

from __future__ import annotations

from datetime import date

from tankdash.drawing.canvas import Row
from tankdash.drawing.scene import Scene
from tankdash.drawing.sideview import side_view
from tankdash.drawing.stage import scene_from
from tankdash.site.model import Site
from tankdash.tui.widgets.picture import Picture
from tankdash.water.holding import full


class SitePicture(Picture):
    """The tanks as described so far, full."""

    def __init__(self, *, ascii_only: bool) -> None:
        super().__init__(classes="form-picture")
        self.ascii_only = ascii_only
        """Whether it keeps to ASCII."""
        self.scene: Scene | None = None
        """What to draw; None until the answers fit."""
        self.first = 0
        """First tank shown when not all fit."""

    def draw(self, width: int, height: int) -> list[Row]:
        """Return the picture."""
        if self.scene is None or width <= 0 or height <= 0:
            return []
        rows = side_view(self.scene, width, height, ascii=self.ascii_only)
        if self.first and any(" more" in span.text for row in rows for span in row):
            rows = side_view(self.scene, width, height, ascii=self.ascii_only, first=self.first)
        return rows


def drawn_full(site: Site, day: date) -> tuple[Scene, float]:
    """Return the scene of a garden with every tank full, and what it then holds, [m3].

    Parameters
    ----------
    site : Site
        The garden.
    day : date
        What stands then is drawn.
    """
    layout = site.layout(day)
    held = full(layout)
    figures = {
        key: {"volume_l": litres, "low_l": litres, "high_l": litres, "state": "full"}
        for key, litres in ((key, held[key] * 1000) for key in layout.tanks)
    }
    labels = {key: tank.label for key, tank in site.tanks.items()}
    labels |= {key: outlet.label for key, outlet in site.outlets.items() if key not in labels}
    scene = scene_from(layout, {"tanks": figures}, units=site.units, labels=labels)
    return scene, sum(held.values())
