"""Log posterior of a Weibull life at (log shape, log t_q), with its gradient and Hessian."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.life.blocks import each_block
from riskmodel.life.prior import WeibullPrior
from riskmodel.life.tally import Tally
from riskmodel.life.weibull import LARGEST_EXPONENT, cumulative_hazard, log_log

# Beyond this gap of hazards exp() overflows; what a row then adds to the slopes is below the last bit.
LARGEST_GAP = 700.0
# exp() of less than this is 0; a finite bound spares age 0, whose log is -inf, a case of its own.
LEAST_EXPONENT = -1e4
# Interval pairs a step on the grid: what a step forms stays in the processor's cache.
PAIRS = 1024


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
    terms = _hazard_terms(tally, prior, log_shape, log_age)
    terms += _failure_terms(tally, prior, log_shape, log_age)
    terms += _prior_terms(prior, log_shape, log_age)
    if len(tally.pairs):
        terms += _interval_terms(tally, prior, log_shape, log_age)
    value, by_shape, by_age, shape_shape, shape_age, age_age = terms
    return Slope(
        float(value),
        np.array([by_shape, by_age]),
        np.array([[shape_shape, shape_age], [shape_age, age_age]]),
    )


def _on_grid(tally: Tally, shape: FloatArray, log_scale: FloatArray) -> FloatArray:
    """Log-likelihood at shapes (m,) and log scales (m, n): the sum of t**shape is formed once a shape."""
    reference = tally.log_age_limit
    total = np.array([_dot(tally.weight, np.exp(b * (tally.log_age - reference))) for b in shape])
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
    rise = cumulative_hazard(reference, shape, log_scale)[:, None]
    part = np.zeros(len(log_scale))
    for start in range(0, len(gap), PAIRS):
        block = slice(start, start + PAIRS)
        part += np.einsum("ij,j->i", _log_one_minus_exp(rise * gap[block]), tally.pairs[block])
    return part


def _dot(first: FloatArray, second: FloatArray) -> float:
    """Sum of products in one thread: sharing so short a sum out among threads costs more than the sum."""
    return float(np.einsum("i,i->", first, second))


def _log_one_minus_exp(gap: FloatArray) -> FloatArray:
    """log(1 - exp(-gap)) to the last bit of 1; a gap that underflowed to 0 counts as the smallest number."""
    share = np.negative(np.maximum(gap, np.finfo(float).tiny))
    np.expm1(share, out=share)
    np.negative(share, out=share)
    value: FloatArray = np.log(share, out=share)
    return value


def _hazard_sums(
    log_time: FloatArray, prior: WeibullPrior, log_shape: float, log_age: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """H, H u and H u**2 at each time, with u = shape * (log t - log t_q): all a second derivative needs.

    In (log shape, log t_q) the gradient of H is H (u, -shape) and its Hessian H (u**2 + u, -shape (1 + u);
    -shape (1 + u), shape**2).
    """
    # Where u is below the lower bound, as at age 0, H and every derivative are 0.
    u = np.clip(math.exp(log_shape) * (log_time - log_age), LEAST_EXPONENT, LARGEST_EXPONENT)
    hazard = np.exp(np.minimum(u + float(log_log(prior.quantile)), LARGEST_EXPONENT))
    first = hazard * u
    return hazard, first, first * u


def _hazard_terms(tally: Tally, prior: WeibullPrior, log_shape: float, log_age: float) -> FloatArray:
    """Exits less entries: three sums over the distinct ages, whatever the number of rows."""
    shape = math.exp(log_shape)
    zeroth, first, second = (
        _dot(tally.weight, part) for part in _hazard_sums(tally.log_age, prior, log_shape, log_age)
    )
    cross = shape * (zeroth + first)
    return np.array([-zeroth, -first, shape * zeroth, -second - first, cross, -shape * shape * zeroth])


def _failure_terms(tally: Tally, prior: WeibullPrior, log_shape: float, log_age: float) -> FloatArray:
    """Sum over exact failures of the log hazard rate: log shape + log H(t) - log t."""
    shape, number = math.exp(log_shape), tally.failures
    u = shape * (tally.log_age_sum - number * log_age)
    value = number * (log_shape + float(log_log(prior.quantile))) + u - tally.log_age_sum
    cross = -shape * number
    return np.array([value, number + u, cross, u, cross, 0.0])


def _interval_terms(tally: Tally, prior: WeibullPrior, log_shape: float, log_age: float) -> FloatArray:
    """Slopes of log(1 - exp(-gap)) by way of log gap, so that gaps too small for a float keep their slope.

    With r = d log gap / d log shape, the same by log t_q is -shape throughout: sums over pairs of weights
    times 1, r and r**2 give every derivative.
    """

    def sums(part: slice) -> FloatArray:
        high = _hazard_sums(tally.upper[part], prior, log_shape, log_age)
        low = _hazard_sums(tally.lower[part], prior, log_shape, log_age)
        rise = np.maximum(high[0] - low[0], np.finfo(float).tiny)
        gap = np.minimum(rise, LARGEST_GAP)
        rate = gap / np.expm1(gap)
        r, s = (high[1] - low[1]) / rise, (high[2] - low[2]) / rise
        pairs = tally.pairs[part]
        weight = pairs * rate
        bend = weight * (rate + gap)
        value = _dot(pairs, _log_one_minus_exp(rise))
        straight = [weight.sum(), _dot(weight, r), _dot(weight, s)]
        return np.array([value, *straight, bend.sum(), _dot(bend, r), _dot(bend * r, r)])

    shape = math.exp(log_shape)
    found = sum(each_block(sums, len(tally.pairs)), np.zeros(7))
    value, total, first, second, bent, bent_first, bent_second = found
    by_shape = second + first - bent_second
    cross = -shape * (total + first - bent_first)
    return np.array([value, first, -shape * total, by_shape, cross, shape * shape * (total - bent)])


def _log_prior(prior: WeibullPrior, log_shape: FloatArray, log_age: FloatArray) -> FloatArray:
    shape_term = _normal_exponent(log_shape - prior.log_shape, prior.log_shape_sd)
    return shape_term + _normal_exponent(log_age - prior.log_age, prior.log_age_sd)


def _normal_exponent(distance: FloatArray, sd: float) -> FloatArray:
    """A flat prior adds nothing, and neither does a fixed shape, which never moves."""
    if sd == 0 or math.isinf(sd):
        return np.zeros_like(distance)
    return -0.5 * (distance / sd) ** 2


def _prior_terms(prior: WeibullPrior, log_shape: float, log_age: float) -> FloatArray:
    tight, firm = _precision(prior.log_shape_sd), _precision(prior.log_age_sd)
    off, away = log_shape - prior.log_shape, log_age - prior.log_age
    value = -0.5 * (tight * off**2 + firm * away**2)
    return np.array([value, -tight * off, -firm * away, -tight, 0.0, -firm])


def _precision(sd: float) -> float:
    return 0.0 if sd == 0 or math.isinf(sd) else sd**-2.0
