"""End states and losses: shares add up to the boat, and one part alone follows hand arithmetic."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from riskmodel.consequence.follow import SCENARIOS
from riskmodel.hypercube import WIDTH_90
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.risk.outcomes import scenario_of_draws, shares, sums_by, uncorrelated
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


def follows(result, item_id):
    """Mean P(end state | lets go) with no barrier working and mean loss factor, by end state, of one item."""
    place = list(result.fleet.items["item_id"]).index(item_id)
    rows = result.following.rows
    mine = rows[rows["item"] == place]
    return {
        name: (result.following.chance[row, :, 0].mean(), result.following.loss_factor[row].mean())
        for row, name in mine["end_state"].items()
    }


def loss_by_hand(result, item_id):
    """Sum over end states of chance x loss x factor, for a part that has let go."""
    return sum(
        chance * factor * mean_between(*end_state_loss(TRADE.end_states[name], BOAT_VALUE, LENGTH))
        for name, (chance, factor) in follows(result, item_id).items()
        if name != "injury"
    )


@pytest.mark.parametrize(
    "name", ["ventilation_duct", "rode_chain", "raw_water_impeller", "sacrificial_anode"]
)
def test_one_part_alone_costs_its_chance_times_what_follows_times_loss(assessed, name):
    result = assessed([{"item_class": name, "installed_on": "2014-05-01"}])
    row = result.frame.iloc[0]
    # Draws of chance, path and loss are nearly independent: a few hundred leave a few per cent of correlation.
    expected = row["failure_probability"] * loss_by_hand(result, "I0")
    assert row["expected_loss"] == pytest.approx(expected, rel=0.1)


def test_one_part_alone_sinks_by_its_chance_times_the_physics_of_its_boat(assessed):
    result = assessed([{"item_class": "bellows_drive", "installed_on": "2020-05-01"}])
    row, chances = result.frame.iloc[0], follows(result, "I0")
    by_hand = sum(chances[name][0] for name in ("sinking_unattended", "sinking_under_way"))
    assert row["sinking_probability"] == pytest.approx(row["failure_probability"] * by_hand, rel=0.05)
    assert row["fire_probability"] == 0.0


def test_what_has_let_go_costs_its_paths_and_losses(assessed):
    found = [{"item_id": "I0", "date": "2026-05-20", "event": "inspected", "finding": "failed"}]
    result = assessed([{"item_class": "deck_bedding", "installed_on": "2014-05-01"}], found)
    row = result.frame.iloc[0]
    assert row["failure_probability"] == 1.0
    assert row["expected_loss"] == pytest.approx(loss_by_hand(result, "I0"), rel=0.05)


def test_no_boat_is_lost_more_than_once(demo):
    boats = demo.frame.groupby("vessel_id")
    assert boats["sinking_probability"].sum().max() < 1
    assert boats["fire_probability"].sum().max() < 1
    assert (boats["expected_loss"].sum() > 0).all()


def test_the_chance_of_killing_is_at_least_that_of_fire(demo):
    assert (demo["kill_probability"] >= demo["fire_probability"] - 1e-15).all()


def test_every_scenario_of_the_physics_is_used_equally_often():
    for seed in (1, 7):
        used = np.bincount(scenario_of_draws(SCENARIOS, Draws(seed)))
        assert used.tolist() == [DRAWS // SCENARIOS] * SCENARIOS


def test_rain_sinks_boats_that_no_part_sinks_and_their_loss_is_kept_apart(demo):
    assert (demo.background["sinking_unattended"] > 0).any()
    assert (demo.background["loss"] >= 0).all()
    assert demo.background.index.tolist() == list(demo.fleet.vessels["vessel_id"])


def test_chances_of_every_end_state_stand_by_item(demo):
    frame = demo.frame.set_index("item_id")
    chances = demo.chances.loc[frame.index]
    sinking = chances[["sinking_unattended", "sinking_under_way"]].sum(axis=1)
    assert frame["sinking_probability"].to_numpy() == pytest.approx(sinking.to_numpy())
    assert frame["injury_probability"].to_numpy() == pytest.approx(chances["injury"].to_numpy())


def test_people_are_hurt_less_often_than_boats_come_to_what_hurts_them(demo):
    # A cleat or stanchion that gives way, or an engine that stops, hurts people without any such end.
    rest = demo.frame[~demo["item_class"].isin(["deck_bedding", "raw_water_impeller"])]
    assert (rest["injury_probability"] <= rest["kill_probability"] + 1e-12).all()


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
