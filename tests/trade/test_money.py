"""What tasks and end states cost."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.trade import Trade, end_state_loss, guessed_value, load_trade, task_cost

METRES_PER_FOOT = 0.3048
LENGTHS = st.floats(min_value=2.0, max_value=60.0)


def test_a_haul_out_costs_its_posted_price_per_foot(trade: Trade) -> None:
    # posted yard lists and judgement: 15-25 USD/ft
    low, high = task_cost(trade.haul_out, 100 * METRES_PER_FOOT)
    assert low == pytest.approx(1500, rel=0.002)
    assert high == pytest.approx(2500, rel=0.002)


def test_salvage_stands_behind_both_ways_of_sinking(trade: Trade) -> None:
    # trade articles and judgement: 300-1000 USD/ft
    for name in ("sinking_unattended", "sinking_under_way"):
        end = trade.end_states[name]
        assert end.per_metre_low * METRES_PER_FOOT == pytest.approx(300, rel=0.001)
        assert end.per_metre_high * METRES_PER_FOOT == pytest.approx(1000, rel=0.001)


@pytest.mark.parametrize(
    ("name", "task", "low", "high"),
    [
        ("shaft_packing", "repack", 150, 400),
        ("face_shaft_seal", "renew_seal", 600, 1500),
        ("wet_exhaust_hose", "renew_hose", 500, 2000),
        ("through_hull_seacock", "renew_seacock", 300, 900),
        ("deck_bedding", "rebed", 50, 300),
    ],
)
def test_costs_at_ten_metres_are_the_starting_figures(
    trade: Trade, name: str, task: str, low: float, high: float
) -> None:
    # judgement, no source: 30-40 ft, parts and labour
    found = next(entry for entry in trade.classes[name].tasks if entry.task == task)
    assert task_cost(found, 10.0) == (low, high)


def test_the_three_bellows_together_cost_what_a_set_costs(trade: Trade) -> None:
    # judgement, no source: bellows set, drive off, 700-1800 USD
    names = ("bellows_drive", "bellows_shift", "bellows_exhaust")
    costs = [task_cost(trade.classes[name].tasks[0], 10.0) for name in names]
    assert 700 <= sum(low for low, _ in costs) <= 1000
    assert 1500 <= sum(high for _, high in costs) <= 2000


def test_pump_and_switch_together_cost_what_the_pair_costs(trade: Trade) -> None:
    # judgement, no source: bilge pump and switch, 150-500 USD
    costs = [task_cost(trade.classes[name].tasks[0], 10.0) for name in ("bilge_pump", "float_switch")]
    assert sum(low for low, _ in costs) == pytest.approx(150, rel=0.25)
    assert sum(high for _, high in costs) == pytest.approx(500, rel=0.25)


@given(LENGTHS)
def test_cost_is_in_proportion_to_length_where_it_scales(length: float) -> None:
    trade = load_trade()
    for item in trade.classes.values():
        for task in item.tasks:
            factor = length / task.reference_length_m if task.scales_with == "length" else 1.0
            assert task_cost(task, length) == pytest.approx((task.cost_low * factor, task.cost_high * factor))


def test_looking_costs_less_than_renewing(trade: Trade) -> None:
    for item in trade.classes.values():
        renew = min(task.cost_high for task in item.tasks if task.does == "renew")
        assert all(task.cost_high <= renew for task in item.tasks if task.does in {"inspect", "test"})


@given(value=st.floats(min_value=1.0, max_value=1e8), length=LENGTHS)
def test_a_loss_is_a_rising_range_below_value_and_salvage(value: float, length: float) -> None:
    for end in load_trade().end_states.values():
        low, high = end_state_loss(end, value, length)
        assert 0.0 <= low <= high <= value + end.per_metre_high * length


def test_loss_at_a_known_boat(trade: Trade) -> None:
    low, high = end_state_loss(trade.end_states["sinking_unattended"], 40_000, 10.0)
    # judgement, no source: about a quarter to a half of its value, with salvage on top
    assert low == pytest.approx(0.25 * 40_000 + 9_840, rel=0.05)
    assert high == pytest.approx(0.5 * 40_000 + 32_810, rel=0.05)


def test_sinking_costs_more_than_flooding_and_flooding_more_than_a_nuisance(trade: Trade) -> None:
    order = ("nuisance", "partial_flooding", "sinking_unattended", "sinking_under_way")
    losses = [end_state_loss(trade.end_states[name], 50_000, 10.0) for name in order]
    assert losses == sorted(losses)


@pytest.mark.parametrize("length", [0.0, -1.0, math.nan, math.inf])
def test_a_length_that_is_none_is_refused(trade: Trade, length: float) -> None:
    with pytest.raises(ParameterError, match="length_m must be a number above 0"):
        task_cost(trade.haul_out, length)


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_a_value_that_is_none_is_refused(trade: Trade, value: float) -> None:
    with pytest.raises(ParameterError, match="value must be a number above 0"):
        end_state_loss(trade.end_states["nuisance"], value, 10.0)


def test_a_guessed_value_falls_with_age_to_a_floor_and_has_two_figures(trade: Trade) -> None:
    kind = trade.propulsions["sterndrive"]
    new, old, ancient, older = (guessed_value(kind, 7.5, age) for age in (0, 10, 60, 80))
    assert new > old > ancient == older > 0
    assert new == float(f"{new:.2g}")
    # judgement: a new sterndrive boat of 7.5 m costs about as much as a good car and a half
    assert 60_000 < new < 120_000


def test_a_guessed_value_needs_a_length(trade: Trade) -> None:
    with pytest.raises(ParameterError, match="length_m must be a number above 0, got 0"):
        guessed_value(trade.propulsions["outboard"], 0.0, 5)
