"""From letting go to an end state, and what that costs, on each boat."""

import pandas as pd
import pytest

from riskmodel.consequence import barrier_needs, item_paths, vessel_losses
from riskmodel.trade import circumstance_factor, end_state_loss, load_trade

TRADE = load_trade()
CIRCUMSTANCES = {
    "checked_every_days": 7.0,
    "kept": "afloat",
    "alarm_telemetry": False,
    "shore_power": True,
    "climate": "temperate",
    "core": "solid",
    "water": "salt",
}


def vessels(*boats):
    rows = [{"vessel_id": f"V{n}", "fuel": "gasoline"} | CIRCUMSTANCES | boat for n, boat in enumerate(boats)]
    return pd.DataFrame(rows).assign(value=40000.0, length_m=8.0)


def items(*classes, vessel="V0", index=None):
    return pd.DataFrame({"item_class": list(classes), "vessel_id": vessel}, index=index)


def test_a_boat_of_reference_takes_the_trades_range_as_it_stands():
    found = item_paths(items("bellows_drive"), vessels({}), TRADE)
    expected = sorted((path.end_state, path.low, path.high) for path in TRADE.classes["bellows_drive"].paths)
    assert [(row.end_state, row.low, row.high) for row in found.itertuples()] == expected
    assert set(found["factor_low"]) == set(found["factor_high"]) == {1.0}


def test_circumstances_multiply_both_ends_of_the_range():
    mooring = {"kept": "mooring", "checked_every_days": 30.0}
    found = item_paths(items("shaft_packing"), vessels(mooring), TRADE).set_index("end_state")
    low, high = circumstance_factor(TRADE, "sinking_unattended", CIRCUMSTANCES | mooring)
    row = found.loc["sinking_unattended"]
    assert (row["factor_low"], row["factor_high"]) == (low, high)
    assert row["low"] == pytest.approx(row["path_low"] * low)
    assert row["high"] == pytest.approx(row["path_high"] * high)


def test_nothing_follows_for_certain_however_bad_the_circumstances():
    worst = {
        "kept": "mooring",
        "checked_every_days": 365.0,
        "shore_power": False,
        "climate": "cold",
        "core": "balsa",
    }
    found = item_paths(items(*TRADE.classes), vessels(worst), TRADE)
    assert found["high"].max() <= 0.95
    assert (found["low"] <= found["high"]).all()
    assert (found["low"] >= 0).all()


@pytest.mark.parametrize("fuel", ["gasoline", "diesel"])
def test_a_fuel_hose_follows_the_paths_of_its_boats_fuel_only(fuel):
    found = item_paths(items("fuel_feed_hose"), vessels({"fuel": fuel}), TRADE)
    fire = found[found["end_state"] == "fire_explosion"]
    (path,) = [path for path in TRADE.classes["fuel_feed_hose"].paths if path.fuel == fuel]
    assert fire[["path_low", "path_high"]].to_numpy().tolist() == [[path.low, path.high]]


def test_the_items_index_labels_the_answer():
    found = item_paths(items("bilge_pump", "deck_bedding", index=[40, 7]), vessels({}), TRADE)
    assert set(found["item"]) == {40, 7}
    assert found["item"].is_monotonic_increasing


def test_each_part_goes_by_its_own_boat():
    both = pd.concat(
        [items("shaft_packing", vessel="V0"), items("shaft_packing", vessel="V1")], ignore_index=True
    )
    found = item_paths(both, vessels({"checked_every_days": 1.0}, {"checked_every_days": 30.0}), TRADE)
    sinking = found[found["end_state"] == "sinking_unattended"].set_index("vessel_id")["high"]
    assert sinking["V0"] < sinking["V1"]


def test_a_part_has_each_end_state_once_on_any_boat():
    for fuel in ("gasoline", "diesel"):
        found = item_paths(items(*TRADE.classes), vessels({"fuel": fuel}), TRADE)
        assert not found.duplicated(["item", "end_state"]).any()


def test_every_class_has_a_path_on_a_gasoline_boat():
    found = item_paths(items(*TRADE.classes), vessels({}), TRADE)
    assert set(found["item"]) == set(range(len(TRADE.classes)))


def test_every_boat_has_a_loss_for_every_end_state():
    losses = vessel_losses(vessels({}, {}), TRADE)
    assert len(losses) == 2 * len(TRADE.end_states)
    assert (losses["low"] < losses["high"]).all()


def test_losses_are_the_trades_for_the_boats_value_and_length():
    losses = vessel_losses(vessels({}), TRADE).set_index("end_state")
    for name, state in TRADE.end_states.items():
        assert losses.loc[name, ["low", "high"]].tolist() == pytest.approx(end_state_loss(state, 40000, 8))


def test_barriers_need_pump_switch_alarm_blower_and_duct():
    assert barrier_needs(TRADE) == {
        *("bilge_pump", "float_switch", "high_water_alarm", "engine_blower", "ventilation_duct"),
    }
