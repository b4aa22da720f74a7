"""Accelerated life: heat, salt, storage and duty make a part's clock run faster or slower.

A part in surroundings x ages exp(x . gamma) times as fast as the trade interval presumes: every age of it is that much
longer. gamma has a prior per column and is learned where there are records. Under a flat prior the mode is the Weibull
regression of the textbooks (whose coefficients on log life are -gamma).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.life.prior import WeibullPrior
from riskmodel.life.rows import LifeRows
from riskmodel.life.weibull import LARGEST_EXPONENT, log_log

NEWTON_STEPS = 100
# A column that adds less than this to what the others span (as a share of its own length) cannot be told from them.
COLLINEAR = 1e-8
# A coefficient this far from its prior's middle with a spread still this wide says the rows separate perfectly (flag).
SEPARATED = 10.0


@dataclass(frozen=True)
class LifeInSurroundings:
    """A Weibull life with ageing rates: ``shape``, ``scale`` where every column is 0, ``gamma`` (p,) with its
    ``covariance`` (p, p); ``used`` (p,) says which columns could be told apart, ``flags`` says in words what was odd.
    Columns not used keep gamma 0 under a flat prior, else their prior's mean and spread."""

    shape: float
    scale: float
    gamma: FloatArray
    covariance: FloatArray
    used: npt.NDArray[np.bool_]
    flags: tuple[str, ...]
    log_likelihood: float


@dataclass(frozen=True)
class RatePrior:
    """Independent normals on gamma: means and standard deviations (p,); ``inf`` is flat."""

    mean: FloatArray
    sd: FloatArray

    @classmethod
    def flat(cls, columns: int) -> RatePrior:
        """Flat on every one of ``columns``."""
        return cls(np.zeros(columns), np.full(columns, np.inf))


def fit_in_surroundings(
    rows: LifeRows, surroundings: npt.ArrayLike, prior: WeibullPrior, rate_prior: RatePrior
) -> LifeInSurroundings:
    """Mode of shape, life and ageing rates together; ``surroundings`` is (n, p), a row a row of ``rows``.

    Raises
    ------
    ParameterError
        When the shapes do not fit or a surrounding is not a number.
    """
    design = np.asarray(surroundings, dtype=float)
    if design.ndim != 2 or len(design) != len(rows):
        raise ParameterError(
            f"surroundings must be (rows, columns) with {len(rows)} rows, got shape {design.shape}"
        )
    if not np.isfinite(design).all():
        raise ParameterError("surroundings must be finite numbers")
    used, flags = _told_apart(design, rate_prior)
    some = RatePrior(rate_prior.mean[used], rate_prior.sd[used])
    point, value, hessian = _newton(rows, design[:, used], prior, some)
    # What no row tells of is as doubtful as it was.
    covariance = np.diag(np.where(used | np.isinf(rate_prior.sd), 0.0, rate_prior.sd) ** 2)
    covariance[np.ix_(used, used)] = np.linalg.pinv(-hessian)[2:, 2:]
    gamma = np.where(used, 0.0, np.where(np.isinf(rate_prior.sd), 0.0, rate_prior.mean))
    gamma[used] = point[2:]
    shape = math.exp(point[0])
    scale = math.exp(point[1] - float(log_log(prior.quantile)) / shape)
    flags += _separations(gamma, covariance, rate_prior)
    return LifeInSurroundings(shape, scale, gamma, covariance, used, flags, value)


def learn_rates(
    rows: LifeRows, surroundings: FloatArray, shape: FloatArray, log_age: FloatArray, rate_prior: RatePrior
) -> tuple[FloatArray, FloatArray]:
    """Posterior mean (p,) and covariance (p, p) of ageing rates shared by classes whose lives are given.

    ``shape`` and ``log_age`` (n,) are each row's class's Weibull shape and log t_0.10: held fixed, so the spread is a
    little too small where few records stand behind the classes.
    """
    gamma = rate_prior.mean.copy()
    precision = np.where(np.isinf(rate_prior.sd), 0.0, rate_prior.sd**-2.0)
    for _ in range(NEWTON_STEPS):
        speed = np.exp(surroundings @ gamma)
        first, second = _speed_slopes(rows, speed, shape, log_age)
        gradient = surroundings.T @ (shape * first) - precision * (gamma - rate_prior.mean)
        curvature = (
            surroundings * (shape**2 * np.maximum(-second, 0.0))[:, None]
        ).T @ surroundings + np.diag(precision)
        step = np.linalg.solve(curvature, gradient)
        gamma = gamma + step / max(1.0, float(np.abs(step).max(initial=0.0)))
        if np.abs(step).max(initial=0.0) < 1e-10:
            break
    return gamma, np.linalg.inv(curvature)


