"""Finds the boat of each part, without loading the boats; and what is wrong with the ids."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from riskmodel.errors import Problem
from riskmodel.exposure.schedule.boats import ITEMS, NOWHERE, BoolArray, MarkArray, load_shared, marks
from riskmodel.exposure.schedule.groups import IntArray
from riskmodel.fleet.cells import cells_of
from riskmodel.fleet.problems import problems_at

IDS = ("item_id", "vessel_id")


@dataclass(frozen=True)
class Lookup:
    """Where the boats of a schedule are told apart: files beside each other in ``folder``, read without loading them.

    ``marks.npy``: the ids' marks, sorted; ``position.npy``: each one's place among the boats; by place, ``kind.npy``:
    the kind (NOWHERE for boats left out), ``built.npy``: the year (0: not said).
    """

    folder: Path

    def open(self, name: str) -> npt.NDArray[Any]:
        """One of the files. Raises ParameterError as ``load_shared``."""
        return load_shared(self.folder / f"{name}.npy")


@dataclass(frozen=True, eq=False)
class Owners:
    """The place of each part's boat (n,), NOWHERE where there is none; what is wrong with the ids; and the places of
    boats with a part whose id another part has too, though that is told of the later one."""

    position: IntArray
    problems: tuple[Problem, ...]
    twice: IntArray


def owners(columns: dict[str, Any], rows: IntArray, lookup: Lookup) -> Owners:
    """The boats of parts in ``rows`` of the table, by the columns of their ids."""
    ids = texts(columns["item_id"])
    empty = np.asarray(pc.equal(ids, ""))
    problems = problems_at(ITEMS, "item_id", rows[empty], "must be given", np.full(empty.sum(), ""))
    encoded = texts(columns["vessel_id"]).dictionary_encode()
    encoded = encoded.combine_chunks() if isinstance(encoded, pa.ChunkedArray) else encoded
    words = encoded.dictionary.to_numpy(zero_copy_only=False)
    codes = encoded.indices.to_numpy(zero_copy_only=False)
    place = _found(marks(words), lookup)
    place[words == ""] = NOWHERE
    position = place[codes]
    lost = position == NOWHERE
    rules = np.where(words[codes[lost]] == "", "must be given", "must be in the vessels table")
    problems += problems_at(ITEMS, "vessel_id", rows[lost], rules, words[codes[lost]])
    if pc.count_distinct(ids).as_py() == len(rows):
        return Owners(position, tuple(problems), position[:0])
    again, first = _repeats(ids, empty)
    told = np.array([f"must be given once, row {row} has it too" for row in rows[first]], dtype=object)
    problems += problems_at(ITEMS, "item_id", rows[again], told, ids.to_numpy(zero_copy_only=False)[again])
    twice = position[first]
    return Owners(position, tuple(problems), twice[twice != NOWHERE])


def texts(column: Any) -> Any:
    """An Arrow column of ids as the same texts that the fleet's door reads: for ids, which seldom repeat."""
    if pa.types.is_dictionary(column.type):
        column = column.cast(column.type.value_type)
    if pa.types.is_string(column.type) or pa.types.is_large_string(column.type):
        return pc.fill_null(pc.utf8_trim_whitespace(column), "")
    if pa.types.is_integer(column.type):
        return pc.fill_null(column.cast(pa.string()), "")
    return pa.array(cells_of(column).values, pa.string())


def _found(wanted: MarkArray, lookup: Lookup) -> IntArray:
    known, position = lookup.open("marks"), lookup.open("position")
    if not len(known):
        return np.full(len(wanted), NOWHERE, dtype=np.int64)
    # Sought in rising order, neighbours lie in the same pages.
    order = np.argsort(wanted)
    place = np.empty(len(wanted), dtype=np.int64)
    place[order] = np.searchsorted(known, wanted[order])
    inside = np.minimum(place, len(known) - 1)
    return np.where(known[inside] == wanted, position[inside], NOWHERE).astype(np.int64)


def _repeats(ids: Any, empty: BoolArray) -> tuple[IntArray, IntArray]:
    """Places of ids that stood before, among the rows read together, and where each stood first."""
    values = ids.to_numpy(zero_copy_only=False)
    _, first, place = np.unique(values, return_index=True, return_inverse=True)
    again = np.flatnonzero((first[place] != np.arange(len(values))) & ~empty)
    return again, first[place[again]]
