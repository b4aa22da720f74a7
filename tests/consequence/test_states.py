"""A boat's year in its states: spread out row by row, and weighed together as by hand."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.states import OF_THE_YEAR, over_states, summed_over_states

YEAR = pd.DataFrame(
    [
        {"vessel_id": "B2", "state": "in_use", "share": 1.0, "visited_every_days": 3.0, "shore_power": False},
        {"vessel_id": "B1", "state": "in_use", "share": 0.4, "visited_every_days": 7.0, "shore_power": True},
        {
            "vessel_id": "B1",
            "state": "ashore",
            "share": 0.6,
            "visited_every_days": 30.0,
            "shore_power": False,
        },
    ]
)
ROWS = pd.DataFrame(
    {"vessel_id": ["B1", "B2", "B1"], "item_class": ["a", "b", "c"], "shore_power": [True, True, True]},
    index=[5, 9, 7],
)


def test_each_row_stands_once_for_each_state_of_its_boats_year():
    spread = over_states(ROWS, YEAR)
    assert spread["item"].tolist() == [5, 5, 7, 7, 9]
    assert spread["item_class"].tolist() == ["a", "a", "c", "c", "b"]
    assert spread["state"].tolist() == ["in_use", "ashore", "in_use", "ashore", "in_use"]
    assert spread["share"].tolist() == [0.4, 0.6, 0.4, 0.6, 1.0]


def test_the_year_says_what_holds_and_not_the_boat():
    spread = over_states(ROWS, YEAR)
    assert spread["shore_power"].tolist() == [True, False, True, False, False]
    assert spread["visited_every_days"].tolist() == [7.0, 30.0, 7.0, 30.0, 3.0]


def test_every_column_of_the_year_is_there_once():
    spread = over_states(ROWS, YEAR)
    for name in (*OF_THE_YEAR, "vessel_id", "item", "share"):
        assert list(spread.columns).count(name) == 1


def test_rows_come_by_item_whatever_their_order():
    turned = over_states(ROWS.iloc[::-1], YEAR)
    pd.testing.assert_frame_equal(turned, over_states(ROWS, YEAR))


def test_the_shares_of_each_row_add_to_one():
    spread = over_states(ROWS, YEAR)
    assert spread.groupby("item")["share"].sum().tolist() == pytest.approx([1.0, 1.0, 1.0])


def test_values_are_weighed_by_hand():
    # Three kinds; two items, the first with two states and the second with one.
    values = np.array([[1.0, 10.0], [3.0, 30.0], [5.0, 50.0]])
    found = summed_over_states(values, np.array([0, 1, 2]), np.array([0.25, 0.75, 1.0]), np.array([0, 2]))
    assert found.tolist() == [[0.25 * 1 + 0.75 * 3, 0.25 * 10 + 0.75 * 30], [5.0, 50.0]]


def test_further_axes_are_weighed_alike():
    values = np.arange(12.0).reshape(2, 3, 2)
    found = summed_over_states(values, np.array([0, 1]), np.array([0.5, 0.5]), np.array([0]))
    assert found.shape == (1, 3, 2)
    assert np.array_equal(found[0], values.mean(axis=0))


def test_items_of_one_kind_share_its_values():
    values = np.array([2.0, 4.0])
    found = summed_over_states(
        values, np.array([1, 0, 1, 1]), np.array([0.5, 0.5, 0.5, 0.5]), np.array([0, 2])
    )
    assert found.tolist() == [3.0, 4.0]


def test_with_one_state_each_the_values_stand_as_they_are():
    values = np.array([[0.1], [0.2]])
    found = summed_over_states(values, np.array([1, 1, 0]), np.ones(3), np.arange(3))
    assert found.tolist() == [[0.2], [0.2], [0.1]]


@given(st.lists(st.floats(0.01, 1), min_size=1, max_size=6), st.floats(0, 1))
def test_states_that_are_alike_come_to_the_value_of_one(parts, value):
    share = np.array(parts) / np.sum(parts)
    found = summed_over_states(np.array([value]), np.zeros(len(share), dtype=int), share, np.array([0]))
    assert found == pytest.approx(value, abs=1e-12)


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0.01, 1)), min_size=2, max_size=6))
def test_a_sum_over_states_lies_within_them(states):
    values, weights = (np.array(each) for each in zip(*states, strict=True))
    found = summed_over_states(values, np.arange(len(values)), weights / weights.sum(), np.array([0]))
    assert values.min() - 1e-12 <= found[0] <= values.max() + 1e-12
