"""Where each part stands on the day: its age or what bounds it, when it was last known to work, its known defects."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.fleet import Fleet
from riskmodel.life.spread import start_bounds
from riskmodel.risk.hours import running_hours
from riskmodel.risk.running import hours_rates
from riskmodel.units import DAYS_PER_YEAR

# A part dated to the year is taken to be as old as its middle makes it: half a year either way hardly shows.
A_YEAR = 366.0
DEFECTS = {"failing": "last found needing work", "failed": "last found let go"}


def standing(fleet: Fleet, spans: pd.DataFrame) -> pd.DataFrame:
    """One row a part, in the order of the fleet's items, about the life now in service.

    Returns
    -------
    DataFrame
        ``age_known``; ``age_years`` (NaN unknown); ``oldest`` (the boat's age, years), ``youngest`` and ``limit``
        (bounds of an unknown age); ``gap_years``: time since it was last known to work, 0 for parts whose failure
        shows itself, NaN when never tested; ``looked_on``, ``found``; ``defect`` in words, "" for none;
        ``let_go`` and ``needs_work`` (bool); ``quantity``; ``vessel_id`` and ``batch``; ``hours`` on the part (NaN
        where no meter tells) and ``hours_rate``, a year; ``found_ago``, years since the finding; ``reach``: 1, for a
        trend to change.
    """
    items = fleet.items
    last = spans.sort_values("life", kind="stable").groupby("item_id").tail(1).set_index("item_id")
    now = last.loc[items["item_id"]].reset_index()
    narrow = (now["start_by"] - now["start_after"]) <= A_YEAR
    start = (now["start_after"] + now["start_by"]) / 2
    frame = pd.DataFrame({"item_id": items["item_id"].to_numpy(), "age_known": narrow.to_numpy()})
    frame["age_years"] = ((now["as_of"] - start) / DAYS_PER_YEAR).clip(lower=0).where(narrow)
    bounds = _bounds(now)
    for place, column in enumerate(("youngest", "oldest", "limit")):
        frame[column] = bounds[:, place]
    gap = (
        now["as_of"] - now["sound_on"].where(now["sound_on"] >= now["start_after"].fillna(-np.inf))
    ) / DAYS_PER_YEAR
    frame["gap_years"] = gap.where(now["fails_unseen"], 0.0)
    frame["looked_on"] = days_to_dates(now["found_on"]).to_numpy()
    frame["found"] = now["found"].fillna("")
    frame["let_go"] = now["ending"].isin(["failed", "found_failed"]) | (frame["found"] == "failed")
    frame["needs_work"] = ~frame["let_go"] & (frame["found"] == "failing")
    frame["defect"] = _defects(frame, items)
    frame["quantity"] = items["quantity"].to_numpy(dtype=float)
    frame["vessel_id"], frame["batch"] = items["vessel_id"].to_numpy(), items["batch"].to_numpy()
    frame["hours_rate"] = items["vessel_id"].map(hours_rates(fleet)).to_numpy(dtype=float)
    frame["hours"] = running_hours(fleet)
    frame["found_ago"] = ((now["as_of"] - now["found_on"]) / DAYS_PER_YEAR).to_numpy()
    frame["reach"] = 1.0
    return frame


def days_to_dates(days: pd.Series) -> pd.Series:
    """Whole days since 1970 as dates, NaN as NaT, under the same index."""
    known = days.notna().to_numpy()
    dates = np.full(len(days), "NaT", dtype="datetime64[ns]")
    dates[known] = days.to_numpy()[known].astype(np.int64).astype("datetime64[D]")
    return pd.Series(dates, index=days.index)


def _bounds(now: pd.DataFrame) -> FloatArray:
    """Least age, boat's age and greatest age (years) of each part, as of the day."""
    latest, oldest, limit = start_bounds(now)
    since = (now["as_of"].to_numpy(dtype=float) - latest) / DAYS_PER_YEAR
    return np.column_stack([np.maximum(since, 0.0), oldest + since, limit + since])


def _defects(frame: pd.DataFrame, items: pd.DataFrame) -> list[str]:
    recalls = items["recall"].fillna("").astype(str)
    words = []
    for found, let_go, recall in zip(frame["found"], frame["let_go"], recalls, strict=True):
        parts = [DEFECTS["failed"] if let_go else DEFECTS.get(found, "")]
        parts.append(f"under recall ({recall})" if recall else "")
        words.append("; ".join(part for part in parts if part))
    return words
