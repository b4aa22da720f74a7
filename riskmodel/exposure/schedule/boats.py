"""Reads one stretch of a schedule's boats: checked, told apart, and small enough to keep for twelve million."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.errors import ParameterError, Problem
from riskmodel.exposure.schedule.bands import Likeness
from riskmodel.exposure.schedule.columns import told_frame
from riskmodel.exposure.schedule.groups import Groups, IntArray, grouped
from riskmodel.exposure.schedule.stretches import FIRST_ROW, Stretch, batches
from riskmodel.fleet.checks import Bounds, CheckedTable, check_table
from riskmodel.fleet.heads import column_names
from riskmodel.fleet.links import season_problems
from riskmodel.fleet.policy_checks import policy_problems
from riskmodel.fleet.reading import raw_table
from riskmodel.fleet.schema import Schema, read_schema

VESSELS, ITEMS = "vessels.parquet", "items.parquet"
NOWHERE = -1
# Ends of stretches of the year and days on risk, which are held against one another where a table gives any.
SPANS = ("season_start", "season_end", "inception", "expiry", "lay_up_from", "lay_up_to")
BoolArray = npt.NDArray[np.bool_]
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
class BoatsRead:
    """The boats of some rows (n,): whether each is ``sound``, its ``row``, a ``mark`` of its id, whether it is
    ``named``, its ``port`` among ``ports``, the year it was ``built`` (0: not said), its ``value`` [thousandths] (0:
    not read); ``kinds`` and ``money`` groups of the sound ones, and the place of each in them (NOWHERE for others)."""

    kinds: Groups
    money: Groups
    kind: IntArray
    priced: IntArray
    sound: BoolArray
    mark: MarkArray
    named: BoolArray
    port: npt.NDArray[np.int32]
    ports: tuple[str, ...]
    built: npt.NDArray[np.int16]
    row: npt.NDArray[np.int32]
    value: IntArray
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def read_boats(schedule: Schedule, gone: Path | None, stretch: Stretch) -> tuple[BoatsRead, ...]:
    """The boats of a stretch, some rows at a time; without the rows marked in the file ``gone``, by their place.

    Raises
    ------
    TableError
        For a file that cannot be read.
    ParameterError
        For a file ``gone`` that this process does not see.
    """
    out = None if gone is None else load_shared(gone)
    return tuple(
        _read(schedule, (table, rows), out) for table, rows in batches(schedule.folder / VESSELS, stretch)
    )


def _read(schedule: Schedule, some: tuple[Any, IntArray], gone: BoolArray | None) -> BoatsRead:
    table, numbers = some
    raw = raw_table(VESSELS, column_names(table.column_names, VESSELS), table, numbers, ".")
    checked = check_table(raw, _schema(), schedule.bounds)
    problems = (*checked.problems, *_span_problems(checked))
    rows = checked.frame["source_row"].to_numpy(dtype=np.int64)
    sound = ~np.isin(rows, [each.row for each in problems])
    if gone is not None:
        sound &= ~gone[rows - FIRST_ROW]
    told = told_frame(checked, sound)
    (kinds, kind), (money, priced) = (grouped(told, like) for like in (schedule.kinds, schedule.money))
    ids = checked.frame["vessel_id"].to_numpy()
    port, ports = pd.factorize(checked.frame["home_port"].to_numpy())
    return BoatsRead(
        kinds=kinds,
        money=money,
        kind=_of_all(kind, sound),
        priced=_of_all(priced, sound),
        sound=sound,
        mark=marks(ids),
        named=np.asarray(ids != "", dtype=bool),
        port=port.astype(np.int32),
        ports=tuple(str(each) for each in ports),
        built=np.nan_to_num(checked.frame["built_year"].to_numpy(dtype=float)).astype(np.int16),
        row=rows.astype(np.int32),
        value=_thousandths(checked.frame["value"].to_numpy(dtype=float)),
        problems=problems,
        notes=checked.notes,
    )


def _schema() -> Schema:
    """Of boats; ids that stand twice are found over the whole table instead."""
    schema = read_schema("vessels")
    return replace(schema, fields=tuple(replace(each, unique=False) for each in schema.fields))


def _span_problems(checked: CheckedTable) -> list[Problem]:
    if not checked.given[list(SPANS)].to_numpy().any():
        return []
    return [*policy_problems(checked), *season_problems(checked)]


def _of_all(place: IntArray, sound: BoolArray) -> IntArray:
    found = np.full(len(sound), NOWHERE, dtype=np.int64)
    found[sound] = place
    return found


def load_shared(path: Path) -> npt.NDArray[Any]:
    """An array that another process has written, read where it is asked for.

    Raises
    ------
    ParameterError
        Where this process does not see it.
    """
    try:
        found: npt.NDArray[Any] = np.load(path, mmap_mode="r")
    except FileNotFoundError:
        raise ParameterError(
            f"every worker must see {path.parent}: name a work folder that all of them share"
        ) from None
    return found


def marks(ids: npt.NDArray[Any]) -> MarkArray:
    """(n,) 64 bits for each id. Two of twelve million ids share theirs with a chance of 4 in a million."""
    found: MarkArray = pd.util.hash_array(ids, categorize=False)
    return found


def _thousandths(value: npt.NDArray[np.float64]) -> IntArray:
    return np.rint(np.nan_to_num(value) * 1000.0).astype(np.int64)
