"""Boats without a list of parts get the typical outfit, and the answer says so."""

import pytest

from riskmodel.trade import load_trade, typical_outfit

TRADE = load_trade()
KINDS = sorted(TRADE.propulsions)


@pytest.fixture(scope="module")
def schedule(assessed):
    """A schedule of one boat of each kind, small and large, without an items table."""
    boats = [
        {"vessel_id": f"{kind}-{length}", "propulsion": kind, "length_m": length, "fuel": "", "kept": ""}
        for kind in KINDS
        for length in (5, 14)
    ]
    return assessed(boats=boats)


def test_no_boat_without_a_list_is_without_risk(schedule):
    losses = schedule.frame.groupby("vessel_id")["expected_loss"].sum()
    assert len(losses) == 2 * len(KINDS)
    assert (losses > 1).all()
    assert (schedule.frame.groupby("vessel_id")["sinking_probability"].sum() > 0).all()


def test_what_was_assumed_is_said(schedule):
    assert "No items table: the typical outfit of each boat is assumed." in schedule.notes
    assert any("14 of 14 boats without a list of parts" in note for note in schedule.notes)
    assert schedule.frame["assumed"].all()
    assert schedule.frame["age_years"].isna().all()
    assert schedule.frame["why"].str.contains("age unknown").all()


def test_the_outfit_is_the_trades(schedule):
    mine = schedule.fleet.items[schedule.fleet.items["vessel_id"] == "sail_shaft-14"]
    expected = typical_outfit(TRADE, "sail_shaft", 14, 2000)
    assert dict(zip(mine["item_class"], mine["quantity"], strict=True)) == pytest.approx(expected)


def test_only_the_boat_without_parts_is_filled(assessed):
    boats = [{"vessel_id": "B1"}, {"vessel_id": "bare"}]
    result = assessed([{"item_class": "bilge_pump"}], boats=boats)
    assert result.frame.loc[~result.frame["assumed"], "item_id"].tolist() == ["I0"]
    assert set(result.frame.loc[result.frame["assumed"], "vessel_id"]) == {"bare"}
    assert any("1 of 2 boats without a list of parts" in note for note in result.notes)


def test_a_boat_with_a_list_gets_nothing_added(assessed):
    result = assessed([{"item_class": "bilge_pump"}])
    assert len(result.frame) == 1
    assert not any("typical outfit" in note for note in result.notes)


def test_a_part_that_few_boats_carry_weighs_less_than_a_whole_one(schedule):
    items = schedule.fleet.items
    few = items[items["quantity"] < 0.5]
    assert len(few) > 0
    frame = schedule.frame.set_index("item_id")
    assert (frame.loc[few["item_id"], "failure_probability"] < 0.6).all()


def test_plausible_sinkings_of_an_ordinary_schedule(assessed):
    # judgement: 30-300 sinkings in 100,000 boat-years of a mix; one kind, of its usual length, may stray tenfold
    boats = [
        {"vessel_id": kind, "propulsion": kind, "length_m": "", "fuel": "", "kept": ""} for kind in KINDS
    ]
    result = assessed(boats=boats)
    rates = result.frame.groupby("vessel_id")["sinking_probability"].sum() / result.horizon.years
    assert rates.min() > 3e-5
    assert rates.max() < 2e-2
