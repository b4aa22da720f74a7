"""The space a fuel hose leaks into, and the steps to a fire in figures and in words."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.consequence.fire import USES, fire_steps, vapour_steps
from riskmodel.consequence.fire.compartment import compartments
from riskmodel.consequence.fire.ventilation import blower_rating, natural_vent_area
from riskmodel.consequence.follow import scenarios
from riskmodel.consequence.told import about_in, per_cent, two_figures
from riskmodel.trade import load_trade

TRADE, CUBE = load_trade(), scenarios()
CRUISER = {
    "fuel": "gasoline",
    "propulsion": "sterndrive",
    "length_m": 8.5,
    "climate": "temperate",
    "people_aboard": np.nan,
    "engine_space_m3": np.nan,
    "vent_area_cm2": np.nan,
    "blower_flow_lpm": np.nan,
}


def kinds(*rows):
    return pd.DataFrame([CRUISER | {"item_class": "fuel_fill_hose"} | row for row in rows])[list(USES)]


def told(row):
    return {what: (value, source) for what, value, source in fire_steps(kinds(row), TRADE, CUBE)}


def test_a_blank_space_is_vented_and_blown_as_the_rules_ask():
    space = compartments(kinds({}), TRADE, CUBE)
    assert space.vent_area == pytest.approx(natural_vent_area(space.volume))
    leaving = TRADE.physics["fire_blower_output"]
    share = space.blower / blower_rating(space.volume)
    assert (share > 0.8 * leaving.low).all()
    assert (share < 1.2 * leaving.high).all()


def test_a_boats_own_figures_come_first():
    own = {"engine_space_m3": 3.0, "vent_area_cm2": 70.0, "blower_flow_lpm": 4000.0}
    space = compartments(kinds(own), TRADE, CUBE)
    assert (space.volume == 3.0).all()
    assert (space.vent_area == 70.0).all()
    assert (space.blower < 4.0).all()


def test_the_usual_space_grows_with_the_boat():
    volume = compartments(kinds({"length_m": 7.5}, {"length_m": 11.0}), TRADE, CUBE).volume
    assert np.median(volume, axis=1) == pytest.approx([2.1, 6.6], rel=0.1)


def test_the_steps_show_a_row_for_each_way_of_leaking():
    rows = ({"item_class": "exhaust_riser"}, {}, {"fuel": "none"}, {"item_class": "fuel_feed_hose"})
    steps = vapour_steps(kinds(*rows), TRADE, CUBE)
    assert list(zip(steps["kind"], steps["mode"], strict=True)) == [
        (kind, mode) for kind in (1, 3) for mode in ("weep", "split", "parted")
    ]
    assert (steps["cleared"] < steps["at_start"]).all()
    assert (steps["at_start"] <= steps["waiting"]).all()
    assert steps.groupby("kind")["waiting"].is_monotonic_increasing.all()
    assert (steps["chance_cleared"] < steps["chance"]).all()


def test_the_steps_of_no_hose_are_an_empty_table():
    steps = vapour_steps(kinds({"item_class": "exhaust_riser"}), TRADE, CUBE)
    assert steps.empty
    assert {"kind", "mode", "chance"} <= set(steps.columns)


def test_every_step_told_has_a_value_and_a_source():
    for row in ({}, {"fuel": "diesel"}, {"item_class": "fuel_feed_hose"}, {"item_class": "exhaust_riser"}):
        lines = fire_steps(kinds(row), TRADE, CUBE)
        assert len(lines) >= 2
        assert all(what and value and source for what, value, source in lines)


def test_a_blank_figure_is_told_as_judged_or_asked_by_a_rule_and_a_given_one_as_the_boats_own():
    blank = told({})
    assert "judgement" in blank["Space it leaks into"][1]
    assert "183.630" in blank["Natural vents"][1]
    assert "from memory" in blank["Blower, what leaves the boat"][1]
    own = told({"engine_space_m3": 3.0, "vent_area_cm2": 70.0, "blower_flow_lpm": 4000.0})
    assert own["Space it leaks into"] == ("3 m3", "your vessels table")
    assert own["Natural vents"] == ("70 cm2", "your vessels table")
    assert own["Blower, what leaves the boat"][1].startswith("your vessels table")


def test_the_steps_say_that_a_blower_does_not_clear_liquid():
    assert "does not clear liquid" in told({})["Blower run before a start"][0]


def test_no_figure_stands_as_leave_to_start_with_fuel_about():
    for row in ({}, {"fuel": "diesel"}):
        assert "no start" in told(row)["Fuel that is smelt or seen"][0]


def test_the_first_of_several_kinds_is_told():
    rows = kinds({"length_m": 7.0}, {"length_m": 14.0})
    assert fire_steps(rows, TRADE, CUBE) == fire_steps(rows.iloc[:1], TRADE, CUBE)


@pytest.mark.parametrize("row", [{"fuel": "electric"}, {"fuel": "none"}, {"item_class": "shaft_packing"}])
def test_nothing_is_told_where_nothing_burns(row):
    assert fire_steps(kinds(row), TRADE, CUBE) == ()


def test_figures_are_told_to_two_digits_and_never_as_nothing():
    assert two_figures(1234.5) == "1,200"
    assert two_figures(0.012345) == "0.012"
    assert per_cent(0.128) == "13 %"
    assert about_in(0.004) == "about 1 in 250"
    assert about_in(0.0) == "under 1 in a million"
