"""The typical boat to see one's own beside: same kind, age, length and berth, the usual outfit and the usual care."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pandas as pd

from riskmodel.fleet import Fleet
from riskmodel.fleet.defaults import read_defaults
from riskmodel.risk.learned import Learned, learn
from riskmodel.risk.outfit import with_typical_outfits
from riskmodel.risk.prices import priced_trade

# What a keeper does for a boat, and not what the boat is: a typical boat has the trade's defaults.
CARE = ("checked_every_days", "alarm_telemetry", "shore_power", "battery_ah", "covered")


def typical_id(vessel_id: str) -> str:
    """The id that the typical boat beside ``vessel_id`` goes by."""
    return f"{vessel_id}/typical"


def learn_with_typical(fleet: Fleet, vessel_id: str) -> Learned:
    """What the fleet teaches, with a typical boat beside ``vessel_id`` that itself teaches nothing.

    The typical boat lies where the other does and is used at the same times; no part of it is listed, so it has the
    typical outfit of its kind, of unknown age. It stands in no note.
    """
    learned = learn(with_typical_boat(fleet, vessel_id), fleet.as_of)
    trade = priced_trade(fleet.settings)
    said = with_typical_outfits(fleet, trade)[1]
    counted = with_typical_outfits(with_typical_boat(fleet, vessel_id), trade)[1]
    kept = [note for note in learned.notes if note not in counted]
    place = next((n for n, note in enumerate(learned.notes) if note in counted), len(kept))
    return replace(learned, notes=(*kept[:place], *said, *kept[place:]))


def with_typical_boat(fleet: Fleet, vessel_id: str) -> Fleet:
    """The fleet and one boat more, like ``vessel_id`` but for its care, without items and records."""
    vessels = fleet.vessels
    twin = vessels[vessels["vessel_id"] == vessel_id].copy()
    twin["vessel_id"] = typical_id(vessel_id)
    for column, value in _usual_care(fleet, str(twin["propulsion"].iloc[0])).items():
        twin[column] = pd.Series([value], index=twin.index).astype(vessels[column].dtype)
    twin["records_from"] = pd.Series(pd.NaT, index=twin.index).astype(vessels["records_from"].dtype)
    periods = fleet.periods
    theirs = periods[periods["vessel_id"] == vessel_id].assign(vessel_id=typical_id(vessel_id))
    given = fleet.given["vessels"]
    nothing = pd.DataFrame(False, index=[len(given)], columns=given.columns)
    return replace(
        fleet,
        vessels=pd.concat([vessels, twin], ignore_index=True),
        periods=pd.concat([periods, theirs], ignore_index=True) if len(theirs) else periods,
        given={**fleet.given, "vessels": pd.concat([given, nothing], ignore_index=True)},
    )


def _usual_care(fleet: Fleet, propulsion: str) -> dict[str, Any]:
    """The trade's default of each column of CARE for this kind of boat."""
    usual: dict[str, Any] = {}
    for default in read_defaults(fleet.settings.trade_folder):
        # Rows for one kind come before those for any.
        if (
            default.table == "vessels"
            and default.column in CARE
            and default.propulsion in (propulsion, "any")
        ):
            usual.setdefault(default.column, default.value)
    return usual
