"""Log posterior of a Weibull life at (log shape, log t_q), with its gradient and Hessian."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.life.prior import WeibullPrior
from riskmodel.life.tally import Tally
from riskmodel.life.weibull import LARGEST_EXPONENT, cumulative_hazard, log_log

# Beyond this gap of hazards exp() overflows; what a row then adds to the slopes is below the last bit.
LARGEST_GAP = 700.0


@dataclass(frozen=True)
class Slope:
    """Value, gradient (2,) and Hessian (2, 2) of a log density at one point."""

    value: float
    gradient: FloatArray
    hessian: FloatArray


def log_likelihood(tally: Tally, shape: float, scale: float) -> float:
    """Log-likelihood of the rows at one (shape, scale), in the unit of the rows."""
    return float(_on_grid(tally, np.array([shape]), np.array([[math.log(scale)]]))[0, 0])


def log_posterior_grid(
    tally: Tally, prior: WeibullPrior, log_shape: FloatArray, log_age: FloatArray
) -> FloatArray:
    """Log posterior, up to a constant, on a grid: ``log_shape`` (m,), ``log_age`` (m, n) -> (m, n)."""
    step = float(log_log(prior.quantile))
    shapes = np.exp(log_shape)
    values = _on_grid(tally, shapes, log_age - step / shapes[:, None])
    return values + _log_prior(prior, log_shape[:, None], log_age)


def slope(tally: Tally, prior: WeibullPrior, point: FloatArray) -> Slope:
    """Log posterior at ``point = (log shape, log t_q)`` with its exact derivatives."""
    log_shape, log_age = float(point[0]), float(point[1])
    parts = [_hazard_part(tally, prior, log_shape, log_age), _failure_part(tally, prior, log_shape, log_age)]
    if len(tally.pairs):
        parts.append(_interval_part(tally, prior, log_shape, log_age))
    parts.append(_prior_part(prior, log_shape, log_age))
    return Slope(
        sum(part.value for part in parts),
        np.sum([part.gradient for part in parts], axis=0),
        np.sum([part.hessian for part in parts], axis=0),
    )


def _on_grid(tally: Tally, shape: FloatArray, log_scale: FloatArray) -> FloatArray:
    """Log-likelihood at shapes (m,) and log scales (m, n): the sum of t**shape is formed once a shape."""
    reference = tally.log_age_limit
    total = np.array([np.dot(tally.weight, np.exp(b * (tally.log_age - reference))) for b in shape])
    shape = shape[:, None]
    value = -total[:, None] * cumulative_hazard(reference, shape, log_scale)
    value = value + tally.failures * (np.log(shape) - shape * log_scale) + (shape - 1) * tally.log_age_sum
    if len(tally.pairs):
        value = value + np.stack(
            [_intervals(tally, b, scales) for b, scales in zip(shape, log_scale, strict=True)]
        )
    result: FloatArray = value
    return result


def _intervals(tally: Tally, shape: FloatArray, log_scale: FloatArray) -> FloatArray:
    """Interval rows' part at one shape and many scales; H(t) = t**shape / scale**shape costs one exp a side."""
    reference = tally.log_age_limit
    gap = np.exp(shape * (tally.upper - reference)) - np.exp(shape * (tally.lower - reference))
    gaps = gap[:, None] * cumulative_hazard(reference, shape, log_scale)
    part: FloatArray = tally.pairs @ _log_one_minus_exp(gaps)
    return part


def _log_one_minus_exp(gap: FloatArray) -> FloatArray:
    """log(1 - exp(-gap)); a gap that underflowed to 0 counts as the smallest number there is."""
    safe = np.maximum(gap, np.finfo(float).tiny)
    # log(-expm1) is exact where the gap is small, log1p(-exp) where it is large.
    value: FloatArray = np.where(
        safe < 0.7, np.log(-np.expm1(-safe)), np.log1p(-np.exp(-np.maximum(safe, 0.7)))
    )
    return value


def _exponents(log_time: FloatArray, log_shape: float, log_age: float) -> FloatArray:
    """shape * (log t - log t_q): the log cumulative hazard less k(q)."""
    exponent: FloatArray = math.exp(log_shape) * (log_time - log_age)
    return np.minimum(exponent, LARGEST_EXPONENT)


