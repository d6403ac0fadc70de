"""Water that stands above a lip when the next thing happens: by then it has run off (R6)."""

from __future__ import annotations

from tankdash.water.filling import Poured, pour
from tankdash.water.model import Contents, Layout
from tankdash.water.pools import pools
from tankdash.water.sills import sills_from

ABOVE = 1e-9
"""Height that counts as above, [m]."""


def run_off(layout: Layout, contents: Contents) -> Poured:
    """Return what is left once every pool has fallen to its spill, and what went over the lips (R6, R9).

    A dip may show water above the lip while it still runs, and a tank taken off its block may stand so at once.

    Parameters
    ----------
    layout : Layout
        The garden as it stands.
    contents : mapping of str to float
        What each tank holds, [m3].

    Returns
    -------
    Poured
        Contents and spill; what an overflow leads into another tank is poured into that.
    """
    held = dict(contents)
    spilled: dict[str, float] = {}
    received: dict[str, float] = {}
    for pool in pools(layout, contents):
        if pool.surface <= pool.spill + ABOVE:
            continue
        over = 0.0
        sills = sills_from(layout, pool.spills_at)
        for key in pool.tanks:
            # What stands below a sill on the way to that lip stays where it is.
            kept = min(held[key], layout.tanks[key].volume_at(max(pool.spill, sills[key])))
            over += held[key] - kept
            held[key] = kept
        below = layout.tanks[pool.spills_at].overflow_to
        if below is not None and below in layout.tanks and below not in pool.tanks:
            received[below] = received.get(below, 0.0) + over
        else:
            spilled[pool.spills_at] = spilled.get(pool.spills_at, 0.0) + over
    if not received:
        return Poured(held, spilled)
    poured = pour(layout, held, received)
    for key, volume in poured.spilled.items():
        spilled[key] = spilled.get(key, 0.0) + volume
    return Poured(poured.contents, spilled)
