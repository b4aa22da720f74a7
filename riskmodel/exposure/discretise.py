"""Continuous losses as outcomes on a lattice with their mean kept, from how much of them is paid up to each limit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel import lognormal
from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

# E[min(X, limit)] for limits of any shape [currency].
LimitedMean = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, eq=False)
class Outcomes:
    """A loss as outcomes ``loss`` (k,) [currency] with ``weight`` (k,).

    ``left_out`` [currency]: the part of the mean that lies above the last outcome, where all larger losses
    stand.
    """

    loss: FloatArray
    weight: FloatArray
    left_out: float


def discretise(limited_mean: LimitedMean, step: float, points: int) -> Outcomes:
    """Outcomes 0, 1, … ``points`` steps with the expected excess of the loss over each of them.

    The mass at k is [2 E(X ∧ kh) - E(X ∧ (k-1)h) - E(X ∧ (k+1)h)] / h (local moment matching, Gerber 1982): the
    mean is kept, and a loss spread over a step stands at its two ends. A year's total then has the right
    expected excess at every point but for what is left out.

    Raises
    ------
    ParameterError
        For a step not above 0 or fewer than 2 points.
    """
    if not (0 < step < np.inf and points >= 2):
        raise ParameterError(f"step must be above 0 and points 2 or more, got {step} and {points}")
    limits = step * np.arange(1.0, points + 1.0)
    paid = np.concatenate([[0.0], limited_mean(limits)])
    # The chance of exceeding a point, averaged over a step, never rises: where it does, the last digit of E does.
    between = np.minimum.accumulate(np.clip(np.diff(paid) / step, 0.0, 1.0))
    weight = -np.diff(np.concatenate([[1.0], between, [0.0]]))
    left_out = float(limited_mean(np.array([np.finfo(float).max]))[0]) - float(paid[-1])
    return Outcomes(np.concatenate([[0.0], limits]), weight, left_out)


def exponential_limited_mean(mean: npt.ArrayLike, limit: npt.ArrayLike) -> FloatArray:
    """E[min(X, limit)] of an exponential loss: mean (1 - exp(-limit / mean)); arguments broadcast [currency]."""
    scale = np.asarray(mean, dtype=float)
    if not (scale > 0).all():
        raise ParameterError(f"mean must be above 0, got {scale.min():g}")
    found: FloatArray = -scale * np.expm1(-not_negative("limit", limit) / scale)
    return found


def lognormal_limited_mean(median: npt.ArrayLike, log_sd: npt.ArrayLike, limit: npt.ArrayLike) -> FloatArray:
    """E[min(X, limit)] of a log-normal loss, limits from 0; arguments broadcast [currency]."""
    wanted = not_negative("limit", limit)
    above = np.maximum(wanted, np.finfo(float).tiny)
    found: FloatArray = np.where(wanted > 0, lognormal.limited_mean(median, log_sd, above), 0.0)
    return found


def layer_mean(limited_mean: LimitedMean, deductible: npt.ArrayLike, limit: npt.ArrayLike) -> FloatArray:
    """E[min(max(X - deductible, 0), limit)] = E[X ∧ (d + l)] - E[X ∧ d]; arguments broadcast [currency]."""
    below = not_negative("deductible", deductible)
    top = below + np.asarray(limit, dtype=float)
    found: FloatArray = limited_mean(np.minimum(top, np.finfo(float).max)) - limited_mean(below)
    return found


def after_terms(limited_mean: LimitedMean, deductible: float, limit: float) -> LimitedMean:
    """The limited mean of what is paid of a loss under a deductible and a limit, to discretise it."""
    return lambda paid: layer_mean(limited_mean, deductible, np.minimum(paid, limit))
