"""The age of a part nobody dated: a density from a renewal process, never nought and never the boat's age."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.ages import OLDEST, STEP, Upkeep, age_table, age_weights

KNOWN = fit_life(LifeRows.none(), WeibullPrior(math.log(2.5), 1e-6, math.log(10 * 0.10536**0.4), 1e-6))
TABLE = age_table(KNOWN, Upkeep(5.0, 1.0, (0.2, 0.45, 0.7)))


def chance_of_letting_go(life, table, weights, horizon=1.0):
    return weights @ life.failure_probability(table.ages, horizon)


@settings(max_examples=60, deadline=None)
@given(oldest=st.floats(0.3, 120), low=st.floats(0, 1), width=st.floats(0, 1))
def test_weights_are_a_density_inside_their_bounds(oldest, low, width):
    youngest = low * oldest
    limit = youngest + width * (oldest - youngest)
    weights = age_weights(TABLE, oldest, youngest, limit)
    assert weights.shape == (3, len(TABLE.ages))
    assert (weights >= 0).all()
    assert weights.sum(axis=1) == pytest.approx(1, abs=1e-9)
    held = TABLE.ages[weights.max(axis=0) > 0]
    assert held.min() >= min(youngest, OLDEST) - STEP
    assert held.max() <= limit + STEP


@pytest.mark.parametrize("boat", [3.0, 12.0, 25.0, 60.0])
def test_the_age_is_spread_and_is_neither_nought_nor_the_boats(boat):
    for weights in age_weights(TABLE, boat):
        mean = weights @ TABLE.ages
        assert weights.max() < 0.95
        assert 0.3 < mean < boat
        assert weights[TABLE.ages < boat - 2 * STEP].sum() > 0.05


def test_a_new_boat_most_likely_has_its_first_parts():
    weights = age_weights(TABLE, 1.0)[1]
    assert weights[(TABLE.ages > 0.9) & (TABLE.ages < 1.1)].sum() > 0.95


def test_owners_who_renew_on_schedule_have_no_part_past_it():
    table = age_table(KNOWN, Upkeep(5.0, 1.0, (1 - 1e-12, 1 - 1e-12, 1 - 1e-12)))
    assert age_weights(table, 40.0)[1][table.ages > 5.1].sum() < 1e-6


def test_more_owners_who_renew_make_younger_parts():
    means = age_weights(TABLE, 30.0) @ TABLE.ages
    assert (np.diff(means) < 0).all()


def test_in_the_long_run_renewals_come_once_a_mean_life():
    # Elementary renewal theorem (Cox 1962, from memory): the renewal rate tends to 1 / mean life.
    table = age_table(KNOWN, Upkeep(5.0, 0.0, (0.2, 0.45, 0.7)))
    mean_life = 10 * math.gamma(1.4)
    assert table.renewals[1][-100:].sum() / (100 * STEP) == pytest.approx(1 / mean_life, rel=0.01)
    scheduled = np.trapezoid(KNOWN.survival(np.linspace(0, 5, 501)), dx=0.01)
    assert table.renewals[0][-100:].sum() / (100 * STEP) == pytest.approx(1 / scheduled, rel=0.02)


def test_in_the_long_run_the_age_has_the_density_of_survival_over_mean_life():
    # Stationary age of a renewal process (Cox 1962, from memory): S(a) / mean.
    table = age_table(KNOWN, Upkeep(50.0, 0.0, (1e-12, 1e-12, 1e-12)))
    weights = age_weights(table, 79.0)[1]
    expected = KNOWN.survival(table.ages) * STEP / (10 * math.gamma(1.4))
    assert weights == pytest.approx(expected, abs=2e-3)


def test_renewals_solve_the_renewal_equation():
    for whole, renewals in zip(TABLE.whole, TABLE.renewals, strict=True):
        chance = -np.diff(np.append(whole, whole[-1]))
        for n in (1, 7, 60, 300):
            # Conditioning on the first renewal: u_n = sum over k of chance_k u_(n - k - 1).
            assert renewals[n] == pytest.approx(chance[:n] @ renewals[n - 1 :: -1][:n], abs=1e-7)


def test_chances_of_being_whole_fall_from_one():
    assert TABLE.whole[:, 0] == pytest.approx(1, abs=0.02)
    assert (np.diff(TABLE.whole, axis=1) <= 1e-12).all()
    assert (TABLE.whole[0] <= TABLE.whole[1]).all()


def test_a_window_of_installation_is_kept():
    weights = age_weights(TABLE, 20.0, 3.0, 7.0)
    assert weights[:, TABLE.ages < 2.9].sum() == 0
    assert weights[:, TABLE.ages > 7.1].sum() == 0


def test_a_window_narrower_than_a_cell_takes_that_cell():
    weights = age_weights(TABLE, 20.0, 3.02, 3.02)
    assert TABLE.ages[weights[1] > 0].tolist() == [pytest.approx(3.05)]


def test_a_window_no_owner_would_leave_is_spread_evenly():
    table = age_table(KNOWN, Upkeep(5.0, 1.0, (0.2, 0.45, 0.7)))
    weights = age_weights(table, 79.5, 60.0, 70.0)[1]
    assert weights.sum() == pytest.approx(1)
    assert weights[(table.ages > 59.9) & (table.ages < 70.1)].sum() == pytest.approx(1)


@pytest.mark.parametrize(("oldest", "youngest", "limit"), [(10, 11, np.inf), (10, 5, 4), (10, -1, 5)])
def test_bounds_that_leave_no_age_are_refused(oldest, youngest, limit):
    with pytest.raises(ParameterError, match="age bounds must satisfy 0 <= youngest <= oldest, got"):
        age_weights(TABLE, oldest, youngest, limit)


def test_an_ordinary_old_boats_bellows_is_several_times_safer_than_one_never_renewed(trade, tables):
    # A 25-year-old boat: its first bellows would be near its end, an ordinary history's is not.
    from riskmodel.life.seed import seed_class

    life = fit_life(LifeRows.none(), seed_class(trade.classes["bellows_drive"], (0.2, 0.45, 0.7)).prior)
    table = tables["bellows_drive"]
    ordinary = chance_of_letting_go(life, table, age_weights(table, 25.0))
    never = float(life.failure_probability(25.0, 1.0))
    assert (ordinary < never / 3).all()
    assert (ordinary > float(life.failure_probability(0.5, 1.0))).all()


def test_doubt_about_owners_is_carried_as_three_weights():
    same = dataclasses.replace(TABLE, shares=np.array([0.45, 0.45, 0.45]))
    weights = age_weights(same, 25.0)
    assert weights[0] == pytest.approx(weights[2])
    assert age_weights(TABLE, 25.0)[1] == pytest.approx(weights[1])
