"""Categories, levels and words of risk: money and people apart, level F never by rounding, nothing multiplied."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.losses import vessel_losses
from riskmodel.consequence.severity import (
    RISKS,
    cell_counts,
    money_bands,
    money_category,
    outcome_categories,
    outcome_cells,
    probability_level,
    risk_level,
    worst_cells,
)
from riskmodel.errors import ParameterError
from riskmodel.trade import load_trade

TRADE = load_trade()
CHANCES = st.floats(0.0, 1.0)
LETTERS = st.sampled_from("ABCDEF")
NUMBERS = st.integers(1, 4)


def boats(*values):
    return pd.DataFrame(
        {"vessel_id": [f"B{n}" for n in range(len(values))], "value": values, "length_m": 8.0}
    )


def categories(*values, scale=None):
    return outcome_categories(vessel_losses(boats(*values), TRADE), TRADE, scale)


def cells_of(rows, vessels=None):
    """Cells of parts given as mappings from end state to chance, all on one boat of 40,000 unless said."""
    chances = pd.DataFrame(rows, index=[f"I{n}" for n in range(len(rows))]).fillna(0.0)
    return outcome_cells(chances, vessels or ["B0"] * len(rows), categories(40e3, 3e3), TRADE)


@given(CHANCES, CHANCES)
def test_likelier_is_never_a_lower_level(one, other):
    low, high = probability_level([min(one, other), max(one, other)], TRADE)
    assert high <= low


@given(st.floats(min_value=5e-324, max_value=1.0))
def test_nothing_that_can_happen_is_eliminated(chance):
    assert probability_level(chance, TRADE) != "F"


def test_levels_keep_the_shape_they_are_given():
    assert probability_level(np.full((2, 3), 0.05), TRADE).tolist() == [["B"] * 3] * 2
    assert probability_level(np.zeros(0), TRADE).shape == (0,)


@pytest.mark.parametrize("wrong", [1.0000001, -1e-9, np.nan, np.inf])
def test_what_is_no_chance_has_no_level(wrong):
    with pytest.raises(ParameterError, match="probability must be"):
        probability_level([0.5, wrong], TRADE)


@given(LETTERS, LETTERS, NUMBERS, NUMBERS)
def test_likelier_or_worse_is_never_a_milder_word(one, other, category, another):
    word = RISKS.index(risk_level(min(one, other), min(category, another), TRADE))
    assert word <= RISKS.index(risk_level(max(one, other), max(category, another), TRADE))


def test_words_broadcast():
    words = risk_level(np.array([["A"], ["F"]], dtype=object), np.array([1, 4]), TRADE)
    assert words.tolist() == [["High", "Medium"], ["Eliminated", "Eliminated"]]


@pytest.mark.parametrize(
    ("level", "category", "said"), [("G", 1, "level.*got G"), ("A", 5, "category.*got 5")]
)
def test_an_unknown_level_or_category_is_refused(level, category, said):
    with pytest.raises(ParameterError, match=said):
        risk_level(level, category, TRADE)


def test_money_bands_are_the_standards_times_our_setting():
    assert money_bands(TRADE).tolist() == pytest.approx([20_000, 2_000, 200, 0])
    assert money_bands(TRADE, 1.0).tolist() == [10e6, 1e6, 1e5, 0]


@pytest.mark.parametrize("wrong", [0.0, -1.0, np.inf])
def test_a_scale_that_is_none_is_refused(wrong):
    with pytest.raises(ParameterError, match="severity_money_scale must be a number above 0"):
        money_bands(TRADE, wrong)


def test_a_loss_on_the_edge_of_a_band_belongs_to_the_worse_one():
    bands = money_bands(TRADE)
    edges = [bands[0], np.nextafter(bands[0], 0), bands[1], bands[2], np.nextafter(bands[2], 0), 0.0]
    assert money_category(edges, bands).tolist() == [1, 2, 2, 3, 4, 4]


@given(st.floats(0, 1e9), st.floats(0, 1e9))
def test_a_dearer_loss_is_never_a_milder_category(one, other):
    low, high = money_category([min(one, other), max(one, other)], money_bands(TRADE))
    assert high <= low


def test_a_loss_that_is_no_amount_is_refused():
    with pytest.raises(ParameterError, match="loss must be 0 or more"):
        money_category([-1.0], money_bands(TRADE))


def test_the_category_is_the_worse_of_money_and_people():
    found = categories(500.0, 40e3, 4e6, scale=0.01)
    assert (found["category"] == found[["money_category", "people_category"]].min(axis=1)).all()
    assert set(found["category"]) == {1, 2, 3, 4}


def test_what_can_kill_is_the_first_category_by_people_and_nothing_else_is():
    # MIL-STD-882E, where a death is catastrophic
    found = categories(40e3).set_index("end_state")["people_category"]
    for name, state in TRADE.end_states.items():
        assert (found[name] == 1) == state.can_kill


def test_what_can_kill_stays_catastrophic_on_a_boat_worth_nothing_and_at_any_scale():
    deadly = [name for name, state in TRADE.end_states.items() if state.can_kill]
    for scale in (None, 1.0, 1e-9):
        found = categories(1.0, scale=scale).set_index("end_state").loc[deadly]
        assert (found["category"] == 1).all()
    assert (
        categories(1.0, scale=1.0).set_index("end_state").loc["carbon_monoxide", ["money_category"]] == 4
    ).all()


def test_the_scale_moves_money_and_never_people():
    ours, theirs = categories(40e3), categories(40e3, scale=1.0)
    assert (theirs["money_category"] >= ours["money_category"]).all()
    assert (theirs["money_category"] > ours["money_category"]).any()
    assert (theirs["people_category"] == ours["people_category"]).all()


def test_sinking_with_nobody_aboard_hurts_nobody_and_is_judged_by_money():
    found = categories(40e3).set_index("end_state").loc["sinking_unattended"]
    assert (found["people_category"], found["money_category"], found["category"]) == (4, 1, 1)


def test_an_end_state_without_money_is_judged_by_people_alone():
    state = replace(
        TRADE.end_states["carbon_monoxide"],
        end_state="harm",
        **dict.fromkeys(("value_share_high", "repair_per_metre_low", "repair_per_metre_high"), 0.0),
    )
    trade = replace(TRADE, end_states={"harm": state})
    found = outcome_categories(vessel_losses(boats(40e3), trade), trade)
    assert found.iloc[0].tolist() == ["B0", "harm", 0.0, 4, 1, 1]


def test_each_part_goes_by_its_own_boats_money():
    cells = cells_of([{"machinery_damage": 0.05}] * 2, ["B0", "B1"])
    assert cells["category"].tolist() == [2, 3]
    assert cells["risk"].tolist() == ["High", "Serious"]


def test_a_part_stands_at_its_worst_word():
    rows = [{"nuisance": 0.5, "fire_explosion": 2e-3, "partial_flooding": 4e-6}]
    found = worst_cells(cells_of(rows)).iloc[0]
    assert (found["end_state"], found["level"], found["category"], found["risk"]) == (
        "fire_explosion",
        "C",
        1,
        "High",
    )


def test_among_equal_words_the_worse_category_comes_first_then_the_likelier():
    # B3 and D1 are both Serious.
    tied = worst_cells(
        cells_of([{"nuisance": 0.05, "fire_explosion": 1e-4, "sinking_unattended": 2e-4}])
    ).iloc[0]
    assert tied["end_state"] == "sinking_unattended"
    assert (tied["level"], tied["category"]) == ("D", 1)


def test_parts_keep_their_order_and_come_once():
    rows = [{"nuisance": 0.5}, {"fire_explosion": 0.2}, {"nuisance": 0.01}]
    assert worst_cells(cells_of(rows))["item_id"].tolist() == ["I0", "I1", "I2"]


def test_a_part_that_nothing_follows_from_is_eliminated_and_no_other_is():
    found = worst_cells(cells_of([{"fire_explosion": 0.0, "nuisance": 0.0}, {"fire_explosion": 1e-300}]))
    assert found["level"].tolist() == ["F", "E"]
    assert found["category"].tolist() == [4, 1]
    assert found["risk"].tolist() == ["Eliminated", "Medium"]


@given(st.lists(st.fixed_dictionaries(dict.fromkeys(TRADE.end_states, CHANCES)), min_size=1, max_size=5))
def test_no_end_state_has_a_worse_word_than_the_one_its_part_stands_at(rows):
    cells = cells_of(rows)
    order = {word: place for place, word in enumerate(RISKS)}
    stands = worst_cells(cells).set_index("item_id")["risk"].map(order)
    assert (cells["risk"].map(order) >= cells["item_id"].map(stands)).all()


@given(st.lists(st.fixed_dictionaries(dict.fromkeys(TRADE.end_states, CHANCES)), min_size=1, max_size=5))
def test_counts_hold_every_part_once_in_six_levels_and_four_categories(rows):
    counts = cell_counts(worst_cells(cells_of(rows)), TRADE)
    assert counts.shape == (6, 4)
    assert list(counts.index) == list("ABCDEF")
    assert int(counts.to_numpy().sum()) == len(rows)
