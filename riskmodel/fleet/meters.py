"""Checks that an engine meter only runs forward, unless it was changed."""

from __future__ import annotations

import numpy as np
from pandas import DataFrame, merge_asof

from riskmodel.errors import Problem
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.links import ITEM_EVENTS, boat_of_items, flagged


def meter_problems(items: CheckedTable, records: CheckedTable) -> list[Problem]:
    """Every record whose hours are below those of the record surely before it, of the same item or boat.

    Two records whose dates overlap have no order, and are not compared. A meter_changed record of the boat
    between the two sets the meter free.
    """
    pairs = _falls(_readings(items, records))
    if pairs.empty:
        return []
    pairs = pairs[~_changed_between(pairs, records.frame)].sort_values("place")
    wrong = records.frame["source_row"].isin(pairs["source_row"])
    rules = np.array(
        [
            f"must not be below {hours:g}, the meter in row {row:.0f}"
            for hours, row in zip(pairs["hours_before"], pairs["row_before"], strict=True)
        ],
        dtype=object,
    )
    values = np.array([f"{hours:g}" for hours in pairs["hours"]], dtype=object)
    return flagged(records, wrong, "hours", rules, values)


def _readings(items: CheckedTable, records: CheckedTable) -> DataFrame:
    frame = records.frame
    of_item = frame["event"].isin(ITEM_EVENTS)
    boat = frame["vessel_id"].where(frame["vessel_id"].ne(""), boat_of_items(items, frame["item_id"]))
    meter = ("item " + frame["item_id"]).where(of_item, "boat " + boat)
    readings = frame[["date", "date_by", "hours", "source_row"]].assign(
        meter=meter, boat=boat, place=frame.index
    )
    return readings[frame["hours"].notna() & frame["date"].notna() & frame["event"].ne("")]


def _falls(readings: DataFrame) -> DataFrame:
    before = readings[["meter", "date", "date_by", "hours", "source_row"]].rename(
        columns={"date": "date_before", "hours": "hours_before", "source_row": "row_before"}
    )
    pairs = merge_asof(
        readings.drop(columns="date_by").assign(until=readings["date_by"]).sort_values(["date", "place"]),
        before.sort_values(["date_by", "hours_before", "row_before"]),
        left_on="date",
        right_on="date_by",
        by="meter",
        allow_exact_matches=False,
    )
    return pairs[pairs["hours"] < pairs["hours_before"]]


def _changed_between(pairs: DataFrame, records: DataFrame) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    changes = records.loc[records["event"].eq("meter_changed"), ["vessel_id", "date", "date_by"]]
    joined = (
        pairs.reset_index(drop=True)
        .reset_index()
        .merge(changes, left_on="boat", right_on="vessel_id", suffixes=("", "_change"))
    )
    between = (joined["date_by_change"] >= joined["date_before"]) & (joined["date_change"] <= joined["until"])
    freed = joined.loc[between, "index"].unique()
    return np.isin(np.arange(len(pairs)), freed)
