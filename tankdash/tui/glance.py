"""The first frame: the tanks alone, before chores, timeline and log have been worked out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankdash.tui.state import Glance, GlanceLevels, GlanceSite, GlanceStanding

if TYPE_CHECKING:
    from datetime import datetime

    from tankdash.keeping.state.levels import Levels
    from tankdash.site.model import Site


def glance_of(site: Site, levels: Levels, now: datetime) -> Glance:
    """Return what the first frame shows of these levels."""
    from tankdash.tui.widgets.sideview import scene_for

    standing = levels.standing
    return Glance(
        site=GlanceSite(site.name, site.units, site.zone),
        now=now,
        levels=GlanceLevels(
            levels.basis, levels.totals, levels.warnings, GlanceStanding(dict(standing.read_at))
        ),
        scene=scene_for(site, standing.layout, levels),
    )
