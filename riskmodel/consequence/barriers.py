"""Pumps, alarms, blowers and ducts: hidden parts that stop an end state if they still work when called on."""

from __future__ import annotations

from riskmodel.trade import Barrier, Trade


def barrier_needs(trade: Trade) -> frozenset[str]:
    """Item classes that some barrier needs: their own failure costs nothing, their absence everything."""
    return frozenset(name for barrier in trade.barriers for name in barrier.needs)


def barriers_against(end_state: str, trade: Trade) -> tuple[Barrier, ...]:
    """The barriers that stand against an end state, in the table's order: the first and the second."""
    return tuple(barrier for barrier in trade.barriers if barrier.end_state == end_state)
