"""Parts with their boats' columns beside their own, and what a boat's pumps and alarms are, for the physics."""

from __future__ import annotations

import pandas as pd

# The boat's pump as the physics sees it: the largest of its bilge pumps.
PUMP = {
    "rated_flow_lpm": "pump_lpm",
    "static_head_m": "pump_head_m",
    "shut_off_head_m": "pump_shut_off_m",
    "bends": "pump_bends",
    "check_valve": "pump_check_valve",
    "amps": "pump_amps",
    "hose_length_m": "pump_hose_m",
}


def boats_with_pumps(items: pd.DataFrame, vessels: pd.DataFrame) -> pd.DataFrame:
    """The vessels with ``PUMP``'s columns and ``alarm_fitted`` (NaN or False where a boat lists none)."""
    pumps = items[items["item_class"] == "bilge_pump"].sort_values(
        ["vessel_id", "rated_flow_lpm"], ascending=[True, False], kind="stable"
    )
    pump = pumps.drop_duplicates("vessel_id")[["vessel_id", *PUMP]].rename(columns=PUMP)
    alarmed = items.loc[items["item_class"] == "high_water_alarm", "vessel_id"]
    boats = vessels.merge(pump, on="vessel_id", how="left")
    boats["alarm_fitted"] = boats["vessel_id"].isin(alarmed)
    return boats


def parts_on_boats(items: pd.DataFrame, boats: pd.DataFrame) -> pd.DataFrame:
    """One row a part, indexed by its place in ``items``: its own columns and its boat's (``boats_with_pumps``)."""
    own = [name for name in items.columns if name not in boats.columns or name == "vessel_id"]
    return items[own].reset_index(drop=True).merge(boats, on="vessel_id", how="left", sort=False)
