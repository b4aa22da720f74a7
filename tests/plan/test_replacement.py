"""Age replacement: where no age pays, what moves the age and which way, arrays, and what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import gamma

from riskmodel.errors import ParameterError
from riskmodel.plan import best_replacement_age
from riskmodel.plan.intervals.replacement import replacement_cost_rate

SHAPES = st.floats(1.05, 8.0)
SCALES = st.floats(0.01, 1e4)
COSTS = st.floats(0.01, 100.0)
RATIOS = st.floats(1.05, 1e4)


@pytest.mark.parametrize("shape", [0.5, 0.99, 1.0])
def test_no_age_pays_where_the_hazard_does_not_rise(shape):
    best = best_replacement_age(shape, 7.0, 1.0, 10.0)
    assert best.age == np.inf
    assert best.cost_rate == pytest.approx(10.0 / (7.0 * gamma(1 + 1 / shape)))


@pytest.mark.parametrize("failure", [0.0, 0.5, 1.0])
def test_no_age_pays_where_failing_costs_no_more(failure):
    best = best_replacement_age(3.0, 7.0, 1.0, failure)
    assert best.age == np.inf
    assert best.cost_rate == pytest.approx(failure / (7.0 * gamma(4 / 3)))


def test_an_age_that_no_part_lives_to_see_is_none():
    assert best_replacement_age(1.01, 1.0, 1.0, 1.01).age == np.inf


def test_renewing_for_nothing_is_done_always():
    best = best_replacement_age(2.0, 5.0, 0.0, 10.0)
    assert (best.age, best.cost_rate) == (0.0, 0.0)


def test_plain_numbers_give_plain_numbers():
    best = best_replacement_age(2, 1, 1, 10)
    assert isinstance(best.age, float)
    assert isinstance(best.cost_rate, float)


def test_arrays_broadcast():
    best = best_replacement_age([2.0, 3.0, 0.8], [[1.0], [2.0]], 1.0, 10.0)
    assert best.age.shape == best.cost_rate.shape == (2, 3)
    assert best.age[1, 0] == pytest.approx(2 * best_replacement_age(2.0, 1.0, 1.0, 10.0).age)
    assert np.isinf(best.age[:, 2]).all()


def test_nothing_in_gives_nothing_out():
    assert best_replacement_age([], 1.0, 1.0, 2.0).age.shape == (0,)


@given(SHAPES, SCALES, COSTS, RATIOS)
def test_no_age_near_or_far_costs_less(shape, scale, planned, ratio):
    failure = planned * ratio
    best = best_replacement_age(shape, scale, planned, failure)
    others = scale * np.geomspace(1e-3, 1e3, 61)
    rates = replacement_cost_rate(others, (shape, scale), (planned, failure))
    assert (best.cost_rate <= rates * (1 + 1e-9)).all()
    if np.isfinite(best.age):
        own = replacement_cost_rate(best.age, (shape, scale), (planned, failure))
        assert best.cost_rate == pytest.approx(own, rel=1e-8)


@given(SHAPES, COSTS, RATIOS, st.floats(1.01, 5.0))
def test_dearer_failures_never_put_renewal_off(shape, planned, ratio, more):
    base = best_replacement_age(shape, 1.0, planned, planned * ratio)
    dearer = best_replacement_age(shape, 1.0, planned, planned * ratio * more)
    assert dearer.age <= base.age


@given(SHAPES, COSTS, RATIOS, st.floats(0.01, 100.0))
def test_the_age_goes_with_the_scale_and_not_with_the_currency(shape, planned, ratio, times):
    base = best_replacement_age(shape, 1.0, planned, planned * ratio)
    scaled = best_replacement_age(shape, times, times * planned, times * planned * ratio)
    assert scaled.age == pytest.approx(times * base.age, rel=1e-6)
    assert scaled.cost_rate == pytest.approx(base.cost_rate, rel=1e-6)


def test_renewing_at_no_age_costs_a_failure_each_life():
    never = replacement_cost_rate(np.inf, (2.0, 1.0), (1.0, 10.0))
    assert never == pytest.approx(10.0 / gamma(1.5))


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((0.0, 1, 1, 2), "shape must be above 0 and finite, got 0"),
        ((-2.0, 1, 1, 2), "shape must be above 0 and finite, got -2"),
        ((np.nan, 1, 1, 2), "shape must be above 0 and finite, got nan"),
        ((2, 0.0, 1, 2), "scale must be above 0 and finite, got 0"),
        ((2, np.inf, 1, 2), "scale must be above 0 and finite, got inf"),
        ((2, 1, -1.0, 2), "planned_cost must be 0 or more and finite, got -1"),
        ((2, 1, 1, -2.0), "failure_cost must be 0 or more and finite, got -2"),
        (([2, -1], 1, 1, 2), "shape must be above 0 and finite, got -1"),
    ],
)
def test_impossible_lives_and_costs_are_refused(arguments, message):
    with pytest.raises(ParameterError, match=message):
        best_replacement_age(*arguments)


@pytest.mark.parametrize("age", [0.0, -1.0, np.nan])
def test_an_age_of_nothing_is_refused(age):
    with pytest.raises(ParameterError, match="age must be above 0"):
        replacement_cost_rate(age, (2.0, 1.0), (1.0, 2.0))
