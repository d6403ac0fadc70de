"""What a pipe passes under a head, and the head a flow needs (R12): Darcy friction from laminar to turbulent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, isfinite, log, pi, sqrt

from tankdash.water.errors import OutOfRange, above_zero, not_negative
from tankdash.water.model import Link

GRAVITY = 9.80665
"""Standard gravity, [m/s2]."""

VISCOSITY = 1.138e-3 / 999.1
"""Kinematic viscosity of water at 15 C, [m2/s]: 1.138e-3 Pa s over 999.1 kg/m3 (Cengel and Cimbala, Ex. 8-3)."""

FITTINGS: Mapping[str, tuple[float, float]] = {
    "sharp entrance": (0.5, 0.5),
    "projecting entrance": (0.8, 1.0),
    "exit": (1.0, 1.0),
    "threaded elbow": (0.9, 1.5),
    "tee, straight through": (0.9, 0.9),
    "tee, into the branch": (2.0, 2.0),
    "ball valve, open": (0.05, 0.05),
    "gate valve, open": (0.15, 0.2),
}
"""Loss coefficients K of fittings, lowest and highest figure; handbooks differ by a third. A link's `losses` is the
sum over what the water passes, entrance and exit included."""

_LAMINAR = 1000.0
"""Reynolds number below which Churchill's formula is 64 / Re to twelve digits."""


def friction_factor(reynolds: float, roughness: float = 0.0) -> float:
    """Return the Darcy friction factor of a full round pipe, laminar to turbulent (R12).

    One smooth formula for all regimes, so that the head loss rises steadily with the flow; between Re 2000 and 4000
    no formula is better than the flow is steady.

    Parameters
    ----------
    reynolds : float
        Velocity times bore over kinematic viscosity, > 0, [-].
    roughness : float, optional
        Height of the wall's roughness over the bore, 0 for smooth pipe, [-].

    Returns
    -------
    float
        Darcy (not Fanning) friction factor, [-].

    Raises
    ------
    OutOfRange
        If `reynolds` is not a finite number above 0.

    References
    ----------
    S. W. Churchill, "Friction-factor equation spans all fluid-flow regimes", Chemical Engineering 84 (24), 1977,
    pp. 91-92.

    Examples
    --------
    >>> friction_factor(640.0)
    0.1
    >>> round(friction_factor(1e5), 4)
    0.0179
    """
    if above_zero(reynolds, "a Reynolds number") < _LAMINAR:
        return 64.0 / reynolds
    rough = (2.457 * log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * roughness))) ** 16
    between = (37530.0 / reynolds) ** 16
    return float(8.0 * ((8.0 / reynolds) ** 12 + (rough + between) ** -1.5) ** (1.0 / 12.0))


