"""Whether somebody comes, or a crew acts, before the water has done what it does."""

from __future__ import annotations

import numpy as np

from riskmodel.arrays import FloatArray

DAY = 86_400.0
HOUR = 3_600.0
# Times of response are log-logistic: half have come by the middle time, and this steepness leaves about one in
# ten for more than twice as long (judgement).
STEEPNESS = 3.0
# Gauss-Hermite points of the spread of visits.
VISIT_POINTS = ((-np.sqrt(3.0), 1 / 6), (0.0, 2 / 3), (np.sqrt(3.0), 1 / 6))


def nobody_comes(seconds: FloatArray, visits: FloatArray, log_sd: float) -> FloatArray:
    """Chance that no visit falls in the time to flood: max(0, 1 - T/D), over the spread of the interval D.

    Parameters
    ----------
    seconds : (..., k)
        Time to flood, inf where it never does.
    visits : broadcasts against it
        Usual time between visits [s].
    log_sd : float
        Log standard deviation of single intervals. A failure falls into long intervals more often than into short
        ones, in proportion to their length.
    """
    total, weights = np.zeros(np.broadcast_shapes(seconds.shape, visits.shape)), 0.0
    for deviate, weight in VISIT_POINTS:
        longer = float(np.exp(deviate * log_sd))
        total += weight * longer * np.maximum(0.0, 1.0 - seconds / (visits * longer))
        weights += weight * longer
    alone: FloatArray = total / weights
    return alone


def too_late(seconds: FloatArray, middle: FloatArray) -> FloatArray:
    """Chance that a response whose middle time is ``middle`` [s] takes longer than ``seconds`` (log-logistic)."""
    late: FloatArray = 1.0 / (1.0 + (seconds / middle) ** STEEPNESS)
    return late


def unnoticed(seconds: FloatArray, a_day: FloatArray, low_share: FloatArray) -> FloatArray:
    """Chance that nobody nearby notices the boat lying low, in the last ``low_share`` of the time to flood."""
    with np.errstate(invalid="ignore"):
        chance: FloatArray = np.where(
            np.isinf(seconds), 1.0, np.exp(-a_day * low_share * np.minimum(seconds, 1e12) / DAY)
        )
    return chance
