"""Do the 90 % intervals hold 90 % of truths? Truths are drawn from the prior, items are censored independently."""

import math

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.weibull import failure_probability, log_log

pytestmark = pytest.mark.slow

PRIOR = WeibullPrior.from_interval(5, shape=2.5)
AGE, HORIZON = np.array([2.0, 6.0, 12.0]), np.array([1.0, 1.0, 1.0])
REPLICATES = 2_500


def truth(rng):
    """Shape and log scale drawn from the prior."""
    shape = math.exp(rng.normal(PRIOR.log_shape, PRIOR.log_shape_sd))
    log_age = rng.normal(PRIOR.log_age, PRIOR.log_age_sd)
    return shape, log_age - float(log_log(PRIOR.quantile)) / shape


def seen(rng, number, shape, log_scale):
    """Rows of ``number`` lives, each watched to an age of its own."""
    life = math.exp(log_scale) * rng.weibull(shape, number)
    end = rng.uniform(1, 20, number)
    return LifeRows(np.minimum(life, end), np.where(life <= end, life, np.inf))


def covered(rng, number):
    shape, log_scale = truth(rng)
    true = failure_probability(AGE, HORIZON, np.array(shape), np.array(log_scale))
    low, high = fit_life(seen(rng, number, shape, log_scale), PRIOR).failure_interval(AGE, HORIZON)
    return (low <= true) & (true <= high)


@pytest.mark.parametrize("number", [0, 3, 12, 100])
def test_ninety_percent_intervals_hold_ninety_percent_of_truths(number):
    rng = np.random.default_rng(1_000 + number)
    hits = np.array([covered(rng, number) for _ in range(REPLICATES)])
    coverage = hits.mean(axis=0)
    print(f"{number} items, {REPLICATES} replicates: coverage {coverage.round(3)} at ages {AGE}")
    assert ((coverage > 0.88) & (coverage < 0.92)).all()
