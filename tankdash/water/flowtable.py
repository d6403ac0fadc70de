"""The flow of one pipe under any head, read from a table that fills itself (R12).

Following water through time asks the same few pipes a million times; solving the friction law anew each time would
take most of a minute where a table takes a second.
"""

from __future__ import annotations

from functools import lru_cache
from math import exp, floor, log

from tankdash.water.friction import Pipe

__all__ = ["Drive", "FlowTable", "table_of"]

STEP = 0.02
"""Between two entries, in the logarithm of the head: fine enough for five digits through the laminar-turbulent bend."""

TINY = 1e-12
"""Below this head the flow is taken as proportional to it, [m]."""


class FlowTable:
    """Flows of a pipe, worked out where they are first asked for and interpolated between.

    Examples
    --------
    >>> pipe = Pipe(bore=0.05, run=0.6, losses=2.5)
    >>> table = FlowTable(pipe)
    >>> round(table.flow(0.03), 6), round(pipe.flow(0.03), 6)
    (0.000899, 0.000899)
    """

    def __init__(self, pipe: Pipe) -> None:
        self.pipe = pipe
        self._logs: dict[int, float] = {}
        """Logarithm of the flow, by the number of the step in the logarithm of the head."""

    def flow(self, head: float) -> float:
        """Return the flow that `head` drives through the pipe, to about five digits.

        Parameters
        ----------
        head : float
            Any finite difference of surfaces, [m].

        Returns
        -------
        float
            Flow of the same sign, [m3/s].
        """
        return self.flow_and_slope(head)[0]

    def flow_and_slope(self, head: float) -> tuple[float, float]:
        """Return the flow that `head` drives, [m3/s], and how fast it grows with the head, [m2/s]."""
        size = abs(head)
        if size < TINY:
            slope = self.pipe.flow(TINY) / TINY
            return slope * head, slope
        place = log(size) / STEP
        node = floor(place)
        logs = self._logs
        try:
            a, b, c, d = logs[node - 1], logs[node], logs[node + 1], logs[node + 2]
        except KeyError:
            a, b, c, d = (self._log_at(number) for number in range(node - 1, node + 3))
        # The cubic through the four entries around it.
        x = place - node
        first, second, third = c - a, 2.0 * a - 5.0 * b + 4.0 * c - d, 3.0 * (b - c) + d - a
        flow = exp(b + 0.5 * x * (first + x * (second + x * third)))
        slope = flow / size * (0.5 * first + x * (second + 1.5 * x * third)) / STEP
        return (flow if head > 0.0 else -flow), slope

    def _log_at(self, number: int) -> float:
        known = self._logs.get(number)
        if known is None:
            known = self._logs[number] = log(self.pipe.flow(exp(number * STEP)))
        return known


class Drive:
    """What the difference of two surfaces drives through a pipe; heads below a least one proportionally less.

    The law of turbulent flow is infinitely steep where nothing flows; no garden is that still.

    Examples
    --------
    >>> drive = Drive(Pipe(bore=0.05, run=0.6, losses=2.5), least_head=0.001)
    >>> flow, slope = drive.flow_and_slope(0.0005)
    >>> flow == 0.0005 * slope
    True
    """

    def __init__(self, pipe: Pipe, least_head: float) -> None:
        self._table = table_of(pipe)
        self.least_head = least_head
        """Below it the flow is proportional to the head, > 0, [m]."""
        self._gentle = self._table.flow(least_head) / least_head

    def flow_and_slope(self, head: float) -> tuple[float, float]:
        """Return the flow under a head of either sign, [m3/s], and how fast it grows with the head, [m2/s]."""
        if -self.least_head < head < self.least_head:
            return head * self._gentle, self._gentle
        return self._table.flow_and_slope(head)


@lru_cache(maxsize=256)
def table_of(pipe: Pipe) -> FlowTable:
    """Return the table of a pipe, shared by all pipes like it."""
    return FlowTable(pipe)
