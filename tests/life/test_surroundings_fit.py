"""Ageing rates: slopes, priors, and columns that say nothing, too much, or the same thing twice."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.surroundings import RatePrior, _slope, fit_in_surroundings, learn_rates
from riskmodel.life.weibull import log_log

PRIOR = WeibullPrior.from_interval(5)
FLAT = WeibullPrior.flat()
K = float(log_log(0.10))


def rate_prior(*pairs):
    return RatePrior(np.array([mean for mean, _ in pairs]), np.array([sd for _, sd in pairs]))


def lives(seed, number, gamma, shape=2.5, scale=12.0):
    """Right-censored lives in surroundings present on half the boats, ageing exp(gamma) as fast there."""
    rng = np.random.default_rng(seed)
    here = rng.integers(0, 2, number).astype(float)
    life, end = scale * rng.weibull(shape, number) / np.exp(gamma * here), rng.uniform(3, 20, number)
    return LifeRows(np.minimum(life, end), np.where(life <= end, life, np.inf)), here[:, None]


# Every kind of row: exact, right-, left- and interval-censored, with late entry and counts.
MIXED = LifeRows(
    [3.0, 8.0, 6.0, 0.0, 4.0, 5.0, 9.0, 2.0],
    [3.0, 8.0, np.inf, 2.5, 7.0, np.inf, 9.5, 2.0],
    [0.0, 5.0, 0.0, 0.0, 1.0, 4.0, 8.5, 0.5],
    [1.0, 2.0, 3.0, 1.0, 0.5, 1.0, 1.0, 1.0],
)
DESIGN = np.array([[0, 1.2], [1, 0.3], [1, -0.4], [0, 0.0], [1, 1.0], [0, -1.1], [0, 0.4], [1, 0.2]])


@given(st.tuples(st.floats(-0.5, 1.4), st.floats(0.5, 3), st.floats(-1, 1), st.floats(-1, 1)))
def test_slope_and_curvature_are_those_of_finite_differences(point):
    point, step = np.array(point), 1e-5
    priors = PRIOR, rate_prior((0.2, 0.5), (0.0, np.inf))
    _, gradient, hessian = _slope(MIXED, DESIGN, *priors, point)
    for place in range(4):
        nudge = step * np.eye(4)[place]
        above = _slope(MIXED, DESIGN, *priors, point + nudge)
        below = _slope(MIXED, DESIGN, *priors, point - nudge)
        size = 1 + np.abs(hessian).max()
        assert gradient[place] == pytest.approx((above[0] - below[0]) / (2 * step), abs=1e-6 * size)
        assert hessian[place] == pytest.approx((above[1] - below[1]) / (2 * step), abs=1e-5 * size)


def test_without_columns_it_is_the_plain_most_probable_life():
    rows, _ = lives(1, 60, 0.0)
    found = fit_in_surroundings(rows, np.zeros((60, 0)), PRIOR, RatePrior.flat(0))
    assert (found.shape, found.scale) == pytest.approx(fit_life(rows, PRIOR).mode, rel=1e-6)


def test_without_rows_it_is_the_prior():
    found = fit_in_surroundings(LifeRows.none(), np.zeros((0, 1)), PRIOR, rate_prior((0.4, 0.3)))
    assert (found.shape, found.scale) == pytest.approx(fit_life(LifeRows.none(), PRIOR).mode, rel=1e-6)
    assert found.gamma == pytest.approx([0.4])
    assert found.covariance == pytest.approx(np.array([[0.09]]))


@pytest.mark.parametrize("unit", [365.25, 31_557_600.0])
def test_the_unit_of_time_does_not_matter(unit):
    years = fit_in_surroundings(MIXED, DESIGN, FLAT, rate_prior((0, 1), (0, 1)))
    scaled = LifeRows(MIXED.lower * unit, MIXED.upper * unit, MIXED.entry * unit, MIXED.count)
    other = fit_in_surroundings(scaled, DESIGN, FLAT, rate_prior((0, 1), (0, 1)))
    assert other.gamma == pytest.approx(years.gamma, abs=1e-8)
    assert (other.shape, other.scale / unit) == pytest.approx((years.shape, years.scale), rel=1e-8)


def test_a_known_rate_is_recovered():
    rows, here = lives(2, 4000, 0.6)
    found = fit_in_surroundings(rows, here, PRIOR, rate_prior((0.0, 1.0)))
    error = np.sqrt(found.covariance[0, 0])
    assert error < 0.03
    assert abs(found.gamma[0] - 0.6) < 3 * error
    assert (found.shape, found.scale) == pytest.approx((2.5, 12.0), rel=0.05)


def test_few_records_stay_near_the_prior_and_many_leave_it():
    judged = rate_prior((0.7, 0.2))
    few, many = (fit_in_surroundings(*lives(3, n, 0.0), PRIOR, judged) for n in (3, 3000))
    assert few.gamma[0] == pytest.approx(0.7, abs=0.2)
    assert many.gamma[0] == pytest.approx(0.0, abs=0.12)
    assert many.covariance[0, 0] < few.covariance[0, 0] < 0.2**2 + 1e-12


def test_t40_a_constant_column_is_left_out_and_said():
    rows, here = lives(4, 300, 0.5)
    both = np.column_stack([np.ones(300), here])
    found = fit_in_surroundings(rows, both, FLAT, RatePrior.flat(2))
    alone = fit_in_surroundings(rows, here, FLAT, RatePrior.flat(1))
    assert found.flags == ("column 0 is constant: left out",)
    assert found.used.tolist() == [False, True]
    assert found.gamma == pytest.approx([0.0, alone.gamma[0]])


@pytest.mark.parametrize("sd", [50.0, np.inf])
def test_t41_surroundings_in_which_nothing_fails_are_flagged_and_finite(sd):
    found = fit_in_surroundings(*separated(), PRIOR, rate_prior((0.0, sd)))
    assert found.flags == ("column 0 separates failures from survivors: only its prior bounds it",)
    assert np.isfinite([*found.gamma, found.shape, found.scale]).all()
    assert found.gamma[0] < -2


def test_t41_a_judged_prior_bounds_separation_and_leaves_the_other_lives_alone():
    rows, here = separated()
    found = fit_in_surroundings(rows, here, PRIOR, rate_prior((0.0, 0.5)))
    others = here[:, 0] == 0
    alone = fit_life(LifeRows(rows.lower[others], rows.upper[others]), PRIOR)
    assert found.flags == ()
    assert -2 < found.gamma[0] < -0.5
    assert found.scale == pytest.approx(alone.mode[1], rel=0.1)


def separated():
    """Twenty parts that failed, and twenty in surroundings of their own of which none ever did."""
    ages = np.linspace(6, 14, 20)
    rows = LifeRows(np.append(ages, np.full(20, 15.0)), np.append(ages, np.full(20, np.inf)))
    return rows, np.repeat([0.0, 1.0], 20)[:, None]


def test_t42_a_column_made_of_the_others_is_dropped_at_a_flat_prior_and_flagged():
    rows, here = lives(5, 300, 0.5)
    twice = np.column_stack([here, 2 * here + 1])
    found = fit_in_surroundings(rows, twice, FLAT, RatePrior.flat(2))
    alone = fit_in_surroundings(rows, here, FLAT, RatePrior.flat(1))
    assert found.flags == ("column 1 is made of the others",)
    assert found.gamma == pytest.approx([alone.gamma[0], 0.0])
    assert found.log_likelihood == pytest.approx(alone.log_likelihood, abs=1e-8)


def test_t42_under_a_prior_columns_that_say_the_same_share_it():
    rows, here = lives(5, 3000, 0.5)
    twice = np.column_stack([here, here])
    found = fit_in_surroundings(rows, twice, PRIOR, rate_prior((0.0, 0.5), (0.0, 0.5)))
    assert found.flags == ("column 1 is made of the others",)
    assert found.gamma[0] == pytest.approx(found.gamma[1], abs=1e-6)
    assert found.gamma.sum() == pytest.approx(0.5, abs=0.1)


def test_t43_surroundings_nobody_has_keep_their_prior():
    rows, here = lives(6, 500, 0.5)
    judged = rate_prior((0.2, 0.3), (0.8, 0.25))
    found = fit_in_surroundings(rows, np.column_stack([here, np.zeros(500)]), PRIOR, judged)
    assert found.gamma[1] == 0.8
    assert found.covariance[1].tolist() == [0.0, pytest.approx(0.25**2)]
    assert found.gamma[0] == pytest.approx(0.5, abs=0.2)


@pytest.mark.parametrize("design", [np.zeros(8), np.zeros((7, 1)), np.zeros((8, 1, 1))])
def test_surroundings_of_another_shape_are_refused(design):
    with pytest.raises(
        ParameterError, match=r"surroundings must be \(rows, columns\) with 8 rows, got shape"
    ):
        fit_in_surroundings(MIXED, design, PRIOR, RatePrior.flat(1))


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_surroundings_that_are_no_numbers_are_refused(bad):
    with pytest.raises(ParameterError, match="surroundings must be finite numbers"):
        fit_in_surroundings(MIXED, np.full((8, 1), bad), PRIOR, RatePrior.flat(1))


def log_early_age(shape, scale):
    return np.log(scale) + K / shape


def told_lives(rows, shape, scale):
    """What learn_rates asks of each row's class."""
    return np.full(len(rows), shape), np.full(len(rows), log_early_age(shape, scale))


