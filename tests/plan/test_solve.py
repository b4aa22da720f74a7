"""The budget solver against everything tried, another solver, and plain arithmetic."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError, RiskModelError
from riskmodel.plan.solving import exact, solve, stages
from riskmodel.plan.solving.problem import Options, plan_benefit, plan_cost, plan_haul_outs
from riskmodel.plan.solving.solve import solve_plan
from riskmodel.plan.solving.stages import TOLERANCE

CLOSE = pytest.approx
# Small sums make ties and plans that just fit; large ones make plans of their own.
SUMS = st.sampled_from([3, 20, 1000])


@st.composite
def problems(draw, items=7):
    """Options of up to so many items on up to three vessels in any order, and a budget."""
    most = draw(SUMS)
    sums = st.integers(0, most)
    vessels = draw(st.integers(1, 3))
    homes = draw(st.lists(st.integers(0, vessels - 1), min_size=1, max_size=items))
    rows = [
        (3 * item, home, draw(sums) + draw(st.sampled_from([0, 0.25])), draw(sums), draw(st.booleans()))
        for item, home in enumerate(homes)
        for _ in range(draw(st.integers(1, 3)))
    ]
    rows = draw(st.permutations(rows))
    item, vessel, benefit, cost, haul_out = (np.array(column) for column in zip(*rows, strict=True))
    hauling = draw(st.lists(st.integers(0, 2 * most), min_size=vessels, max_size=vessels))
    return Options(item, vessel, benefit, cost, haul_out, np.array(hauling)), draw(st.integers(0, 4 * most))


def holds(options, budget, solution):
    """A solution's own figures are those of its options, summed one by one."""
    ids = solution.chosen.tolist()
    assert ids == sorted(set(ids))
    assert len({int(options.item[each]) for each in ids}) == len(ids)
    out = sorted({int(options.vessel[each]) for each in ids if options.haul_out[each]})
    assert solution.haul_outs.tolist() == out
    cost = sum(int(options.cost[each]) for each in ids) + sum(
        int(options.haul_out_cost[each]) for each in out
    )
    assert solution.cost == cost <= budget
    assert solution.benefit == CLOSE(sum(float(options.benefit[each]) for each in ids), rel=1e-12)
    assert solution.bound >= solution.benefit
    assert solution.shadow_price >= 0


@settings(max_examples=300, deadline=None)
@given(problem=problems())
def test_the_plan_is_the_best_of_all_that_can_be_tried(problem, all_tried):
    options, budget = problem
    solution = solve_plan(options, budget)
    holds(options, budget, solution)
    assert solution.benefit == CLOSE(all_tried(options, budget), rel=1e-9)
    assert solution.proof == "optimal"
    assert solution.gap == 0
    assert solution.bound == CLOSE(solution.benefit, rel=1e-8, abs=1e-9)


@settings(max_examples=5, deadline=None)
@given(problem=problems(items=10))
def test_the_plan_of_ten_items_is_the_best_of_all_that_can_be_tried(problem, all_tried):
    options, budget = problem
    assert solve_plan(options, budget).benefit == CLOSE(all_tried(options, budget), rel=1e-9)


@settings(max_examples=150, deadline=None)
@given(problem=problems(), data=st.data())
def test_what_is_fixed_stays_in_and_the_rest_is_the_best_that_is_left(problem, data, all_tried):
    options, budget = problem
    fixed = data.draw(
        st.lists(st.integers(0, len(options) - 1), max_size=3, unique_by=options.item.__getitem__)
    )
    best = all_tried(options, budget, fixed)
    solution = solve_plan(options, budget, fixed=fixed)
    assert set(fixed) <= set(solution.chosen.tolist())
    assert solution.feasible == (best is not None)
    if best is None:
        assert solution.shortfall == plan_cost(options, fixed) - budget > 0
    else:
        holds(options, budget, solution)
        assert solution.benefit == CLOSE(best, rel=1e-9)


