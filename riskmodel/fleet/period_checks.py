"""Checks the periods of the boats' years: boats that are there, and no day of one boat in two periods."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas import DataFrame, Series

from riskmodel.errors import Problem
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.links import orphan_problems
from riskmodel.fleet.month_days import DAYS, day_numbers
from riskmodel.fleet.periods import year_spans
from riskmodel.fleet.problems import problems_at
from riskmodel.fleet.schema import read_schema


def period_problems(vessels: CheckedTable, periods: CheckedTable) -> list[Problem]:
    """Every period of an unknown boat, and every period that overlaps another of the same boat."""
    return [*orphan_problems(periods, {"vessels": vessels}), *_overlaps(periods)]


def period_notes(periods: CheckedTable) -> tuple[str, ...]:
    """A note for boats whose periods leave days of the year open; the periods must have no problems."""
    if periods.frame.empty:
        return ()
    spans = year_spans(periods.frame)
    count = spans.loc[spans["row"] < 0, "vessel_id"].nunique()
    if not count:
        return ()
    boats = "1 boat has" if count == 1 else f"{count} boats have"
    return (f"{periods.file}: {boats} days outside all periods; they count as in use.",)


def _overlaps(periods: CheckedTable) -> list[Problem]:
    frame = periods.frame[_readable(periods.frame)]
    pairs = _overlapping(frame)
    if not len(pairs):
        return []
    later, earlier = frame.loc[pairs["later"]], frame.loc[pairs["earlier"]]
    rules = (
        "must not overlap row "
        + earlier["source_row"].astype(str).to_numpy(dtype=object)
        + " of the same boat ("
        + _written(earlier)
        + ", both days in it)"
    )
    return problems_at(periods.file, "from", later["source_row"].to_numpy(), rules, _written(later))


def _readable(frame: DataFrame) -> Series[bool]:
    """Where a row says whose period it is and when; a row that does not has a problem of its own."""
    readable = frame["vessel_id"].ne("")
    for field in read_schema("periods").fields:
        if field.pattern:
            readable &= frame[field.name].str.fullmatch(field.pattern).astype(bool)
    return readable


def _overlapping(frame: DataFrame) -> DataFrame:
    """The rows that share a day with another row of the boat, as pairs of labels: ``earlier`` and ``later``."""
    pieces = _pieces(frame)
    # The last day that the boat's pieces before reach, with the row that reaches it in the lower digits.
    base = len(frame) + 1
    reached = (pieces["last"] * base + pieces["row"]).groupby(pieces["vessel_id"]).cummax()
    reached = reached.groupby(pieces["vessel_id"]).shift(fill_value=-1)
    clash = reached.ge(0) & pieces["first"].le(reached // base)
    ends = np.sort(np.column_stack([pieces["row"], reached % base])[clash], axis=1)
    labels = frame.index.to_numpy()[ends]
    pairs = DataFrame({"later": labels[:, 1], "earlier": labels[:, 0]})
    return pairs.drop_duplicates().sort_values(["later", "earlier"])


def _pieces(frame: DataFrame) -> DataFrame:
    """The periods as ``first`` to ``last`` day number by boat and first day; two where one crosses the year's end."""
    first, last = day_numbers(frame["from"]), day_numbers(frame["to"])
    whole = DataFrame({"vessel_id": frame["vessel_id"].to_numpy(), "row": np.arange(len(frame))})
    whole = whole.assign(first=first, last=np.where(last < first, DAYS - 1, last))
    past = whole.assign(first=0, last=last)[last < first]
    return pd.concat([whole, past], ignore_index=True).sort_values(["vessel_id", "first", "row"])


def _written(frame: DataFrame) -> NDArray[Any]:
    written: NDArray[Any] = (frame["from"] + " to " + frame["to"]).to_numpy(dtype=object)
    return written
