"""How long until linked tanks stand level (R12), by following the flow through every link."""

from __future__ import annotations

from collections.abc import Sequence

from tankdash.water.currents import Currents
from tankdash.water.errors import OutOfRange, named
from tankdash.water.model import Contents, Layout
from tankdash.water.steps import March

LONGEST_WAIT = 100 * 86400.0
"""After this a bank is not said to settle at all, [s]."""


def time_to_settle(
    layout: Layout, contents: Contents, accuracy: float = 0.005, *, primed_if_unknown: bool = False
) -> float | None:
    """Return how long the links need until the spread of every pool is below the stick's accuracy (R12).

    Follows the flow through every link and header over the real shapes and sills, without rain or use. What
    rises above a lip meanwhile is spilled.

    Parameters
    ----------
    layout : Layout
        What stands there.
    contents : mapping of str to float
        Water in each tank; one not named is taken as empty, 0 <= volume <= capacity, [m3].
    accuracy : float, optional
        Of a dip, > 0, [m].
    primed_if_unknown : bool, optional
        Whether a crest nobody has looked at lets water over (R5).

    Returns
    -------
    float or None
        Time, 0 when they stand level already, [s]. None when a link that matters was never measured, or when
        it would take longer than a hundred days.

    Raises
    ------
    OutOfRange
        If `accuracy` is not above 0 or `contents` names a tank that is not there.

    Examples
    --------
    >>> from tankdash.water.model import Link, Tank
    >>> from tankdash.water.shapes import Straight
    >>> totes = {name: Tank(name, Straight(1.0, 1.0), brim=1.0) for name in ("one", "two")}
    >>> hose = Link("hose", ("one", "two"), (0.05, 0.05), bore=0.013, run=2.0)
    >>> hours = time_to_settle(Layout(totes, {"hose": hose}), {"one": 0.8, "two": 0.2}) / 3600
    >>> round(hours, 1)
    0.9
    """
    if not accuracy > 0.0:
        raise OutOfRange(f"the accuracy of a dip must be above 0, not {accuracy:g} m")
    for name in contents:
        named(name, layout.tanks, "tank")
    currents = Currents(layout, primed_if_unknown=primed_if_unknown, least_head=0.01 * accuracy)
    volumes = [contents.get(name, 0.0) for name in currents.ids]
    currents.over.spill(volumes)

    def is_level(now: Sequence[float]) -> bool:
        return currents.spread(currents.surfaces(now)) <= accuracy

    if is_level(volumes):
        return 0.0
    march = March(currents, volumes, accuracy=0.01 * accuracy, longest=LONGEST_WAIT / 100.0)
    while march.time < LONGEST_WAIT:
        if currents.is_hidden(currents.surfaces(march.volumes), accuracy):
            return None
        stride = march.stride(LONGEST_WAIT)
        if is_level(march.volumes):
            return stride.start + stride.length * stride.last_share_before(is_level)
    return None
