"""The curve of what budgets avert: it rises, its bound holds and bends one way only."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.plan.solving.curve import budget_curve
from riskmodel.plan.solving.problem import Options, plan_benefit, plan_cost
from riskmodel.plan.solving.solve import solve_plan


def bends_down(budget, bound):
    slopes = np.diff(bound) / np.diff(budget)
    return bool(np.all(np.diff(slopes) <= 1e-9 * np.abs(slopes[:-1]) + 1e-12))


@pytest.fixture(scope="module")
def curve_of_fleet(made_fleet):
    options, budget = made_fleet(900, 0.5)
    return options, budget_curve(options, np.linspace(0, budget, 30).astype(int))


def test_a_larger_budget_never_averts_less(curve_of_fleet):
    _, curve = curve_of_fleet
    assert np.all(np.diff(curve.benefit) >= 0)
    assert curve.benefit[-1] > curve.benefit[0]


def test_the_bound_is_concave_and_never_below_the_plan(curve_of_fleet):
    _, curve = curve_of_fleet
    assert bends_down(curve.budget, curve.bound)
    assert np.all(curve.bound >= curve.benefit)


def test_the_price_of_money_falls_as_there_is_more(curve_of_fleet):
    _, curve = curve_of_fleet
    assert np.all(np.diff(curve.shadow_price) <= 1e-12)


def test_the_best_plan_lies_between_the_curve_and_its_bound(curve_of_fleet):
    options, curve = curve_of_fleet
    for budget, benefit, bound in zip(curve.budget, curve.benefit, curve.bound, strict=True):
        best = solve_plan(options, int(budget)).benefit
        assert benefit <= best * (1 + 1e-9)
        assert best <= bound * (1 + 1e-9)


def test_the_curve_of_a_large_fleet_is_tight(made_fleet):
    options, budget = made_fleet(30_000, 0.4)
    curve = budget_curve(options, np.linspace(0, budget, 9).astype(int)[1:])
    assert np.all(1 - curve.benefit / curve.bound < 1e-3)


def test_one_price_s_bound_is_the_one_the_plan_of_that_budget_starts_from(made_fleet):
    options, budget = made_fleet(900)
    curve = budget_curve(options, [budget])
    solution = solve_plan(options, budget)
    assert curve.shadow_price[0] == pytest.approx(solution.shadow_price, rel=1e-6)
    assert curve.bound[0] >= solution.bound * (1 - 1e-12)


def test_budgets_come_back_in_rising_order(made_fleet):
    options, budget = made_fleet(90)
    mixed = budget_curve(options, [budget, 0, budget // 2])
    assert mixed.budget.tolist() == [0, budget // 2, budget]
    assert mixed.benefit.tolist() == budget_curve(options, [0, budget // 2, budget]).benefit.tolist()


def test_money_enough_for_all_averts_all_that_can_be(made_fleet):
    options, _ = made_fleet(90)
    curve = budget_curve(options, [10**9, 2 * 10**9])
    most = sum(options.benefit[options.item == item].max() for item in np.unique(options.item))
    assert curve.benefit.tolist() == pytest.approx([most, most])
    assert curve.shadow_price.tolist() == [0, 0]


def test_what_is_fixed_is_in_every_point(made_fleet):
    options, budget = made_fleet(300)
    fixed = [0, 40, 200]
    needed = plan_cost(options, fixed)
    curve = budget_curve(options, [needed, needed + budget], fixed=fixed)
    assert curve.benefit[0] >= plan_benefit(options, fixed)
    best = solve_plan(options, needed + budget, fixed=fixed)
    assert curve.benefit[1] <= best.benefit * (1 + 1e-12)
    assert curve.bound[1] >= best.benefit * (1 - 1e-12)


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 1000), data=st.data())
def test_the_curve_of_any_small_problem_rises_and_is_bounded(seed, data):
    random = np.random.default_rng(seed)
    item = np.arange(18) // 3
    options = Options(
        item,
        item // 2,
        random.integers(0, 40, 18),
        random.integers(0, 40, 18),
        random.random(18) < 0.5,
        random.integers(0, 60, 3),
    )
    budgets = data.draw(st.lists(st.integers(0, 300), min_size=1, max_size=8, unique=True))
    curve = budget_curve(options, budgets)
    assert np.all(np.diff(curve.benefit) >= 0)
    assert np.all(curve.bound >= curve.benefit)
    assert bends_down(curve.budget, curve.bound)
    for budget, benefit, bound in zip(curve.budget, curve.benefit, curve.bound, strict=True):
        assert benefit - 1e-9 <= solve_plan(options, int(budget)).benefit <= bound + 1e-9


@pytest.mark.parametrize(
    ("budgets", "says"),
    [
        ([], r"budgets must be at least the \d+ cents of what is fixed, got \[\]"),
        ([10, 10**9], r"budgets must be at least the \d+ cents of what is fixed, got \[10\]"),
        ([-5], "budgets must be 0 or more"),
        (5, "budgets must have one dimension"),
    ],
)
def test_budgets_without_a_point_are_refused(made_fleet, budgets, says):
    options, _ = made_fleet(90)
    with pytest.raises(ParameterError, match=says):
        budget_curve(options, budgets, fixed=[3])
