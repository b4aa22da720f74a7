"""The log-normal of bills against scipy, quadrature and its own properties."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from riskmodel.lognormal import exceedance, limited_mean, limited_slope, median_for_share, normal_cdf

MEDIANS = st.floats(1e-3, 1e8)
SDS = st.floats(0.1, 3.0)
LIMITS = st.floats(1.0, 1e8)


def test_normal_cdf_agrees_with_scipy_to_the_last_digits_in_both_tails():
    z = np.linspace(-30, 9, 4001)
    assert normal_cdf(z) == pytest.approx(stats.norm.cdf(z), rel=1e-12)


def test_normal_cdf_keeps_the_shape_it_is_given():
    assert normal_cdf(0.0).shape == ()
    assert float(normal_cdf(0.0)) == 0.5
    assert normal_cdf(np.zeros((2, 3))).shape == (2, 3)


@pytest.mark.parametrize(("median", "sd", "limit"), [(3750, 1.6, 40000), (60000, 1.2, 8000), (5, 0.3, 6)])
def test_limited_mean_agrees_with_quadrature(median, sd, limit):
    law = stats.lognorm(sd, scale=median)
    below, _ = integrate.quad(lambda x: law.sf(x), 0, limit, epsabs=0, epsrel=1e-11, limit=200)
    assert float(limited_mean(median, sd, limit)) == pytest.approx(below, rel=1e-9)


def test_exceedance_agrees_with_scipy():
    assert float(exceedance(1000, 1.3, 5000)) == pytest.approx(
        stats.lognorm(1.3, scale=1000).sf(5000), rel=1e-12
    )


@given(MEDIANS, SDS, LIMITS)
def test_limited_mean_is_over_neither_the_limit_nor_the_mean(median, sd, limit):
    found = float(limited_mean(median, sd, limit))
    assert 0 < found <= min(limit, median * math.exp(sd**2 / 2)) * (1 + 1e-12)


@given(MEDIANS, SDS, LIMITS, st.floats(1.0, 100.0))
def test_a_dearer_bill_or_a_higher_limit_never_lowers_the_mean(median, sd, limit, times):
    found = float(limited_mean(median, sd, limit)) * (1 - 1e-12)
    assert float(limited_mean(median * times, sd, limit)) >= found
    assert float(limited_mean(median, sd, limit * times)) >= found


@given(st.floats(1.0, 1e6), SDS, st.floats(1.0, 1e6))
def test_the_slope_is_that_of_the_limited_mean(median, sd, limit):
    step = 1e-5 * median
    rise = float(limited_mean(median + step, sd, limit) - limited_mean(median - step, sd, limit)) / (2 * step)
    assert float(limited_slope(median, sd, limit)) == pytest.approx(rise, rel=1e-4, abs=1e-6)


def test_without_a_bill_nothing_is_paid_or_exceeded():
    assert float(limited_mean(0.0, 1.2, 1000)) == pytest.approx(0.0, abs=1e-290)
    assert float(exceedance(0.0, 1.2, 1000)) == 0.0


def test_a_limit_far_off_leaves_the_plain_mean():
    assert float(limited_mean(100, 1.0, 1e30)) == pytest.approx(100 * math.exp(0.5), rel=1e-14)


@given(st.floats(1e-6, 0.99), SDS)
def test_the_median_for_a_share_gives_that_share_back(share, sd):
    median = median_for_share(share, sd)
    assert float(limited_mean(median, sd, 1.0)) == pytest.approx(share, rel=1e-9)


def test_the_median_for_a_share_rises_with_it_and_is_nought_at_nought():
    medians = median_for_share([0.0, 0.1, 0.5, 0.99], 1.2)
    assert medians[0] == 0.0
    assert (np.diff(medians) > 0).all()
