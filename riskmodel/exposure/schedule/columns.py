"""Which columns of a schedule tell boats apart: for what may happen to them, and for what it then costs the insurer."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
import pandas as pd

from riskmodel.exposure.schedule.bands import ByCount, ByDay, ByRatio, Likeness, Scale
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.schema import Field, read_schema

# A boat's own name, and what no yearly loss rests on: refunds count in plans only, and there are no records here.
OF_RECORDS = ("records_from", "insured_since")
NOT_TOLD = frozenset({"vessel_id", "name", "home_port", "day_rate", "downtime_days", *OF_RECORDS})
# What a loss costs, and what is paid of it; the length is in both (repairs go by it).
OF_MONEY = ("value", "length_m", "deductible", "limit", "deductible_percent", "inception", "expiry")
WORDS_OF_MONEY = ("value_basis", "lay_up_from", "lay_up_to")
# How finely at the first level of bands, and in which turn bands are joined, what tells most the last (judgement).
FINEST: dict[str, Scale] = {
    "value": ByRatio(12.0, turn=1),
    "length_m": ByRatio(8.0, turn=2),
    "checked_every_days": ByRatio(8.0, turn=3),
    "hours_per_year": ByRatio(4.0, turn=1),
    "built_year": ByCount(1.0, turn=1),
    "hulls": ByCount(1.0),
    "compartments": ByCount(1.0),
    "inception": ByDay(15.0),
    "expiry": ByDay(15.0),
}
USUAL = ByRatio(2.0)
# At most so many kinds are assessed, at about 5 ms each, and so many sums of money put on the lattice.
MOST_KINDS, MOST_PRICED = 12_000, 500
DAY = np.timedelta64(1, "D")


def likeness_of_kinds(by: Collection[str] = ()) -> Likeness:
    """Boats alike in everything that their chances rest on, and in the columns ``by``."""
    fields = [
        each for each in _told() if each.name not in (*_money_only(), *WORDS_OF_MONEY) or each.name in by
    ]
    extra = [each for each in read_schema("vessels").fields if each.name in by and each.name in NOT_TOLD]
    return _likeness([*fields, *extra], MOST_KINDS)


def likeness_of_money() -> Likeness:
    """Boats alike in what a loss costs and in their terms."""
    return _likeness([each for each in _told() if each.name in (*OF_MONEY, *WORDS_OF_MONEY)], MOST_PRICED)


def told_frame(vessels: CheckedTable, rows: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> pd.DataFrame:
    """The columns that say anything of a checked table's boats, of its ``rows``: words as text, numbers (dates as days
    since 1970) as floats; "" and NaN where nothing is said."""
    columns = {}
    for field in read_schema("vessels").fields:
        if vessels.given[field.name].any():
            columns[field.name] = _told_column(vessels.frame[field.name], vessels.given[field.name], field)[
                rows
            ]
    return pd.DataFrame(columns, index=pd.RangeIndex(int(rows.sum())))


def is_number(field: Field) -> bool:
    """Whether boats may be alike in a field by being close."""
    return field.type in ("number", "integer", "date")


def _told() -> list[Field]:
    return [each for each in read_schema("vessels").fields if each.name not in NOT_TOLD]


def _money_only() -> tuple[str, ...]:
    return tuple(name for name in OF_MONEY if name != "length_m")


def _likeness(fields: list[Field], most: int) -> Likeness:
    numbers = {each.name: FINEST.get(each.name, USUAL) for each in fields if is_number(each)}
    return Likeness(tuple(each.name for each in fields if not is_number(each)), numbers, most)


def _told_column(values: pd.Series, given: pd.Series, field: Field) -> np.ndarray:
    if field.type == "boolean":
        return np.where(given, np.where(values, "yes", "no"), "").astype(object)
    if field.type == "date":
        days = (values.to_numpy() - np.datetime64("1970-01-01")) / DAY
        return np.asarray(days, dtype=float)
    found = values.to_numpy()
    return found
