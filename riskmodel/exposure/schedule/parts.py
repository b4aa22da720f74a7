"""Counts one row group of a schedule's parts: how many of each class and age there are on each kind of boat."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from riskmodel.errors import Problem
from riskmodel.exposure.schedule.ages import ALL_CELLS, UNKNOWN, age_days, cells_of_ages
from riskmodel.exposure.schedule.boats import FIRST_ROW, ITEMS, Schedule, marks, open_parquet
from riskmodel.exposure.schedule.groups import IntArray
from riskmodel.fleet.cells import RawTable, cells_of
from riskmodel.fleet.checks import check_values
from riskmodel.fleet.heads import column_names
from riskmodel.fleet.problems import problems_at
from riskmodel.fleet.schema import Schema, read_schema

# Columns of parts that a sum over kinds of boat uses; the ids are handled apart, for they never repeat.
USED = ("item_class", "installed_on", "installed_after", "installed_by", "quantity", "recall")
IDS = ("item_id", "vessel_id")
NOWHERE = -1


@dataclass(frozen=True)
class Lookup:
    """Where the boats of a schedule are told apart: files beside each other in ``folder``, read without loading them.

    ``marks.npy``: the ids' marks, sorted; ``position.npy``: each one's place among the boats; ``kind.npy``: by place,
    the kind (NOWHERE for boats left out).
    """

    folder: Path

    def open(self, name: str) -> npt.NDArray[Any]:
        """One of the files."""
        found: npt.NDArray[Any] = np.load(self.folder / f"{name}.npy", mmap_mode="r")
        return found


@dataclass(frozen=True, eq=False)
class PartsRead:
    """What a row group tells of parts.

    ``cell`` (m,): places in an array (kinds, classes, ALL_CELLS) that are not 0, ``number`` (m,) of parts there;
    ``days`` (classes, ALL_CELLS): their ages added up, ``dated`` of how many rows. ``listed`` and ``broken``: bits by
    boat, those that list parts and those with a broken row. ``later``: parts put in after the day, left out;
    ``recalled``: under recall. ``rows``: of the group, ``homeless``: broken ones of no boat.
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
    homeless: int
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def count_parts(schedule: Schedule, lookup: Lookup, group: int) -> PartsRead:
    """The parts of one row group, counted by kind of boat, class and age."""
    table, first = _read(schedule, group)
    names = column_names(table.column_names, ITEMS)
    numbers = np.arange(table.num_rows, dtype=np.int64) + first
    found = dict(zip(names, table.columns, strict=True))
    some = [name for name in names if name in USED]
    raw = RawTable(ITEMS, {name: cells_of(found[name]) for name in some}, numbers)
    checked = check_values(raw, _schema_of(USED), schedule.bounds)
    position, problems = _boats_of(found, numbers, lookup)
    problems = (*checked.problems, *problems)
    bad = np.isin(numbers, [each.row for each in problems])
    owned = position != NOWHERE
    kind = np.where(owned, lookup.open("kind")[np.maximum(position, 0)], NOWHERE)
    boats = len(lookup.open("kind"))
    days, later = _ages(checked.values, schedule, len(numbers))
    kept = owned & ~bad & ~later & (kind != NOWHERE)
    counted = _counted(schedule, checked.values, (kind[kept], days[kept], kept))
    return replace(
        counted,
        listed=_bits(position[kept], boats),
        broken=_bits(position[owned & bad], boats),
        later=int((owned & ~bad & later).sum()),
        rows=len(numbers),
        homeless=int((~owned & bad).sum()),
        problems=problems,
        notes=(*checked.notes, *_unused(names)),
    )


def _read(schedule: Schedule, group: int) -> tuple[Any, int]:
    file = open_parquet(schedule.folder / ITEMS)
    before = sum(file.metadata.row_group(each).num_rows for each in range(group))
    return file.read_row_group(group), before + FIRST_ROW


def _schema_of(names: tuple[str, ...]) -> Schema:
    schema = read_schema("items")
    return replace(schema, fields=tuple(field for field in schema.fields if field.name in names))


def _unused(names: list[str]) -> tuple[str, ...]:
    rest = [name for name in names if name and name not in (*USED, *IDS)]
    return (f"{ITEMS}: columns not used at this size: {', '.join(rest)}.",) if rest else ()


