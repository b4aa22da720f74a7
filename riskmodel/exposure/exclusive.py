"""End states that exclude each other: a boat that sank does not burn as well."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from riskmodel.arrays import FloatArray

# A certain end state has an endless hazard: this large a one leaves the others next to nothing.
CERTAIN = 1.0 - 1e-12


def competing(chance: FloatArray, total: Sequence[int]) -> FloatArray:
    """Chances (n, K, D) of which those in ``total`` exclude each other: shares of the chance of any, by hazard.

    A boat has one total loss a year: any comes with 1 - prod(1 - p), as hazards that run side by side do.
    """
    held = np.minimum(chance, 1.0)
    if not total:
        return held
    hazard = np.log1p(-np.minimum(held[:, total], CERTAIN))
    summed = hazard.sum(axis=1, keepdims=True)
    held[:, total] = hazard * np.divide(
        -np.expm1(summed), summed, out=np.zeros_like(summed), where=summed < 0
    )
    return held
