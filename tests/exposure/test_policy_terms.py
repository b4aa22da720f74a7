"""Policy terms on outcomes, and the part of the year a policy is on risk."""

import datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.exposure import annual_loss
from riskmodel.exposure.on_risk import chance_on_risk, share_on_risk
from riskmodel.exposure.terms import (
    at_agreed_value,
    at_market_value,
    deductible_of,
    exclusive_chances,
    one_loss,
    paid,
    paid_salvage_inside,
    paid_salvage_outside,
)

MONEY = st.floats(0, 1e6)
YEAR = (datetime.date(2026, 1, 1), datetime.date(2027, 1, 1))


def test_the_deductible_comes_off_and_the_limit_stands_above_it():
    assert paid([[0, 400, 1500, 9000]], 500.0, 5000.0)[0] == pytest.approx([0, 0, 1000, 5000])


def test_each_vessel_has_its_own_terms():
    found = paid([[1000, 4000], [1000, 4000]], [100.0, 2000.0], [2000.0, np.inf])
    np.testing.assert_allclose(found, [[900, 2000], [0, 2000]])


def test_without_terms_everything_is_paid():
    np.testing.assert_array_equal(paid([3.0, 0.0, 7.0]), [3, 0, 7])


@given(MONEY, MONEY, MONEY, MONEY)
def test_more_deductible_never_pays_more_and_more_limit_never_less(loss, deductible, limit, more):
    assert paid(loss, deductible + more, limit) <= paid(loss, deductible, limit)
    assert paid(loss, deductible, limit + more) >= paid(loss, deductible, limit)
    assert 0 <= paid(loss, deductible, limit) <= min(loss, limit)


@given(MONEY, MONEY, MONEY, st.floats(0, 1))
def test_salvage_never_adds_and_is_worth_no_less_outside_the_limit(loss, deductible, limit, share):
    salvage = share * loss
    inside = paid_salvage_inside(loss, salvage, deductible, limit)
    outside = paid_salvage_outside(loss, salvage, deductible, limit)
    assert 0 <= outside <= inside + 1e-6 <= paid(loss, deductible, limit) + 2e-6


def test_salvage_inside_and_outside_a_limit_differ_where_the_limit_bites():
    # A wreck of 30,000 that brings 12,000, over a deductible of 1,000 and under a limit of 20,000.
    assert paid_salvage_inside(30_000.0, 12_000.0, 1_000.0, 20_000.0) == 17_000
    assert paid_salvage_outside(30_000.0, 12_000.0, 1_000.0, 20_000.0) == 8_000
    # Where it does not bite they are one.
    assert paid_salvage_inside(15_000.0, 2_000.0, 1_000.0, 50_000.0) == 12_000
    assert paid_salvage_outside(15_000.0, 2_000.0, 1_000.0, 50_000.0) == 12_000


def test_a_deductible_may_be_a_share_of_the_value():
    np.testing.assert_allclose(deductible_of([10_000, 80_000], 500.0, 0.02), [500, 1600])
    np.testing.assert_allclose(deductible_of([10_000, 80_000], 500.0), 500)


def test_market_value_caps_and_agreed_value_pays_its_sum():
    loss = [[5_000.0, 38_000.0, 52_000.0]]
    np.testing.assert_allclose(at_market_value(loss, [40_000.0]), [[5_000, 38_000, 40_000]])
    np.testing.assert_allclose(at_agreed_value(loss, [40_000.0], [50_000.0]), [[5_000, 38_000, 50_000]])
    np.testing.assert_allclose(at_agreed_value(loss, [40_000.0], [30_000.0]), [[5_000, 30_000, 30_000]])
    assert at_agreed_value([[0.0]], [0.0], [9.0]) == 0


def test_terms_of_a_mean_are_not_the_mean_of_terms():
    loss, weight = np.array([[100.0, 10_000.0]]), np.array([[0.9, 0.1]])
    year = annual_loss([0.02], paid(loss, 500.0), weight)
    assert year.mean == pytest.approx(0.02 * 0.1 * 9500)
    assert year.mean > 0.02 * paid((loss * weight).sum(axis=1), 500.0)[0]


