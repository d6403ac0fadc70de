"""The first frame: the tanks alone, before chores, timeline and log have been worked out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankdash.tui.state import Glance, GlanceLevels, GlanceSite, GlanceStanding

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from tankdash.drawing.scene import Scene
    from tankdash.keeping.state.levels import Levels
    from tankdash.site.model import Site
    from tankdash.water.model import Layout


def glance_of(site: Site, levels: Levels, now: datetime) -> Glance:
    """Return what the first frame shows of these levels."""
    standing = levels.standing
    return Glance(
        site=GlanceSite(site.name, site.units, site.zone),
        now=now,
        levels=GlanceLevels(
            levels.basis, levels.totals, levels.warnings, GlanceStanding(dict(standing.read_at))
        ),
        scene=scene_for(site, standing.layout, levels),
    )


def scene_for(site: Site, layout: Layout, levels: Levels, ghost: Mapping[str, float] | None = None) -> Scene:
    """Return the scene of these levels.

    Parameters
    ----------
    site : Site
        Names things and gives units.
    layout : Layout
        What stands there.
    levels : Levels
        What is in it.
    ghost : mapping, optional
        Surfaces of before, drawn as ghosts, [m].
    """
    from tankdash.drawing.stage import scene_from

    labels = {key: tank.label for key, tank in site.tanks.items()}
    labels |= {key: outlet.label for key, outlet in site.outlets.items() if key not in labels}
    return scene_from(
        layout, levels.as_json(), units=site.units, labels=labels, ghost=ghost, accuracy=site.accuracy
    )