def test_rates_learned_with_lives_given_recover_a_known_rate():
    rows, here = lives(7, 4000, 0.6)
    gamma, covariance = learn_rates(rows, here, *told_lives(rows, 2.5, 12.0), rate_prior((0.0, 1.0)))
    assert covariance[0, 0] < 0.02**2
    assert abs(gamma[0] - 0.6) < 3 * np.sqrt(covariance[0, 0])


def test_classes_of_unlike_lives_learn_one_rate_together():
    short, here_short = lives(8, 1500, 0.4, shape=3.0, scale=6.0)
    long, here_long = lives(9, 1500, 0.4, shape=1.5, scale=25.0)
    both = LifeRows(*(np.concatenate(pair) for pair in zip(_columns(short), _columns(long), strict=True)))
    pairs = zip(told_lives(short, 3.0, 6.0), told_lives(long, 1.5, 25.0), strict=True)
    told = [np.concatenate(pair) for pair in pairs]
    flat = rate_prior((0.0, 10.0))
    gamma, covariance = learn_rates(both, np.concatenate([here_short, here_long]), *told, flat)
    assert abs(gamma[0] - 0.4) < 3 * np.sqrt(covariance[0, 0])
    alone = learn_rates(short, here_short, *told_lives(short, 3.0, 6.0), flat)[1]
    assert covariance[0, 0] < alone[0, 0]