@settings(max_examples=100, deadline=None)
@given(problem=problems(), more=st.integers(0, 2000))
def test_a_larger_budget_that_carries_the_smaller_plan_never_averts_less(problem, more):
    options, budget = problem
    small = solve_plan(options, budget)
    large = solve_plan(options, budget + more, at_least=small.chosen)
    assert large.benefit >= small.benefit
    assert large.bound >= small.benefit


@pytest.mark.parametrize("share", [0.03, 0.1, 0.3])
@pytest.mark.parametrize("count", [90, 300, 900])
def test_a_fleet_s_plan_averts_as_much_as_another_solver_s(made_fleet, other_solver, count, share):
    options, budget = made_fleet(count, share, seed=count)
    solution = solve_plan(options, budget)
    holds(options, budget, solution)
    assert solution.proof == "optimal"
    assert solution.benefit == CLOSE(other_solver(options, budget), rel=1e-9)


@pytest.mark.parametrize("cents", [1, 1000])
def test_a_plan_among_many_nearly_as_good_averts_as_much_as_another_solver_s(
    in_proportion, other_solver, cents
):
    options, budget = in_proportion(300, 0.1, 310, cents)
    solution = solve_plan(options, budget)
    assert solution.proof == "optimal"
    assert solution.benefit == CLOSE(other_solver(options, budget), rel=1e-9)


def test_dear_haul_outs_that_most_work_needs_are_shared_as_another_solver_shares_them(
    made_fleet, other_solver
):
    plain, budget = made_fleet(900, 0.1, seed=4)
    out = np.random.default_rng(4).random(900) < 0.8
    dear = Options(plain.item, plain.vessel, plain.benefit, plain.cost, out, 2 * plain.haul_out_cost)
    solution = solve_plan(dear, budget)
    assert solution.proof == "optimal"
    assert 0 < len(solution.haul_outs) < len(dear.haul_out_cost)
    assert solution.benefit == CLOSE(other_solver(dear, budget), rel=1e-9)


def test_a_large_fleet_s_plan_is_proved_the_best(made_fleet):
    options, budget = made_fleet(30_000)
    solution = solve_plan(options, budget)
    holds(options, budget, solution)
    assert solution.proof == "optimal"
    assert budget - solution.cost < 100


def test_a_price_from_some_vessels_finds_the_same_plan(made_fleet, monkeypatch):
    options, budget = made_fleet(3000)
    whole = solve_plan(options, budget)
    monkeypatch.setattr("riskmodel.plan.solving.lagrange.LARGE", 100)
    sampled = solve_plan(options, budget)
    assert sampled.chosen.tolist() == whole.chosen.tolist()
    assert sampled.bound == CLOSE(whole.bound, rel=1e-9)


@pytest.mark.parametrize("count", [1, 5, 50])
@pytest.mark.parametrize("limit", ["MOST_STATES", "MOST_WORK", "MOST_NODES", "MOST_BUNDLES"])
def test_a_search_cut_short_states_a_gap_that_holds(in_proportion, monkeypatch, limit, count):
    options, budget = in_proportion(300, 0.3, 330)
    best = solve_plan(options, budget)
    assert best.proof == "optimal"
    monkeypatch.setattr(stages if limit == "MOST_STATES" else exact, limit, count)
    monkeypatch.setattr(stages, "FEW_STATES", 1)
    monkeypatch.setattr(exact, "FEW", 1)
    cut = solve_plan(options, budget)
    holds(options, budget, cut)
    assert cut.benefit <= best.benefit * (1 + 1e-12) <= cut.bound * (1 + 1e-9)
    assert cut.gap == 0.0 if cut.proof == "optimal" else cut.gap == CLOSE(1 - cut.benefit / cut.bound)
    assert (cut.proof == "gap") == (cut.bound - cut.benefit > 3 * TOLERANCE * cut.benefit)


