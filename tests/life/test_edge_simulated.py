"""Edge cases of how records become rows, by simulation: late entry, discovery at looks, removals in time."""

import math

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life

INF = np.inf
PRIOR = WeibullPrior.from_interval(5)


def late_entry_fleet(seed, number=4000, shape=2.5, scale=10.0):
    """Lives of which only those whole at a random age are ever seen, then watched for six years."""
    rng = np.random.default_rng(seed)
    age, entry = scale * rng.weibull(shape, number), rng.uniform(0, 12, number)
    seen = age > entry
    return age[seen], entry[seen]


def spread_of(life):
    mean = life.nodes.weight @ life.nodes.log_shape, life.nodes.weight @ life.nodes.log_scale
    sds = [
        math.sqrt(life.nodes.weight @ (values - m) ** 2)
        for values, m in zip((life.nodes.log_shape, life.nodes.log_scale), mean, strict=True)
    ]
    return mean, sds


def assert_recovered(life, shape=2.5, scale=10.0):
    mean, sds = spread_of(life)
    assert abs(mean[0] - math.log(shape)) < 3 * sds[0]
    assert abs(mean[1] - math.log(scale)) < 3 * sds[1]


def test_t26_late_entry_of_four_thousand_is_recovered():
    age, entry = late_entry_fleet(26)
    end = np.minimum(age, entry + 6)
    rows = LifeRows(end, np.where(age <= entry + 6, age, INF), entry)
    assert_recovered(fit_life(rows, WeibullPrior.flat()))
    assert_recovered(fit_life(rows, PRIOR))


def test_t27_found_at_a_look_is_an_interval_and_the_day_of_finding_overstates_life():
    age, entry = late_entry_fleet(27)
    looks = np.ceil((age - entry) / 2)
    before, found = entry + 2 * (looks - 1), entry + 2 * looks
    life = fit_life(LifeRows(before, found, entry), WeibullPrior.flat())
    assert_recovered(life)
    naive = fit_life(LifeRows(found, found, entry), WeibullPrior.flat())
    mean, sds = spread_of(naive)
    assert mean[1] - math.log(10) > 3 * sds[1]


def test_t28_removals_because_they_looked_bad_are_not_survivors():
    # The row type is chosen from the reason at the fleet's door; here is what the choice is worth.
    age = 10 * np.random.default_rng(28).weibull(2.5, 400)
    removed = age - np.random.default_rng(29).uniform(0, 1, 400) * np.minimum(1.0, age)
    right = fit_life(LifeRows(removed, removed + 1.0), PRIOR)
    wrong = fit_life(LifeRows(removed, np.full(400, INF)), PRIOR)
    assert right.mode[1] == pytest.approx(10, rel=0.06)
    assert wrong.failure_probability(8, 1) < right.failure_probability(8, 1) / 10
