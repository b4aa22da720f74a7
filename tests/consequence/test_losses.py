"""Losses as distributions: repair up to the boat's value, salvage and clean-up, and when a boat is given up."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from riskmodel.consequence.losses import (
    drawn_losses,
    loss_distribution,
    loss_range,
    mean_of_range,
    most_lost,
    vessel_losses,
)
from riskmodel.errors import ParameterError
from riskmodel.hypercube import Hypercube
from riskmodel.trade import end_state_loss, load_trade

TRADE = load_trade()
STATES = sorted(TRADE.end_states)
VALUES = st.floats(300.0, 3e6)
ANY_VALUE = st.floats(0.0, 15.0).map(lambda power: 10.0**power)
LENGTHS = st.floats(3.0, 30.0)
NOTHING = replace(
    TRADE.end_states["nuisance"],
    **dict.fromkeys(("value_share_low", "value_share_high", "per_metre_low", "per_metre_high"), 0.0),
)


def spread(end_state, value, length=8.0):
    """One boat's, as plain numbers."""
    found = loss_distribution(end_state, np.array([value]), np.array([length]))
    return {name: float(cells[0]) for name, cells in vars(found).items()}


def boats(*rows):
    return pd.DataFrame(rows, columns=["vessel_id", "value", "length_m"])


def test_every_boat_has_every_end_state_once_boat_by_boat():
    losses = vessel_losses(boats(("a", 9e3, 6.0), ("b", 9e4, 12.0)), TRADE)
    assert list(losses["vessel_id"]) == ["a"] * len(STATES) + ["b"] * len(STATES)
    assert list(losses["end_state"]) == list(TRADE.end_states) * 2
    assert list(losses.columns[:4]) == ["vessel_id", "end_state", "low", "high"]


def test_a_fleet_without_boats_has_no_losses():
    losses = vessel_losses(boats(), TRADE)
    assert losses.empty
    assert {"low", "high", "mean", "median", "p90", "total_loss_share"} <= set(losses.columns)


def test_many_boats_at_once_cost_what_each_costs_alone():
    rows = [("a", 9e3, 6.0), ("b", 9e4, 12.0), ("c", 40e3, 8.0)]
    together = vessel_losses(boats(*rows), TRADE)
    alone = pd.concat([vessel_losses(boats(row), TRADE) for row in rows], ignore_index=True)
    pd.testing.assert_frame_equal(together, alone, rtol=1e-12)


@pytest.mark.parametrize("name", STATES)
def test_the_range_is_the_trades(name):
    low, high = loss_range(TRADE.end_states[name], np.array([40e3]), np.array([8.0]))
    assert (low[0], high[0]) == pytest.approx(end_state_loss(TRADE.end_states[name], 40e3, 8.0))


@pytest.mark.parametrize("name", STATES)
@given(value=VALUES, length=LENGTHS)
def test_a_loss_is_never_over_the_boats_value_and_what_clearing_up_costs(name, value, length):
    state = TRADE.end_states[name]
    found, most = spread(state, value, length), value + state.per_metre_high * length
    assert 0 <= found["median"] <= found["p90"] <= most * (1 + 1e-9)
    assert 0 <= found["mean"] <= most * (1 + 1e-9)
    assert 0 <= found["total_loss_share"] <= 1


@settings(max_examples=20)
@given(value=ANY_VALUE, length=LENGTHS)
def test_no_draw_is_over_the_value_and_its_own_clean_up_and_their_mean_is_the_one_told(value, length):
    losses, draws = vessel_losses(boats(("a", value, length)), TRADE), Hypercube(1, 160)
    for name, row in losses.groupby("end_state"):
        drawn, most = drawn_losses(draws, name, row), most_lost(draws, name, row)
        assert (drawn >= 0).all()
        assert (drawn <= most * (1 + 1e-12)).all()
        assert drawn.mean() == pytest.approx(row["mean"].iloc[0], rel=1e-9)


@settings(max_examples=20)
@given(value=ANY_VALUE, length=LENGTHS)
def test_whatever_the_value_means_lie_within_our_doubt_and_all_is_finite(value, length):
    losses = vessel_losses(boats(("a", value, length)), TRADE)
    assert (losses["mean"] >= losses["low"] * (1 - 1e-9)).all()
    assert (losses["mean"] <= losses["high"] * (1 + 1e-9)).all()
    assert np.isfinite(losses.drop(columns=["vessel_id", "end_state"]).to_numpy(dtype=float)).all()


@pytest.mark.parametrize("name", STATES)
@given(value=VALUES, length=LENGTHS)
def test_the_mean_lies_within_our_doubt_about_it(name, value, length):
    state = TRADE.end_states[name]
    low, high = end_state_loss(state, value, length)
    assert low * (1 - 1e-9) <= spread(state, value, length)["mean"] <= high * (1 + 1e-9)


