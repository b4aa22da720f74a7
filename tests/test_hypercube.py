"""The hypercube: one stratified column for each name, log-normal ranges with their mean kept, nothing from nothing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.hypercube import WIDTH_90, Hypercube

NAMES = ["a", "physics/flooding_power_cut", "path/hose_clamps/nuisance", "loss/fire_explosion"]
CUBE = Hypercube(seed=4, count=16)
LARGE = Hypercube(seed=4, count=512)
NAME, SEED, COUNT = st.text(max_size=20), st.integers(0, 1000), st.integers(1, 100)
# Twelve orders of magnitude between the ends of a range are more than any range of the trade has.
VALUE = st.floats(1e-6, 1e6)


def drawn(cube, low, high, name="x"):
    return cube.between(name, np.array([low]), np.array([high]))[0]


@given(SEED, COUNT, NAME)
def test_every_draw_falls_in_a_stratum_of_its_own(seed, count, name):
    assert sorted(Hypercube(seed, count).strata(name)) == list(range(count))


@given(SEED, COUNT, NAME)
def test_uniforms_stand_in_the_middle_of_their_strata(seed, count, name):
    cube = Hypercube(seed, count)
    assert cube.uniform(name) == pytest.approx((cube.strata(name) + 0.5) / count)


@pytest.mark.parametrize("name", NAMES)
def test_normals_are_the_quantiles_of_the_uniforms(name):
    from scipy.stats import norm

    assert LARGE.normal(name) == pytest.approx(norm.ppf(LARGE.uniform(name)), abs=1e-9)


@given(SEED, NAME)
def test_the_same_name_and_seed_give_the_same_draws(seed, name):
    assert np.array_equal(Hypercube(seed, 32).normal(name), Hypercube(seed, 32).normal(name))


def test_other_names_and_other_seeds_give_other_draws():
    assert not np.array_equal(LARGE.strata("a"), LARGE.strata("b"))
    assert not np.array_equal(LARGE.strata("a"), Hypercube(5, 512).strata("a"))


def test_names_asked_for_in_another_order_give_the_same_draws():
    first = [LARGE.strata(name) for name in NAMES]
    again = [LARGE.strata(name) for name in reversed(NAMES)][::-1]
    assert np.array_equal(first, again)


def test_columns_are_all_but_independent():
    columns = np.array([LARGE.normal(f"quantity {number}") for number in range(30)])
    off = np.corrcoef(columns)[~np.eye(30, dtype=bool)]
    # Pairs of independent columns of 512 correlate with a standard deviation of 1/sqrt(511).
    assert abs(off).max() < 5 / np.sqrt(LARGE.count - 1)


def test_a_range_is_the_central_nine_tenths_of_its_draws():
    assert np.quantile(drawn(LARGE, 2.0, 8.0), [0.05, 0.5, 0.95]) == pytest.approx([2.0, 4.0, 8.0], rel=0.02)


@given(VALUE, st.floats(1, 1e3))
def test_the_mean_is_that_of_the_log_normal_however_few_the_draws(low, wide):
    # Sixteen strata miss the tail beyond the last: its part of the mean is put back.
    high = low * wide
    sd = np.log(high / low) / WIDTH_90
    expected = np.sqrt(low * high) * np.exp(0.5 * sd**2)
    assert drawn(CUBE, low, high).mean() == pytest.approx(expected, rel=1e-9)


@given(VALUE)
def test_an_empty_range_is_its_value(value):
    assert drawn(CUBE, value, value) == pytest.approx(np.full(CUBE.count, value))


def test_nothing_to_nothing_is_nothing():
    assert (drawn(CUBE, 0.0, 0.0) == 0).all()


@given(VALUE)
def test_a_range_from_nothing_has_one_e_fold_a_standard_deviation(high):
    values = drawn(LARGE, 0.0, high)
    assert (values > 0).all()
    assert np.log(values).std() == pytest.approx(1.0, abs=0.01)
    assert np.quantile(values, 0.95) == pytest.approx(high, rel=0.02)


@given(VALUE, st.floats(1, 100), st.floats(1, 100))
def test_ranges_of_one_name_rise_and_fall_together(low, wide, wider):
    first, second = CUBE.between(
        "x", np.array([low, low]), np.array([low * wide * 1.01, low * wide * wider * 1.02])
    )
    assert np.array_equal(np.argsort(first), np.argsort(second))


@given(VALUE, st.floats(1, 100), st.floats(0.01, 100))
def test_a_range_in_other_units_gives_the_same_draws_in_them(low, wide, factor):
    own, other = CUBE.between("x", np.array([low, low * factor]), np.array([low * wide, low * wide * factor]))
    assert other == pytest.approx(own * factor, rel=1e-9)


def test_every_range_has_a_row_of_its_own():
    low, high = np.array([1.0, 0.0, 3.0]), np.array([2.0, 0.0, 3.0])
    found = CUBE.between("x", low, high)
    assert found.shape == (3, CUBE.count)
    for row, *ends in zip(found, low, high, strict=True):
        assert np.array_equal(row, drawn(CUBE, *ends))


def test_a_hypercube_is_a_value():
    assert Hypercube(4, 16) == CUBE
    with pytest.raises(AttributeError, match="cannot assign"):
        CUBE.seed = 5
