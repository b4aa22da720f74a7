"""Conjugate posteriors of a number and of a mean size, against their closed forms worked by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from riskmodel.exposure.credibility import draw_factors, gamma_poisson, log_normal_ratio


def test_a_gamma_of_shape_four_about_two_expected_after_six_seen_by_hand():
    """Draws 1 and 3: mean 2, variance 1, so shape 4; after 6 seen shape 10, rate 6: mean 10/6, credibility 2/6."""
    found = gamma_poisson(np.array([1.0, 3.0]), 6)
    assert (found.shape, found.rate) == pytest.approx((10.0, 6.0))
    assert found.mean == pytest.approx(2 / 6 * 6 / 2 + 4 / 6 * 1)
    assert found.credibility == pytest.approx(1 / 3)
    assert found.sd == pytest.approx(np.sqrt(10) / 6)


def test_the_band_is_the_gammas_own():
    found = gamma_poisson(np.array([1.0, 3.0]), 6)
    assert found.band == pytest.approx(stats.gamma(10, scale=1 / 6).ppf([0.05, 0.95]))


def test_the_posterior_is_bayes_rule_on_a_grid():
    """Prior gamma(4, 4) on the factor, likelihood of 6 seen where 2 times the factor is expected."""
    factor = np.linspace(1e-4, 8, 200_001)
    weight = stats.gamma(4, scale=1 / 4).pdf(factor) * stats.poisson(2 * factor).pmf(6)
    mean = (weight * factor).sum() / weight.sum()
    sd = np.sqrt((weight * factor**2).sum() / weight.sum() - mean**2)
    found = gamma_poisson(np.array([1.0, 3.0]), 6)
    assert (found.mean, found.sd) == pytest.approx((mean, sd), rel=1e-6)


def test_where_nothing_is_expected_or_the_draws_agree_nothing_moves():
    assert gamma_poisson(np.zeros(5), 3) is None
    assert gamma_poisson(np.full(5, 2.0), 3) is None


draws = st.lists(st.floats(1e-3, 1e3), min_size=3, max_size=40).filter(
    lambda each: max(each) > 1.01 * min(each)
)


@given(draws, st.integers(0, 500))
def test_moved_draws_have_the_posteriors_mean_and_deviation_in_their_order(expected, seen):
    expected = np.array(expected)
    found = gamma_poisson(expected, seen)
    moved = expected * draw_factors(expected, found)
    assert moved.mean() == pytest.approx(expected.mean() * found.mean, rel=1e-6)
    assert moved.std() == pytest.approx(expected.mean() * found.sd, rel=1e-6)
    assert (moved >= 0).all()
    assert (np.diff(moved[np.argsort(expected)]) >= -1e-9 * moved.max()).all()


@given(draws, st.integers(0, 500))
def test_the_factor_lies_between_the_model_and_the_record(expected, seen):
    expected = np.array(expected)
    found, record = gamma_poisson(expected, seen), seen / expected.mean()
    assert min(record, 1) - 1e-9 <= found.mean <= max(record, 1) + 1e-9


def test_a_mean_four_times_the_modelled_with_equal_weights_by_hand():
    """Prior variance 0.25 and record's 0.25: half of log 4 plus half of half of 0.25."""
    found = log_normal_ratio(4.0, 0.25, 0.25)
    assert found.credibility == pytest.approx(0.5)
    assert found.mean == pytest.approx(2 * np.exp(0.0625))
    assert found.log_sd == pytest.approx(np.sqrt(0.125))


def test_the_mean_factor_is_bayes_rule_on_a_grid():
    """The factor is log-normal of mean 1 before, and a record of mean equal to it has come to 3."""
    prior, process = 0.4, 0.3
    log = np.linspace(-8, 8, 200_001)
    weight = stats.norm(-prior / 2, np.sqrt(prior)).pdf(log)
    weight *= stats.norm(log - process / 2, np.sqrt(process)).pdf(np.log(3.0))
    assert log_normal_ratio(3.0, process, prior).mean == pytest.approx(
        (weight * np.exp(log)).sum() / weight.sum()
    )


def test_many_claims_go_to_the_record_and_a_wide_one_hardly_moves():
    assert log_normal_ratio(3.0, 1e-6, 0.1).mean == pytest.approx(3.0, rel=1e-3)
    assert log_normal_ratio(3.0, 100.0, 1e-6).mean == pytest.approx(1.0, rel=1e-3)
    assert log_normal_ratio(3.0, 1.0, 0.0).mean == 1.0
