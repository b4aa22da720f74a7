"""Counts one stretch of a schedule's parts: how many of each class and age there are on each kind of boat."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow.compute as pc

from riskmodel.errors import Problem
from riskmodel.exposure.schedule.ages import ALL_CELLS, UNKNOWN, age_days, cells_of_ages
from riskmodel.exposure.schedule.boats import ITEMS, NOWHERE, BoolArray, Schedule
from riskmodel.exposure.schedule.groups import IntArray
from riskmodel.exposure.schedule.part_ids import Lookup, owners, texts
from riskmodel.exposure.schedule.stretches import Stretch, batches
from riskmodel.fleet.cells import RawTable, cells_of
from riskmodel.fleet.checks import check_values
from riskmodel.fleet.heads import column_names
from riskmodel.fleet.histories import too_old_problems, window_problems
from riskmodel.fleet.reading import raw_table
from riskmodel.fleet.schema import Schema, read_schema

# Columns of parts that a sum over kinds of boat uses; the ids are handled apart, for they never repeat.
USED = ("item_class", "installed_on", "installed_after", "installed_by", "quantity", "recall")
# More parts than this are no number of one sort.
MOST_PARTS = 2**31 - 1
Values = Mapping[str, npt.NDArray[Any]]


@dataclass(frozen=True, eq=False)
class PartsRead:
    """What some rows tell of parts.

    ``cell`` (m,): places in an array (kinds, classes, ALL_CELLS) that are not 0, ``number`` (m,) of parts there;
    ``days`` (classes, ALL_CELLS): their ages added up [half days], ``dated`` of how many rows. ``listed`` and
    ``broken``: bits by boat, those that list parts and those with a broken row. ``later``: rows of parts put in after
    the day, left out; ``recalled``: under recall. ``rows`` in all, ``gone``: of boats left out or of none,
    ``homeless``: broken ones of no boat.
    """

    cell: IntArray
    number: IntArray
    days: IntArray
    dated: IntArray
    listed: npt.NDArray[np.uint8]
    broken: npt.NDArray[np.uint8]
    later: int
    recalled: int
    rows: int
    gone: int
    homeless: int
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def count_parts(schedule: Schedule, lookup: Lookup, stretch: Stretch) -> PartsRead:
    """The parts of a stretch, counted by kind of boat, class and age.

    Raises
    ------
    TableError
        For a file that cannot be read.
    """
    read = (_count(schedule, lookup, some) for some in batches(schedule.folder / ITEMS, stretch))
    return reduce(_together, read)


def _count(schedule: Schedule, lookup: Lookup, some: tuple[Any, IntArray]) -> PartsRead:
    names = column_names(some[0].column_names, ITEMS)
    table, rows = _without_empty(*some, names)
    found = dict(zip(names, table.columns, strict=True))
    raw = RawTable(ITEMS, {name: cells_of(found[name]) for name in names if name in USED}, rows)
    checked = check_values(raw, _schema(), schedule.bounds)
    owned = owners(found, rows, lookup)
    position, mine = owned.position, owned.position != NOWHERE
    window = _windows(checked.values, len(rows))
    built = np.where(mine, lookup.open("built")[np.maximum(position, 0)], 0).astype(float)
    built[built == 0] = np.nan
    problems = (
        *checked.problems,
        *owned.problems,
        *window_problems(ITEMS, rows, (window[:, 0], window[:, 1])),
        *too_old_problems(ITEMS, rows, (window[:, 1], built)),
    )
    bad = np.isin(rows, [each.row for each in problems])
    kind = np.where(mine, lookup.open("kind")[np.maximum(position, 0)], NOWHERE)
    days, later = age_days(window, np.datetime64(schedule.as_of, "D"))
    kept = ~bad & ~later & (kind != NOWHERE)
    boats = len(lookup.open("kind"))
    return replace(
        _counted(schedule, checked.values, (kind[kept], days[kept], kept)),
        listed=_bits(position[kept], boats),
        broken=_bits(np.concatenate([position[mine & bad], owned.twice]), boats),
        later=int((~bad & later & (kind != NOWHERE)).sum()),
        rows=len(rows),
        gone=int((kind == NOWHERE).sum()),
        homeless=int((~mine & bad).sum()),
        problems=problems,
        notes=checked.notes,
    )


def _without_empty(table: Any, rows: IntArray, names: list[str]) -> tuple[Any, IntArray]:
    """The table without rows in which no cell is filled, which are no rows."""
    maybe = pc.equal(texts(table.column(names.index("item_id"))), "")
    if not pc.any(maybe).as_py():
        return table, rows
    some = np.asarray(maybe)
    filled = raw_table(ITEMS, names, table.filter(maybe), rows[some], ".").rows
    kept = ~some | np.isin(rows, filled)
    return table.filter(kept), rows[kept]


def _schema() -> Schema:
    schema = read_schema("items")
    return replace(schema, fields=tuple(field for field in schema.fields if field.name in USED))


def _windows(values: Values, length: int) -> npt.NDArray[np.datetime64]:
    """(n, 2) first and last day on which each part can have been put in, NaT where open."""
    window = np.full((length, 2), "NaT", dtype="datetime64[D]")
    for name, sides in (("installed_on", (0, 1)), ("installed_after", (0,)), ("installed_by", (1,))):
        for side in sides if name in values else ():
            latest = np.fmin if side else np.fmax
            window[:, side] = latest(window[:, side], values[name][:, side])
    return window


def _counted(schedule: Schedule, values: Values, kept: tuple[IntArray, Any, BoolArray]) -> PartsRead:
    kind, days, which = kept
    classes = schedule.bounds.item_classes
    item_class = _places(values["item_class"][which], classes)
    quantity = np.ones(len(kind))
    if "quantity" in values:
        quantity = np.nan_to_num(values["quantity"][which], nan=1.0)
    cell = cells_of_ages(days)
    number, present = _summed(
        (kind.astype(np.int64) * len(classes) + item_class) * ALL_CELLS + cell, quantity
    )
    here = item_class * ALL_CELLS + cell
    shape = (len(classes), ALL_CELLS)
    size = shape[0] * shape[1]
    # Half days: the middle of a window may be one.
    summed = np.bincount(here, np.where(cell == UNKNOWN, 0.0, np.nan_to_num(days) * 2.0), size)
    dated = np.bincount(here[cell != UNKNOWN], minlength=size)
    recalled = int((values["recall"][which] != "").sum()) if "recall" in values else 0
    nothing = np.zeros(0, dtype=np.uint8)
    return PartsRead(
        cell=present,
        number=number,
        days=np.rint(summed).astype(np.int64).reshape(shape),
        dated=dated.astype(np.int64).reshape(shape),
        listed=nothing,
        broken=nothing,
        later=0,
        recalled=recalled,
        rows=0,
        gone=0,
        homeless=0,
        problems=(),
        notes=(),
    )


def _summed(cells: IntArray, number: npt.NDArray[np.float64]) -> tuple[IntArray, IntArray]:
    """Numbers added up by cell, and the cells there are; a sum too large to be one says so by MOST_PARTS + 1."""
    place, present = pd.factorize(cells)
    summed = np.minimum(np.bincount(place, number, len(present)), MOST_PARTS + 1.0)
    return np.rint(summed).astype(np.int64), np.asarray(present, dtype=np.int64)


def _together(one: PartsRead, other: PartsRead) -> PartsRead:
    """What two stretches tell of parts."""
    both: Sequence[PartsRead] = (one, other)
    number, cell = _summed(
        np.concatenate([each.cell for each in both]),
        np.concatenate([each.number for each in both]).astype(float),
    )
    return PartsRead(
        cell=cell,
        number=number,
        days=one.days + other.days,
        dated=one.dated + other.dated,
        listed=one.listed | other.listed,
        broken=one.broken | other.broken,
        later=one.later + other.later,
        recalled=one.recalled + other.recalled,
        rows=one.rows + other.rows,
        gone=one.gone + other.gone,
        homeless=one.homeless + other.homeless,
        problems=(*one.problems, *other.problems),
        notes=tuple(dict.fromkeys((*one.notes, *other.notes))),
    )


def _places(words: npt.NDArray[Any], known: tuple[str, ...]) -> IntArray:
    codes, distinct = pd.factorize(words)
    place = np.array([known.index(word) for word in distinct], dtype=np.int64)
    return place[codes] if len(place) else np.zeros(0, dtype=np.int64)


def _bits(position: IntArray, boats: int) -> npt.NDArray[np.uint8]:
    found = np.zeros(boats, dtype=bool)
    found[position] = True
    return np.packbits(found)
