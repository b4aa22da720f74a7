"""The posterior of a life as weighted (shape, scale) nodes on a grid that moves with the data."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.life.likelihood import Slope, log_posterior_grid, slope
from riskmodel.life.prior import WeibullPrior
from riskmodel.life.smooth import over_grid
from riskmodel.life.tally import Tally
from riskmodel.life.weibull import log_log

# 41 nodes a side over six standard deviations either way: 0.3 sd apart, where the trapezium rule on a smooth
# density is exact to far below what is printed.
NODES = 41
REACH = 6.0
# A fixed shape leaves a line: as many nodes as the grid, out to where the long tail of one failure ends.
LINE_NODES = NODES**2
LINE_REACH = 12.0
# More mass than this on the rim means the grid sits in the wrong place.
RIM_MASS = 1e-4
RECENTRINGS = 4
# One node with this share of the mass has no spread to recentre by: rows beyond what the grid can resolve.
COLLAPSED = 0.999
NEWTON_STEPS = 200
# Distinct intervals above which the grid is told from a few of its points: each costs every point two logs.
MANY_PAIRS = 500
# So many distinct intervals are thinned for the first steps to the mode: the last two or three see them all.
THIN_ABOVE = 20_000
THINNING = 16
# Nodes lighter than this share of the heaviest change no printed digit.
LIGHTEST = 1e-13


@dataclass(frozen=True)
class Posterior:
    """Nodes of the posterior: arrays of equal length, weights adding to 1.

    ``mode`` is (log shape, log t_q); ``settled`` is False when mass still lay on the grid's rim at the end.
    ``coarse`` marks every other node each way, a grid of its own at twice the step; None where nobody kept it.
    """

    log_shape: FloatArray
    log_age: FloatArray
    log_scale: FloatArray
    weight: FloatArray
    mode: FloatArray
    settled: bool
    coarse: npt.NDArray[np.bool_] | None = None


def posterior(tally: Tally, prior: WeibullPrior, start: FloatArray | None = None) -> Posterior:
    """Posterior nodes of the rows in ``tally`` under ``prior``.

    ``start``: a mode found before, as ``find_mode`` takes it.

    Raises
    ------
    ParameterError
        When a flat prior meets too few failures for a proper posterior.
    """
    _refuse_improper(tally, prior)
    mode, spread = _mode_and_spread(tally, prior, start)
    centre = mode
    for turn in range(RECENTRINGS + 1):
        log_shape, log_age, weight = _grid(tally, prior, centre, spread)
        settled = _rim_mass(weight) <= RIM_MASS
        if settled or turn == RECENTRINGS or weight.max() > COLLAPSED:
            break
        centre, spread = _moments(log_shape, log_age, weight, prior)
    return _nodes(prior, (log_shape, log_age, weight), mode, settled)


def find_mode(tally: Tally, prior: WeibullPrior, start: FloatArray | None = None) -> tuple[FloatArray, Slope]:
    """Most probable (log shape, log t_q) by damped Newton steps, with the slope there.

    ``start``: a mode found before, from which a few more records are a step or two away; the prior's own
    mode when left out.
    """
    free = np.array([prior.log_shape_sd > 0, True])
    if start is None:
        start = _rough_mode(tally, prior) if len(tally.pairs) > THIN_ABOVE else _start(tally, prior)
    point = np.asarray(start, dtype=float)
    here = slope(tally, prior, point)
    damping = 0.0
    for _ in range(NEWTON_STEPS):
        step = _newton_step(here, free, damping)
        there = slope(tally, prior, point + step)
        if there.value >= here.value - 1e-12 * abs(here.value) and np.isfinite(there.value):
            point, here = point + step, there
            damping = damping / 10 if damping > 1e-8 else 0.0
            if damping == 0 and np.abs(step).max() < 1e-11:
                break
        else:
            damping = max(10 * damping, 1e-4)
    return point, here


def _rough_mode(tally: Tally, prior: WeibullPrior) -> FloatArray:
    """The mode with only one in THINNING of the distinct intervals, each standing for its neighbours."""
    pairs = tally.pairs[::THINNING]
    weight = pairs * (tally.pairs.sum() / pairs.sum())
    few = replace(tally, lower=tally.lower[::THINNING], upper=tally.upper[::THINNING], pairs=weight)
    return find_mode(few, prior)[0]


def most_probable(tally: Tally, prior: WeibullPrior) -> tuple[float, float]:
    """Most probable (shape, log t_q), without the rest of the posterior.

    Raises ParameterError as ``posterior`` does.
    """
    _refuse_improper(tally, prior)
    point, _ = find_mode(tally, prior)
    return float(np.exp(point[0])), float(point[1])


def _refuse_improper(tally: Tally, prior: WeibullPrior) -> None:
    if np.isfinite(prior.log_age_sd) and np.isfinite(prior.log_shape_sd):
        return
    failures = tally.failures + float(tally.pairs.sum())
    fixed = prior.log_shape_sd == 0
    if failures == 0 or (not fixed and (failures < 2 or tally.first >= tally.last)):
        wanted = "one failure" if fixed else "two failures at different ages"
        raise ParameterError(
            f"a flat prior needs at least {wanted}, got {failures:g} failures: use a proper prior"
        )


def _start(tally: Tally, prior: WeibullPrior) -> FloatArray:
    """The prior's own mode; under a flat prior the exponential fit on the rows' own scale."""
    if np.isfinite(prior.log_age_sd):
        return np.array([prior.log_shape, prior.log_age])
    log_shape = prior.log_shape if np.isfinite(prior.log_shape_sd) else 0.0
    failures = tally.failures + float(tally.pairs.sum())
    ages = np.exp(tally.log_age - tally.log_age_limit)
    exposure = max(float(tally.weight @ ages), float(tally.pairs.sum()) * 0.5)
    log_scale = tally.log_age_limit + float(np.log(exposure / failures))
    return np.array([log_shape, log_scale + float(log_log(prior.quantile)) / np.exp(log_shape)])


def _newton_step(here: Slope, free: np.ndarray[tuple[int], np.dtype[np.bool_]], damping: float) -> FloatArray:
    """Uphill step on the free axes: curvature eigenvalues are made positive, then damped, then capped."""
    step = np.zeros(2)
    values, vectors = np.linalg.eigh(-here.hessian[np.ix_(free, free)])
    stiff = np.maximum(np.abs(values), 1e-12) + damping * max(1.0, float(np.abs(values).max()))
    step[free] = vectors @ ((vectors.T @ here.gradient[free]) / stiff)
    longest = float(np.abs(step).max())
    return step if longest <= 1.0 else step / longest


def _mode_and_spread(
    tally: Tally, prior: WeibullPrior, start: FloatArray | None
) -> tuple[FloatArray, FloatArray]:
    """The mode and the lower Cholesky factor of the curvature's inverse, log shape first."""
    mode, here = find_mode(tally, prior, start)
    if prior.log_shape_sd == 0:
        return mode, np.array([[0.0, 0.0], [0.0, (-here.hessian[1, 1]) ** -0.5]])
    values, vectors = np.linalg.eigh(-here.hessian)
    covariance = (vectors / np.maximum(values, 1e-6)) @ vectors.T
    return mode, _root(covariance)


