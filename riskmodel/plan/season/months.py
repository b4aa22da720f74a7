"""A season's chances month by month: each part's share of them falls where it lets go and where that does harm."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.plan.season.timing import harm_by_month, letting_go_by
from riskmodel.risk import Assessment, Horizon
from riskmodel.units import DAYS_PER_YEAR


def month_ends(horizon: Horizon) -> tuple[date, ...]:
    """The first of each calendar month after the horizon's first day, and its end: no month in between is cut."""
    ends: list[date] = []
    year, month = horizon.as_of.year, horizon.as_of.month
    while True:
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)
        if date(year, month, 1) >= horizon.until:
            return (*ends, horizon.until)
        ends.append(date(year, month, 1))


def chances_by_month(result: Assessment, ends: Sequence[date]) -> pd.DataFrame:
    """Chance of each end state (columns) in each month (rows), of one boat; never negative, adding up to the whole.

    What a part brings about over the horizon is spread in proportion to the growth of its chance of having let go
    times the harm that follows in that month, as the boat spends it. What has gone already, unseen or known, does
    its harm in the first month in which it can do its worst. The background is spread by its rates.
    """
    days = np.diff([result.horizon.as_of.toordinal(), *(end.toordinal() for end in ends)])
    length = days / DAYS_PER_YEAR
    curve = letting_go_by(result, np.concatenate([[0.0], np.cumsum(length)]))
    gone, growth = curve[:, 0], np.maximum(np.diff(curve, axis=1), 0.0)
    harm = harm_by_month(result, ends)
    months = pd.DataFrame(index=range(len(ends)))
    for name in result.chances.columns:
        follows = harm.follows.get(name, np.zeros_like(growth))
        usable = harm.usable.get(name, np.ones_like(growth))
        weight = _weights(gone, _waiting(growth, usable), follows * usable, length)
        months[name] = result.chances[name].to_numpy() @ weight
        if name in harm.weather:
            rate = harm.weather[name] * length
            share = rate / rate.sum() if rate.sum() > 0 else length / length.sum()
            months[name] += float(result.background[name].iloc[0]) * share
    return months


def _waiting(growth: FloatArray, usable: FloatArray) -> FloatArray:
    """(items, months) the growth by when it can do harm: what falls in the unusable share of a month waits for the next
    usable one, and at the end of the horizon for none."""
    moved, waiting = np.zeros_like(growth), np.zeros(len(growth))
    for month in range(growth.shape[1]):
        share, grew = usable[:, month], growth[:, month]
        # A month's harm is counted over its usable share: what waits comes on top of all of it.
        late = np.divide(waiting, share, out=np.zeros_like(waiting), where=share > 0)
        moved[:, month] = np.where(share > 0, grew + late, 0.0)
        waiting = np.where(share > 0, 0.0, waiting) + grew * (1.0 - share)
    return moved


def _weights(gone: FloatArray, growth: FloatArray, follows: FloatArray, length: FloatArray) -> FloatArray:
    """(items, months) shares of each part's chance; each row adds up to 1."""
    most = follows.max(axis=1, keepdims=True)
    # What has gone waits for its harm: each month takes of what is left as much as it is bad beside the worst.
    bad = np.divide(follows, most, out=np.zeros_like(follows), where=most > 0)
    left = np.cumprod(np.column_stack([np.ones(len(bad)), 1.0 - bad[:, :-1]]), axis=1)
    weight = growth * follows + gone[:, None] * most * bad * left
    for other in (follows * length, np.tile(length, (len(growth), 1))):
        empty = weight.sum(axis=1) <= 0
        weight[empty] = other[empty]
    shares: FloatArray = weight / weight.sum(axis=1, keepdims=True)
    return shares
