"""The prior a trade interval becomes: what it says, what it is worth, what it refuses."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.prior import median_to_quantile, quantile_doubt


def life_of(prior):
    return fit_life(LifeRows.none(), prior)


def test_five_years_is_the_age_by_which_a_tenth_has_failed():
    # Closed form: 5 / (-log 0.9) ** (1 / 2) = 15.40; read as the scale it would fail 63 % by five years.
    life = life_of(WeibullPrior.from_interval(5, shape=2))
    assert life.mode == pytest.approx((2, 15.40), abs=0.005)
    assert life.quantile(0.1).age == pytest.approx(5, rel=0.01)


def test_chances_before_at_and_after_the_interval_are_those_of_a_cautious_trade():
    # Judgement: the doubt about which early quantile it is lifts a tenth to a seventh and no further.
    half, whole, twice = life_of(WeibullPrior.from_interval(5, shape=2)).failure_probability(0, [2.5, 5, 10])
    assert 0.02 < half < 0.06
    assert 0.10 < whole < 0.15
    assert 0.30 < twice < 0.45


def test_middle_ages_of_the_prior_lie_well_beyond_the_interval():
    life = life_of(WeibullPrior.from_interval(5))
    early, median, late = life.quantile([0.05, 0.5, 0.95]).age
    assert early < 5 < median < late
    assert 10 < median < 13


@pytest.mark.parametrize(("shape", "doubt"), [(1.0, 0.8727), (2.5, 0.3491), (3.0, 0.2909)])
def test_doubt_about_the_quantile_spans_two_to_thirty_percent(shape, doubt):
    # (k(0.30) - k(0.02)) / (3.29 * shape) by hand: 2.8710 / 3.2897 / shape.
    assert quantile_doubt(shape) == pytest.approx(doubt, abs=5e-4)


def test_one_source_keeps_a_floor_of_disagreement():
    prior = WeibullPrior.from_interval(10, shape=2.5)
    assert prior.log_age_sd == pytest.approx(math.hypot(quantile_doubt(2.5), 0.25))
    assert prior.log_age == pytest.approx(math.log(10))


def test_two_sources_disagree_by_half_their_log_range():
    prior = WeibullPrior.from_interval(5, 20, shape=2.5)
    assert prior.log_age == pytest.approx(math.log(10))
    spread = 0.5 * math.log(4) / stats.norm.ppf(0.95)
    assert prior.log_age_sd == pytest.approx(math.hypot(quantile_doubt(2.5), spread))


def test_a_typical_life_is_the_median_and_has_no_doubt_about_the_quantile():
    prior = WeibullPrior.from_typical_life(12, shape=2.5)
    assert prior.log_age_sd == 0.25
    assert life_of(prior).quantile(0.5).age == pytest.approx(12, rel=0.02)


def test_a_typical_life_read_as_an_early_quantile_is_far_too_long():
    early = life_of(WeibullPrior.from_interval(12, shape=2.5)).quantile(0.5).age
    assert early > 2 * life_of(WeibullPrior.from_typical_life(12, shape=2.5)).quantile(0.5).age


@pytest.mark.parametrize("shape", [0.8, 1.0, 2.5, 4.0])
def test_the_step_from_median_to_early_quantile_agrees_with_scipy(shape):
    known = stats.weibull_min(shape)
    assert median_to_quantile(shape) == pytest.approx(np.log(known.ppf(0.1) / known.ppf(0.5)))


def test_stated_intervals_are_the_central_intervals_of_the_prior():
    prior = WeibullPrior.from_shape_and_quantile(shape=(1.5, 4), quantile=(0.05, 3, 12), level=0.9)
    shape = stats.lognorm(prior.log_shape_sd, scale=math.exp(prior.log_shape))
    age = stats.lognorm(prior.log_age_sd, scale=math.exp(prior.log_age))
    assert shape.ppf([0.05, 0.95]) == pytest.approx([1.5, 4])
    assert age.ppf([0.05, 0.95]) == pytest.approx([3, 12])
    assert prior.quantile == 0.05


def test_level_of_a_stated_interval_defaults_to_95_percent():
    prior = WeibullPrior.from_shape_and_quantile(shape=(1.5, 4), quantile=(0.1, 3, 12))
    assert prior.log_age_sd == pytest.approx(math.log(4) / 2 / 1.959964, rel=1e-6)


def test_equal_ends_fix_the_shape():
    prior = WeibullPrior.from_shape_and_quantile(shape=(2, 2), quantile=(0.1, 3, 12))
    assert (prior.log_shape_sd, prior.worth_on_shape) == (0, math.inf)
    assert np.exp(life_of(prior).nodes.log_shape) == pytest.approx(2.0)


def test_worth_of_a_prior_in_failures():
    # 1 / (shape * sd) ** 2 on life, 0.61 / sd ** 2 on shape.
    prior = WeibullPrior(math.log(2.0), 0.3, math.log(5), 0.25)
    assert prior.worth_on_life == pytest.approx(4.0)
    assert prior.worth_on_shape == pytest.approx(6.78, abs=0.01)


def test_a_prior_worth_four_failures_loses_half_its_say_to_four():
    # Fisher information on log age at a known shape: n * shape ** 2 of n failures, 1 / sd ** 2 of the prior.
    prior = WeibullPrior(math.log(2.0), 0.0, math.log(5), 0.25)
    usual = life_of(prior).mode[1]
    life = fit_life(LifeRows([usual], [usual], count=[4]), prior)
    variance = life.nodes.weight @ (life.nodes.log_age - life.nodes.weight @ life.nodes.log_age) ** 2
    assert 0.25**2 / variance == pytest.approx(2, rel=0.1)


def test_a_flat_prior_is_worth_nothing():
    assert WeibullPrior.flat().worth_on_life == 0
    assert WeibullPrior.flat().worth_on_shape == 0


@settings(max_examples=40, deadline=None)
@given(low=st.floats(0.2, 60), ratio=st.floats(1, 8), shape=st.floats(0.5, 5))
def test_every_interval_gives_a_proper_prior_in_its_own_unit(low, ratio, shape):
    years = WeibullPrior.from_interval(low, low * ratio, shape=shape)
    days = WeibullPrior.from_interval(365.25 * low, 365.25 * low * ratio, shape=shape)
    assert low <= math.exp(years.log_age) * (1 + 1e-12)
    assert math.exp(years.log_age) <= low * ratio * (1 + 1e-12)
    assert days.log_age - years.log_age == pytest.approx(math.log(365.25))
    assert days.log_age_sd == pytest.approx(years.log_age_sd)


@pytest.mark.parametrize(("low", "high"), [(0, 5), (-1, 5), (6, 5), (5, math.inf), (math.nan, 5)])
def test_an_impossible_interval_is_refused(low, high):
    with pytest.raises(ParameterError, match="interval must be positive with low <= high, got"):
        WeibullPrior.from_interval(low, high)
    with pytest.raises(ParameterError, match="interval must be positive with low <= high, got"):
        WeibullPrior.from_typical_life(low, high)


@pytest.mark.parametrize("shape", [0, -2, math.inf, math.nan])
def test_an_impossible_shape_is_refused(shape):
    with pytest.raises(ParameterError, match="shape must be positive and finite, got"):
        WeibullPrior.flat(shape=shape)
    with pytest.raises(ParameterError, match="shape must be positive and finite, got"):
        WeibullPrior.from_interval(5, shape=shape)
    with pytest.raises(ParameterError, match="shape must be positive and finite, got"):
        WeibullPrior.from_typical_life(5, shape=shape)


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ((math.nan, 1, 0, 1), "log_shape must be finite"),
        ((0, 1, math.inf, 1), "log_age must be finite"),
        ((0, -1, 0, 1), "log_shape_sd must be 0 or more, got -1"),
        ((0, 1, 0, math.nan), "log_age_sd must be 0 or more, got nan"),
        ((0, 1, 0, 0), "log_age_sd must be above 0: a life known for certain needs no prior"),
        ((0, 1, 0, 1, 1.0), r"quantile must lie between 0 and 1, got 1\.0"),
    ],
)
def test_impossible_parameters_are_refused(values, message):
    with pytest.raises(ParameterError, match=message):
        WeibullPrior(*values)


@pytest.mark.parametrize(
    ("shape", "quantile", "level", "message"),
    [
        ((1, 2), (0.1, 3, 12), 1.0, r"level must lie between 0 and 1, got 1\.0"),
        ((2, 1), (0.1, 3, 12), 0.9, "shape must be positive with low <= high, got 2 to 1"),
        ((1, 2), (0.1, 0, 12), 0.9, "quantile age must be positive with low <= high, got 0 to 12"),
        ((1, 2), (0.0, 3, 12), 0.9, r"quantile must lie between 0 and 1, got 0\.0"),
        ((1, 2), (0.1, 3, 3), 0.9, "log_age_sd must be above 0"),
    ],
)
def test_impossible_stated_intervals_are_refused(shape, quantile, level, message):
    with pytest.raises(ParameterError, match=message):
        WeibullPrior.from_shape_and_quantile(shape=shape, quantile=quantile, level=level)
