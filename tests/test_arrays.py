"""Array helpers: the checks refuse what they say, and weighted quantiles agree with sorting by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from riskmodel.arrays import fraction, not_negative, weighted_quantile
from riskmodel.errors import ParameterError


def test_numbers_of_nought_or_more_pass_as_floats():
    assert not_negative("age", [0, 3]).dtype == float


@pytest.mark.parametrize("value", [-1.0, np.nan, np.inf])
def test_negative_and_endless_numbers_are_refused_with_name_and_value(value):
    with pytest.raises(ParameterError, match=f"age must be 0 or more and finite, got {value}"):
        not_negative("age", value)


def test_the_place_of_a_bad_number_is_told():
    with pytest.raises(ParameterError, match=r"got -2\.0 at position 1, 0"):
        not_negative("age", [[1.0, 2.0], [-2.0, 3.0]])


@pytest.mark.parametrize("value", [0.0, 1.0, -0.1, np.nan])
def test_what_is_no_fraction_is_refused(value):
    with pytest.raises(ParameterError, match=f"level must lie between 0 and 1, got {value}"):
        fraction("level", value)


def test_a_fraction_passes():
    assert fraction("level", 0.9) == 0.9


def test_equal_weights_give_the_mean_of_the_quantiles_near():
    values = np.random.default_rng(3).normal(size=101)
    got = weighted_quantile(values, np.full(101, 1 / 101), [0.05, 0.5, 0.95])
    near = [np.linspace(0.04, 0.06, 20_001), np.linspace(0.4, 0.6, 20_001), np.linspace(0.94, 0.96, 20_001)]
    by_hand = [np.quantile(values, p, method="inverted_cdf").mean() for p in near]
    assert got == pytest.approx(by_hand, abs=1e-3)


def test_a_quantile_rises_where_every_value_does_though_their_order_changes():
    rng = np.random.default_rng(4)
    values = np.cumsum(rng.exponential(size=(60, 25)), axis=0)
    got = weighted_quantile(values, rng.exponential(size=25), [0.05, 0.5, 0.95])
    assert (np.diff(got, axis=1) > 0).all()


def test_a_weight_counts_like_so_many_copies():
    once = weighted_quantile(np.array([1.0, 2.0, 3.0]), np.array([1.0, 8.0, 1.0]), 0.5)
    assert once == pytest.approx(2.0)


def test_quantiles_run_along_the_last_axis():
    got = weighted_quantile(np.arange(12.0).reshape(3, 4), np.full(4, 0.25), [0.25, 0.75])
    assert got.shape == (2, 3)
    assert (np.diff(got, axis=0) > 0).all()


@given(
    arrays(float, 8, elements=st.integers(-1000, 1000).map(float), unique=True),
    arrays(float, 8, elements=st.floats(0.01, 10)),
    st.floats(0.01, 0.99),
)
def test_a_quantile_lies_within_the_values_whatever_their_order(values, weights, probability):
    got = weighted_quantile(values, weights, probability)
    assert values.min() <= got <= values.max()
    assert got == pytest.approx(weighted_quantile(values[::-1], weights[::-1], probability), abs=1e-6)
