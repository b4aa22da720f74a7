"""Boats that lie together: what one stroke does to all of them."""

from datetime import date

import numpy as np
import pytest

from riskmodel.errors import ParameterError
from riskmodel.exposure.accumulation import accumulations
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.exposed import exposure_of
from riskmodel.exposure.spells import scenarios_of, without_power, without_visits
from riskmodel.trade import load_trade

POWER, NOBODY = scenarios_of(load_trade())
LEAKING = [
    {"item_class": "shaft_packing", "installed_on": "2016-04-02"},
    {"item_class": "bilge_pump", "installed_on": "2024-04-02"},
    {"item_class": "float_switch", "installed_on": "2024-04-02"},
]
BOAT = {"propulsion": "sail_shaft", "fuel": "diesel", "checked_every_days": 30}


@pytest.fixture(scope="module")
def exposed(assessed):
    boats = [
        {"vessel_id": "B1", "home_port": "Quay", **BOAT},
        {"vessel_id": "B2", "home_port": "Quay", **BOAT, "value": 60000},
        {"vessel_id": "B3", "home_port": "Pool", **BOAT, "shore_power": "no"},
    ]
    items = [
        item | {"vessel_id": boat["vessel_id"], "item_id": f"{boat['vessel_id']}-{n}"}
        for boat in boats
        for n, item in enumerate(LEAKING)
    ]
    result = assessed(items, boats=boats, until=date(2027, 6, 1))
    return exposure_of(result, Policy(deductible=200.0, without=frozenset({"nuisance"})))


@pytest.fixture(scope="module")
def places(exposed):
    return accumulations(exposed).set_index("place")


def test_places_hold_all_boats_value_and_loss(exposed, places):
    assert places.loc["Quay", "boats"] == 2
    assert places.loc["Quay", "value"] == 100_000
    assert places["mean"].sum() == pytest.approx(exposed.after.total.mean, rel=1e-9)


def test_most_value_comes_first(exposed):
    assert accumulations(exposed, scenarios=())["value"].is_monotonic_decreasing


def test_a_power_cut_sinks_more_boats_that_had_power(places):
    assert places.loc["Quay", "power_cut_sinkings"] > 1.1 * places.loc["Quay", "power_cut_sinkings_usual"]
    assert places.loc["Quay", "power_cut"] > places.loc["Quay", "power_cut_usual"]


def test_a_power_cut_means_nothing_to_boats_without_power(places):
    assert places.loc["Pool", "power_cut"] == pytest.approx(places.loc["Pool", "power_cut_usual"], rel=1e-9)


def test_nobody_coming_never_helps(places):
    assert (places["nobody_comes"] >= places["nobody_comes_usual"] - 1e-9).all()
    assert (places["nobody_comes_sinkings"] >= places["nobody_comes_sinkings_usual"] - 1e-12).all()


def test_boats_may_be_gathered_by_any_column(exposed):
    frame = accumulations(exposed, "water", scenarios=())
    assert frame["boats"].sum() == 3
    with pytest.raises(ParameterError, match="--by must name a column"):
        accumulations(exposed, "harbour")


def test_a_stroke_leaves_the_fleet_that_was_given_alone(exposed):
    fleet = exposed.result.fleet
    before = fleet.vessels.copy()
    dark, alone = without_power(fleet), without_visits(fleet, NOBODY.days)
    assert not dark.vessels["shore_power"].any()
    assert (alone.vessels["checked_every_days"] >= NOBODY.days).all()
    assert fleet.vessels.equals(before)


def test_a_stroke_reaches_the_periods_too(exposed):
    import dataclasses

    import pandas as pd

    periods = pd.DataFrame(
        {
            "vessel_id": ["B1", "B1"],
            "from": ["05-01", "10-01"],
            "to": ["09-30", "04-30"],
            "state": ["in_use", "laid_up_afloat"],
            "visited_every_days": [7.0, np.nan],
            "shore_power": ["yes", ""],
        }
    )
    fleet = dataclasses.replace(exposed.result.fleet, periods=periods)
    assert list(without_power(fleet).periods["shore_power"]) == ["no", "no"]
    visited = without_visits(fleet, 30.0).periods["visited_every_days"]
    assert visited[0] == 30
    assert np.isnan(visited[1])


def test_scenarios_say_how_long_they_last():
    assert POWER.days == 7
    assert "week" in POWER.told
    assert "month" in NOBODY.told
