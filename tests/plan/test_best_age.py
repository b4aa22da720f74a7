"""The best age of a life in doubt: against the closed form, as an average of costs, its band and its flatness."""

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.plan.intervals.best_age import best_age, best_age_of_life
from riskmodel.plan.intervals.replacement import best_replacement_age, replacement_cost_rate
from riskmodel.plan.intervals.wearing import Wear, age_when_gone, wear_by_both, wear_of_life
from riskmodel.risk.chances import Parameters


def wear_of(*nodes):
    """Nodes as (shape, scale, weight)."""
    shape, scale, weight = np.array(nodes, dtype=float).T
    return Wear(shape, np.log(scale), weight)


LIFE = fit_life(LifeRows.none(), WeibullPrior.from_interval(4.0, 8.0, shape=3.0))
DOUBT = wear_of((2.0, 5.0, 0.3), (3.0, 9.0, 0.5), (4.0, 15.0, 0.2))


@pytest.mark.parametrize(
    ("shape", "scale", "planned", "failure"),
    [(2.5, 1000, 1, 5), (2, 1, 1, 10), (1.3, 7, 2, 30), (5, 3, 1, 900)],
)
def test_a_life_without_doubt_has_the_age_of_the_closed_form(shape, scale, planned, failure):
    found, wanted = (
        best_age(wear_of((shape, scale, 1.0)), planned, failure),
        best_replacement_age(shape, scale, planned, failure),
    )
    assert found.age == pytest.approx(wanted.age, rel=2e-4)
    assert found.cost_rate == pytest.approx(wanted.cost_rate, rel=1e-5)
    assert found.low == found.high == pytest.approx(wanted.age, rel=0.03)


@pytest.mark.parametrize(("shape", "failure"), [(0.8, 10.0), (1.0, 10.0), (3.0, 1.0), (3.0, 0.5)])
def test_no_age_pays_where_the_closed_form_has_none(shape, failure):
    found = best_age(wear_of((shape, 7.0, 1.0)), 1.0, failure)
    assert np.isinf([found.age, found.low, found.high]).all()
    wanted = best_replacement_age(shape, 7.0, 1.0, failure).cost_rate
    assert found.cost_rate == pytest.approx(wanted, rel=1e-5)


def test_costs_are_averaged_and_not_their_parts():
    found = best_age(DOUBT, 1.0, 12.0)
    for age in (1.0, 3.0, 8.0):
        each = replacement_cost_rate(age, (DOUBT.shape, np.exp(DOUBT.log_scale)), (1.0, 12.0))
        assert found.rate(age) == pytest.approx(DOUBT.weight @ each, rel=1e-3)
    ages = np.geomspace(0.5, 20, 4000)
    each = replacement_cost_rate(ages[:, None], (DOUBT.shape, np.exp(DOUBT.log_scale)), (1.0, 12.0))
    averaged = each @ DOUBT.weight
    assert found.age == pytest.approx(ages[averaged.argmin()], rel=0.002)
    assert found.cost_rate == pytest.approx(averaged.min(), rel=1e-5)


def test_the_best_age_of_doubt_lies_among_its_nodes():
    own = best_replacement_age(DOUBT.shape, np.exp(DOUBT.log_scale), 1.0, 12.0).age
    found = best_age(DOUBT, 1.0, 12.0)
    assert own.min() < found.age < own.max()
    assert (found.low, found.high) == (pytest.approx(own.min(), rel=0.03), pytest.approx(own.max(), rel=0.03))


def test_near_ages_cost_what_they_are_said_to():
    found = best_age(DOUBT, 1.0, 12.0)
    for share in (0.05, 0.10):
        low, high = found.within(share)
        assert low < found.age < high
        assert [found.penalty(low), found.penalty(high)] == pytest.approx([share, share], rel=0.02)
    assert found.within(0.05)[0] > found.within(0.10)[0]


def test_where_no_age_pays_every_age_past_some_is_near():
    low, high = best_age(wear_of((1.0, 7.0, 1.0)), 1.0, 10.0).within(0.10)
    assert high == np.inf
    assert 0 < low < np.inf