def _columns(rows):
    return rows.lower, rows.upper, rows.entry, rows.count


def test_rates_learned_are_the_most_probable_ones():
    # The posterior of gamma alone, on a fine line.
    prior = rate_prior((0.1, 0.4))
    rows, column = MIXED, DESIGN[:, 1:]
    shape, log_age = told_lives(rows, 2.0, 9.0)
    gamma, covariance = learn_rates(rows, column, shape, log_age, prior)
    line = np.linspace(gamma[0] - 1, gamma[0] + 1, 401)
    head = [np.log(2.0), log_early_age(2.0, 9.0)]
    heights = [_slope(rows, column, FLAT, prior, np.array([*head, at]))[0] for at in line]
    assert int(np.argmax(heights)) == 200
    bend = -np.diff(heights, 2)[199] / (line[1] - line[0]) ** 2
    assert covariance[0, 0] == pytest.approx(1 / bend, rel=0.02)


def test_without_rows_rates_keep_their_prior():
    prior = rate_prior((0.3, 0.2), (0.0, 0.5))
    none = np.zeros(0)
    gamma, covariance = learn_rates(LifeRows.none(), np.zeros((0, 2)), none, none, prior)
    assert gamma == pytest.approx([0.3, 0.0])
    assert covariance == pytest.approx(np.diag([0.04, 0.25]))


def test_surroundings_in_no_row_keep_their_prior_when_rates_are_learned():
    rows, here = lives(10, 400, 0.5)
    design = np.column_stack([here, np.zeros(400)])
    gamma, covariance = learn_rates(
        rows, design, *told_lives(rows, 2.5, 12.0), rate_prior((0, 0.5), (0.7, 0.3))
    )
    assert gamma[1] == pytest.approx(0.7)
    assert covariance[1, 1] == pytest.approx(0.09)