def _hazard_slopes(
    log_time: FloatArray, prior: WeibullPrior, log_shape: float, log_age: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """H (n,), its gradient (n, 2) and its Hessian (n, 2, 2) in (log shape, log t_q)."""
    shape = math.exp(log_shape)
    u = _exponents(log_time, log_shape, log_age)
    hazard = np.exp(np.minimum(u + log_log(prior.quantile), LARGEST_EXPONENT))
    u = np.where(np.isfinite(u), u, 0.0)  # age 0: H and every derivative are 0
    gradient = hazard[:, None] * np.stack([u, np.full_like(u, -shape)], axis=1)
    cross = -shape * (1 + u)
    second = np.stack(
        [np.stack([u * u + u, cross], 1), np.stack([cross, np.full_like(u, shape**2)], 1)], axis=1
    )
    return hazard, gradient, hazard[:, None, None] * second


def _hazard_part(tally: Tally, prior: WeibullPrior, log_shape: float, log_age: float) -> Slope:
    hazard, gradient, hessian = _hazard_slopes(tally.log_age, prior, log_shape, log_age)
    weight = -tally.weight
    return Slope(float(weight @ hazard), weight @ gradient, np.tensordot(weight, hessian, axes=1))


def _failure_part(tally: Tally, prior: WeibullPrior, log_shape: float, log_age: float) -> Slope:
    """Sum over exact failures of the log hazard rate: log shape + log H(t) - log t."""
    shape, number = math.exp(log_shape), tally.failures
    u = shape * (tally.log_age_sum - number * log_age)
    value = number * (log_shape + float(log_log(prior.quantile))) + u - tally.log_age_sum
    cross = -shape * number
    return Slope(value, np.array([number + u, cross]), np.array([[u, cross], [cross, 0.0]]))


def _interval_part(tally: Tally, prior: WeibullPrior, log_shape: float, log_age: float) -> Slope:
    """Slopes of log(1 - exp(-gap)) by way of log gap, so that gaps too small for a float keep their slope."""
    high, high_1, high_2 = _hazard_slopes(tally.upper, prior, log_shape, log_age)
    low, low_1, low_2 = _hazard_slopes(tally.lower, prior, log_shape, log_age)
    gap = np.clip(high - low, np.finfo(float).tiny, LARGEST_GAP)
    scale = np.maximum(high - low, np.finfo(float).tiny)
    rate = gap / np.expm1(gap)
    gap_1, gap_2 = (high_1 - low_1) / scale[:, None], (high_2 - low_2) / scale[:, None, None]
    outer = gap_1[:, :, None] * gap_1[:, None, :]
    curved = rate[:, None, None] * gap_2 - (rate * (rate + gap))[:, None, None] * outer
    return Slope(
        float(tally.pairs @ _log_one_minus_exp(high - low)),
        (tally.pairs * rate) @ gap_1,
        np.tensordot(tally.pairs, curved, axes=1),
    )


def _log_prior(prior: WeibullPrior, log_shape: FloatArray, log_age: FloatArray) -> FloatArray:
    shape_term = _normal_exponent(log_shape - prior.log_shape, prior.log_shape_sd)
    return shape_term + _normal_exponent(log_age - prior.log_age, prior.log_age_sd)


def _normal_exponent(distance: FloatArray, sd: float) -> FloatArray:
    """A flat prior adds nothing, and neither does a fixed shape, which never moves."""
    if sd == 0 or math.isinf(sd):
        return np.zeros_like(distance)
    return -0.5 * (distance / sd) ** 2


def _prior_part(prior: WeibullPrior, log_shape: float, log_age: float) -> Slope:
    precision = np.array([_precision(prior.log_shape_sd), _precision(prior.log_age_sd)])
    distance = np.array([log_shape - prior.log_shape, log_age - prior.log_age])
    return Slope(float(-0.5 * precision @ distance**2), -precision * distance, -np.diag(precision))


def _precision(sd: float) -> float:
    return 0.0 if sd == 0 or math.isinf(sd) else sd**-2.0
