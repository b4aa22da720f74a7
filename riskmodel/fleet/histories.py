"""Checks that dates follow each other as they can: building, fitting, and what was written down after."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from pandas import DataFrame, Series

from riskmodel.errors import Problem
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.links import flagged


def history_problems(vessels: CheckedTable, items: CheckedTable, records: CheckedTable) -> list[Problem]:
    """Every item installed in an impossible window, before its boat was built, or after records of it."""
    return [
        *_empty_windows(items),
        *_older_than_the_boat(vessels, items),
        *_records_before_installation(items, records),
    ]


def _empty_windows(items: CheckedTable) -> list[Problem]:
    frame = items.frame
    wrong = frame["installed_after"] > frame["installed_by"]
    rules = _ruled(
        "must not be after {}, the last day it can have been installed", frame.loc[wrong, "installed_by"]
    )
    return flagged(items, wrong, "installed_after", rules, _days(frame.loc[wrong, "installed_after"]))


def _older_than_the_boat(vessels: CheckedTable, items: CheckedTable) -> list[Problem]:
    if items.frame.empty:
        return []
    built = vessels.frame.drop_duplicates("vessel_id").set_index("vessel_id")["built_year"]
    # A part may be fitted in the year before the model year that the boat is sold as.
    earliest = items.frame["vessel_id"].map(built) - 1
    last = items.frame["installed_by"]
    wrong = last.dt.year < earliest
    rules = np.array(
        [f"must not be before {year:.0f}, the year before the boat was built" for year in earliest[wrong]]
    )
    return flagged(items, wrong, "installed_by", rules.astype(object), _days(last[wrong]))


def _records_before_installation(items: CheckedTable, records: CheckedTable) -> list[Problem]:
    """Records of a part before it was there; those before a recorded renewal are about its predecessor."""
    frame = records.frame.merge(
        items.frame.drop_duplicates("item_id")[["item_id", "installed_after", "installed_by"]],
        "left",
        on="item_id",
    )
    renewal = frame["event"].isin(["installed", "replaced"])
    early = frame["item_id"].ne("") & ~renewal & (frame["date_by"] < frame["installed_after"])
    early &= ~(_last_renewal(frame[renewal], frame["item_id"]) >= frame["date"])
    rules = _ruled("must not be before {}, when the item was installed", frame.loc[early, "installed_after"])
    return flagged(records, early, "date", rules, _days(frame.loc[early, "date"]))


def _last_renewal(renewals: DataFrame, item_ids: Series[str]) -> Series[Any]:
    """The last renewal on record of each item that its installation date can be about."""
    past = renewals[~(renewals["date"] > renewals["installed_by"])]
    return item_ids.map(past.groupby("item_id")["date"].max())


def _ruled(rule: str, days: Series[Any]) -> NDArray[Any]:
    return np.array([rule.format(day) for day in _days(days)], dtype=object)


def _days(dates: Series[Any]) -> NDArray[Any]:
    texts: NDArray[Any] = dates.dt.strftime("%Y-%m-%d").to_numpy(dtype=object)
    return texts