@given(st.lists(st.floats(0, 0.999), min_size=1, max_size=6))
def test_end_states_exclude_each_other_and_come_as_often_as_any_would(alone):
    found = exclusive_chances([alone])[0]
    assert found.sum() == pytest.approx(1 - np.prod(1 - np.array(alone)), abs=1e-12)
    assert (found <= np.array(alone) + 1e-12).all()


def test_a_certain_end_state_leaves_the_others_next_to_nothing():
    found = exclusive_chances([[1.0, 0.2]])[0]
    assert found.sum() == pytest.approx(1)
    assert found[1] < 0.01
    np.testing.assert_array_equal(exclusive_chances([[0.0, 0.0]]), [[0, 0]])


def test_one_vessel_has_one_loss_a_year(book):
    chance = np.array([[0.1, 0.2], [0.0, 0.0], [0.5, 0.5]])
    total, weight = one_loss(chance)
    np.testing.assert_allclose(total, [0.3, 0, 1])
    np.testing.assert_allclose(total[:, None] * weight, chance)
    np.testing.assert_allclose(weight.sum(axis=1), 1)
    year = annual_loss(total, [[10.0, 4.0]] * 3, weight, 1)
    assert year.mean == pytest.approx((chance * [10, 4]).sum())
    assert year.exceedance(20) == pytest.approx(0, abs=1e-15)


@pytest.mark.parametrize(
    ("inception", "expiry", "share"),
    [
        ("NaT", "NaT", 1.0),
        ("2026-07-02", "NaT", 183 / 365),
        ("2025-03-01", "2026-03-01", 59 / 365),
        ("2025-01-01", "2025-12-31", 0.0),
        ("2027-06-01", "2028-06-01", 0.0),
        ("2026-05-01", "2026-05-01", 0.0),
    ],
)
def test_a_policy_counts_for_its_days_in_the_year(inception, expiry, share):
    assert share_on_risk([inception], [expiry], YEAR) == pytest.approx(share)


def test_lay_up_is_off_risk_only_while_the_policy_is_on():
    away, back = ["2026-10-01", "2026-10-01", "NaT"], ["2027-04-01", "2026-11-01", "NaT"]
    found = share_on_risk(["NaT", "2026-10-15", "NaT"], ["NaT", "NaT", "NaT"], YEAR, (away, back))
    np.testing.assert_allclose(found, np.array([273, 78 - 17, 365]) / 365)


def test_half_a_year_twice_is_a_year():
    half = chance_on_risk([0.3, 1.0, 0.0], 0.5)
    np.testing.assert_allclose(1 - (1 - half) ** 2, [0.3, 1, 0])
    np.testing.assert_array_equal(chance_on_risk([0.3, 1.0], 0.0), 0)
    np.testing.assert_allclose(chance_on_risk([0.3, 1.0], 1.0), [0.3, 1])


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: paid([1.0], -1.0), "deductible must be 0 or more, got -1"),
        (lambda: paid([1.0], 0.0, np.nan), "limit must be 0 or more"),
        (lambda: paid([-1.0]), "loss must be 0 or more"),
        (lambda: paid([[1.0, 2.0]], [1.0, 2.0, 3.0]), r"deductible .* does not fit losses"),
        (lambda: deductible_of(1.0, 0.0, 1.5), r"deductible share must lie in .0, 1., got 1.5"),
        (lambda: exclusive_chances([0.5]), r"chance must be \(n, k\)"),
        (lambda: one_loss([0.5]), r"must be \(n, k\), got shape \(1,\)"),
        (lambda: one_loss([[0.1, 0.2], [0.7, 0.6]]), "add to 1.3 at row 1, more than 1"),
        (lambda: chance_on_risk(1.1, 0.5), r"must lie in .0, 1., got 1.1"),
        (lambda: share_on_risk(["2026-05-02"], ["2026-05-01"], YEAR), "expiry must not be before inception"),
        (lambda: share_on_risk(["NaT"], ["NaT"], YEAR[::-1]), "year must end after it begins"),
    ],
)
def test_terms_that_make_no_sense_are_refused(make, says):
    with pytest.raises(ParameterError, match=says):
        make()
