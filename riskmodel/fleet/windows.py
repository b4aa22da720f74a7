"""Builds a table's typed frame: every column of the descriptor, with dates as first and last possible day."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas import DataFrame

from riskmodel.fleet.schema import Field, Schema

Days = NDArray[np.datetime64]

WINDOWS = {
    "installed_after": ("installed_on", "installed_after"),
    "installed_by": ("installed_on", "installed_by"),
    "made_after": ("made_on",),
    "made_by": ("made_on",),
    "date": ("date",),
    "date_by": ("date",),
}
"""The columns of a frame that are ends of a window, and the fields they are read from."""


def column_names(schema: Schema) -> list[str]:
    """The columns of a table's frame: a date of any precision gives way to the ends of its window."""
    names: list[str] = []
    for field in schema.fields:
        ends = [end for end, sources in WINDOWS.items() if field.name in sources]
        names += [name for name in (ends or [field.name]) if name not in names]
    return names


def typed_frame(schema: Schema, values: Mapping[str, NDArray[Any]], rows: NDArray[np.int64]) -> DataFrame:
    """A frame of every column, missing ones filled with their missing value, and ``source_row``."""
    fields = {field.name: field for field in schema.fields}
    columns: dict[str, Any] = {}
    for name in column_names(schema):
        if name in WINDOWS:
            columns[name] = _window_end(name, values, len(rows)).astype("datetime64[ns]")
        else:
            columns[name] = values[name] if name in values else _missing(fields[name], len(rows))
            if fields[name].type == "date":
                columns[name] = _first_days(columns[name]).astype("datetime64[ns]")
    return DataFrame({**columns, "source_row": rows}, index=pd.RangeIndex(len(rows)))


def given_frame(schema: Schema, given: Mapping[str, NDArray[np.bool_]], frame: DataFrame) -> DataFrame:
    """True where the keeper gave the value, for each column of the frame but ``source_row``."""
    columns = {
        name: np.any([given.get(source, np.zeros(len(frame), dtype=bool)) for source in sources], axis=0)
        for name in column_names(schema)
        for sources in [WINDOWS.get(name, (name,))]
    }
    return DataFrame(columns, index=frame.index, dtype=bool)


def _window_end(name: str, values: Mapping[str, NDArray[Any]], length: int) -> Days:
    """The latest first day, or the earliest last day, that the window's fields allow; NaT where none says."""
    last = name.endswith("_by")
    end: Days = np.full(length, "NaT", dtype="datetime64[D]")
    for source in WINDOWS[name]:
        days = values[source][:, int(last)] if source in values else end
        end = np.fmin(end, days) if last else np.fmax(end, days)
    return end


def _first_days(days: NDArray[Any]) -> Days:
    first: Days = days[:, 0] if days.ndim == 2 else days
    return first


def _missing(field: Field, length: int) -> NDArray[Any]:
    if field.type == "boolean":
        return np.zeros(length, dtype=bool)
    if field.type in {"number", "integer"}:
        return np.full(length, np.nan)
    if field.type == "date":
        return np.full(length, "NaT", dtype="datetime64[D]")
    return np.full(length, "", dtype=object)
