"""How likely a life thought single rows to be, averaged over its doubt: what scores are made of."""

from __future__ import annotations

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.life.life import Life
from riskmodel.life.weibull import added_hazard

# Rows by nodes at a time, to keep memory flat.
CHUNK = 1024


def log_likelihoods(life: Life, lower: FloatArray, upper: FloatArray, entry: FloatArray) -> FloatArray:
    """Log of each row's posterior mean likelihood (n,), given that the part was whole at ``entry``.

    Ages as in LifeRows, in the unit of the life: a density an age unit for an exact age, a chance for an interval or a
    survivor. The posterior is not updated on a part's survival to its entry, as for any prediction.
    """
    values = np.empty(len(lower))
    for start in range(0, len(lower), CHUNK):
        part = slice(start, start + CHUNK)
        first = np.maximum(lower[part], entry[part])
        by_node = _by_node(life, first[:, None], upper[part, None], entry[part, None])
        highest = by_node.max(axis=1, keepdims=True)
        safe = np.where(np.isfinite(highest), highest, 0.0)
        with np.errstate(divide="ignore"):
            values[part] = np.log(np.exp(by_node - safe) @ life.nodes.weight) + safe[:, 0]
    return values


def _by_node(life: Life, lower: FloatArray, upper: FloatArray, entry: FloatArray) -> FloatArray:
    """Log-likelihood of each row at each node (n, m)."""
    log_shape, log_scale = life.nodes.log_shape, life.nodes.log_scale
    shape = np.exp(log_shape)
    whole = -added_hazard(entry, lower - entry, shape, log_scale)
    exact, right = lower == upper, np.isinf(upper)
    width = np.where(exact | right, 1.0, upper - lower)
    gap = np.maximum(added_hazard(lower, width, shape, log_scale), np.finfo(float).tiny)
    log_lower = np.log(np.where(exact, lower, 1.0))
    log_rate = log_shape - log_scale + (shape - 1.0) * (log_lower - log_scale)
    ended: FloatArray = np.where(exact, log_rate, np.where(right, 0.0, np.log(-np.expm1(-gap))))
    return whole + ended
