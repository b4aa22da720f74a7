"""From letting go to an end state by the judged table, and what that costs, on each boat."""

from dataclasses import replace

import pandas as pd
import pytest

from riskmodel.consequence import barrier_needs, item_paths, vessel_losses
from riskmodel.trade import HarmPath, circumstance_factor, end_state_loss, load_trade

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
FLOODED = "partial_flooding"


def own_path(end_state, fuel, low, high):
    return HarmPath("fuel_feed_hose", end_state, fuel, low, high, "", "our book", "judgement")


# An organisation whose own table tells the fires of one fuel from those of the other.
BY_FUEL = {
    "gasoline": own_path("fire_explosion", "gasoline", 0.002, 0.01),
    "diesel": own_path("fire_explosion", "diesel", 0.00006, 0.0003),
}
HOSE = TRADE.classes["fuel_feed_hose"]
OWN = replace(
    TRADE,
    classes={**TRADE.classes, "fuel_feed_hose": replace(HOSE, paths=(*HOSE.paths, *BY_FUEL.values()))},
)


def parts(*rows, index=None):
    """Parts on boats, each what it adds to a portlight of boat V0 in reference circumstances."""
    usual = {"item_class": "portlight_bedding", "vessel_id": "V0", "fuel": "gasoline"} | CIRCUMSTANCES
    return pd.DataFrame([usual | row for row in rows], index=index)


def every_class(**boat):
    return parts(*({"item_class": name} | boat for name in TRADE.classes))


def vessels(count):
    return pd.DataFrame({"vessel_id": [f"V{n}" for n in range(count)], "value": 40000.0, "length_m": 8.0})


def test_a_boat_of_reference_takes_the_trades_range_as_it_stands():
    found = item_paths(parts({}), TRADE)
    expected = sorted(
        (path.end_state, path.low, path.high) for path in TRADE.classes["portlight_bedding"].paths
    )
    assert len(expected) > 1
    assert [(row.end_state, row.low, row.high) for row in found.itertuples()] == expected
    assert set(found["factor_low"]) == set(found["factor_high"]) == {1.0}


def test_circumstances_multiply_both_ends_of_the_range():
    hard = {"kept": "mooring", "checked_every_days": 30.0, "climate": "cold", "shore_power": False}
    found = item_paths(parts(hard), TRADE).set_index("end_state")
    low, high = circumstance_factor(TRADE, FLOODED, CIRCUMSTANCES | hard)
    row = found.loc[FLOODED]
    assert high > 1.0
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
    # The shipped table has few paths left that circumstances raise: one of its own that they take over 1.
    sure = HarmPath("deck_bedding", "structural_damage", "any", 0.3, 0.8, "", "our book", "judgement")
    bedding = TRADE.classes["deck_bedding"]
    own = {**TRADE.classes, "deck_bedding": replace(bedding, paths=(*bedding.paths, sure))}
    for trade in (TRADE, replace(TRADE, classes=own)):
        found = item_paths(every_class(**worst), trade)
        assert found["high"].max() <= 0.95
        assert (found["low"] <= found["high"]).all()
        assert (found["low"] >= 0).all()
    assert (found["path_high"] * found["factor_high"]).max() > 1


@pytest.mark.parametrize("fuel", ["gasoline", "diesel"])
def test_a_fuel_hose_follows_the_paths_of_its_boats_fuel_only(fuel):
    found = item_paths(parts({"item_class": "fuel_feed_hose", "fuel": fuel}), OWN)
    fire = found[found["end_state"] == "fire_explosion"]
    path = BY_FUEL[fuel]
    assert fire[["path_low", "path_high"]].to_numpy().tolist() == [[path.low, path.high]]


def test_a_path_for_a_fuel_is_none_without_fuel():
    found = item_paths(parts({"item_class": "fuel_feed_hose", "fuel": "electric"}), OWN)
    assert "fire_explosion" not in set(found["end_state"])
    assert "nuisance" in set(found["end_state"])


def test_the_parts_index_labels_the_answer():
    found = item_paths(
        parts({"item_class": "bilge_pump"}, {"item_class": "deck_bedding"}, index=[40, 7]), TRADE
    )
    assert set(found["item"]) == {40, 7}
    assert found["item"].is_monotonic_increasing
    assert found.set_index("item")["item_class"].to_dict() == {40: "bilge_pump", 7: "deck_bedding"}


def test_each_part_goes_by_its_own_boat():
    both = parts({"checked_every_days": 1.0}, {"vessel_id": "V1", "checked_every_days": 30.0})
    found = item_paths(both, TRADE)
    flooded = found[found["end_state"] == FLOODED].set_index("vessel_id")["high"]
    assert flooded["V0"] < flooded["V1"]


def test_a_part_has_each_end_state_once_on_any_boat():
    for fuel in ("gasoline", "diesel"):
        for trade in (TRADE, OWN):
            found = item_paths(every_class(fuel=fuel), trade)
            assert not found.duplicated(["item", "end_state"]).any()


def test_every_class_has_a_path_on_a_gasoline_boat():
    found = item_paths(every_class(), TRADE)
    assert set(found["item"]) == set(range(len(TRADE.classes)))


def test_every_boat_has_a_loss_for_every_end_state():
    losses = vessel_losses(vessels(2), TRADE)
    assert len(losses) == 2 * len(TRADE.end_states)
    # People are not priced: an injury costs nothing, and everything else something.
    hurt = losses["end_state"] == "injury"
    assert (losses.loc[~hurt, "low"] < losses.loc[~hurt, "high"]).all()
    assert (losses.loc[hurt, ["low", "high"]] == 0).all(axis=None)


def test_losses_are_the_trades_for_the_boats_value_and_length():
    losses = vessel_losses(vessels(1), TRADE).set_index("end_state")
    for name, state in TRADE.end_states.items():
        assert losses.loc[name, ["low", "high"]].tolist() == pytest.approx(end_state_loss(state, 40000, 8))


def test_barriers_need_pump_switch_alarm_blower_and_duct():
    assert barrier_needs(TRADE) == {
        *("bilge_pump", "float_switch", "high_water_alarm", "engine_blower", "ventilation_duct"),
    }
