"""How each boat's year is spent: the periods its keeper gave, what lies between them, and shares of a horizon."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas import DataFrame

from riskmodel.errors import ParameterError
from riskmodel.fleet.dates import refuse_other_than_days
from riskmodel.fleet.fleet import Fleet
from riskmodel.fleet.month_days import DAYS, LEAP_DAY, day_number, day_numbers, days_before
from riskmodel.fleet.numbers import YES_NO

IN_USE = "in_use"
"""The state of days that lie in no period."""

_STATE_WHERE_KEPT = {
    "afloat": IN_USE,
    "mooring": IN_USE,
    "trailer": "on_trailer",
    "rack": "ashore",
    "ashore": "ashore",
}
"""The whole year's state of a boat without periods, by where it is kept."""
_GAP, _YEAR = -1, -2


def year_shares(fleet: Fleet, start: date, until: date) -> DataFrame:
    """How the days from ``start`` up to, not including, ``until`` are spent, boat by boat.

    A boat without periods spends them all as it is kept; days between periods are in use.

    Returns
    -------
    DataFrame
        ``vessel_id``, ``state`` (as in the periods table), ``share`` of the days (above 0; each boat's add up to
        1), ``visited_every_days`` (NaN = unknown) and ``shore_power`` (bool), both the period's own, else the
        boat's. Boats stand in the fleet's order, rows of a boat by their first day; like rows are one.

    Raises ParameterError unless both are days and ``until`` lies after ``start``.
    """
    refuse_other_than_days(start=start, until=until)
    if until <= start:
        raise ParameterError(f"until must lie after {start}, got {until}")
    spans = _spans_of_boats(fleet)
    counts = days_before(start, until)
    end = spans["first"] + spans["length"]
    days = counts[np.minimum(end, DAYS)] - counts[spans["first"]] + counts[np.maximum(end - DAYS, 0)]
    spent = _described(fleet, spans).assign(days=days, begins=_days_until(spans, day_number(start)))
    spent = spent[spent["days"] > 0].sort_values(["place", "begins"], kind="stable")
    alike = ["place", "state", "visited_every_days", "shore_power"]
    summed = spent.groupby(alike, sort=False, dropna=False)["days"].sum().reset_index()
    summed["share"] = summed["days"] / counts[-1]
    summed["vessel_id"] = fleet.vessels["vessel_id"].to_numpy()[summed["place"]]
    return summed[["vessel_id", "state", "share", "visited_every_days", "shore_power"]]


def states_by_day(fleet: Fleet) -> tuple[tuple[str, ...], NDArray[np.int64]]:
    """States that occur, and the place among them of each boat's on each day of a year with a 29 February (boats, 366),
    as ``year_shares`` counts them."""
    spans = _spans_of_boats(fleet)
    code, names = pd.factorize(_described(fleet, spans)["state"])
    length = spans["length"].to_numpy()
    ends = np.cumsum(length)
    within = np.arange(length.sum()) - np.repeat(ends - length, length)
    day = (np.repeat(spans["first"].to_numpy(), length) + within) % DAYS
    found = np.empty((len(fleet.vessels), DAYS), dtype=np.int64)
    found[np.repeat(spans["place"].to_numpy(), length), day] = np.repeat(code, length)
    return tuple(names), found


def year_spans(periods: DataFrame) -> DataFrame:
    """The stretches of each boat's year: its periods, and the days between them.

    Returns ``vessel_id``, ``row`` (the period's position in ``periods``, -1 for days between periods), ``first``
    (day number) and ``length`` [days of a leap year]. The periods must not overlap. A 29 February between a
    period that ends the day before and one that begins the day after belongs to the former.
    """
    first, last = day_numbers(periods["from"]), day_numbers(periods["to"])
    spans = DataFrame({"vessel_id": periods["vessel_id"].to_numpy(), "row": np.arange(len(periods))})
    spans = spans.assign(first=first, length=(last - first) % DAYS + 1).sort_values(["vessel_id", "first"])
    firsts = spans.groupby("vessel_id")["first"]
    following = firsts.shift(-1).fillna(firsts.transform("min") + DAYS).astype(np.int64)
    between = spans.assign(
        row=_GAP,
        first=(spans["first"] + spans["length"]) % DAYS,
        length=following - spans["first"] - spans["length"],
    )
    leap = between["first"].eq(LEAP_DAY) & between["length"].eq(1)
    spans["length"] += leap
    return pd.concat([spans, between[between["length"].gt(0) & ~leap]], ignore_index=True)


def _spans_of_boats(fleet: Fleet) -> DataFrame:
    """The same for every boat of the fleet: ``place`` (the boat's position), ``row``, ``first`` and ``length``."""
    ids = pd.Index(fleet.vessels["vessel_id"])
    spans = year_spans(fleet.periods)
    spans["place"] = ids.get_indexer(spans["vessel_id"])
    # A boat that was sold may have periods still.
    spans = spans.loc[spans["place"] >= 0, ["place", "row", "first", "length"]]
    whole = np.setdiff1d(np.arange(len(ids)), spans["place"])
    years = DataFrame({"place": whole, "row": _YEAR, "first": 0, "length": DAYS})
    return pd.concat([spans, years], ignore_index=True)


def _described(fleet: Fleet, spans: DataFrame) -> DataFrame:
    """What holds in each span: the period's own word, else the boat's."""
    place, row = spans["place"].to_numpy(), spans["row"].to_numpy()
    boats = fleet.vessels.iloc[place].reset_index(drop=True)
    periods = fleet.periods.reset_index(drop=True).reindex(row)
    state = pd.Series(np.where(row == _YEAR, boats["kept"].map(_STATE_WHERE_KEPT), periods["state"]))
    visited, power = (
        periods["visited_every_days"].to_numpy(dtype=np.float64),
        periods["shore_power"].to_numpy(),
    )
    return DataFrame(
        {
            "place": place,
            "state": state.fillna(IN_USE),
            "visited_every_days": np.where(np.isnan(visited), boats["checked_every_days"], visited),
            "shore_power": np.where(np.isin(power, YES_NO), power == "yes", boats["shore_power"]),
        }
    )


def _days_until(spans: DataFrame, start: int) -> NDArray[np.int64]:
    """Days of the calendar from the day numbered ``start`` to the first day in each span."""
    first, length = spans["first"].to_numpy(), spans["length"].to_numpy()
    return np.where((start - first) % DAYS < length, 0, (first - start) % DAYS)
