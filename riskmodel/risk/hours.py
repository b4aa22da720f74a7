"""Running hours on each part in service, read off its boat's engine meter."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.fleet import Fleet

RENEWALS = ("installed", "replaced")


def running_hours(fleet: Fleet) -> npt.NDArray[np.float64]:
    """Hours (items,): the boat's last reading less the reading at the part's renewal; NaN unknown.

    Unknown too where the meter was changed since: the two readings are then of different meters.
    """
    items, records = fleet.items, fleet.records.sort_values(["date", "hours"], kind="stable")
    meter = records[records["hours"].notna()].groupby("vessel_id")["hours"].last()
    changed = records[records["event"] == "meter_changed"].groupby("vessel_id")["date"].last()
    renewed = records[records["event"].isin(RENEWALS)].drop_duplicates("item_id", keep="last")
    renewed = renewed.set_index("item_id")
    renewed_on = pd.to_datetime(items["item_id"].map(renewed["date"]))
    at_renewal = items["item_id"].map(renewed["hours"]).astype(float)
    # The items table may speak of the part that the latest recorded renewal took out.
    earlier = renewed_on.notna() & ~(items["installed_by"] >= renewed_on)
    start = at_renewal.where(earlier, items["installed_hours"].fillna(at_renewal))
    since = items["installed_by"].where(~earlier, renewed_on)
    change = pd.to_datetime(items["vessel_id"].map(changed))
    run = items["vessel_id"].map(meter).astype(float) - start
    known = (run >= 0) & (change.isna() | (change < since))
    return np.asarray(run.where(known), dtype=float)
