"""Paths of the judged table: the range drawn, less what barriers stop, as one reckons it by hand."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.barriers import barriers_against
from riskmodel.consequence.flat import MOST_STOPPED, flat_follows, left_after_barriers, stop_draws
from riskmodel.consequence.follow import BARRIER_STATES, SCENARIOS, scenarios
from riskmodel.consequence.losses import mean_of_range
from riskmodel.consequence.quantities import MOST
from riskmodel.trade import HarmPath, load_trade

BOAT = {
    **{"vessel_id": "B1", "item_class": "portlight_bedding", "fuel": "gasoline", "kept": "afloat"},
    **{"checked_every_days": 7.0, "alarm_telemetry": False, "shore_power": True},
    **{"climate": "temperate", "core": "solid"},
}
NONE, FIRST, SECOND, BOTH = range(BARRIER_STATES)
WATER = ("sinking_unattended", "sinking_under_way", "partial_flooding")


def parts(*rows):
    return pd.DataFrame([BOAT | row for row in rows])


def flat(trade, cube, *rows):
    """Rows and chances (rows, S, states) of the parts."""
    paths, follow = flat_follows(parts(*rows), trade, cube)
    return paths, follow.chance


def with_barrier(trade, name, **changes):
    return replace(
        trade,
        barriers=tuple(replace(each, **changes) if each.barrier == name else each for each in trade.barriers),
    )


@pytest.mark.parametrize("end_state", WATER)
def test_against_water_the_first_barrier_is_the_pump_and_the_second_the_alarm(trade, end_state):
    assert [each.barrier for each in barriers_against(end_state, trade)] == [
        *("automatic_pump", "high_water_alarm")
    ]


@pytest.mark.parametrize("end_state", WATER)
def test_what_two_barriers_leave_is_the_product_of_what_each_leaves(trade, cube, end_state):
    pump, alarm = (stop_draws(each, cube) for each in barriers_against(end_state, trade))
    left = left_after_barriers(end_state, trade, cube)
    assert left.shape == (SCENARIOS, BARRIER_STATES)
    assert (left[:, NONE] == 1).all()
    assert left[:, FIRST] == pytest.approx(1 - pump)
    assert left[:, SECOND] == pytest.approx(1 - alarm)
    assert left[:, BOTH] == pytest.approx((1 - pump) * (1 - alarm))


def test_with_one_barrier_the_second_changes_nothing(trade, cube):
    (fumes,) = barriers_against("fire_explosion", trade)
    left = left_after_barriers("fire_explosion", trade, cube)
    assert left[:, FIRST] == pytest.approx(1 - stop_draws(fumes, cube))
    assert np.array_equal(left[:, SECOND], left[:, NONE])
    assert np.array_equal(left[:, BOTH], left[:, FIRST])


def test_without_a_barrier_everything_is_left(trade, cube):
    assert barriers_against("nuisance", trade) == ()
    assert (left_after_barriers("nuisance", trade, cube) == 1).all()


def test_a_certain_figure_is_reckoned_by_hand(trade, cube):
    sure = with_barrier(trade, "automatic_pump", stops_low=0.75, stops_high=0.75)
    sure = with_barrier(sure, "high_water_alarm", stops_low=0.2, stops_high=0.2)
    left = left_after_barriers("partial_flooding", sure, cube)
    assert left == pytest.approx(np.tile([1.0, 0.25, 0.8, 0.2], (SCENARIOS, 1)))


def test_nothing_stops_everything(trade, cube):
    perfect = with_barrier(trade, "automatic_pump", stops_low=1.0, stops_high=1.0)
    (pump, _) = barriers_against("partial_flooding", perfect)
    assert stop_draws(pump, cube) == pytest.approx(np.full(SCENARIOS, MOST_STOPPED))


def test_chances_are_the_drawn_path_times_what_is_left(trade, cube):
    paths, chance = flat(trade, cube, {})
    row = paths.index[paths["end_state"] == "partial_flooding"][0]
    left = left_after_barriers("partial_flooding", trade, cube)
    assert chance[row] == pytest.approx(chance[row, :, [NONE]].T * left)
    assert (chance[row, :, NONE] > 0).all()


def test_the_mean_over_scenarios_is_that_of_the_judged_range(trade, cube):
    paths, chance = flat(trade, cube, {})
    expected = mean_of_range(paths["low"].to_numpy(dtype=float), paths["high"].to_numpy(dtype=float))
    assert chance[:, :, NONE].mean(axis=1) == pytest.approx(expected, rel=1e-9)


def test_parts_of_a_class_move_together_and_circumstances_only_scale_them(trade, cube):
    # A factor of one figure: what is left is the ratio of the ranges.
    paths, chance = flat(trade, cube, {}, {"climate": "cold", "checked_every_days": 30.0}, {})
    flooded = np.flatnonzero(paths["end_state"] == "partial_flooding")
    first, other, again = chance[flooded, :, NONE]
    assert np.array_equal(first, again)
    assert np.array_equal(np.argsort(first), np.argsort(other))
    assert other.mean() > first.mean()


def test_different_paths_are_drawn_apart(trade, cube):
    paths, chance = flat(trade, cube, {}, {"item_class": "bilge_pump"})
    nuisance = np.flatnonzero(paths["end_state"] == "nuisance")
    assert not np.array_equal(*(np.argsort(chance[row, :, NONE]) for row in nuisance))


def test_no_path_is_drawn_over_the_most_that_follows(trade, cube):
    each = trade.classes["portlight_bedding"]
    path = HarmPath("portlight_bedding", "machinery_damage", "any", 0.5, 1.0, "", "our book", "judgement")
    sure = replace(trade, classes={**trade.classes, "portlight_bedding": replace(each, paths=(path,))})
    _, chance = flat(sure, cube, {})
    assert chance.max() == MOST


def test_the_table_costs_its_reference_loss(trade, cube):
    _, follow = flat_follows(parts({}, {"item_class": "bilge_pump"}), trade, cube)
    assert (follow.loss_factor == 1).all()


@given(st.sampled_from(WATER), st.floats(0.001, 1), st.floats(0.001, 1))
def test_a_barrier_that_works_never_raises_a_chance(end_state, low, high):
    low, high = sorted((low, high))
    other = with_barrier(load_trade(), "automatic_pump", stops_low=low, stops_high=high)
    left = left_after_barriers(end_state, other, scenarios())
    assert (left >= 0).all()
    assert (left[:, [FIRST, SECOND]] <= left[:, [NONE]]).all()
    assert (left[:, BOTH] <= left[:, [FIRST, SECOND]].min(axis=1)).all()
