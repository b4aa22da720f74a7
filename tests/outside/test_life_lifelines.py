"""Fits against lifelines 0.30's Weibull fitter on simulated lives with a hundred failures and more.

lifelines stops its optimiser a little early (1e-6 to 1e-5 relative), so agreement is asked to 1e-3.
"""

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life

NEAR_FLAT = WeibullPrior(log_shape=0.5, log_shape_sd=50.0, log_age=1.0, log_age_sd=50.0)
AGES = np.array([0.0, 0.5, 4.0, 9.0, 15.0])
HORIZONS = np.array([1.0, 0.25, 2.0, 1.0, 5.0])


def lives(shape, scale, number, seed):
    return scale * np.random.default_rng(seed).weibull(shape, number)


def watched_to(seed, number, low, high):
    return np.random.default_rng(seed + 1000).uniform(low, high, number)


def conditional_failure(fitter):
    """Chance of failing within HORIZONS from AGES, from lifelines' own survival curve."""
    now = fitter.survival_function_at_times(AGES).to_numpy()
    then = fitter.survival_function_at_times(AGES + HORIZONS).to_numpy()
    return 1 - then / now


def assert_agree(fitter, rows):
    life = fit_life(rows, NEAR_FLAT)
    assert life.mode == pytest.approx((fitter.rho_, fitter.lambda_), rel=1e-3)
    ours = fit_life(LifeRows.none(), all_but_certain(*life.mode)).failure_probability(AGES, HORIZONS)
    assert ours == pytest.approx(conditional_failure(fitter), rel=2e-3)
    low, high = life.failure_interval(AGES, HORIZONS)
    assert ((low < conditional_failure(fitter)) & (conditional_failure(fitter) < high)).all()


def all_but_certain(shape, scale):
    """A prior that leaves no doubt, so that prediction is by this one shape and scale."""
    early_age = scale * (-np.log(0.9)) ** (1 / shape)
    return WeibullPrior(np.log(shape), 1e-6, np.log(early_age), 1e-6)


@pytest.mark.parametrize(("shape", "scale"), [(0.8, 20.0), (1.0, 12.0), (2.5, 12.0), (4.0, 9.0)])
def test_right_censored_lives(shape, scale):
    from lifelines import WeibullFitter

    true, end = lives(shape, scale, 400, seed=11), watched_to(11, 400, 3, 20)
    failed, age = true <= end, np.minimum(true, end)
    assert failed.sum() >= 100
    assert_agree(WeibullFitter().fit(age, failed), LifeRows(age, np.where(failed, age, np.inf)))


@pytest.mark.parametrize(("shape", "scale"), [(1.0, 12.0), (2.5, 12.0), (4.0, 14.0)])
def test_late_entry(shape, scale):
    from lifelines import WeibullFitter

    true, entry = lives(shape, scale, 1500, seed=12), watched_to(12, 1500, 0, 12)
    seen = true > entry
    true, entry = true[seen], entry[seen]
    end = entry + watched_to(13, len(true), 2, 8)
    failed, age = true <= end, np.minimum(true, end)
    assert failed.sum() >= 100
    fitter = WeibullFitter().fit(age, failed, entry=entry)
    assert_agree(fitter, LifeRows(age, np.where(failed, age, np.inf), entry))


@pytest.mark.parametrize(("shape", "scale"), [(1.5, 10.0), (3.0, 8.0)])
def test_lives_found_failed_at_a_look(shape, scale):
    from lifelines import WeibullFitter

    true = lives(shape, scale, 400, seed=14)
    every = watched_to(14, 400, 0.5, 3)
    lower = np.floor(true / every) * every
    upper = np.where(lower > 12, np.inf, lower + every)
    lower = np.where(np.isinf(upper), np.ceil(12 / every) * every, lower)
    assert np.isfinite(upper).sum() >= 100
    fitter = WeibullFitter().fit_interval_censoring(lower, upper)
    assert_agree(fitter, LifeRows(lower, upper))


def test_counted_rows_agree_with_weights():
    from lifelines import WeibullFitter

    true, end = lives(2.0, 10.0, 300, seed=15), watched_to(15, 300, 3, 15)
    count = np.random.default_rng(15).integers(1, 6, 300)
    failed, age = true <= end, np.minimum(true, end)
    assert count[failed].sum() >= 100
    fitter = WeibullFitter().fit(age, failed, weights=count)
    assert_agree(fitter, LifeRows(age, np.where(failed, age, np.inf), count=count))
