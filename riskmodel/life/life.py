"""One class's life after its records: what it was thought to be, what was seen, what is now believed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, fraction, not_negative, weighted_quantile
from riskmodel.errors import ParameterError
from riskmodel.life.posterior import Posterior, posterior
from riskmodel.life.prior import WeibullPrior
from riskmodel.life.rows import LifeRows
from riskmodel.life.tally import tally_rows
from riskmodel.life.weibull import failure_probability, log_log, survival

# A posterior mean further than this many prior standard deviations away is a conflict worth a word.
CONFLICT = 3.0
# Items are predicted this many at a time, to keep memory flat.
CHUNK = 4096
# Nodes lighter than this share of the heaviest do not show in an average.
LIGHTEST = 1e-7


@dataclass(frozen=True)
class AgeQuantile:
    """The age by which a fraction has failed: posterior median with an interval, in the unit of the rows."""

    age: FloatArray
    lower: FloatArray
    upper: FloatArray


@dataclass(frozen=True)
class Life:
    """A Weibull life believed with uncertainty: weighted nodes of (shape, scale), and how it came about."""

    prior: WeibullPrior
    rows: LifeRows
    nodes: Posterior

    @property
    def mode(self) -> tuple[float, float]:
        """Most probable (shape, scale); under a flat prior the maximum-likelihood fit."""
        shape = math.exp(self.nodes.mode[0])
        return shape, float(_exp(self.nodes.mode[1] - self.log_hazard_at_quantile / shape))

    @property
    def log_hazard_at_quantile(self) -> float:
        """k(q) of the prior's quantile: what turns a log early-quantile age into a log scale."""
        return float(log_log(self.prior.quantile))

    def failure_probability(self, age: npt.ArrayLike, horizon: npt.ArrayLike) -> FloatArray:
        """Chance that an item whole at ``age`` fails within ``horizon``, averaged over the posterior.

        Both in the unit of the rows, 0 or more; the answer has their broadcast shape. Never update on the
        item's own survival as well: if its row is in the data it is in the weights already.
        """
        ages, horizons = _ages(age, horizon)
        shape = ages.shape
        mean = np.empty(ages.size)
        for part, chances in self._chunks(ages.ravel(), horizons.ravel()):
            mean[part] = chances @ self.nodes.weight
        # Weights add to 1 only to the last bit.
        return np.minimum(mean, 1.0).reshape(shape)

    def failure_interval(
        self, age: npt.ArrayLike, horizon: npt.ArrayLike, level: float = 0.9
    ) -> tuple[FloatArray, FloatArray]:
        """Central ``level`` interval of that chance: (lower, upper), each of the broadcast shape."""
        ages, horizons = _ages(age, horizon)
        ends = np.array([0.5 - float(fraction("level", level)) / 2, 0.5 + level / 2])
        bounds = np.empty((2, ages.size))
        for part, chances in self._chunks(ages.ravel(), horizons.ravel()):
            bounds[:, part] = weighted_quantile(chances, self.nodes.weight, ends)
        return bounds[0].reshape(ages.shape), bounds[1].reshape(ages.shape)

    def survival(self, age: npt.ArrayLike) -> FloatArray:
        """Chance that a new item is whole at ``age``, averaged over the posterior."""
        ages = not_negative("age", age)
        whole = survival(ages[..., None], np.exp(self.nodes.log_shape), self.nodes.log_scale)
        mean: FloatArray = np.minimum(whole @ self.nodes.weight, 1.0)
        return mean

    def survival_interval(self, age: npt.ArrayLike, level: float = 0.9) -> tuple[FloatArray, FloatArray]:
        """Central ``level`` interval of survival at ``age``: inside [0, 1] and falling with age."""
        lower, upper = self.failure_interval(0.0, age, level)
        return 1.0 - upper, 1.0 - lower

    def quantile(self, probability: npt.ArrayLike, level: float = 0.9) -> AgeQuantile:
        """Age by which a fraction ``probability`` has failed, with its central ``level`` interval."""
        wanted = fraction("probability", probability)
        half = float(fraction("level", level)) / 2
        log_ages = self.nodes.log_scale + log_log(wanted)[..., None] / np.exp(self.nodes.log_shape)
        age, lower, upper = _exp(
            weighted_quantile(log_ages, self.nodes.weight, [0.5, 0.5 - half, 0.5 + half])
        )
        return AgeQuantile(age, lower, upper)

    @property
    def shift(self) -> tuple[float, float]:
        """How far the records moved (log shape, log life), in prior sds; 0 under a flat prior."""
        means = (self.nodes.log_shape @ self.nodes.weight, self.nodes.log_age @ self.nodes.weight)
        return (
            _moved(float(means[0]), self.prior.log_shape, self.prior.log_shape_sd),
            _moved(float(means[1]), self.prior.log_age, self.prior.log_age_sd),
        )

    @property
    def conflict(self) -> bool:
        """True when records and trade interval disagree so far that neither should be trusted alone."""
        return max(abs(moved) for moved in self.shift) > CONFLICT

    def _chunks(self, ages: FloatArray, horizons: FloatArray) -> Iterator[tuple[slice, FloatArray]]:
        shape, log_scale = np.exp(self.nodes.log_shape), self.nodes.log_scale
        for start in range(0, ages.size, CHUNK):
            part = slice(start, start + CHUNK)
            yield part, failure_probability(ages[part, None], horizons[part, None], shape, log_scale)


def fewer_nodes(life: Life) -> Life:
    """The same life on every other node each way, for averages: at 0.6 sd apart the rule still errs by
    only a few in 100,000."""
    nodes = life.nodes
    if nodes.coarse is None:
        return life
    keep = nodes.coarse & (nodes.weight >= LIGHTEST * nodes.weight.max())
    weight = nodes.weight[keep]
    kept = replace(
        nodes,
        log_shape=nodes.log_shape[keep],
        log_age=nodes.log_age[keep],
        log_scale=nodes.log_scale[keep],
        weight=weight / weight.sum(),
        coarse=None,
    )
    return replace(life, nodes=kept)


def fit_life(rows: LifeRows, prior: WeibullPrior) -> Life:
    """What ``rows`` and ``prior`` together say of a life (methods: grid quadrature around the mode).

    Raises
    ------
    ParameterError
        When a flat prior meets fewer than two failures at different ages: no proper posterior exists.
    """
    return Life(prior, rows, posterior(tally_rows(rows), prior))


def _exp(log_age: npt.ArrayLike) -> FloatArray:
    """Ages from their logs; an age past all numbers is infinite."""
    with np.errstate(over="ignore"):
        age: FloatArray = np.exp(log_age)
    return age


def _ages(age: npt.ArrayLike, horizon: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    ages, horizons = np.broadcast_arrays(not_negative("age", age), not_negative("horizon", horizon))
    return ages, horizons


def _moved(mean: float, prior_mean: float, sd: float) -> float:
    if sd == 0 or math.isinf(sd):
        return 0.0
    if math.isnan(mean):
        raise ParameterError("the posterior holds no number: the rows cannot be fitted")
    return (mean - prior_mean) / sd
