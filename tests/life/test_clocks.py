"""Two clocks: two simulated mechanisms told apart, failures shared out, and word when they cannot be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.clocks import chance_by_both, chance_by_hours, fit_two_clocks
from riskmodel.life.weibull import added_hazard, failure_probability

INF = np.inf
BY_AGE, BY_HOURS = (3.0, 14.0), (2.0, 1500.0)
PRIORS = (
    WeibullPrior.from_interval(5, 10, shape_log_sd=0.4),
    WeibullPrior.from_interval(300, 900, shape_log_sd=0.4),
)


def both_clocks(seed, number, late=False):
    """Lives of boats of unlike use: rows on both clocks, hours a year, and which failures age brought."""
    rng = np.random.default_rng(seed)
    rate = np.exp(rng.normal(np.log(90), 0.9, number))
    by_age = BY_AGE[1] * rng.weibull(BY_AGE[0], number)
    by_hours = BY_HOURS[1] * rng.weibull(BY_HOURS[0], number) / rate
    life, end = np.minimum(by_age, by_hours), rng.uniform(3, 20, number)
    entry = rng.uniform(0, 6, number) if late else np.zeros(number)
    seen = np.minimum(life, end) > entry
    life, end, entry, rate = (values[seen] for values in (life, end, entry, rate))
    age, upper = np.minimum(life, end), np.where(life <= end, life, INF)
    ages = LifeRows(age, upper, entry)
    hours = LifeRows(age * rate, upper * rate, entry * rate)
    return ages, hours, rate, (by_age < by_hours)[seen] & np.isfinite(upper)


def assert_recovered(found):
    for life, (shape, scale) in ((found.by_age, BY_AGE), (found.by_hours, BY_HOURS)):
        assert life.mode[0] == pytest.approx(shape, rel=0.10)
        assert life.mode[1] == pytest.approx(scale, rel=0.06)


@pytest.mark.parametrize("late", [False, True])
def test_two_simulated_mechanisms_are_recovered(late):
    ages, hours, rate, aged = both_clocks(31, 3000, late)
    found = fit_two_clocks(ages, hours, rate, PRIORS)
    assert_recovered(found)
    assert not found.entangled
    # What each failure was owed to nobody wrote: the shares add up to about the truth.
    failed = np.isfinite(ages.upper)
    assert found.share_by_age[failed].mean() == pytest.approx(aged[failed].mean(), abs=0.05)
    assert (found.share_by_age[~failed] == 0).all()


def test_shares_lean_to_the_mechanism_that_did_it():
    ages, hours, rate, aged = both_clocks(32, 3000)
    share = fit_two_clocks(ages, hours, rate, PRIORS).share_by_age
    failed = np.isfinite(ages.upper)
    assert share[failed & aged].mean() > share[failed & ~aged].mean() + 0.2
    assert ((share >= 0) & (share <= 1)).all()


def test_one_clock_alone_calls_a_mixture_of_two_less_worn_than_it_is():
    ages, hours, rate, _ = both_clocks(31, 3000)
    alone, found = fit_life(ages, PRIORS[0]), fit_two_clocks(ages, hours, rate, PRIORS)
    assert alone.mode[1] < 0.85 * BY_AGE[1]
    assert found.by_age.mode[1] > 1.1 * alone.mode[1]


def test_looks_that_only_bound_the_failure_are_enough():
    ages, _, rate, _ = both_clocks(33, 3000)
    step, failed = 0.5, np.isfinite(ages.upper)
    low, high = np.floor(ages.lower / step) * step, np.ceil(ages.lower / step) * step
    wide = LifeRows(np.where(failed, low, ages.lower), np.where(failed, high, INF))
    run = LifeRows(np.where(failed, low, ages.lower) * rate, np.where(failed, high, INF) * rate)
    assert_recovered(fit_two_clocks(wide, run, rate, PRIORS))


def test_boats_all_used_alike_leave_the_clocks_entangled():
    ages, _, _, _ = both_clocks(34, 400)
    rate = np.full(len(ages), 80.0)
    hours = LifeRows(ages.lower * 80, ages.upper * 80)
    found = fit_two_clocks(ages, hours, rate, PRIORS)
    assert found.entangled
    assert found.correlation == pytest.approx(1.0)
    assert np.isfinite([*found.by_age.mode, *found.by_hours.mode]).all()


def test_boats_of_unlike_use_do_not():
    ages, hours, rate, _ = both_clocks(35, 400)
    found = fit_two_clocks(ages, hours, rate, PRIORS)
    assert abs(found.correlation) < 0.9
    assert not found.entangled


def test_without_rows_both_lives_are_their_priors():
    none = LifeRows.none()
    found = fit_two_clocks(none, none, np.zeros(0), PRIORS)
    for life, prior in zip((found.by_age, found.by_hours), PRIORS, strict=True):
        assert life.mode == pytest.approx(fit_life(none, prior).mode)
    assert (found.correlation, found.entangled) == (0.0, False)


def test_a_boat_that_hardly_runs_owes_its_failures_to_age():
    ages, hours, rate, _ = both_clocks(36, 2000)
    share = fit_two_clocks(ages, hours, rate, PRIORS).share_by_age
    failed = np.isfinite(ages.upper)
    idle, busy = failed & (rate < 30), failed & (rate > 250)
    assert share[idle].mean() > 0.9
    assert share[busy].mean() < 0.3


def test_the_unit_of_hours_does_not_matter():
    ages, hours, rate, _ = both_clocks(37, 500)
    days = LifeRows(hours.lower / 24, hours.upper / 24, hours.entry / 24)
    prior = WeibullPrior.from_interval(300 / 24, 900 / 24, shape_log_sd=0.4)
    one, other = (
        fit_two_clocks(ages, hours, rate, PRIORS),
        fit_two_clocks(ages, days, rate / 24, (PRIORS[0], prior)),
    )
    assert other.by_age.mode == pytest.approx(one.by_age.mode, rel=1e-6)
    assert other.by_hours.mode[1] * 24 == pytest.approx(one.by_hours.mode[1], rel=1e-6)
    assert other.share_by_age == pytest.approx(one.share_by_age, abs=1e-6)


def test_counted_rows_are_so_many_lives():
    ages, hours, rate, _ = both_clocks(38, 200)
    twice = np.full(len(ages), 2.0)
    counted = fit_two_clocks(
        LifeRows(ages.lower, ages.upper, count=twice),
        LifeRows(hours.lower, hours.upper, count=twice),
        rate,
        PRIORS,
    )
    ages2 = LifeRows(np.tile(ages.lower, 2), np.tile(ages.upper, 2))
    hours2 = LifeRows(np.tile(hours.lower, 2), np.tile(hours.upper, 2))
    written = fit_two_clocks(ages2, hours2, np.tile(rate, 2), PRIORS)
    assert counted.by_age.mode == pytest.approx(written.by_age.mode, rel=1e-6)
    assert counted.by_hours.mode == pytest.approx(written.by_hours.mode, rel=1e-6)


def test_two_limits_of_ten_in_a_hundred_make_nineteen():
    assert chance_by_both(np.array(0.10), np.array(0.10)) == pytest.approx(0.19)
    age, hours = (all_but_certain(interval) for interval in (5.0, 300.0))
    by_age = age.failure_probability(0, 5.0)
    by_hours = chance_by_hours(np.array(0.0), np.array(300.0), np.array([2.5]), np.log([hours.mode[1]]))
    assert chance_by_both(by_age, by_hours) == pytest.approx(0.19, abs=1e-5)


def all_but_certain(interval):
    return fit_life(LifeRows.none(), WeibullPrior(np.log(2.5), 1e-7, np.log(interval), 1e-7))


@given(*[st.floats(0.3, 5)] * 2, st.floats(0, 20), st.floats(0, 3), st.floats(0, 500))
def test_both_clocks_add_their_hazards(shape_age, shape_hours, age, horizon, rate):
    lives = (np.array([shape_age]), np.log([14.0])), (np.array([shape_hours]), np.log([1500.0]))
    years, run = (np.array(age), np.array(horizon)), (np.array(age * rate), np.array(horizon * rate))
    hazard = added_hazard(*years, *lives[0]) + added_hazard(*run, *lives[1])
    found = chance_by_both(failure_probability(*years, *lives[0]), chance_by_hours(*run, *lives[1]))
    assert found == pytest.approx(-np.expm1(-hazard), abs=1e-12)


@given(st.floats(0, 1), st.floats(0, 1))
def test_either_clock_is_no_safer_than_one(one, other):
    both = float(chance_by_both(np.array(one), np.array(other)))
    assert max(one, other) - 1e-12 <= both <= min(one + other, 1.0) + 1e-12


def test_rows_of_other_lives_are_refused():
    ages = LifeRows([5.0, 6.0], [5.0, INF])
    refusal = "rows by age and by hours must describe the same lives in the same order"
    with pytest.raises(ParameterError, match=refusal):
        fit_two_clocks(ages, LifeRows([300.0], [300.0]), np.full(2, 60.0), PRIORS)
    with pytest.raises(ParameterError, match=refusal):
        fit_two_clocks(ages, LifeRows([300.0, 360.0], [INF, 360.0]), np.full(2, 60.0), PRIORS)
