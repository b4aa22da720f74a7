"""Maker's lots: the conjugate pair, its few nodes against fine quadrature, and which way failures move siblings."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from riskmodel.errors import ParameterError
from riskmodel.life.lots import chance_in_lot, learn_lot, lot_worth, marginal_correction

SPREADS = st.floats(0.1, 1.0)


def posterior(failures, expected, spread):
    """The factor's posterior: Gamma(a + d, a + E), a = 1 / spread**2."""
    return stats.gamma(spread**-2 + failures, scale=1 / (spread**-2 + expected))


def fine_chance(chance, gamma):
    """1 - E[exp(-H L)] by equally likely values of the factor."""
    factor = gamma.ppf((np.arange(50_000) + 0.5) / 50_000)
    return -np.expm1(np.multiply.outer(np.log1p(-np.asarray(chance)), factor)).mean(axis=-1)


@given(st.integers(0, 30), st.floats(0, 40), SPREADS)
def test_the_mean_is_the_conjugate_pairs(failures, expected, spread):
    a = spread**-2
    lot = learn_lot(float(failures), expected, spread)
    assert lot.weight.sum() == pytest.approx(1.0)
    assert lot.mean == pytest.approx((a + failures) / (a + expected), rel=1e-9)


@given(st.integers(0, 30), st.floats(0, 40), SPREADS)
def test_the_nodes_carry_the_gammas_first_four_moments(failures, expected, spread):
    lot, gamma = learn_lot(float(failures), expected, spread), posterior(failures, expected, spread)
    for power in range(1, 5):
        assert lot.factor**power @ lot.weight == pytest.approx(gamma.moment(power), rel=1e-7)


@pytest.mark.parametrize("spread", [0.2, 0.4, 0.8])
@pytest.mark.parametrize(("failures", "expected"), [(0, 0.0), (0, 3.0), (4, 0.5), (12, 12.0)])
def test_a_chance_in_a_lot_agrees_with_fine_quadrature(failures, expected, spread):
    lot, gamma = learn_lot(failures, expected, spread), posterior(failures, expected, spread)
    chance = np.array([1e-9, 0.003, 0.1, 0.5, 0.9])
    assert chance_in_lot(chance, lot) == pytest.approx(fine_chance(chance, gamma), rel=1e-4)


@pytest.mark.parametrize(("failures", "expected"), [(0, 0.0), (3, 1.0)])
def test_a_chance_in_a_lot_is_the_closed_form(failures, expected):
    # E[exp(-H L)] = (1 + H / rate)**-shape, the gamma's own transform.
    shape, rate = 6.25 + failures, 6.25 + expected
    hazard = np.array([1e-6, 0.05, 0.7])
    found = chance_in_lot(-np.expm1(-hazard), learn_lot(failures, expected, 0.4))
    assert found == pytest.approx(-np.expm1(-shape * np.log1p(hazard / rate)), rel=1e-6)


@pytest.mark.parametrize("spread", [0.2, 0.4, 0.8])
@pytest.mark.parametrize("quantile", [0.02, 0.10, 0.5])
def test_all_lots_together_fail_by_their_quantile_as_the_class_does(spread, quantile):
    corrected = -np.expm1(marginal_correction(spread, quantile) * np.log1p(-quantile))
    assert fine_chance(corrected, posterior(0, 0, spread)) == pytest.approx(quantile, rel=1e-5)
    # A spread of lots makes early failures of the bad ones, so the hazard must be a little higher to keep the share.
    assert 1 < marginal_correction(spread, quantile) < 1.5


def test_lots_that_hardly_differ_need_no_correction_and_learn_nothing():
    assert marginal_correction(1e-4, 0.1) == pytest.approx(1.0, abs=1e-6)
    assert learn_lot(5, 1, 1e-4).mean == pytest.approx(1.0, abs=1e-6)


@given(st.integers(0, 20), st.floats(0, 10), SPREADS, st.floats(1e-6, 0.95))
def test_more_failures_raise_a_siblings_chance_and_more_survival_lowers_it(
    failures, expected, spread, chance
):
    of = np.array(chance)
    before = chance_in_lot(of, learn_lot(failures, expected, spread))
    assert chance_in_lot(of, learn_lot(failures + 1, expected, spread)) > before
    assert chance_in_lot(of, learn_lot(failures, expected + 1, spread)) < before
    assert 0 < before < 1


@given(st.floats(0, 1), st.floats(0, 1))
def test_the_order_of_parts_in_a_lot_stays(one, other):
    lot = learn_lot(3, 1.0, 0.4)
    low, high = chance_in_lot(np.sort([one, other]), lot)
    assert low <= high


def test_chances_keep_their_form_whatever_the_shape():
    chance = np.linspace(0, 1, 12).reshape(3, 4)
    found = chance_in_lot(chance, learn_lot(1, 1.0, 0.4))
    assert found.shape == (3, 4)
    assert found[0, 0] == 0
    assert found[-1, -1] == pytest.approx(1.0)


@pytest.mark.parametrize(("failures", "expected"), [(-1, 0.0), (0, -0.1), (np.nan, 0.0), (0, np.nan)])
def test_counts_below_nought_are_refused(failures, expected):
    with pytest.raises(ParameterError, match="failures and expected must be 0 or more, got"):
        learn_lot(failures, expected, 0.4)


@pytest.mark.parametrize("spread", [0.0, -0.4, np.inf, np.nan])
def test_a_spread_that_is_none_is_refused(spread):
    with pytest.raises(ParameterError, match="a lot's spread must be above 0, got"):
        lot_worth(spread)


@pytest.mark.parametrize("quantile", [0.0, 1.0, 1.5])
def test_a_quantile_must_be_a_share(quantile):
    with pytest.raises(ParameterError, match="quantile"):
        marginal_correction(0.4, quantile)
