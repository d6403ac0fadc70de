"""The first frame: the tanks alone, before chores, timeline and log have been worked out.

They are kept from one start to the next, for the bytes of both files they were worked out from.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, NamedTuple

from tankdash.journal.place import waiting_file
from tankdash.kept import digest_of, digest_of_file, keep, take
from tankdash.tui.state import Glance, GlanceLevels, GlanceSite, GlanceStanding

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path

    from tankdash.drawing.scene import Scene
    from tankdash.keeping.state.levels import Levels
    from tankdash.site.model import Site
    from tankdash.water.model import Layout


def kept_glance(site_path: Path, journal_path: Path, now: datetime) -> Glance | None:
    """Return the tanks at `now` if they were kept for these very files and nothing was to change since; else None.

    Parameters
    ----------
    site_path, journal_path : Path
        The files. Each byte of both is looked at.
    now : datetime
        The present.
    """
    waiting = waiting_file(journal_path)
    site_read, journal_read = digest_of_file(site_path), digest_of_file(journal_path)
    if site_read is None or journal_read is None or (waiting.exists() and waiting.stat().st_size):
        return None
    known = take(_name(site_path, journal_path), digest_of(site_read, journal_read))
    if not isinstance(known, _Kept):
        return None
    glance, until = known
    if now < glance.now or (until is not None and now >= until):
        return None
    return glance._replace(now=now.astimezone(glance.site.zone))


def keep_glance(
    site_path: Path,
    journal_path: Path,
    read: tuple[bytes, bytes],
    glance: Glance,
    until: datetime | None,
) -> None:
    """Keep the tanks for the next start.

    Parameters
    ----------
    site_path, journal_path : Path
        The files.
    read : tuple of bytes
        What stands for the bytes of each, as they were read.
    glance : Glance
        The tanks as these bytes have them.
    until : datetime or None
        When they may change by themselves; None when nothing is known to come.
    """
    if until is None or until > glance.now:
        keep(_name(site_path, journal_path), digest_of(*read), _Kept(glance, until))


class _Kept(NamedTuple):
    """The tanks and how long they stay so."""

    glance: Glance
    until: datetime | None


def _name(site_path: Path, journal_path: Path) -> str:
    places = (os.fsencode(path.absolute()) for path in (site_path, journal_path))
    return f"tanks-{digest_of(*places).hex()[:32]}"


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
    for others in (site.outlets, site.links):
        labels |= {key: placed.label for key, placed in others.items() if key not in labels}
    return scene_from(
        layout, levels.as_json(), units=site.units, labels=labels, ghost=ghost, accuracy=site.accuracy
    )
