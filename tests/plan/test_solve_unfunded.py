"""What a plan leaves out, in the order in which more money would take it."""

import numpy as np
import pytest

from riskmodel.plan.solving.problem import Options
from riskmodel.plan.solving.solve import solve_plan
from riskmodel.plan.solving.unfunded import next_unfunded


def options(**changes):
    """Three items of one vessel; two of them share a haul-out."""
    columns = {
        "item": [0, 1, 2],
        "vessel": [0, 0, 0],
        "benefit": [900.0, 700.0, 150.0],
        "cost": [20_000, 10_000, 15_000],
        "haul_out": [True, True, False],
        "haul_out_cost": [100_000],
    }
    return Options(**(columns | changes))


def test_work_that_shares_a_haul_out_is_worth_what_all_of_it_is_together():
    solution = solve_plan(options(), 15_000)
    left = next_unfunded(options(), solution, 5)
    assert sorted(left.option.tolist()) == [0, 1]
    assert left.worth.tolist() == pytest.approx([1600 / 130_000] * 2)
    assert left.with_haul_out.tolist() == [True, True]


def test_work_in_a_haul_out_that_is_paid_is_worth_its_own_cost():
    solution = solve_plan(options(), 120_000)
    left = next_unfunded(options(), solution, 5)
    assert left.option.tolist() == [1, 2]
    assert left.worth.tolist() == pytest.approx([700 / 10_000, 150 / 15_000])
    assert left.with_haul_out.tolist() == [False, False]


def test_a_better_option_of_an_item_is_worth_what_it_adds():
    made = options(item=[0, 0, 1], benefit=[100.0, 150.0, 1.0], cost=[1000, 2000, 9000], haul_out=[False] * 3)
    left = next_unfunded(made, solve_plan(made, 1000), 5)
    assert left.option.tolist() == [1, 2]
    assert left.worth.tolist() == pytest.approx([50 / 1000, 1 / 9000])


def test_nothing_worse_than_what_is_done_is_left_to_do():
    made = options(item=[0, 0, 0], haul_out=[False] * 3)
    assert next_unfunded(made, solve_plan(made, 10**6), 5).option.tolist() == []


def test_only_so_many_are_named_and_the_best_first(made_fleet):
    made, budget = made_fleet(900)
    solution = solve_plan(made, budget)
    ten, all_ = next_unfunded(made, solution, 10), next_unfunded(made, solution, 10**6)
    assert len(ten.option) == 10
    assert ten.option.tolist() == all_.option.tolist()[:10]
    assert np.all(np.diff(all_.worth) <= 0)
    assert not set(all_.option.tolist()) & set(solution.chosen.tolist())
    assert len(set(made.item[all_.option].tolist())) == len(all_.option)


def test_the_best_left_out_is_worth_about_the_price_of_money(made_fleet):
    made, budget = made_fleet(30_000)
    solution = solve_plan(made, budget)
    left = next_unfunded(made, solution, 5)
    assert left.worth == pytest.approx(solution.shadow_price, rel=0.02)


def test_a_plan_of_nothing_has_everything_left(made_fleet):
    made, _ = made_fleet(90)
    left = next_unfunded(made, solve_plan(made, 0), 10**6)
    assert len(left.option) == 30
    empty = Options([], [], [], [], [], [])
    assert next_unfunded(empty, solve_plan(empty, 0), 3).option.tolist() == []
