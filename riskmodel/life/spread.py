"""A life whose installation date is unknown or loose: spread over the starts it may have had."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.life.ages import OLDEST, AgeTable, age_weights

DAYS_PER_YEAR = 365.25
# Starts a life of unknown date is spread over: enough that the mode moves less than a tenth of its spread.
STARTS = 8
TYPICAL = 1  # the middle of the three owner shares of an age table


def spread_starts(spans: pd.DataFrame, tables: Mapping[str, AgeTable]) -> pd.DataFrame:
    """Copies of each span, one a possible ``start`` (day), with ``share`` adding to 1 over a life.

    The shares are the age density at the latest possible start times the chance, given that start, of what
    was then seen: one expectation step of the usual treatment of a missing age.
    """
    parts = [row for span in spans.to_dict("records") for row in _copies(span, tables)]
    return pd.DataFrame(parts, columns=[*spans.columns, "start", "share"])


def _copies(span: dict[Any, Any], tables: Mapping[str, AgeTable]) -> Iterator[dict[Any, Any]]:
    table = tables[span["item_class"]]
    latest, oldest, limit = start_bounds(span)
    starts, shares = _bins(table.ages, age_weights(table, oldest, 0.0, limit)[TYPICAL])
    starts = latest - starts * DAYS_PER_YEAR
    shares = shares * _chance_of_outcome(table, span, starts)
    total = shares.sum()
    shares = shares / total if total > 0 else np.full(len(shares), 1 / len(shares))
    for start, share in zip(starts, shares, strict=True):
        yield {**span, "start": start, "share": share}


def start_bounds(span: Mapping[Any, Any]) -> tuple[float, float, float]:
    """Latest possible start (day), the boat's age there and the greatest age of the part there (years).

    A part with no renewal on record is at least as old as its boat's records, and as its own first record; a fleet's
    records may begin before the boat was built.
    """
    first = np.nanmin([span["records_from"], span["seen_on"], span["end_after"], span["as_of"]])
    first = min(np.fmax(first, span["built_on"]), span["as_of"])
    latest = span["start_by"] if not np.isnan(span["start_by"]) else first
    built = span["built_on"] if not np.isnan(span["built_on"]) else latest - OLDEST / 2 * DAYS_PER_YEAR
    oldest = max(latest - built, DAYS_PER_YEAR / 2) / DAYS_PER_YEAR
    limit = (latest - span["start_after"]) / DAYS_PER_YEAR if not np.isnan(span["start_after"]) else oldest
    return float(latest), float(oldest), float(max(limit, 0.0))


def _bins(ages: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Ages gathered into a few bins of about equal weight, each at its mean."""
    place = np.minimum((np.cumsum(weights) - weights / 2) * STARTS, STARTS - 1).astype(int)
    share = np.bincount(place, weights=weights, minlength=STARTS).astype(float)
    total = np.bincount(place, weights=weights * ages, minlength=STARTS).astype(float)
    full = share > 0
    return total[full] / share[full], share[full]


def _chance_of_outcome(table: AgeTable, span: Mapping[Any, Any], starts: FloatArray) -> FloatArray:
    """Chance of the observed end for each start, given whole when the boat's records began."""
    sound = table.whole[1]

    def whole(day: float) -> FloatArray:
        age = (day - starts) / DAYS_PER_YEAR
        chance: FloatArray = np.interp(age, table.ages, sound, left=1.0, right=float(sound[-1]))
        return chance

    low = span["low_day"] if not np.isnan(span["low_day"]) else span["records_from"]
    watched = np.maximum(whole(span["records_from"]), 1e-12)
    if np.isinf(span["high_day"]):
        return whole(max(low, span["records_from"])) / watched
    # An exact failure is given a month's width, narrower than which the table does not resolve.
    high = max(span["high_day"], low + DAYS_PER_YEAR / 12)
    return np.maximum(whole(low) - whole(high), 1e-12) / watched