def test_a_cut_search_says_that_there_is_a_gap(in_proportion, monkeypatch):
    options, budget = in_proportion(300, 0.3, 330)
    monkeypatch.setattr(stages, "MOST_STATES", 5)
    solution = solve_plan(options, budget)
    assert solution.proof == "gap"
    assert 0 < solution.gap < 0.01


def test_a_cut_search_that_is_handed_the_best_plan_keeps_it(in_proportion, monkeypatch):
    options, budget = in_proportion(300, 0.3, 330)
    best = solve_plan(options, budget)
    monkeypatch.setattr(stages, "MOST_STATES", 1)
    monkeypatch.setattr(stages, "FEW_STATES", 1)
    monkeypatch.setattr(stages, "NEAR_MOVES", 1)
    assert solve_plan(options, budget).benefit < best.benefit
    assert solve_plan(options, budget, at_least=best.chosen).benefit == best.benefit


def test_cut_searches_of_growing_budgets_never_avert_less_when_carried(in_proportion, monkeypatch):
    options, budget = in_proportion(300, 0.3, 330)
    monkeypatch.setattr(stages, "MOST_STATES", 1)
    chosen, averted = (), 0.0
    for each in np.linspace(0, 2 * budget, 25).astype(int):
        solution = solve_plan(options, int(each), at_least=chosen)
        assert solution.benefit >= averted
        chosen, averted = solution.chosen, solution.benefit


def one_vessel(**changes):
    """Three items: paint and anodes share a haul-out of 1,000.00, a pump needs none."""
    columns = {
        "item": [0, 1, 2],
        "vessel": [0, 0, 0],
        "benefit": [900.0, 700.0, 150.0],
        "cost": [20_000, 10_000, 15_000],
        "haul_out": [True, True, False],
        "haul_out_cost": [100_000],
    }
    return Options(**{name: np.array(column) for name, column in (columns | changes).items()})


@pytest.mark.parametrize(
    ("budget", "chosen", "cost"),
    [
        (0, [], 0),
        (14_999, [], 0),
        (15_000, [2], 15_000),
        (119_999, [1], 110_000),
        (120_000, [0], 120_000),
        (129_999, [0], 120_000),
        (130_000, [0, 1], 130_000),
        (145_000, [0, 1, 2], 145_000),
        (10**9, [0, 1, 2], 145_000),
    ],
)
def test_a_haul_out_is_paid_once_by_all_that_is_done_in_it(budget, chosen, cost):
    solution = solve_plan(one_vessel(), budget)
    assert (solution.chosen.tolist(), solution.cost) == (chosen, cost)
    assert solution.haul_outs.tolist() == ([0] if 0 in chosen or 1 in chosen else [])


def test_enough_money_for_everything_has_no_price():
    solution = solve_plan(one_vessel(), 145_000)
    assert solution.shadow_price == 0
    assert solution.bound == solution.benefit == 1750


def test_the_shadow_price_is_what_a_cent_more_averts_in_a_large_fleet(made_fleet):
    options, budget = made_fleet(9000)
    here, more = solve_plan(options, budget), solve_plan(options, int(budget * 1.01))
    slope = (more.benefit - here.benefit) / (more.cost - here.cost)
    assert more.shadow_price <= here.shadow_price
    assert slope == CLOSE(here.shadow_price, rel=0.05)


def test_a_fixed_option_s_haul_out_is_paid_by_the_budget_and_open_to_others():
    solution = solve_plan(one_vessel(benefit=[0.0, 700.0, 750.0]), 130_000, fixed=[0])
    assert solution.chosen.tolist() == [0, 1]
    assert (solution.cost, solution.haul_outs.tolist()) == (130_000, [0])


def test_fixed_options_that_cost_too_much_are_named_with_the_shortfall():
    solution = solve_plan(one_vessel(), 119_000, fixed=[0])
    assert not solution.feasible
    assert (solution.proof, solution.shortfall, solution.cost) == ("infeasible", 1000, 120_000)
    assert (solution.chosen.tolist(), solution.haul_outs.tolist()) == ([0], [0])


