"""Checks that dates follow each other as they can: building, fitting, and what was written down after."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from pandas import DataFrame, Series

from riskmodel.errors import Problem
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.links import flagged
from riskmodel.fleet.problems import problems_at
from riskmodel.fleet.windows import Days


def history_problems(vessels: CheckedTable, items: CheckedTable, records: CheckedTable) -> list[Problem]:
    """Every item installed in an impossible window, before its boat was built, or after records of it."""
    return [
        *_empty_windows(items),
        *_older_than_the_boat(vessels, items),
        *_records_before_installation(items, records),
    ]


def _empty_windows(items: CheckedTable) -> list[Problem]:
    first, last = (items.frame[name].to_numpy() for name in ("installed_after", "installed_by"))
    return window_problems(items.file, items.frame["source_row"].to_numpy(), (first, last))


def window_problems(file: str, rows: NDArray[Any], window: tuple[Days, Days]) -> list[Problem]:
    """Parts in ``rows`` of ``file`` whose window, its first days and its last, has no day in it."""
    wrong = window[0] > window[1]
    first, last = (_days(Series(each[wrong])) for each in window)
    rules = [f"must not be after {day}, the last day it can have been installed" for day in last]
    return problems_at(file, "installed_after", rows[wrong], np.array(rules, dtype=object), first)


def _older_than_the_boat(vessels: CheckedTable, items: CheckedTable) -> list[Problem]:
    if items.frame.empty:
        return []
    built = vessels.frame.drop_duplicates("vessel_id").set_index("vessel_id")["built_year"]
    of_boat = items.frame["vessel_id"].map(built).to_numpy(dtype=float)
    last = items.frame["installed_by"].to_numpy()
    return too_old_problems(items.file, items.frame["source_row"].to_numpy(), (last, of_boat))


def too_old_problems(
    file: str, rows: NDArray[Any], fitted: tuple[Days, NDArray[np.float64]]
) -> list[Problem]:
    """Parts in ``rows`` of ``file`` whose last possible days lie before their boats (years built, NaN) can have had
    any."""
    last, built = fitted
    # A part may be fitted in the year before the model year that the boat is sold as.
    earliest = built - 1
    years = np.where(np.isnat(last), np.nan, last.astype("datetime64[Y]").astype(float) + 1970.0)
    wrong = years < earliest
    rules = [f"must not be before {year:.0f}, the year before the boat was built" for year in earliest[wrong]]
    return problems_at(
        file, "installed_by", rows[wrong], np.array(rules, dtype=object), _days(Series(last[wrong]))
    )


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
    texts: NDArray[Any] = dates.astype("datetime64[ns]").dt.strftime("%Y-%m-%d").to_numpy(dtype=object)
    return texts
