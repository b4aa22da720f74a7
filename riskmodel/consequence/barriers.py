"""Pumps, alarms, blowers and ducts: hidden parts that stop an end state if they still work when called on."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.trade import Barrier, Trade


def barrier_needs(trade: Trade) -> frozenset[str]:
    """Item classes that some barrier needs: their own failure costs nothing, their absence everything."""
    return frozenset(name for barrier in trade.barriers for name in barrier.needs)


def stopping(barrier: Barrier, stops: FloatArray, working: Mapping[str, FloatArray]) -> FloatArray:
    """Share of the end state that still happens: 1 - stops x chance that everything the barrier needs works.

    ``stops`` broadcasts against each array of ``working``; a class not in ``working`` is not fitted and stops nothing.
    """
    if any(name not in working for name in barrier.needs):
        return np.ones(np.shape(stops))
    chances = [working[name] for name in barrier.needs]
    left: FloatArray = 1.0 - stops * np.prod(np.stack(np.broadcast_arrays(*chances)), axis=0)
    return left