def _boats_of(
    columns: dict[str, Any], rows: IntArray, lookup: Lookup
) -> tuple[IntArray, tuple[Problem, ...]]:
    """The place of each part's boat (NOWHERE where there is none), and what is wrong with the ids."""
    missing = [name for name in IDS if name not in columns]
    if missing:
        problems = [Problem(ITEMS, 1, name, "must be a column", "no such column") for name in missing]
        return np.full(len(rows), NOWHERE), tuple(problems)
    ids = _texts(columns["item_id"])
    empty = np.asarray(pc.equal(ids, ""))
    problems = problems_at(ITEMS, "item_id", rows[empty], "must be given", np.full(empty.sum(), ""))
    encoded = _texts(columns["vessel_id"]).dictionary_encode()
    encoded = encoded.combine_chunks() if isinstance(encoded, pa.ChunkedArray) else encoded
    words = encoded.dictionary.to_numpy(zero_copy_only=False)
    codes = encoded.indices.to_numpy(zero_copy_only=False)
    place = _found(marks(words), lookup)
    place[words == ""] = NOWHERE
    position = place[codes]
    lost = position == NOWHERE
    rules = np.where(words[codes[lost]] == "", "must be given", "must be in the vessels table")
    problems += problems_at(ITEMS, "vessel_id", rows[lost], rules, words[codes[lost]])
    if pc.count_distinct(ids).as_py() < len(rows):
        problems += _repeats(ids, rows, empty)
    return position, tuple(problems)


def _texts(column: Any) -> Any:
    if pa.types.is_dictionary(column.type):
        column = column.cast(column.type.value_type)
    return pc.fill_null(column.cast(pa.string()), "")


def _found(wanted: npt.NDArray[np.uint64], lookup: Lookup) -> IntArray:
    known, position = lookup.open("marks"), lookup.open("position")
    # Sought in rising order, neighbours lie in the same pages.
    order = np.argsort(wanted)
    place = np.empty(len(wanted), dtype=np.int64)
    place[order] = np.searchsorted(known, wanted[order])
    inside = np.minimum(place, len(known) - 1)
    return np.where(known[inside] == wanted, position[inside], NOWHERE).astype(np.int64)


def _repeats(ids: Any, rows: IntArray, empty: npt.NDArray[np.bool_]) -> list[Problem]:
    """Ids that stand twice in the row group: across groups they are not looked for."""
    values = ids.to_numpy(zero_copy_only=False)
    _, first, place = np.unique(values, return_index=True, return_inverse=True)
    again = (first[place] != np.arange(len(values))) & ~empty
    rules = np.array([f"must be given once, row {rows[each]} has it too" for each in first[place[again]]])
    return problems_at(ITEMS, "item_id", rows[again], rules, values[again])


def _ages(
    values: dict[str, Any] | Any, schedule: Schedule, length: int
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_]]:
    windows = [values[name] for name in ("installed_on",) if name in values]
    window = windows[0] if windows else np.full((length, 2), "NaT", dtype="datetime64[D]")
    for name, side, later in (("installed_after", 0, np.fmax), ("installed_by", 1, np.fmin)):
        if name in values:
            window = window.copy()
            window[:, side] = later(window[:, side], values[name][:, side])
    return age_days(window, np.datetime64(schedule.as_of, "D"))


def _counted(schedule: Schedule, values: Any, kept: tuple[Any, Any, npt.NDArray[np.bool_]]) -> PartsRead:
    kind, days, which = kept
    classes = schedule.bounds.item_classes
    item_class = _places(values["item_class"][which], classes)
    quantity = np.ones(len(kind))
    if "quantity" in values:
        quantity = np.nan_to_num(values["quantity"][which], nan=1.0)
    cell = cells_of_ages(days)
    flat = (kind.astype(np.int64) * len(classes) + item_class) * ALL_CELLS + cell
    number = np.bincount(flat, quantity)
    present = np.flatnonzero(number)
    here = item_class * ALL_CELLS + cell
    shape = (len(classes), ALL_CELLS)
    size = shape[0] * shape[1]
    summed = np.bincount(here, np.where(cell == UNKNOWN, 0.0, np.nan_to_num(days) * 2.0), size)
    dated = np.bincount(here[cell != UNKNOWN], minlength=size)
    recalled = int((values["recall"][which] != "").sum()) if "recall" in values else 0
    nothing = np.zeros(0, dtype=np.uint8)
    return PartsRead(
        cell=present,
        number=np.rint(number[present]).astype(np.int64),
        # Half days: the middle of a window may be one.
        days=np.rint(summed).astype(np.int64).reshape(shape),
        dated=dated.astype(np.int64).reshape(shape),
        listed=nothing,
        broken=nothing,
        later=0,
        recalled=recalled,
        rows=0,
        homeless=0,
        problems=(),
        notes=(),
    )


def _places(words: npt.NDArray[Any], known: tuple[str, ...]) -> IntArray:
    codes, distinct = pd.factorize(words)
    place = np.array([known.index(word) for word in distinct], dtype=np.int64)
    return place[codes] if len(place) else np.zeros(0, dtype=np.int64)


def _bits(position: IntArray, boats: int) -> npt.NDArray[np.uint8]:
    found = np.zeros(boats, dtype=bool)
    found[position] = True
    return np.packbits(found)
