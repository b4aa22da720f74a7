"""Scalar factors of mean one that all chances of a book share: a hard winter, a lot, how well boats are kept."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError
from riskmodel.exposure.nodes import node_weights

# Nodes of a log-normal factor where nobody counts them; an even grid of normal scores out to ``WIDEST``.
NODES = 64
# Beyond it lies a chance of 6e-13.
WIDEST = 7.2
# More nodes than this take seconds; the curve then keeps a lump or two, and says so.
MOST_NODES = 4096


@dataclass(frozen=True, eq=False)
class Factor:
    """Values (z,) of a factor of mean one, and their weights (z,)."""

    value: FloatArray
    weight: FloatArray


def factor(value: npt.ArrayLike, weight: npt.ArrayLike) -> Factor:
    """A factor with these nodes. Raises ParameterError unless its mean is 1 and its weights add to 1."""
    values, weights = np.atleast_1d(not_negative("factor", value)), node_weights(weight)
    if values.shape != weights.shape:
        raise ParameterError(f"factor and weight must have one shape, got {values.shape} and {weights.shape}")
    mean = float(values @ weights)
    if abs(mean - 1.0) > 1e-9:
        raise ParameterError(f"a shared factor must have mean 1, got {mean:.10g}: divide it by its mean")
    return Factor(values / mean, weights)


def lognormal_factor(sd: float, count: int = NODES) -> Factor:
    """A log-normal factor of standard deviation ``sd`` on an even grid of normal scores.

    For a smooth density the even grid converges faster than any power of its spacing, and unlike Gauss-Hermite
    nodes its nodes are as close in the tail as in the middle. Raises ParameterError for an ``sd`` below 0.
    """
    spread = float(np.sqrt(np.log1p(not_negative("sd", sd) ** 2)))
    if spread == 0 or count == 1:
        return Factor(np.ones(1), np.ones(1))
    score = np.linspace(-WIDEST, WIDEST, count)
    weight = np.exp(-0.5 * score**2)
    weight /= weight.sum()
    value = np.exp(spread * score)
    return Factor(value / (value @ weight), weight)


def enough_nodes(sd: float, mean: float, process_sd: float) -> int:
    """Nodes of a log-normal factor so that no gap is wider than a year's deviation (smoothing); at most ``MOST_NODES``.

    ``mean`` and ``process_sd`` [currency]: of the book where the factor is 1. A gap at factor s is s mean times
    the spacing of logarithms, a year's deviation there sqrt(s) process_sd: their ratio is widest at the largest
    s that matters.
    """
    if not process_sd > 0:
        return NODES
    spread = float(np.sqrt(np.log1p(sd**2)))
    # Nodes above the score 6 weigh less than anything that shows (smoothing.WEIGHTLESS).
    root = np.exp(0.5 * (6.0 * spread - 0.5 * spread**2))
    needed = int(np.ceil(2.0 * WIDEST * spread * mean * root / process_sd)) + 1
    return min(max(needed, NODES), MOST_NODES)