@pytest.mark.parametrize(
    "name", [name for name in STATES if TRADE.end_states[name].repair_per_metre_high > 300]
)
@pytest.mark.parametrize(("value", "length"), [(3e3, 6.0), (40e3, 8.0), (120e3, 12.0)])
def test_single_losses_drawn_have_the_mean_median_and_tail_that_are_told(name, value, length):
    state = TRADE.end_states[name]
    found = spread(state, value, length)
    # The median may be cut off by the value; how often a bill is over it tells the bill all the same.
    sd, share = state.repair_log_sd, found["total_loss_share"]
    bill = value * math.exp(sd * stats.norm.ppf(share))
    cleared = found["median"] - min(bill, value)
    chances = (np.arange(200_000) + 0.5) / 200_000
    drawn = np.minimum(bill * np.exp(sd * stats.norm.ppf(chances)), value) + cleared
    assert drawn.mean() == pytest.approx(found["mean"], rel=2e-3)
    assert np.quantile(drawn, 0.9) == pytest.approx(found["p90"], rel=1e-3)
    assert (drawn >= value + cleared).mean() == pytest.approx(share, abs=1e-4)


@pytest.mark.parametrize("name", ["partial_flooding", "machinery_damage", "structural_damage"])
def test_ordinary_losses_are_heavy_tailed(name):
    found = spread(TRADE.end_states[name], 40e3)
    assert found["median"] < found["mean"] < found["p90"]


@pytest.mark.parametrize(
    "name",
    ["sinking_unattended", "sinking_under_way", "partial_flooding", "fire_explosion", "machinery_damage"],
)
@given(value=VALUES, times=st.floats(1.0, 50.0), length=LENGTHS)
def test_a_dearer_boat_is_given_up_more_seldom_and_never_costs_less(name, value, times, length):
    state = TRADE.end_states[name]
    cheap, dear = spread(state, value, length), spread(state, value * times, length)
    assert dear["mean"] >= cheap["mean"] * (1 - 1e-9)
    # The mean of our doubt lies a little further up for a cheap boat's narrower range.
    assert dear["total_loss_share"] <= cheap["total_loss_share"] + 0.02


def test_a_sunken_cheap_boat_is_mostly_given_up_and_a_dear_one_mostly_repaired():
    state = TRADE.end_states["sinking_unattended"]
    assert spread(state, 1_500.0, 7.0)["total_loss_share"] > 0.5
    assert spread(state, 150e3, 12.0)["total_loss_share"] < 0.2


@given(value=VALUES, length=LENGTHS, times=st.floats(1.0, 5.0))
def test_a_longer_boat_of_the_same_value_never_costs_less(value, length, times):
    for state in TRADE.end_states.values():
        short, long = end_state_loss(state, value, length), end_state_loss(state, value, length * times)
        assert long[0] >= short[0] * (1 - 1e-12)
        assert long[1] >= short[1] * (1 - 1e-12)


def test_clearing_up_is_owed_though_the_boat_is_given_up():
    state = TRADE.end_states["sinking_under_way"]
    low, high = end_state_loss(state, 1.0, 8.0)
    assert low == pytest.approx(8.0 * state.per_metre_low + 1.0, rel=1e-3)
    assert high == pytest.approx(8.0 * state.per_metre_high + 1.0, rel=1e-3)


def test_an_end_state_without_money_costs_nothing_and_loses_no_boat():
    assert spread(NOTHING, 40e3) == {"median": 0.0, "mean": 0.0, "p90": 0.0, "total_loss_share": 0.0}


def test_an_end_state_without_money_stands_in_the_table_of_losses():
    trade = replace(TRADE, end_states={**TRADE.end_states, "harm": replace(NOTHING, end_state="harm")})
    row = vessel_losses(boats(("a", 9e3, 6.0)), trade).set_index("end_state").loc["harm"]
    assert row.drop(["vessel_id", "value"]).eq(0).all()


def test_a_range_of_one_number_leaves_that_number():
    fixed = replace(NOTHING, per_metre_low=50.0, per_metre_high=50.0)
    assert spread(fixed, 40e3) == pytest.approx(
        {"median": 400.0, "mean": 400.0, "p90": 400.0, "total_loss_share": 0.0}
    )


@pytest.mark.parametrize(("low", "high"), [(100.0, 900.0), (0.0, 900.0), (5.0, 5.0), (0.0, 0.0)])
def test_the_mean_of_a_range_is_that_of_the_draws_the_ranking_uses(low, high):
    drawn = Hypercube(1, 160).between("x", np.array([low]), np.array([high]))
    assert mean_of_range(np.array([low]), np.array([high]))[0] == pytest.approx(drawn.mean(), rel=1e-9)


@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
def test_a_value_or_length_that_is_none_is_refused(wrong):
    with pytest.raises(ParameterError, match="value must be a number above 0, got"):
        vessel_losses(boats(("a", wrong, 8.0)), TRADE)
    with pytest.raises(ParameterError, match="length_m must be a number above 0, got"):
        vessel_losses(boats(("a", 9e3, wrong)), TRADE)