@dataclass(frozen=True)
class Pipe:
    """A full round pipe between two water bodies.

    Examples
    --------
    Half-inch hose, two metres of it, under 0.8 m of head:

    >>> hose = Pipe(bore=0.013, run=2.0, losses=1.5)
    >>> round(hose.flow(0.8) * 1000, 2)
    0.22
    >>> round(hose.head(hose.flow(0.8)), 9)
    0.8
    """

    bore: float
    """Inside diameter, > 0, [m]."""
    run: float = 0.0
    """Length, >= 0, [m]."""
    losses: float = 1.5
    """Sum of K, >= 0; above 0 where there is no run."""
    roughness: float = 0.0
    """Height of the wall's roughness, [m]."""
    viscosity: float = VISCOSITY
    """Kinematic, [m2/s]."""

    def __post_init__(self) -> None:
        above_zero(self.bore, "a bore", "m")
        not_negative(self.run, "a run", "m")
        not_negative(self.losses, "a sum of losses")
        if self.run == 0.0 and self.losses == 0.0:
            raise OutOfRange("a pipe with neither run nor losses would pass any flow: give its losses")

    @property
    def section(self) -> float:
        """Area inside, [m2]."""
        return pi / 4.0 * self.bore * self.bore

    def _resistance(self, velocity: float) -> float:
        """Return sum K + f L / D at a mean velocity above 0, [-]."""
        if self.run == 0.0:
            return self.losses
        reynolds = velocity * self.bore / self.viscosity
        return self.losses + friction_factor(reynolds, self.roughness / self.bore) * self.run / self.bore

    def head(self, flow: float) -> float:
        """Return the head that drives `flow` through the pipe.

        Parameters
        ----------
        flow : float
            Any finite flow, [m3/s].

        Returns
        -------
        float
            Head of the same sign, [m].

        Raises
        ------
        OutOfRange
            If `flow` is no finite number.
        """
        if not isfinite(flow):
            raise OutOfRange(f"a flow must be a finite number, not {flow:g}")
        velocity = abs(flow) / self.section
        if velocity * self.bore / self.viscosity < 1e-200:
            return 0.0
        head = self._resistance(velocity) * velocity * velocity / (2.0 * GRAVITY)
        return head if flow > 0.0 else -head

    def flow(self, head: float) -> float:
        """Return the flow that `head` drives through the pipe.

        Q = A sqrt(2 g dh / (sum K + f L / D)), with f at that very flow.

        Parameters
        ----------
        head : float
            Any finite difference of surfaces, [m].

        Returns
        -------
        float
            Flow of the same sign, [m3/s].

        Raises
        ------
        OutOfRange
            If `head` is no finite number.
        """
        if not isfinite(head):
            raise OutOfRange(f"a head must be a finite number, not {head:g}")
        drive = 2.0 * GRAVITY * abs(head)
        if drive < 1e-200:
            return 0.0
        flow = self._velocity(drive) * self.section
        return flow if head > 0.0 else -flow

    def _velocity(self, drive: float) -> float:
        """Return the velocity at which (sum K + f L / D) v^2 = `drive`, [m/s]."""
        if self.run == 0.0:
            return sqrt(drive / self.losses)
        # Laminar friction is the least there can be at a velocity, so its closed solution bounds the velocity from
        # above and is the answer where the flow is laminar.
        drag = 64.0 * self.viscosity * self.run / (self.bore * self.bore)
        fastest = 2.0 * drive / (drag + sqrt(drag * drag + 4.0 * self.losses * drive))
        if fastest * self.bore / self.viscosity < _LAMINAR:
            return fastest
        # Against logarithms the law is nearly a straight line of slope 2: secant steps, kept inside what is known.
        target = log(drive)
        low, high = -700.0, log(fastest)
        here, slope = high, 1.8
        miss = log(self._resistance(fastest)) + 2.0 * here - target
        for _ in range(80):
            if miss > 0.0:
                high = here
            else:
                low = here
            following = here - miss / slope
            if not low < following < high:
                following = max(0.5 * (low + high), high - 1.0)
            if abs(following - here) < 1e-13:
                break
            before, miss_before, here = here, miss, following
            miss = log(self._resistance(exp(here))) + 2.0 * here - target
            if miss == 0.0:
                break
            rise = (miss - miss_before) / (here - before)
            slope = rise if 0.2 < rise < 20.0 else 1.8
        return exp(here)


def pipe_of(link: Link) -> Pipe | None:
    """Return the pipe of a link, or of each leg of a header; None when its bore or run was never measured."""
    if link.bore is None or link.run is None:
        return None
    return Pipe(bore=link.bore, run=link.run, losses=link.losses)


def link_flow(link: Link, head: float) -> float | None:
    """Return what a link passes under a difference of surfaces, [m3/s]; None when its pipe is unknown (R12).

    Examples
    --------
    >>> link = Link("north-middle", ("north", "middle"), (0.08, 0.08), bore=0.05, run=0.6, losses=2.5)
    >>> round(link_flow(link, 0.03), 6)
    0.000899
    """
    pipe = pipe_of(link)
    return None if pipe is None else pipe.flow(head)


def head_for_flow(link: Link, flow: float) -> float | None:
    """Return the head across a link that carries `flow`, [m]; None when its pipe is unknown (R12)."""
    pipe = pipe_of(link)
    return None if pipe is None else pipe.head(flow)
