"""What happens at a lip: water that comes to a full tank runs over, into another or away (R9)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tankdash.water.model import Tank

__all__ = ["Lips", "landed"]


class Lips:
    """The lips of a layout's tanks, which are known here by their numbers.

    Examples
    --------
    >>> from tankdash.water.shapes import Straight
    >>> high = Tank("high", Straight(1.0, 1.0), brim=1.0, overflow=0.5, overflow_to="low")
    >>> lips = Lips([high, Tank("low", Straight(1.0, 1.0), brim=1.0)])
    >>> held = [1.25, 0.5]
    >>> lips.spill(held), held
    ([0.0, 0.25], [0.5, 1.0])
    """

    def __init__(self, tanks: Sequence[Tank]) -> None:
        number = {tank.id: place for place, tank in enumerate(tanks)}
        self.volumes = [tank.lip_volume for tank in tanks]
        """Water each holds at its lip, [m3]."""
        self.leads_to = [number.get(tank.overflow_to or "") for tank in tanks]
        """Number of the tank its overflow feeds; None when it runs away."""

    def running(self, volumes: Sequence[float], net: Sequence[float]) -> dict[int, int]:
        """Return the tanks at their lip that get more than the links take, each with the tank that water comes to.

        Parameters
        ----------
        volumes : sequence of float
            What each tank holds, [m3].
        net : sequence of float
            What comes to each tank before anything runs over, [m3/s].

        Returns
        -------
        dict of int to int
            By tank; itself where the water runs away over its lip, as it does from a full ring of overflows.
        """
        at_lip = [
            tank
            for tank, (volume, lip) in enumerate(zip(volumes, self.volumes, strict=True))
            if volume >= lip * (1.0 - 1e-12)
        ]
        over: set[int] = set()
        lands: dict[int, int] = {}
        come = list(net)
        while at_lip:
            more = [tank for tank in at_lip if come[tank] > 0.0 and tank not in over]
            if not more:
                break
            over.update(more)
            lands = {tank: self._lands(tank, over) for tank in over}
            come = landed(net, lands)
        return lands

    def _lands(self, tank: int, over: set[int]) -> int:
        """Return the tank that water running over a lip comes to; the last it leaves when it runs away."""
        here, passed = tank, {tank}
        while here in over:
            below = self.leads_to[here]
            if below is None:
                return here
            if below in passed:
                return tank
            passed.add(below)
            here = below
        return here

    def spill(self, volumes: list[float]) -> list[float]:
        """Take what stands above each lip out of `volumes`, pass it on where it is led, return what ran away, [m3].

        What a full ring of overflows would lead back to where it came from has run away over that lip.
        """
        lost = [0.0] * len(volumes)
        for tank, lip in enumerate(self.volumes):
            excess = volumes[tank] - lip
            if excess <= 0.0:
                continue
            volumes[tank] = lip
            here, passed = tank, {tank}
            while excess > 0.0:
                below = self.leads_to[here]
                if below is None or below in passed:
                    lost[here if below is None else tank] += excess
                    break
                taken = min(excess, max(0.0, self.volumes[below] - volumes[below]))
                volumes[below] += taken
                excess -= taken
                passed.add(below)
                here = below
        return lost


def landed(net: Sequence[float], lands: Mapping[int, int]) -> list[float]:
    """Return what comes to each tank, [m3/s], once what runs over has come to where it is led."""
    come = list(net)
    for tank, below in lands.items():
        if below != tank:
            come[below] += net[tank]
            come[tank] -= net[tank]
    return come