def test_an_option_that_averts_nothing_is_left_out_unless_fixed():
    options = one_vessel(benefit=[0.0, 700.0, 0.0])
    assert solve_plan(options, 10**6).chosen.tolist() == [1]
    assert solve_plan(options, 10**6, fixed=[2]).chosen.tolist() == [1, 2]


def test_no_options_make_an_empty_plan():
    nothing = np.array([], dtype=int)
    solution = solve_plan(Options(nothing, nothing, nothing, nothing, nothing, nothing), 5)
    assert (solution.chosen.tolist(), solution.benefit, solution.proof) == ([], 0.0, "optimal")


def test_free_work_that_needs_a_dear_haul_out_waits():
    options = one_vessel(cost=[0, 0, 0])
    assert solve_plan(options, 99_999).chosen.tolist() == [2]
    assert solve_plan(options, 100_000).chosen.tolist() == [0, 1, 2]


def test_an_answer_does_not_hang_on_the_order_of_the_options(made_fleet):
    options, budget = made_fleet(300)
    order = np.random.default_rng(3).permutation(300)
    columns = (getattr(options, name)[order] for name in ("item", "vessel", "benefit", "cost", "haul_out"))
    mixed = solve_plan(Options(*columns, options.haul_out_cost), budget)
    assert sorted(order[mixed.chosen].tolist()) == solve_plan(options, budget).chosen.tolist()


def test_a_fleet_of_boats_all_alike_is_solved(other_solver):
    one = one_vessel()
    boats = 40
    options = Options(
        np.arange(3 * boats),
        np.repeat(np.arange(boats), 3),
        np.tile(one.benefit, boats),
        np.tile(one.cost, boats),
        np.tile(one.haul_out, boats),
        np.repeat(one.haul_out_cost, boats),
    )
    solution = solve_plan(options, 2_345_678)
    assert solution.proof == "optimal"
    assert solution.benefit == CLOSE(other_solver(options, 2_345_678), rel=1e-9)


@pytest.mark.parametrize(
    ("budget", "more", "says"),
    [
        (-1, {}, "budget_cents must be 0 or more and finite, got -1"),
        (1.5, {}, "budget_cents must be a whole number up to .* got 1.5"),
        (10, {"fixed": [3]}, "fixed must be options below 3, got 3"),
        (10, {"fixed": [1, 1]}, "fixed must hold at most one option an item, got two of item 1"),
        (10, {"at_least": [2]}, "at_least must fit the budget of 10 cents, got a plan of 15000"),
        (
            10**6,
            {"fixed": [1], "at_least": [0, 2]},
            r"at_least must hold the fixed options, got none of \[1\]",
        ),
    ],
)
def test_what_cannot_be_solved_is_refused(budget, more, says):
    with pytest.raises(ParameterError, match=says):
        solve_plan(one_vessel(), budget, **more)


def test_an_answer_over_the_budget_never_leaves_the_solver(monkeypatch):
    monkeypatch.setattr(solve, "soon", lambda relaxed, known: stages.Known(np.array([0, 1, 2]), 0.0, 0.0))
    with pytest.raises(RiskModelError, match="a fault in the budget solver: a plan of 145000 cents"):
        solve_plan(one_vessel(), 20_000)


def test_an_answer_that_averts_less_than_claimed_never_leaves_the_solver(monkeypatch):
    monkeypatch.setattr(solve, "soon", lambda relaxed, known: stages.Known(np.array([2]), 0.0, 0.0))
    with pytest.raises(RiskModelError, match=r"a plan of 15000 cents averting 150\.0 was found"):
        solve_plan(one_vessel(), 20_000)


def test_the_plain_sums_of_a_plan_count_each_haul_out_once():
    options = one_vessel()
    assert plan_cost(options, [0, 1]) == 130_000
    assert plan_benefit(options, [0, 1, 2]) == 1750
    assert plan_haul_outs(options, [2]).tolist() == []
    assert plan_haul_outs(options, [1, 0]).tolist() == [0]
