"""How a vessel's circumstances raise or lower the chance of an end state."""

from __future__ import annotations

from collections.abc import Mapping

from riskmodel.errors import ParameterError
from riskmodel.trade.conditions import condition_met
from riskmodel.trade.records import Trade


def circumstance_factor(trade: Trade, end_state: str, vessel: Mapping[str, object]) -> tuple[float, float]:
    """Factor on a path's probability, low and high: the product over the circumstances that a vessel meets.

    A circumstance that is missing or blank in ``vessel`` counts as the reference (1). The product may take a
    probability over 1: whoever multiplies holds it there.

    Raises ParameterError for an unknown end state, or a word where a number belongs.
    """
    if end_state not in trade.end_states:
        raise ParameterError(f"end_state must be one of {', '.join(trade.end_states)}, got {end_state!r}")
    low = high = 1.0
    for row in trade.circumstances:
        if row.end_state == end_state and condition_met(row, vessel.get(row.column)):
            low *= row.factor_low
            high *= row.factor_high
    return low, high
