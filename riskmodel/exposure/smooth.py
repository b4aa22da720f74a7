"""Between the points of a lattice, for continuous losses: each point's mass spread evenly over the step about it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, fraction
from riskmodel.exposure.distribution import LossDistribution


def smooth_cdf(distribution: LossDistribution, x: npt.ArrayLike) -> FloatArray:
    """P(total <= x) for x [currency] above the first step; its error falls with the square of the step.

    For totals of continuous losses only: it would spread the atoms of others.
    """
    ends, upto = _ends(distribution)
    found: FloatArray = np.interp(np.asarray(x, dtype=float), ends, upto)
    return found[()]


def smooth_quantile(distribution: LossDistribution, probability: npt.ArrayLike) -> FloatArray:
    """Its inverse [currency]; within the atom of years without a loss, 0."""
    ends, upto = _ends(distribution)
    found: FloatArray = np.interp(fraction("probability", probability), upto, ends)
    return found[()]


def _ends(distribution: LossDistribution) -> tuple[FloatArray, FloatArray]:
    """Upper ends of the steps about each point, and the chance up to each; what stands at 0 is not spread below it."""
    half = 0.5 * distribution.step
    upto = np.minimum(np.cumsum(distribution.pmf), 1.0)
    ends = distribution.losses + half
    first = max(distribution.start - half, 0.0)
    at_first = upto[0] if distribution.start == 0 else 0.0
    return np.concatenate([[first], ends]), np.concatenate([[at_first], upto])
