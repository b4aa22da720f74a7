"""Checks the heads of a schedule's tables once, before any row is read."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from riskmodel.errors import Problem, TableError
from riskmodel.exposure.schedule.boats import ITEMS, VESSELS
from riskmodel.exposure.schedule.part_ids import IDS
from riskmodel.exposure.schedule.parts import USED
from riskmodel.exposure.schedule.stretches import open_parquet
from riskmodel.fleet.cells import Cells, RawTable
from riskmodel.fleet.columns import match_columns
from riskmodel.fleet.heads import column_names
from riskmodel.fleet.nearest import suggestion
from riskmodel.fleet.schema import read_schema

_NOTHING = Cells(np.empty(0, dtype=object), np.empty(0, dtype=np.int64))


def check_heads(folder: Path) -> tuple[str, ...]:
    """Notes on columns of the parts that are not used.

    Raises
    ------
    TableError
        For files that cannot be read, and for columns that are missing or cannot be read, of both tables.
    """
    problems: list[Problem] = []
    names: dict[str, list[str]] = {}
    for file in (VESSELS, ITEMS):
        if (folder / file).is_file():
            try:
                names[file] = column_names(open_parquet(folder / file).schema_arrow.names, file)
                problems += _unmatched(file, names[file])
            except TableError as error:
                problems += error.problems
    if problems:
        raise TableError(problems)
    return _unused(names.get(ITEMS, []))


def _unmatched(file: str, names: list[str]) -> tuple[Problem, ...]:
    raw = RawTable(file, {name: _NOTHING for name in names if name}, np.empty(0, dtype=np.int64))
    schema = read_schema(Path(file).stem)
    if file == ITEMS:
        # Only what is used can be wrong.
        schema = replace(schema, fields=tuple(each for each in schema.fields if each.name in (*USED, *IDS)))
    return match_columns(raw, schema).problems


def _unused(names: list[str]) -> tuple[str, ...]:
    known = read_schema("items").names
    absent = [name for name in known if name not in names]
    rest = [
        name if name in known else name + suggestion(name, absent)
        for name in names
        if name and name not in (*USED, *IDS)
    ]
    return (f"{ITEMS}: columns not used at this size: {', '.join(rest)}.",) if rest else ()
