"""A fleet read from spreadsheets that is too large to be assessed boat by boat, written as a schedule is read."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from riskmodel.exposure.schedule.boats import ITEMS, VESSELS, Schedule
from riskmodel.exposure.schedule.columns import likeness_of_kinds, likeness_of_money
from riskmodel.exposure.schedule.door import LARGE
from riskmodel.exposure.schedule.part_ids import IDS
from riskmodel.fleet import Fleet
from riskmodel.fleet.load import bounds_of
from riskmodel.fleet.schema import read_schema

# What a schedule's parts tell; a date of any precision is told by the ends of its window.
OF_PARTS = (*IDS, "item_class", "installed_after", "installed_by", "quantity", "recall")


def is_large(fleet: Fleet) -> bool:
    """Whether a fleet has so many boats, and tells of none of them by itself, that it is summed by kind."""
    told = len(fleet.records) + len(fleet.periods) + len(fleet.claims)
    return len(fleet.vessels) > LARGE and told == 0 and fleet.settings.claims_from is None


def schedule_of(fleet: Fleet, folder: Path) -> Schedule:
    """The schedule of a checked fleet, its tables written to ``folder``: what was given, not what was filled in."""
    names = [field.name for field in read_schema("vessels").fields]
    _write(folder / VESSELS, fleet.vessels, fleet.given["vessels"], names)
    if len(fleet.items):
        _write(folder / ITEMS, fleet.items, fleet.given["items"], OF_PARTS)
    return Schedule(
        folder=folder,
        bounds=bounds_of(fleet.settings, fleet.as_of),
        as_of=fleet.as_of,
        as_of_from=fleet.as_of_from,
        kinds=likeness_of_kinds(),
        money=likeness_of_money(),
        source=fleet.source,
        notes=fleet.notes,
    )


def _write(path: Path, frame: pd.DataFrame, given: pd.DataFrame, names: list[str] | tuple[str, ...]) -> None:
    columns = {name: _column(frame[name], given[name].to_numpy()) for name in names if given[name].any()}
    pq.write_table(pa.table(columns), path)


def _column(values: pd.Series, given: np.ndarray) -> pa.Array:
    if pd.api.types.is_bool_dtype(values):
        return pa.array(np.where(values, "yes", "no").astype(object), pa.string(), mask=~given)
    if pd.api.types.is_datetime64_any_dtype(values):
        days = values.to_numpy().astype("datetime64[D]")
        return pa.array(days, pa.date32(), mask=~given | np.isnat(days))
    return pa.array(values.to_numpy(), mask=~given)
