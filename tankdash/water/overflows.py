"""Overflows that lead back to where their own water comes from (R6, R9)."""

from __future__ import annotations

from tankdash.water.joining import Joined
from tankdash.water.sills import Network

__all__ = ["overflows_that_join"]


def overflows_that_join(network: Network) -> dict[int, int]:
    """Return the overflows that lead back, by links and overflows, to where their own water comes from.

    Banks are peeled off from either end of the chain of overflows, until only rings are left.

    Returns
    -------
    dict of int to int
        Tank node that overflows to tank node below.
    """
    leads = {
        node: network.node[tank.overflow_to]
        for node, tank in enumerate(network.tanks)
        if tank.overflow_to is not None and tank.overflow_to in network.node
    }
    if not leads:
        return {}
    sets = Joined(len(network.passages))
    for node, ways in enumerate(network.passages):
        for way in ways:
            sets.join(node, way.to)
    out: dict[int, set[int]] = {}
    into: dict[int, set[int]] = {}
    for node, below in leads.items():
        out.setdefault(sets.top(node), set()).add(node)
        into.setdefault(sets.top(below), set()).add(node)
    left = dict(leads)
    loose = [bank for bank in {*out, *into} if not out.get(bank) or not into.get(bank)]
    while loose:
        bank = loose.pop()
        for node in out.pop(bank, set()) | into.pop(bank, set()):
            if node not in left:
                continue
            above, under = sets.top(node), sets.top(left.pop(node))
            for other, side in ((above, out), (under, into)):
                if other in side:
                    side[other].discard(node)
                    if not side[other]:
                        loose.append(other)
    return left