def test_the_penalty_is_nought_at_the_best_and_grows_both_ways():
    found = best_age(DOUBT, 1.0, 12.0)
    assert found.penalty(found.age) == pytest.approx(0.0, abs=1e-4)
    early, late = ([found.penalty(found.age * each) for each in way] for way in ((0.7, 0.4), (1.4, 2.5)))
    assert 0 < early[0] < early[1]
    assert 0 < late[0] < late[1]
    assert found.penalty(np.inf) == pytest.approx(found.rate_at_failure / found.cost_rate - 1)


def test_very_young_ages_cost_a_renewal_each_time():
    found = best_age(DOUBT, 1.0, 12.0)
    assert found.rate(1e-6) == pytest.approx(1e6, rel=0.02)


def test_twice_the_pace_halves_the_age_and_doubles_the_cost():
    slow, fast = (best_age_of_life(LIFE, 1.0, 9.0, pace=pace) for pace in (1.0, 2.0))
    assert fast.age == pytest.approx(slow.age / 2, rel=1e-6)
    assert fast.cost_rate == pytest.approx(2 * slow.cost_rate, rel=1e-6)


def test_light_nodes_hardly_matter():
    nodes = LIFE.nodes
    whole = Wear(np.exp(nodes.log_shape), nodes.log_scale, nodes.weight)
    few = wear_of_life(LIFE)
    assert len(few.weight) < len(whole.weight) / 4
    ages = np.array([1.0, 5.0, 12.0, 30.0])
    assert few.weight @ few.survival(ages) == pytest.approx(whole.weight @ whole.survival(ages), abs=5e-4)
    assert best_age(few, 1.0, 9.0).age == pytest.approx(best_age(whole, 1.0, 9.0).age, rel=5e-3)


def test_records_of_short_lives_bring_renewal_forward():
    rows = LifeRows(np.array([3.0, 3.5, 4.0, 4.2]), np.array([3.0, 3.5, 4.0, 4.2]))
    taught = fit_life(rows, LIFE.prior)
    assert best_age_of_life(taught, 1.0, 9.0).age < best_age_of_life(LIFE, 1.0, 9.0).age


def test_running_hours_beside_the_calendar_shorten_the_age():
    calendar = Parameters(np.array([3.0]), np.log([10.0]), np.ones(1), np.zeros(1, dtype=np.intp))
    hours = (np.array([3.0]), np.log([1000.0]))
    ages = []
    for rate in (1.0, 50.0, 200.0):
        parameters = replace(calendar, by_hours=hours)
        ages.append(best_age(wear_by_both(parameters, 1.0, rate), 1.0, 9.0).age)
    assert ages[0] == pytest.approx(best_age(wear_by_both(calendar, 1.0, 1.0), 1.0, 9.0).age, rel=1e-3)
    assert ages[0] > ages[1] > ages[2]
    # Hazards of one shape add up to one Weibull: 200 hours a year is a scale of 5 years.
    scale = (10.0**-3 + 5.0**-3) ** (-1 / 3)
    assert ages[2] == pytest.approx(best_replacement_age(3.0, scale, 1.0, 9.0).age, rel=1e-3)


def test_the_age_when_most_are_gone_is_a_quantile():
    wear = wear_of((2.0, 10.0, 1.0))
    assert age_when_gone(wear, 0.95) == pytest.approx(10.0 * np.sqrt(-np.log(0.05)), rel=1e-6)
    found = age_when_gone(DOUBT, 0.5)
    assert DOUBT.weight @ DOUBT.survival(np.array([found]))[:, 0] == pytest.approx(0.5, abs=0.02)


@pytest.mark.parametrize(
    ("costs", "message"),
    [
        ((-1.0, 2.0), "planned_cost must be 0"),
        ((1.0, -2.0), "failure_cost must be 0"),
        ((0.0, 0.0), "above 0, got 0"),
    ],
)
def test_impossible_costs_are_refused(costs, message):
    with pytest.raises(ParameterError, match=message):
        best_age(DOUBT, *costs)


def test_impossible_questions_are_refused():
    found = best_age(DOUBT, 1.0, 12.0)
    with pytest.raises(ParameterError, match="age must be above 0, got 0"):
        found.rate(0.0)
    with pytest.raises(ParameterError, match="share must be above 0, got 0"):
        found.within(0.0)
    with pytest.raises(ParameterError, match="pace must be a number above 0, got 0"):
        wear_of_life(LIFE, 0.0)
    with pytest.raises(ParameterError, match="share must lie between"):
        age_when_gone(DOUBT, 1.0)
