"""Kinds of part on a plain boat, for the physics, and parts on loaded boats, for what follows from them."""

import datetime

import numpy as np
import pandas as pd
import pytest

from riskmodel.consequence import boats_with_pumps, item_following, parts_on_boats
from riskmodel.consequence.flooding.follows import USES
from riskmodel.consequence.follow import scenarios
from riskmodel.fleet import year_shares
from riskmodel.trade import load_trade

PLAIN = {
    **dict.fromkeys(("bore_mm", "depth_m", "flooding_volume_m3", "pump_lpm", "pump_head_m"), np.nan),
    **dict.fromkeys(
        ("pump_shut_off_m", "pump_bends", "pump_check_valve", "pump_amps", "pump_hose_m"), np.nan
    ),
    **{"item_class": "shaft_packing", "open_to_sea": "", "length_m": 10.0, "hulls": 1.0, "compartments": 1.0},
    **{
        "kept": "afloat",
        "state": "in_use",
        "visited_every_days": 7.0,
        "shore_power": True,
        "battery_ah": 100.0,
    },
    **{"alarm_telemetry": False, "alarm_fitted": True, "propulsion": "sail_shaft", "covered": False},
    **{"self_draining": True},
}


@pytest.fixture(scope="session")
def trade():
    return load_trade()


@pytest.fixture(scope="session")
def cube():
    return scenarios()


@pytest.fixture(scope="session")
def kinds_of():
    """Kinds of part, each what it adds to packing on a plain boat."""

    def make(*changes):
        frame = pd.DataFrame([PLAIN | change for change in changes])
        return frame.astype(
            {
                "shore_power": bool,
                "alarm_telemetry": bool,
                "alarm_fitted": bool,
                "covered": bool,
                "self_draining": bool,
            }
        )[list(USES)]

    return make


@pytest.fixture(scope="session")
def boats_and_year(fleet_of):
    """A fleet's parts on their boats, the boats with their pumps, and their year from 1 June 2026."""

    def load(items, boats=({},)):
        fleet = fleet_of(items=list(items), boats=list(boats))
        with_pumps = boats_with_pumps(fleet.items, fleet.vessels)
        year = year_shares(fleet, datetime.date(2026, 6, 1), datetime.date(2027, 6, 1))
        return parts_on_boats(fleet.items, with_pumps), with_pumps, year

    return load


@pytest.fixture(scope="session")
def followed(boats_and_year, trade):
    """What may follow over that year from parts given as what they add to a part of boat B1."""

    def run(items, boats=({},)):
        parts, _, year = boats_and_year(items, boats)
        return item_following(parts, year, trade)

    return run