def _root(covariance: FloatArray) -> FloatArray:
    """Lower Cholesky factor, of a covariance so lopsided that rounding may have lost its lesser axis."""
    values, vectors = np.linalg.eigh(covariance)
    safe = np.maximum(values, 1e-12 * values.max())
    return np.linalg.cholesky((vectors * safe) @ vectors.T)


def _grid(
    tally: Tally, prior: WeibullPrior, centre: FloatArray, spread: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Log shapes (m,), log ages (m, n) and normalised weights (m, n) around ``centre``."""
    fixed = spread[0, 0] == 0
    across = np.zeros(1) if fixed else np.linspace(-REACH, REACH, NODES)
    along = np.linspace(-LINE_REACH, LINE_REACH, LINE_NODES) if fixed else across
    log_shape = centre[0] + spread[0, 0] * across
    log_age = centre[1] + spread[1, 0] * across[:, None] + spread[1, 1] * along[None, :]

    def exact(shapes: FloatArray, ages: FloatArray) -> FloatArray:
        return log_posterior_grid(tally, prior, shapes, ages)

    many = len(tally.pairs) > MANY_PAIRS
    density = over_grid(exact, log_shape, log_age) if many else exact(log_shape, log_age)
    weight = np.exp(density - density.max())
    return log_shape, log_age, weight / weight.sum()


def _rim_mass(weight: FloatArray) -> float:
    inner = weight[:, 1:-1] if weight.shape[0] == 1 else weight[1:-1, 1:-1]
    return float(1.0 - inner.sum())


def _moments(
    log_shape: FloatArray, log_age: FloatArray, weight: FloatArray, prior: WeibullPrior
) -> tuple[FloatArray, FloatArray]:
    """Mean and Cholesky factor of the grid's covariance."""
    shapes = np.broadcast_to(log_shape[:, None], weight.shape)
    centre = np.array([np.sum(weight * shapes), np.sum(weight * log_age)])
    gap = np.stack([shapes - centre[0], log_age - centre[1]])
    covariance = np.einsum("ij,aij,bij->ab", weight, gap, gap)
    if prior.log_shape_sd == 0:
        return centre, np.array([[0.0, 0.0], [0.0, covariance[1, 1] ** 0.5]])
    return centre, _root(covariance)


def _nodes(
    prior: WeibullPrior, grid: tuple[FloatArray, FloatArray, FloatArray], mode: FloatArray, settled: bool
) -> Posterior:
    log_shape, log_age, weight = grid
    keep = weight > LIGHTEST * weight.max()
    shapes = np.broadcast_to(log_shape[:, None], weight.shape)[keep]
    ages, kept = log_age[keep], weight[keep]
    log_scale = ages - log_log(prior.quantile) / np.exp(shapes)
    rows, columns = np.indices(weight.shape)
    coarse = ((rows % 2 == 0) & (columns % 2 == 0))[keep]
    return Posterior(shapes, ages, log_scale, kept / kept.sum(), mode, settled, coarse)
