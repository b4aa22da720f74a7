"""The budget relaxed at a price: answers in closed form, bounds that hold, and the price of the tightest."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.plan.solving.candidates import candidates
from riskmodel.plan.solving.lagrange import best_price, respond
from riskmodel.plan.solving.moves import (
    AFLOAT,
    HAULED,
    after,
    item_moves,
    none_made,
    vessel_modes,
    vessel_moves,
)
from riskmodel.plan.solving.problem import Options, plan_benefit, plan_cost
from riskmodel.plan.solving.solve import solve_plan

NONE = np.zeros(0, dtype=np.int64)


def small(seed, items=12, vessels=3):
    """Random options of whole benefits, so that ties are common."""
    random = np.random.default_rng(seed)
    count = 3 * items
    item = np.arange(count) // 3
    return Options(
        item,
        item % vessels,
        random.integers(0, 50, count),
        random.integers(0, 50, count),
        random.random(count) < 0.5,
        random.integers(0, 80, vessels),
    )


def by_hand(options, price):
    """The best of benefit − price × cost, vessel by vessel and item by item."""
    total = 0.0
    for vessel, hauling in enumerate(options.haul_out_cost):
        afloat = ashore = 0.0
        for item in np.unique(options.item[options.vessel == vessel]):
            rows = np.flatnonzero(options.item == item)
            net = options.benefit[rows] - price * options.cost[rows]
            afloat += max([0.0, *net[~options.haul_out[rows]]])
            ashore += max([0.0, *net])
        total += max(afloat, ashore - price * hauling)
    return total


@settings(deadline=None)
@given(seed=st.integers(0, 500), price=st.floats(0, 5))
def test_the_answer_to_a_price_is_the_best_of_each_vessel(seed, price):
    options = small(seed)
    answer = respond(candidates(options, NONE), price)
    assert answer.value == pytest.approx(by_hand(options, price), rel=1e-12, abs=1e-9)


@settings(deadline=None)
@given(seed=st.integers(0, 500), price=st.floats(0, 5))
def test_an_answer_s_figures_are_those_of_its_options(seed, price):
    options = small(seed)
    given_ = candidates(options, NONE)
    answer = respond(given_, price)
    chosen = after(given_, answer, vessel_modes(given_, answer), none_made())
    assert answer.cost == plan_cost(options, chosen)
    assert answer.benefit == pytest.approx(plan_benefit(options, chosen))
    assert answer.value == pytest.approx(answer.benefit - price * answer.cost, abs=1e-9)


@settings(max_examples=50, deadline=None)
@given(seed=st.integers(0, 500), price=st.floats(0, 5), budget=st.integers(0, 800))
def test_every_price_bounds_what_any_plan_averts(seed, price, budget):
    options = small(seed)
    assert (
        respond(candidates(options, NONE), price).bound(budget) >= solve_plan(options, budget).benefit - 1e-6
    )


@settings(deadline=None)
@given(seed=st.integers(0, 500), budget=st.integers(0, 800))
def test_no_price_of_many_has_a_tighter_bound_than_the_one_found(seed, budget):
    given_ = candidates(small(seed), NONE)
    best, fits = best_price(given_, budget)
    tried = [respond(given_, price).bound(budget) for price in np.linspace(0, 5, 60)]
    assert best.bound(budget) <= min(tried) + 1e-9
    assert fits.cost <= budget


@settings(deadline=None)
@given(seed=st.integers(0, 500), near=st.floats(1e-6, 100))
def test_the_price_found_does_not_hang_on_where_the_search_starts(seed, near):
    given_ = candidates(small(seed), NONE)
    there, here = best_price(given_, 200, near)[0], best_price(given_, 200)[0]
    assert there.bound(200) == pytest.approx(here.bound(200), rel=1e-9)


def test_a_higher_price_never_buys_more():
    given_ = candidates(small(3), NONE)
    costs = [respond(given_, price).cost for price in np.linspace(0, 5, 100)]
    assert costs == sorted(costs, reverse=True)
    assert costs[0] > 0


def test_of_equally_good_options_the_cheapest_is_taken():
    options = Options([0, 0], [0, 0], [5.0, 7.0], [10, 20], [False, False], [0])
    assert respond(candidates(options, NONE), 0.2).cost == 10


def test_a_haul_out_that_only_just_pays_is_not_taken():
    options = Options([0], [0], [12.0], [10], [True], [50])
    given_ = candidates(options, NONE)
    assert respond(given_, 0.2).cost == 0
    assert respond(given_, 0.19).cost == 60


def test_free_work_in_a_haul_out_that_costs_has_a_price_at_which_it_is_left():
    options = Options([0, 1], [0, 0], [12.0, 9.0], [0, 0], [True, True], [50])
    best, fits = best_price(candidates(options, NONE), 49)
    assert fits.cost == 0
    assert best.bound(49) == pytest.approx(21 * 49 / 50)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 200), budget=st.integers(50, 600))
def test_forcing_an_option_in_loses_at_least_what_its_move_says(seed, budget):
    options = small(seed, items=5, vessels=2)
    given_ = candidates(options, NONE)
    answer, _ = best_price(given_, budget)
    vessels = vessel_modes(given_, answer)
    moves = item_moves(given_, answer, vessels, np.inf)
    for option in given_.option[:6]:
        forced = solve_plan(options, budget, fixed=[option])
        place = int(np.flatnonzero(given_.option == option)[0])
        mine = moves.place == place
        modes = moves.mode[mine]
        losses = moves.loss[mine] + vessels.loss[modes, moves.vessel[mine]]
        taken = place in answer.pick[:, given_.item[place]]
        if forced.feasible and not taken and len(losses):
            assert forced.benefit <= answer.bound(budget) - losses.min() + 1e-6


def test_moves_that_lose_more_than_is_allowed_are_ruled_out():
    given_ = candidates(small(8), NONE)
    answer, _ = best_price(given_, 300)
    vessels = vessel_modes(given_, answer)
    every, some = (item_moves(given_, answer, vessels, most) for most in (np.inf, 5.0))
    lost = every.loss + vessels.loss[every.mode, every.vessel]
    assert 0 < len(some.loss) == int((lost <= 5.0).sum()) < len(every.loss)
    assert len(vessel_moves(vessels, -1.0).vessel) == 0


def test_a_vessel_without_work_ashore_cannot_be_hauled_out():
    options = Options([0, 1], [0, 1], [5.0, 7.0], [10, 20], [False, True], [5, 5])
    given_ = candidates(options, NONE)
    vessels = vessel_modes(given_, respond(given_, 0.1))
    assert vessels.loss[HAULED, 0] == np.inf
    assert vessels.loss[AFLOAT].tolist() == [0.0, pytest.approx(7 - 0.1 * 25)]
    assert vessels.extra.tolist()[1] == -25


def test_the_moves_of_a_vessel_bring_the_other_answer():
    options = Options([0, 0, 1], [0, 0, 0], [5.0, 9.0, 7.0], [10, 30, 20], [False, True, True], [60])
    given_ = candidates(options, NONE)
    answer = respond(given_, 0.2)
    vessels = vessel_modes(given_, answer)
    change = vessel_moves(vessels, np.inf)
    assert after(given_, answer, vessels, none_made()).tolist() == [0]
    hauled = after(given_, answer, vessels, change)
    assert hauled.tolist() == [0, 2]
    assert plan_cost(options, hauled) - answer.cost == change.extra[0]
