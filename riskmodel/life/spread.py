"""A life whose installation date is unknown or loose: spread over the starts it may have had."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.life.ages import OLDEST, AgeTable, owner_weights
from riskmodel.units import DAYS_PER_YEAR

# Starts a life of unknown date is spread over: enough that the mode moves less than a tenth of its spread.
STARTS = 8
# The days (float, NaN unknown) that bound when a part may have been put in.
BOUNDING = ("records_from", "seen_on", "end_after", "as_of", "built_on", "start_by", "start_after")
TYPICAL = 1  # the middle of the three owner shares of an age table


def spread_starts(spans: pd.DataFrame, tables: Mapping[str, AgeTable]) -> pd.DataFrame:
    """Copies of each span, one a possible ``start`` (day), with ``share`` adding to 1 over a life.

    The shares are the age density at the latest possible start times the chance, given that start, of what
    was then seen: one expectation step of the usual treatment of a missing age.
    """
    if spans.empty:
        return spans.assign(start=0.0, share=0.0)
    latest, oldest, limit = start_bounds(spans)
    columns = ["records_from", "low_day", "high_day"]
    told = spans[columns].to_numpy(dtype=float)
    places, starts, shares = [], [], []
    for place, name in enumerate(spans["item_class"]):
        start, share = _starts(tables[name], (latest[place], oldest[place], limit[place]), told[place])
        places.append(np.full(len(start), place))
        starts.append(start)
        shares.append(share)
    copies = spans.iloc[np.concatenate(places)].reset_index(drop=True)
    return copies.assign(start=np.concatenate(starts), share=np.concatenate(shares))


def start_bounds(spans: pd.DataFrame) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Per span: latest possible start (day), the boat's age there and the greatest age of the part there (years).

    A part with no renewal on record is at least as old as its boat's records, and as its own first record; a fleet's
    records may begin before the boat was built.
    """
    day = {name: spans[name].to_numpy(dtype=float) for name in BOUNDING}
    first = np.fmin.reduce([day["records_from"], day["seen_on"], day["end_after"], day["as_of"]])
    first = np.minimum(np.fmax(first, day["built_on"]), day["as_of"])
    latest = np.where(np.isnan(day["start_by"]), first, day["start_by"])
    built = np.where(np.isnan(day["built_on"]), latest - OLDEST / 2 * DAYS_PER_YEAR, day["built_on"])
    oldest = np.maximum(latest - built, DAYS_PER_YEAR / 2) / DAYS_PER_YEAR
    since = (latest - day["start_after"]) / DAYS_PER_YEAR
    limit = np.maximum(np.where(np.isnan(since), oldest, since), 0.0)
    return latest, oldest, limit


def _starts(
    table: AgeTable, bounds: tuple[float, float, float], told: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Possible starts (days) of one span and their shares; ``told``: days the records begin, and of its end."""
    latest, oldest, limit = bounds
    by_owner = owner_weights(table, oldest, 0.0, limit)[:, TYPICAL]
    # A part seen in service past the interval is no part of an owner who keeps to it.
    seen = told[0] if np.isnan(told[1]) else max(told[0], told[1])
    reached = (seen - latest) / DAYS_PER_YEAR + table.ages
    kept = by_owner[0] * (np.interp(reached, table.ages, table.whole[0], left=1.0, right=0.0) > 0)
    weights = kept + by_owner[1]
    ages, shares = _bins(table.ages, weights / weights.sum() if weights.sum() > 0 else by_owner.sum(axis=0))
    starts = latest - ages * DAYS_PER_YEAR
    shares = shares * _chance_of_outcome(table, told, starts)
    total = shares.sum()
    return starts, shares / total if total > 0 else np.full(len(shares), 1 / len(shares))


def _bins(ages: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Ages gathered into a few bins of about equal weight, each at its mean."""
    place = np.minimum((np.cumsum(weights) - weights / 2) * STARTS, STARTS - 1).astype(int)
    share = np.bincount(place, weights=weights, minlength=STARTS).astype(float)
    total = np.bincount(place, weights=weights * ages, minlength=STARTS).astype(float)
    full = share > 0
    return total[full] / share[full], share[full]


def _chance_of_outcome(table: AgeTable, told: FloatArray, starts: FloatArray) -> FloatArray:
    """Chance of the observed end for each start, given whole when the boat's records began."""
    sound, (begin, low, high) = table.whole[1], told

    def whole(day: float) -> FloatArray:
        age = (day - starts) / DAYS_PER_YEAR
        chance: FloatArray = np.interp(age, table.ages, sound, left=1.0, right=float(sound[-1]))
        return chance

    low = begin if np.isnan(low) else low
    watched = np.maximum(whole(begin), 1e-12)
    if np.isinf(high):
        return whole(max(low, begin)) / watched
    # An exact failure is given a month's width, narrower than which the table does not resolve.
    return np.maximum(whole(low) - whole(max(high, low + DAYS_PER_YEAR / 12)), 1e-12) / watched
