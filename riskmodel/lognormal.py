"""The log-normal as bills need it: chance of a dearer one, and the mean of what is paid up to a limit."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray

_ERFC = np.frompyfunc(math.erfc, 1, 1)
_INVERSE = np.frompyfunc(NormalDist().inv_cdf, 1, 1)
# Halvings of a bracket a few units of log wide: to the last digit of a float.
HALVINGS = 60


def normal_cdf(z: npt.ArrayLike) -> FloatArray:
    """Standard normal distribution function, the tails to full relative accuracy; any shape.

    By the C library's erfc: no import that a start would have to pay for.
    """
    found: FloatArray = 0.5 * np.asarray(_ERFC(np.asarray(z, dtype=float) * -math.sqrt(0.5)), dtype=float)
    return found


def exceedance(median: npt.ArrayLike, log_sd: npt.ArrayLike, limit: npt.ArrayLike) -> FloatArray:
    """P(X > limit) of a log-normal; arguments broadcast, ``limit`` above 0; a median of 0 exceeds nothing."""
    return normal_cdf(-_deviations(median, log_sd, limit))


def limited_mean(median: npt.ArrayLike, log_sd: npt.ArrayLike, limit: npt.ArrayLike) -> FloatArray:
    """E[min(X, limit)] of a log-normal; arguments broadcast, ``limit`` above 0.

    exp(mu + s²/2) Φ(d − s) + limit Φ(−d) with d = (log limit − mu)/s (the limited expected value of
    Klugman, Panjer & Willmot, Loss Models; from memory).
    """
    sd = np.asarray(log_sd, dtype=float)
    away = _deviations(median, sd, limit)
    below = np.asarray(median, dtype=float) * np.exp(0.5 * sd**2) * normal_cdf(away - sd)
    found: FloatArray = below + np.asarray(limit, dtype=float) * normal_cdf(-away)
    return found


def limited_slope(median: npt.ArrayLike, log_sd: npt.ArrayLike, limit: npt.ArrayLike) -> FloatArray:
    """How fast ``limited_mean`` rises with the median: exp(s²/2) Φ(d − s)."""
    sd = np.asarray(log_sd, dtype=float)
    found: FloatArray = np.exp(0.5 * sd**2) * normal_cdf(_deviations(median, sd, limit) - sd)
    return found


def median_for_share(share: npt.ArrayLike, log_sd: npt.ArrayLike) -> FloatArray:
    """The median, as a share of a limit, at which the mean up to that limit is ``share`` of it; 0 at 0.

    ``share`` in [0, 1); broadcasts with ``log_sd``. By halving: the mean is at most that without a limit, and at least
    the chance of exceeding it, which gives the bracket.
    """
    wanted, sd = np.broadcast_arrays(np.asarray(share, dtype=float), np.asarray(log_sd, dtype=float))
    some = np.maximum(wanted, np.finfo(float).tiny)
    low = np.log(some) - 0.5 * sd**2
    high = sd * np.asarray(_INVERSE(some), dtype=float)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        under = limited_mean(np.exp(middle), sd, 1.0) < some
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    found: FloatArray = np.where(wanted > 0, np.exp(0.5 * (low + high)), 0.0)
    return found


def _deviations(median: npt.ArrayLike, log_sd: npt.ArrayLike, limit: npt.ArrayLike) -> FloatArray:
    """How many deviations of the logarithm the limit lies above the median."""
    middle = np.maximum(np.asarray(median, dtype=float), np.finfo(float).tiny)
    found: FloatArray = (np.log(np.asarray(limit, dtype=float)) - np.log(middle)) / np.asarray(log_sd)
    return found
