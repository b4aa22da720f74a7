"""A prior that gives way: the same where records agree, the records' own answer where they do not."""

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.robust import robust_life

PRIOR = WeibullPrior.from_interval(5)
INF = np.inf


def lives(seed, number, scale, shape=2.5):
    """Lives each watched to an age of its own, up to twice the scale."""
    rng = np.random.default_rng(seed)
    life, end = scale * rng.weibull(shape, number), rng.uniform(0, 2 * scale, number)
    return LifeRows(np.minimum(life, end), np.where(life <= end, life, INF))


def width(life):
    """Log ratio of the ends of the 90 % interval of the age by which 10 % have failed."""
    age = life.quantile(0.1)
    return float(np.log(age.upper / age.lower))


@pytest.mark.parametrize("number", [0, 3, 30, 300])
def test_where_records_agree_it_is_the_plain_life(number):
    rows = lives(number, number, 12.0) if number else LifeRows.none()
    plain, robust = fit_life(rows, PRIOR), robust_life(rows, PRIOR)
    assert not plain.conflict
    assert (robust.nodes.weight == plain.nodes.weight).all()
    assert robust.mode == plain.mode


def test_t14_one_early_failure_among_two_hundred_survivors_is_flagged_and_not_told_tightly():
    rows = LifeRows([1.0, 100.0], [1.0, INF], count=[1, 200])
    plain, robust = fit_life(rows, PRIOR), robust_life(rows, PRIOR)
    assert plain.conflict
    assert robust.conflict
    assert width(robust) > 3 * width(plain)
    assert width(robust) > np.log(10)
    assert np.isfinite(robust.quantile([0.1, 0.5]).age).all()
    assert np.isfinite(robust.mode).all()


@pytest.mark.parametrize("times", [10.0, 0.1])
def test_records_far_from_the_interval_are_followed(times):
    rows = lives(5, 40, 12.0 * times)
    true = 12.0 * times * (-np.log(0.9)) ** (1 / 2.5)
    plain, robust = fit_life(rows, PRIOR), robust_life(rows, PRIOR)
    assert plain.conflict
    found = robust.quantile(0.1)
    assert found.lower < true < found.upper
    assert abs(np.log(found.age / true)) < abs(np.log(plain.quantile(0.1).age / true))


def test_records_with_no_prior_at_all_say_nearly_the_same():
    rows = lives(5, 40, 120.0)
    robust, free = robust_life(rows, PRIOR), fit_life(rows, WeibullPrior.flat())
    assert robust.quantile(0.1).age == pytest.approx(float(free.quantile(0.1).age), rel=0.15)
    assert robust.quantile(0.5).age == pytest.approx(float(free.quantile(0.5).age), rel=0.15)


@pytest.mark.parametrize("number", [20, 40, 160])
@pytest.mark.parametrize("times", [20.0, 0.05])
def test_in_conflict_the_answer_is_about_as_sure_as_the_records_alone(number, times):
    # Torn between the two the plain answer is neither; the robust one says what the records say and how surely.
    rows = lives(8, number, 12.0 * times)
    plain, robust, alone = (
        fit_life(rows, PRIOR),
        robust_life(rows, PRIOR),
        fit_life(rows, WeibullPrior.flat()),
    )
    assert plain.conflict
    assert width(robust) > 0.7 * width(alone)
    age = robust.quantile(0.1)
    assert age.lower < alone.quantile(0.1).age < age.upper


def test_the_prior_is_kept_so_that_the_conflict_can_still_be_told():
    rows = lives(5, 40, 120.0)
    robust = robust_life(rows, PRIOR)
    assert robust.prior is PRIOR
    assert robust.rows is rows
    assert robust.shift[1] > 3
    assert robust.nodes.weight.sum() == pytest.approx(1.0)


@pytest.mark.parametrize("unit", [365.25, 31_557_600.0])
def test_the_unit_of_time_does_not_matter(unit):
    rows, prior = lives(5, 40, 120.0), WeibullPrior.from_interval(5 * unit)
    scaled = LifeRows(rows.lower * unit, rows.upper * unit)
    years = robust_life(rows, PRIOR).failure_probability([0, 20, 80], 5.0)
    other = robust_life(scaled, prior).failure_probability(np.array([0, 20, 80]) * unit, 5.0 * unit)
    assert other == pytest.approx(years, rel=1e-8)


def test_a_fixed_shape_gives_way_on_life_alone():
    prior = WeibullPrior(np.log(2.5), 0.0, PRIOR.log_age, PRIOR.log_age_sd)
    robust = robust_life(lives(5, 40, 120.0), prior)
    assert robust.mode[0] == pytest.approx(2.5)
    assert robust.quantile(0.5).age > 60
