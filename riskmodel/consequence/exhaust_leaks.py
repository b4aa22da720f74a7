"""The ways in which an exhaust part leaks gas, drawn in every scenario."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.consequence.quantities import leak_draws, mode_shares
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade


@dataclass(frozen=True)
class ExhaustMode:
    """One way of leaking, each field (S,): see ``ExhaustLeak`` in the trade's tables."""

    share: FloatArray
    gas: FloatArray
    inside: FloatArray
    minutes: FloatArray
    occasions: FloatArray


def exhaust_modes(item_class: str, trade: Trade, cube: Hypercube) -> tuple[ExhaustMode, ...]:
    """The ways in which a class leaks exhaust gas; their shares add to 1 in every scenario."""
    rows = [leak for leak in trade.exhaust_leaks if leak.item_class == item_class]
    shares = mode_shares("exhaust_leaks", rows, cube)
    return tuple(
        ExhaustMode(
            share,
            np.minimum(leak_draws("exhaust_leaks", row, "gas", cube), 1.0),
            np.minimum(leak_draws("exhaust_leaks", row, "inside", cube), 1.0),
            leak_draws("exhaust_leaks", row, "minutes", cube),
            leak_draws("exhaust_leaks", row, "occasions", cube),
        )
        for row, share in zip(rows, shares, strict=True)
    )
