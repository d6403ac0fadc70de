"""The tanks at a glance: what the first frame shows, kept from one start to the next.

A start with both files as they were when the tanks were last worked out, by the screen or by a command that wrote to
the journal, opens neither: the tanks are taken up as they were kept, and only they.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, NamedTuple

from tankdash.journal.place import waiting_file
from tankdash.kept import digest_of, digest_of_file, keep, take

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from tankdash.drawing.scene import Scene
    from tankdash.keeping.desk import Desk
    from tankdash.keeping.state.figures import Caution, Totals
    from tankdash.keeping.state.levels import Levels
    from tankdash.keeping.state.standing import Basis
    from tankdash.site.model import Site
    from tankdash.units import Units
    from tankdash.water.model import Layout


class GlanceSite(NamedTuple):
    """What the first frame says of the site."""

    name: str
    units: Units
    zone: ZoneInfo


class GlanceStanding(NamedTuple):
    """How the water is known."""

    read_at: Mapping[str, datetime]
    """When each tank's level was last read."""


class GlanceLevels(NamedTuple):
    """What is in the tanks, in the figures that the words of the home page give."""

    basis: Basis
    totals: Totals
    warnings: tuple[Caution, ...]
    standing: GlanceStanding


class Glance(NamedTuple):
    """The tanks alone: all that the first frame shows, small enough to be kept from one start to the next.

    Its names are those of the screen's `Shown`, so that the words and the picture need not know which of the two
    they are given.
    """

    site: GlanceSite
    now: datetime
    levels: GlanceLevels
    scene: Scene
    """The picture."""


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


def keep_glance(desk: Desk, levels: Levels, stamp: int) -> bool:
    """Keep the tanks for the next start; return whether they are what both files tell now.

    Parameters
    ----------
    desk : Desk
        The garden.
    levels : Levels
        The tanks as they were worked out last.
    stamp : int
        That of the journal when they were.
    """
    site = desk.site
    if site.path is None or site.fingerprint is None:
        return False
    journal_read = desk.journal.fingerprint()
    if journal_read is None or desk.journal.stamp() != stamp:
        return False
    until = desk.steady_until(levels.standing)
    if until is None or until > levels.at:
        place = _name(site.path, desk.journal.path)
        keep(place, digest_of(site.fingerprint, journal_read), _Kept(glance_of(site, levels), until))
    return True


class _Kept(NamedTuple):
    """The tanks and how long they stay so."""

    glance: Glance
    until: datetime | None


def _name(site_path: Path, journal_path: Path) -> str:
    places = (os.fsencode(path.absolute()) for path in (site_path, journal_path))
    return f"tanks-{digest_of(*places).hex()[:32]}"


def glance_of(site: Site, levels: Levels) -> Glance:
    """Return what the first frame shows of these levels."""
    standing = levels.standing
    return Glance(
        site=GlanceSite(site.name, site.units, site.zone),
        now=levels.at,
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
