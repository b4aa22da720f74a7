"""Reads one row group of a schedule's boats: checked, told apart, and small enough to keep for twelve million."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow.parquet

from riskmodel.errors import Problem
from riskmodel.exposure.schedule.bands import Likeness
from riskmodel.exposure.schedule.columns import told_frame
from riskmodel.exposure.schedule.groups import Groups, IntArray, grouped
from riskmodel.fleet.cells import RawTable
from riskmodel.fleet.checks import Bounds, check_table
from riskmodel.fleet.heads import column_names
from riskmodel.fleet.reading import raw_table
from riskmodel.fleet.schema import read_schema

VESSELS, ITEMS = "vessels.parquet", "items.parquet"
# The head of a table is its row 1.
FIRST_ROW = 2
MarkArray = npt.NDArray[np.uint64]


@dataclass(frozen=True)
class Schedule:
    """A schedule on disk: its ``folder`` and the name people know it by, ``source``.

    ``bounds``: what its cells are held against; ``as_of``: the day it is seen from, ``as_of_from`` as in Fleet;
    ``kinds`` and ``money``: what makes boats alike; ``notes`` on how it came to be. ``work_folder``: where files lie
    that every process must see, None for the machine's own place for such.
    """

    folder: Path
    bounds: Bounds
    as_of: date
    as_of_from: str
    kinds: Likeness
    money: Likeness
    source: str
    notes: tuple[str, ...] = ()
    work_folder: Path | None = None


@dataclass(frozen=True, eq=False)
class LeftOut:
    """Broken boats: how many ``rows``, the ``value`` of those whose value could be read [thousandths], and how many
    rows it could not be read of, ``unread``."""

    rows: int
    value: int
    unread: int


@dataclass(frozen=True, eq=False)
class BoatsRead:
    """The sound boats of a row group: ``kinds`` and ``money`` groups and the place of each boat in them (n,), a
    ``mark`` of its id (n,), its ``port`` (n,) among ``ports``, the year it was ``built`` (n,) (0: not said), its
    ``row`` (n,) and ``value`` (n,) [thousandths]."""

    kinds: Groups
    money: Groups
    kind: IntArray
    priced: IntArray
    mark: MarkArray
    port: npt.NDArray[np.int32]
    ports: tuple[str, ...]
    built: npt.NDArray[np.int16]
    row: npt.NDArray[np.int32]
    value: IntArray
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    left_out: LeftOut


def read_boats(schedule: Schedule, group: int) -> BoatsRead:
    """The boats of one row group. Raises TableError for a head that cannot be read."""
    raw = read_group(schedule.folder / VESSELS, group)
    table = check_table(raw, read_schema("vessels"), schedule.bounds)
    rows = table.frame["source_row"].to_numpy()
    sound = ~np.isin(rows, [each.row for each in table.problems])
    told = told_frame(table, sound)
    kinds, kind = grouped(told, schedule.kinds)
    money, priced = grouped(told, schedule.money)
    port, ports = pd.factorize(table.frame["home_port"].to_numpy()[sound])
    value = _thousandths(table.frame["value"].to_numpy(dtype=float))
    bad = value[~sound]
    return BoatsRead(
        kinds=kinds,
        money=money,
        kind=kind,
        priced=priced,
        mark=marks(table.frame["vessel_id"].to_numpy()[sound]),
        port=port.astype(np.int32),
        ports=tuple(str(each) for each in ports),
        built=np.nan_to_num(table.frame["built_year"].to_numpy(dtype=float)[sound]).astype(np.int16),
        row=rows[sound].astype(np.int32),
        value=value[sound],
        problems=table.problems,
        notes=table.notes,
        left_out=LeftOut(len(bad), int(bad[bad > 0].sum()), int((bad <= 0).sum())),
    )


def marks(ids: npt.NDArray[Any]) -> MarkArray:
    """(n,) 64 bits for each id. Two of twelve million ids share theirs with a chance of 4 in a million."""
    found: MarkArray = pd.util.hash_array(ids, categorize=False)
    return found


def read_group(path: Path, group: int) -> RawTable:
    """One row group as a raw table, its rows numbered as in the whole file."""
    file = open_parquet(path)
    before = sum(file.metadata.row_group(each).num_rows for each in range(group))
    table = file.read_row_group(group)
    numbers = np.arange(table.num_rows, dtype=np.int64) + before + FIRST_ROW
    return raw_table(path.name, column_names(table.column_names, path.name), table, numbers, ".")


def open_parquet(path: Path) -> Any:
    """The file, opened; words that repeat are read as codes."""
    return pyarrow.parquet.ParquetFile(path)


def _thousandths(value: npt.NDArray[np.float64]) -> IntArray:
    return np.rint(np.nan_to_num(value) * 1000.0).astype(np.int64)
