"""The Weibull arithmetic everything rests on, in the (log shape, log early-quantile age) axes.

With k(p) = log(-log(1 - p)) and t_q the age by which a fraction q has failed, the cumulative hazard is
H(t) = exp(shape * (log t - log t_q) + k(q)): both axes are logs, so priors on them are plain normals.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray

# Survival is 0 to the last bit long before H = exp(300), and products and squares of such hazards do not overflow.
LARGEST_EXPONENT = 300.0


def log_log(probability: npt.ArrayLike) -> FloatArray:
    """k(p) = log(-log(1 - p)), the log cumulative hazard at which a fraction p has failed."""
    value: FloatArray = np.log(-np.log1p(-np.asarray(probability, dtype=float)))
    return value


def cumulative_hazard(log_time: npt.ArrayLike, shape: FloatArray, log_scale: FloatArray) -> FloatArray:
    """H(t) = (t / scale)**shape with the log of time kept; time 0 (log -inf) gives 0."""
    exponent = shape * (np.asarray(log_time, dtype=float) - log_scale)
    hazard: FloatArray = np.exp(np.minimum(exponent, LARGEST_EXPONENT))
    return hazard


def added_hazard(
    age: FloatArray, horizon: FloatArray, shape: FloatArray, log_scale: FloatArray
) -> FloatArray:
    """H(age + horizon) - H(age) as H(age + horizon) (1 - (age / (age + horizon))**shape), without cancellation."""
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        growth = np.where(age > 0, horizon / age, np.inf)
        log_end = np.log(age + horizon)
    share = -np.expm1(-shape * np.log1p(growth))
    added: FloatArray = cumulative_hazard(log_end, shape, log_scale) * share
    return added


def failure_probability(
    age: FloatArray, horizon: FloatArray, shape: FloatArray, log_scale: FloatArray
) -> FloatArray:
    """Chance of failing within ``horizon`` for an item whole at ``age``: 1 - exp(H(a) - H(a + h))."""
    chance: FloatArray = -np.expm1(-added_hazard(age, horizon, shape, log_scale))
    return chance


def survival(age: FloatArray, shape: FloatArray, log_scale: FloatArray) -> FloatArray:
    """Chance of being whole at ``age``."""
    with np.errstate(divide="ignore"):
        log_age = np.log(age)
    whole: FloatArray = np.exp(-cumulative_hazard(log_age, shape, log_scale))
    return whole
