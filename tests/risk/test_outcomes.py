"""End states and losses: shares add up to the boat, and one part alone follows hand arithmetic."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from riskmodel.risk.draws import DRAWS, WIDTH_90, Draws
from riskmodel.risk.outcomes import (
    conditional_draws,
    left_after_barriers,
    shares,
    stop_draws,
    sums_by,
    uncorrelated,
)
from riskmodel.trade import end_state_loss, load_trade

TRADE = load_trade()
BOAT_VALUE, LENGTH = 40000, 8


def mean_between(low, high):
    """Mean of the log-normal whose central 90 % runs from low to high; one e-fold a deviation from nothing."""
    low = low or high * np.exp(-WIDTH_90)
    middle, sd = np.log(low * high) / 2, np.log(high / low) / WIDTH_90
    return float(np.exp(middle + sd**2 / 2))


@given(
    arrays(float, (6, 3), elements=st.floats(0, 1 - 1e-12)),
    arrays(np.intp, 6, elements=st.integers(0, 2)),
)
def test_shares_add_up_to_the_chance_of_any_on_each_boat(each, boat):
    share, total = shares(each, boat, 4)
    for vessel in range(4):
        mine = boat == vessel
        assert share[mine].sum(axis=0) == pytest.approx(total[vessel], abs=1e-9)
        assert total[vessel] == pytest.approx(1 - np.prod(1 - each[mine], axis=0), abs=1e-9)


@given(arrays(float, (5, 2), elements=st.floats(0, 1 - 1e-12)))
def test_no_share_is_negative_or_over_the_parts_own_chance(each):
    share, _ = shares(each, np.zeros(5, dtype=np.intp), 1)
    assert (share >= 0).all()
    assert (share <= each * (1 + 1e-9) + 1e-15).all()


def test_a_part_alone_has_the_whole_chance():
    share, total = shares(np.array([[0.3, 1e-9]]), np.array([0]), 1)
    assert share[0] == pytest.approx([0.3, 1e-9], rel=1e-9)
    assert total[0] == pytest.approx([0.3, 1e-9], rel=1e-9)


def test_equal_parts_share_equally():
    share, total = shares(np.full((4, 1), 0.5), np.zeros(4, dtype=np.intp), 1)
    assert share[:, 0] == pytest.approx([total[0, 0] / 4] * 4)


def test_a_boat_of_parts_that_cannot_fail_loses_nothing():
    share, total = shares(np.zeros((2, 1)), np.array([0, 0]), 1)
    assert share.tolist() == [[0.0], [0.0]]
    assert total.tolist() == [[0.0]]


@pytest.mark.parametrize("name", ["deck_bedding", "ventilation_duct", "rode_chain", "raw_water_impeller"])
def test_one_part_alone_costs_its_chance_times_path_times_loss(rows_of, name):
    row = rows_of([{"item_class": name, "installed_on": "2014-05-01"}]).loc["I0"]
    paths = [path for path in TRADE.classes[name].paths if path.fuel in ("any", "gasoline")]
    by_hand = sum(
        mean_between(path.low, path.high)
        * mean_between(*end_state_loss(TRADE.end_states[path.end_state], BOAT_VALUE, LENGTH))
        for path in paths
    )
    # Draws of chance, path and loss are nearly independent: 512 of them leave a few per cent of correlation.
    assert row["expected_loss"] == pytest.approx(row["failure_probability"] * by_hand, rel=0.1)


def test_one_part_alone_sinks_by_chance_times_path_times_circumstances(rows_of):
    # Afloat, seen weekly, shore power, temperate: every factor is 1.
    row = rows_of([{"item_class": "bellows_drive", "installed_on": "2020-05-01"}]).loc["I0"]
    paths = {path.end_state: path for path in TRADE.classes["bellows_drive"].paths}
    by_hand = sum(
        mean_between(paths[name].low, paths[name].high)
        for name in ("sinking_unattended", "sinking_under_way")
    )
    assert row["sinking_probability"] == pytest.approx(row["failure_probability"] * by_hand, rel=0.05)
    assert row["fire_probability"] == 0.0


def test_what_has_let_go_costs_its_paths_and_losses(rows_of):
    found = [{"item_id": "I0", "date": "2026-05-20", "event": "inspected", "finding": "failed"}]
    row = rows_of([{"item_class": "deck_bedding", "installed_on": "2014-05-01"}], found).loc["I0"]
    assert row["failure_probability"] == 1.0
    by_hand = sum(
        mean_between(path.low, path.high)
        * mean_between(*end_state_loss(TRADE.end_states[path.end_state], BOAT_VALUE, LENGTH))
        for path in TRADE.classes["deck_bedding"].paths
    )
    assert row["expected_loss"] == pytest.approx(by_hand, rel=0.05)


def test_no_boat_is_lost_more_than_once(demo):
    boats = demo.frame.groupby("vessel_id")
    assert boats["sinking_probability"].sum().max() < 1
    assert boats["fire_probability"].sum().max() < 1
    assert (boats["expected_loss"].sum() > 0).all()


def test_the_chance_of_killing_is_at_least_that_of_fire(demo):
    assert (demo["kill_probability"] >= demo["fire_probability"] - 1e-15).all()


def test_without_barriers_all_of_an_end_state_is_left():
    left = left_after_barriers("sinking_unattended", 3, {}, TRADE, Draws())
    assert (left == 1.0).all()


def test_barriers_that_work_stop_their_shares():
    working = {name: np.ones((1, DRAWS)) for name in ("bilge_pump", "float_switch", "high_water_alarm")}
    left = left_after_barriers("sinking_unattended", 1, working, TRADE, Draws())
    pump, alarm = (stop_draws(name, low, high, Draws()) for name, low, high in _stops("sinking_unattended"))
    assert left[0] == pytest.approx((1 - pump) * (1 - alarm))


def _stops(end_state):
    return [
        (row.barrier, row.stops_low, row.stops_high) for row in TRADE.barriers if row.end_state == end_state
    ]


def test_nothing_stops_everything():
    assert stop_draws("automatic_pump", 0.9, 0.99, Draws()).max() == 0.98


def test_parts_of_one_class_move_together_along_one_path():
    paths = pd.DataFrame(
        {"item_class": ["a", "a", "b"], "end_state": "fire", "low": 0.01, "high": [0.02, 0.04, 0.04]}
    )
    drawn = conditional_draws(paths, Draws())
    assert np.corrcoef(np.log(drawn[0]), np.log(drawn[1]))[0, 1] == pytest.approx(1.0)
    assert abs(np.corrcoef(drawn[1], drawn[2])[0, 1]) < 0.2


def test_nothing_follows_for_certain():
    paths = pd.DataFrame({"item_class": ["a"], "end_state": "x", "low": 0.9, "high": 0.95})
    assert conditional_draws(paths, Draws()).max() <= 0.95


@given(arrays(float, (3, 4, 8), elements=st.floats(1e-6, 10)))
def test_factors_drawn_together_keep_the_product_of_their_means(factors):
    before = factors.copy()
    product = uncorrelated(*factors)
    assert product.mean(axis=1) == pytest.approx(factors.mean(axis=2).prod(axis=0), rel=1e-12)
    assert (factors == before).all()


def test_a_product_is_scaled_row_by_row_and_keeps_its_order():
    one, two = np.array([[1.0, 2.0, 3.0]]), np.array([[2.0, 4.0, 6.0]])
    # Mean of the plain product is (2 + 8 + 18) / 3 = 28 / 3; that of the means 2 * 4 = 8.
    assert uncorrelated(one, two)[0] == pytest.approx(np.array([2, 8, 18]) * 8 / (28 / 3))


def test_what_cannot_happen_stays_at_nought():
    product = uncorrelated(np.array([[0.0, 0.0], [1.0, 0.0]]), np.array([[0.3, 0.5], [0.0, 1.0]]))
    assert (product == 0).all()


def test_one_factor_alone_is_itself():
    assert uncorrelated(np.array([[0.1, 0.4]])).tolist() == [[0.1, 0.4]]


@given(
    arrays(float, (7, 3), elements=st.floats(-5, 5)),
    arrays(np.intp, 7, elements=st.integers(0, 4)),
)
def test_sums_by_group_are_those_of_a_loop(values, group):
    by_hand = np.zeros((6, 3))
    for row, place in zip(values, group, strict=True):
        by_hand[place] += row
    assert sums_by(values, group, 6) == pytest.approx(by_hand, abs=1e-12)


def test_no_rows_sum_to_nothing():
    assert sums_by(np.zeros((0, 3)), np.zeros(0, dtype=np.intp), 2).tolist() == [[0.0] * 3] * 2
