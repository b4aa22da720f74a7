"""What the budget solver takes as a problem, and what it drops of it before it starts."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.plan.solving.candidates import candidates, one_vessel_in
from riskmodel.plan.solving.problem import MOST_CENTS, Options, option_ids, whole

NONE = np.zeros(0, dtype=np.int64)


def options(**changes):
    columns = {
        "item": [4, 4, 7],
        "vessel": [0, 0, 1],
        "benefit": [5.0, 9.0, 2.0],
        "cost": [100, 300, 50],
        "haul_out": [False, True, False],
        "haul_out_cost": [1000, 2000],
    }
    return Options(**(columns | changes))


def test_plain_lists_become_arrays():
    made = options()
    assert made.item.dtype == made.cost.dtype == np.int64
    assert made.benefit.dtype == float
    assert made.haul_out.dtype == bool
    assert len(made) == 3


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"item": [4, -1, 7]}, "item must be 0 or more and finite, got -1.0 at position 1"),
        ({"benefit": [1, -2, 3]}, "benefit must be 0 or more and finite, got -2.0 at position 1"),
        ({"benefit": [1, np.nan, 3]}, "benefit must be 0 or more and finite, got nan at position 1"),
        ({"cost": [100, 300, -5]}, "cost must be 0 or more and finite, got -5.0 at position 2"),
        ({"cost": [100, 300.5, 5]}, "cost must be a whole number up to .* got 300.5 at position 1"),
        ({"cost": [100, 2**51, 5]}, "cost must be a whole number up to .* at position 1"),
        ({"haul_out_cost": [1000, -1]}, "haul_out_cost must be 0 or more and finite, got -1.0"),
        ({"haul_out_cost": 5}, "haul_out_cost must have one dimension, got 0"),
        ({"haul_out": [0, 1, 2]}, "haul_out must be true or false, got int64"),
        ({"vessel": [0, 0]}, r"vessel must have one row an option, \(3,\), got \(2,\)"),
        ({"benefit": [1.0]}, r"benefit must have one row an option, \(3,\), got \(1,\)"),
        ({"cost": [1]}, r"cost must have one row an option, \(3,\), got \(1,\)"),
        ({"haul_out": [True]}, r"haul_out must have one row an option, \(3,\), got \(1,\)"),
        ({"vessel": [0, 0, 2]}, "vessel must have a haul-out cost: there are 2, got vessel 2"),
        ({"vessel": [0, 1, 1]}, "an item must be on one vessel, got item 4 on two"),
        ({"item": [4, 7, 4], "vessel": [0, 1, 1]}, "an item must be on one vessel, got item 4 on two"),
        ({"cost": [2**49, 2**49, 2**49]}, "all costs together must be at most .* cents"),
    ],
)
def test_a_problem_that_makes_no_sense_is_refused(changes, says):
    with pytest.raises(ParameterError, match=says):
        options(**changes)


def test_ids_rise_whatever_their_order_and_kind():
    assert option_ids("chosen", options(), {2, 0}).tolist() == [0, 2]
    assert option_ids("chosen", options(), (2, 1)).tolist() == [1, 2]
    assert option_ids("chosen", options(), ()).tolist() == []


@pytest.mark.parametrize(
    ("ids", "says"),
    [
        ([0, 1], "chosen must hold at most one option an item, got two of item 4"),
        ([3], "chosen must be options below 3, got 3"),
        ([-1], "chosen must be 0 or more"),
        ([0.5], "chosen must be a whole number"),
    ],
)
def test_ids_that_are_no_plan_are_refused(ids, says):
    with pytest.raises(ParameterError, match=says):
        option_ids("chosen", options(), ids)


def test_the_most_cents_is_a_whole_number_that_floats_hold():
    assert whole("cost", [MOST_CENTS]).tolist() == [MOST_CENTS]
    assert float(MOST_CENTS) + 1 != float(MOST_CENTS)


ROWS = st.tuples(
    st.integers(0, 4), st.integers(0, 5), st.integers(0, 5), st.booleans()
)  # item, benefit, cost, out of the water


@settings(deadline=None)
@given(rows=st.lists(ROWS, max_size=25))
def test_an_option_is_dropped_when_its_item_has_one_as_good_for_no_more(rows):
    item, benefit, cost, haul_out = np.array(rows, dtype=int).reshape(-1, 4).T
    made = Options(item, item % 2, benefit, cost, haul_out.astype(bool), [10, 20])
    kept = candidates(made, NONE).option.tolist()
    for mine in range(len(rows)):
        others = [
            other
            for other in kept
            if item[other] == item[mine]
            and benefit[other] >= benefit[mine]
            and cost[other] <= cost[mine]
            and haul_out[other] <= haul_out[mine]
        ]
        if mine in kept:
            assert benefit[mine] > 0
            assert others == [mine]
        else:
            assert benefit[mine] == 0 or others


def test_candidates_stand_in_order_of_vessel_then_item_then_cost():
    made = Options(
        item=[9, 2, 2, 9],
        vessel=[0, 1, 1, 0],
        benefit=[2.0, 8.0, 4.0, 1.0],
        cost=[20, 80, 40, 10],
        haul_out=[False, True, False, False],
        haul_out_cost=[1, 1],
    )
    left = candidates(made, NONE)
    assert left.option.tolist() == [3, 0, 2, 1]
    assert left.item.tolist() == [0, 0, 1, 1]
    assert left.vessel.tolist() == [0, 1]
    assert left.cost.tolist() == [10, 20, 40, 80, 0]
    assert left.afloat.place.tolist() == [0, 1, 2]
    assert left.hauled.place.tolist() == [3]
    assert left.hauled.items.tolist() == [1]


def test_a_fixed_option_settles_its_item_and_pays_its_vessel_s_haul_out():
    left = candidates(options(), np.array([1]))
    assert left.option.tolist() == [2]
    assert left.haul_out_cost.tolist() == [0, 2000]


def test_one_vessel_in_two_is_the_even_ones(made_fleet):
    made, _ = made_fleet(600)
    every = candidates(made, NONE)
    some = one_vessel_in(every, 2)
    expected = every.option[made.vessel[every.option] % 2 == 0]
    assert some.option.tolist() == expected.tolist()
    assert set(some.vessel.tolist()) == {0, 2, 4, 6}
    assert len(some.vessel) == some.item[-1] + 1
