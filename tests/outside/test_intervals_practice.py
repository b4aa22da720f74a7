"""Common practice against the best intervals of a typical boat of each kind: inside, or the words say why not.

Every practice here is "common practice, no source" (data/trade/practice.csv and intervals.csv), unless said otherwise.
"""

import numpy as np
import pytest

from riskmodel.plan import intervals_table

# A typical boat of each kind: length (m), fuel, value. Our judgement.
KINDS = {
    "outboard": (7, "gasoline", 30_000),
    "sterndrive": (8, "gasoline", 40_000),
    "inboard_jet": (7, "gasoline", 45_000),
    "inboard_shaft": (11, "diesel", 120_000),
    "sail_shaft": (10, "diesel", 60_000),
    "sail_saildrive": (11, "diesel", 90_000),
    "sail_outboard": (7, "gasoline", 12_000),
}
SOFT = ["fuel_fill_hose", "fuel_vent_hose", "fuel_feed_hose", "raw_water_hose", "wet_exhaust_hose"]
SAFETY = ("stands", "keep the maker's interval", "keep to the trade's")


@pytest.fixture(scope="module")
def table(assessed):
    boats = [
        {
            "vessel_id": kind,
            "propulsion": kind,
            "fuel": fuel,
            "length_m": length,
            "value": value,
            "core": "balsa",
        }
        for kind, (length, fuel, value) in KINDS.items()
    ]
    return intervals_table(assessed(boats=boats), by=("propulsion",))


@pytest.fixture(scope="module")
def of(table):
    """The rows of a class, one a kind of boat that carries it."""

    def rows(name):
        mine = table[table["item_class"] == name]
        assert len(mine)
        return mine.to_dict("records")

    return rows


def near(row, low, high):
    """Whether some age of a practice's range costs within 10 % of the best."""
    return low <= row["within_10_percent_high"] and high >= row["within_10_percent_low"]


def test_every_kind_of_boat_has_its_intervals(table):
    assert set(table["propulsion"]) == set(KINDS)


def test_packing_goes_by_hours_and_repacking_each_haul_out_is_called_a_habit(of):
    # published beside it: 200 hours or two years (a boat owners' forum); at two years it is inside.
    for row in of("shaft_packing"):
        assert near(row, 2.0, 4.0)
        assert "yearly, because the boat is out, is a habit beyond what money asks for" in row["words"]
        assert "or at 200 to 600 running hours, whichever comes first" in row["words"]
        # No age in years is published for packing: none is told as the trade's.
        assert np.isnan(row["trade_age"])
        assert not row["advised_age"] > row["best_age"]


@pytest.mark.parametrize("name", ["bellows_drive", "bellows_shift", "bellows_exhaust"])
def test_bellows_are_looked_at_twice_a_season_and_renewed_by_their_age(of, name):
    for row in of(name):
        assert row["advised_look_years"] <= 0.5
        assert "twice a year" in row["look_words"]
        # published: 3 to 6 years, whatever they look like.
        assert row["advised_age"] <= 6.0
        assert near(row, 3.0, 6.0) or row["words"].startswith("money alone")


@pytest.mark.parametrize("name", ["bilge_pump", "float_switch"])
def test_pumps_and_switches_are_tested_at_least_quarterly(of, name):
    for row in of(name):
        assert row["advised_look_years"] <= 0.25
        inside = row["best_look_interval_years"] <= 0.25
        assert inside or (
            row["look_words"].startswith("money alone") and "keep to the trade's" in row["look_words"]
        )


def test_deck_hardware_is_bedded_anew_in_seven_to_ten_years_or_the_cost_of_it_is_told(of):
    inside = 0
    for row in of("deck_bedding"):
        inside += near(row, 7.0, 10.0)
        assert near(row, 7.0, 10.0) or any(words in row["words"] for words in (*SAFETY, "flat"))
        # A cleat or stanchion may go with somebody on it: never later than the trade's, never left to fail.
        assert row["advised_age"] <= row["trade_age"] <= 10.0
    assert inside >= 4


def test_hoses_go_by_ten_years_where_the_maker_says_nothing(table):
    hoses = table[table["item_class"].isin([*SOFT, "sanitation_hose", "shaft_log_hose"])]
    assert set(SOFT) <= set(hoses["item_class"])
    assert (hoses["advised_age"] <= 10.0).all()
    beyond = hoses[hoses["within_10_percent_low"] > 10.0]
    # Where money would wait longer the words say that it is not the money that decides.
    assert beyond["words"].str.contains("stands|keep the maker's interval").all()


def test_whatever_money_says_safety_is_named_where_it_decides(table):
    capped = table[table["capped"]]
    later = capped["best_age"] > capped["renewal_limit"]
    assert capped.loc[later, "words"].str.contains("|".join(SAFETY)).all()
    rarer = capped["best_look_interval_years"] > capped["strictest_look_years"]
    assert capped.loc[rarer, "look_words"].str.contains("|".join(SAFETY)).all()


def test_anodes_and_impellers_are_the_parts_renewed_oftenest(table):
    # common practice, no source: each season or every other.
    ages = table.groupby("item_class")["advised_age"].median().sort_values()
    assert set(ages.index[:4]) >= {"sacrificial_anode"}
    assert ages["raw_water_impeller"] < ages.median()