def _speed_slopes(
    rows: LifeRows, speed: FloatArray, shape: FloatArray, log_age: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Per row: slope and curvature of its log-likelihood when u moves at all its ends together."""
    u = _exponents(rows, np.log(speed), shape, log_age)
    _, first, second = _row_terms(rows, u, float(log_log(0.10)))
    return first.sum(axis=0), second.sum(axis=(0, 1))


def _told_apart(design: FloatArray, prior: RatePrior) -> tuple[npt.NDArray[np.bool_], tuple[str, ...]]:
    """Columns that vary, and under a flat prior are not made of the others; a proper prior is its own ridge."""
    used = np.zeros(design.shape[1], dtype=bool)
    flags = []
    basis = np.ones((len(design), 1))
    for place in range(design.shape[1]):
        column = design[:, place]
        if len(column) == 0 or np.ptp(column) == 0:
            flags.append(f"column {place} is constant: left out")
            continue
        rest = column - basis @ np.linalg.lstsq(basis, column, rcond=None)[0]
        if np.linalg.norm(rest) < COLLINEAR * np.linalg.norm(column):
            flags.append(f"column {place} is made of the others")
            if np.isinf(prior.sd[place]):
                continue
        used[place] = True
        basis = np.column_stack([basis, column])
    return used, tuple(flags)


def _separations(gamma: FloatArray, covariance: FloatArray, prior: RatePrior) -> tuple[str, ...]:
    wide = np.sqrt(np.maximum(np.diag(covariance), 0.0)) > SEPARATED
    return tuple(
        f"column {place} separates failures from survivors: only its prior bounds it"
        for place in np.flatnonzero((np.abs(gamma) > SEPARATED) | wide)
    )


def _newton(
    rows: LifeRows, design: FloatArray, prior: WeibullPrior, rates: RatePrior
) -> tuple[FloatArray, float, FloatArray]:
    point = _start(rows, prior, rates)
    value, gradient, hessian = _slope(rows, design, prior, rates, point)
    damping = 1e-3
    for _ in range(NEWTON_STEPS):
        stiff = -hessian + damping * np.diag(np.maximum(np.abs(np.diag(hessian)), 1e-8))
        try:
            step = np.linalg.solve(stiff, gradient)
        except np.linalg.LinAlgError:
            damping *= 10
            continue
        if prior.log_shape_sd == 0:
            step[0] = 0.0
        step = step / max(1.0, float(np.abs(step).max()) / 2.0)
        new = _slope(rows, design, prior, rates, point + step)
        if np.isfinite(new[0]) and new[0] >= value - 1e-12 * abs(value):
            point, (value, gradient, hessian) = point + step, new
            damping = damping / 10 if damping > 1e-12 else 0.0
            if np.abs(step).max() < 1e-10:
                break
        else:
            damping = max(10 * damping, 1e-6)
    return (
        point,
        _slope(rows, design, WeibullPrior.flat(), RatePrior.flat(design.shape[1]), point)[0],
        hessian,
    )


def _start(rows: LifeRows, prior: WeibullPrior, rates: RatePrior) -> FloatArray:
    if np.isfinite(prior.log_age_sd):
        head = [prior.log_shape, prior.log_age]
    else:
        ends = np.where(np.isfinite(rows.upper), rows.upper, rows.lower)
        head = [prior.log_shape if prior.log_shape_sd == 0 else 0.0, float(np.log(ends.mean())) - 2.0]
    return np.concatenate([head, rates.mean])


def _slope(
    rows: LifeRows, design: FloatArray, prior: WeibullPrior, rates: RatePrior, point: FloatArray
) -> tuple[float, FloatArray, FloatArray]:
    """Log posterior with gradient and Hessian at (log shape, log t_q, gamma)."""
    shape = math.exp(point[0])
    u = _exponents(rows, design @ point[2:], np.full(len(rows), shape), np.full(len(rows), point[1]))
    values, first, second = _row_terms(rows, u, float(log_log(prior.quantile)))
    exact = rows.count * (rows.lower == rows.upper)
    values = values + exact * point[0]
    z = np.column_stack([np.full(len(rows), -1.0), design])
    finite = np.where(np.isfinite(u), u, 0.0)
    by_shape = (first * finite).sum(axis=0)
    gradient = np.concatenate([[by_shape.sum() + exact.sum()], shape * (z.T @ first.sum(axis=0))])
    hessian = np.empty((len(point), len(point)))
    hessian[0, 0] = np.einsum("jn,kn,jkn->", finite, finite, second) + by_shape.sum()
    cross = np.einsum("jn,jkn->n", finite, second) + first.sum(axis=0)
    hessian[0, 1:] = hessian[1:, 0] = shape * (z.T @ cross)
    hessian[1:, 1:] = shape**2 * (z * second.sum(axis=(0, 1))[:, None]).T @ z
    return _with_priors(float(values.sum()), gradient, hessian, (prior, rates), point)


def _with_priors(
    value: float,
    gradient: FloatArray,
    hessian: FloatArray,
    priors: tuple[WeibullPrior, RatePrior],
    point: FloatArray,
) -> tuple[float, FloatArray, FloatArray]:
    prior, rates = priors
    middle = np.concatenate([[prior.log_shape, prior.log_age], rates.mean])
    sd = np.concatenate([[prior.log_shape_sd or np.inf, prior.log_age_sd], rates.sd])
    precision = np.where(np.isinf(sd), 0.0, sd**-2.0)
    away = np.where(precision > 0, point - middle, 0.0)
    return value - 0.5 * float(precision @ away**2), gradient - precision * away, hessian - np.diag(precision)


def _exponents(rows: LifeRows, log_speed: FloatArray, shape: FloatArray, log_age: FloatArray) -> FloatArray:
    """u = shape * (log t + log speed - log t_q) at entry, lower and upper: (3, n); -inf at age 0, inf at no end."""
    with np.errstate(divide="ignore"):
        log_times = np.log(np.stack([rows.entry, rows.lower, rows.upper]))
    exponents: FloatArray = shape * (log_times + log_speed - log_age)
    return exponents


def _row_terms(rows: LifeRows, u: FloatArray, step: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Each row's log-likelihood but for log shape (n,), its slopes (3, n) and curvatures (3, 3, n) in u."""
    hazard = np.exp(np.minimum(u + step, LARGEST_EXPONENT))
    hazard = np.where(np.isposinf(u), 0.0, hazard)
    entry, lower, upper = hazard
    exact = rows.lower == rows.upper
    between = np.isfinite(rows.upper) & ~exact
    first, second = np.zeros((3, len(rows))), np.zeros((3, 3, len(rows)))
    value = entry - lower
    first[0], second[0, 0] = entry, entry
    first[1], second[1, 1] = -lower, -lower
    with np.errstate(divide="ignore"):
        value = value + np.where(
            exact, np.where(exact, u[1], 0.0) + step - np.log(np.where(exact, rows.lower, 1.0)), 0.0
        )
    first[1] += exact
    gap = np.clip(np.where(between, upper - lower, 1.0), np.finfo(float).tiny, LARGEST_EXPONENT)
    value = value + np.where(between, np.log(-np.expm1(-gap)), 0.0)
    steep = np.where(between, 1.0 / np.expm1(gap), 0.0)
    bend = -steep * (1.0 + steep)
    first[1] -= steep * lower
    first[2] += steep * upper
    second[1, 1] += -steep * lower + bend * lower**2
    second[2, 2] += steep * upper + bend * upper**2
    second[1, 2] = second[2, 1] = -bend * lower * upper
    return rows.count * value, rows.count * first, rows.count * second
