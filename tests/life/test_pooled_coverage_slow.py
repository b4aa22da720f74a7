"""Do pooled 90 % intervals hold 90 % of truths? Fleets are drawn from the joint prior, shift and spread included."""

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.pooling import TAU_NODES, TAU_WEIGHTS, Doubt, common_doubt, pool_lives
from riskmodel.life.prior import quantile_doubt
from riskmodel.life.weibull import failure_probability, log_log

pytestmark = pytest.mark.slow

SHARE = 0.6
# Twelve classes of unlike mechanism, interval, sources and share of renewal intervals among what seeds them.
CLASSES = [
    (interval, shape, source, renewals)
    for interval, (shape, source, renewals) in zip(
        np.geomspace(1.5, 15, 12),
        [
            (0.8, 0.25, 1.0),
            (1.0, 0.4, 1.0),
            (2.2, 0.25, 0.5),
            (2.5, 0.15, 1.0),
            (3.0, 0.25, 1.0),
            (2.5, 0.3, 0.0),
        ]
        * 2,
        strict=True,
    )
]
# Fleets: the twelve classes of one share its shift, so their hits are no independent replicates.
FLEETS = 500


def prior_and_doubt(interval, shape, source, renewals):
    doubt = np.sqrt(renewals) * quantile_doubt(shape)
    prior = WeibullPrior(np.log(shape), 0.3, np.log(interval), np.hypot(doubt, source))
    return prior, Doubt(source, doubt / common_doubt())


SEEDED = [prior_and_doubt(*one) for one in CLASSES]


def true_lives(rng):
    """(shape, log scale) of each class of one fleet, from the joint prior."""
    shift = rng.normal(0, np.sqrt(SHARE) * common_doubt())
    rms = np.sqrt(TAU_WEIGHTS @ TAU_NODES**2)
    tau = np.sqrt(1 - SHARE) * common_doubt() * rng.choice(TAU_NODES, p=TAU_WEIGHTS) / rms
    lives = []
    for prior, doubt in SEEDED:
        shape = np.exp(rng.normal(prior.log_shape, prior.log_shape_sd))
        sd = np.hypot(doubt.source, doubt.loading * tau)
        log_age = rng.normal(prior.log_age + doubt.loading * shift, sd)
        lives.append((shape, log_age - float(log_log(prior.quantile)) / shape))
    return lives


def records(rng, number, shape, log_scale, interval):
    """Each life watched to an age of its own, whatever becomes of it."""
    life, end = np.exp(log_scale) * rng.weibull(shape, number), interval * rng.uniform(0.2, 4, number)
    return LifeRows(np.minimum(life, end), np.where(life <= end, life, np.inf))


def hits(rng, number):
    """(classes, ages) whether the interval of the chance of failing holds the truth."""
    truths = true_lives(rng)
    lives = {
        place: fit_life(records(rng, number, *truth, one[0]), prior)
        for place, (truth, one, (prior, _)) in enumerate(zip(truths, CLASSES, SEEDED, strict=True))
    }
    pooled = pool_lives(lives, {place: doubt for place, (_, doubt) in enumerate(SEEDED)}, SHARE)
    held = []
    for place, ((shape, log_scale), (interval, *_)) in enumerate(zip(truths, CLASSES, strict=True)):
        age, horizon = interval * np.array([0.4, 1.2, 2.4]), np.full(3, 0.2 * interval)
        true = failure_probability(age, horizon, np.array(shape), np.array(log_scale))
        low, high = pooled.lives[place].failure_interval(age, horizon)
        held.append((low <= true) & (true <= high))
    return np.array(held)


@pytest.mark.parametrize("number", [0, 3, 12, 100, 1000])
def test_pooled_intervals_hold_ninety_percent_of_truths(number):
    rng = np.random.default_rng(2_000 + number)
    held = np.array([hits(rng, number) for _ in range(FLEETS)])
    coverage = held.mean(axis=(0, 1))
    error = held.mean(axis=1).std(axis=0) / np.sqrt(FLEETS)
    print(
        f"{number} items a class, {FLEETS} fleets of {len(CLASSES)}: coverage {coverage.round(3)} "
        f"± {error.round(3)}, by class {held.mean(axis=(0, 2)).round(2)}"
    )
    assert ((coverage > 0.88) & (coverage < 0.92)).all()
