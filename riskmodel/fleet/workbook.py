"""Reads the sheets of one Excel workbook into raw tables, with the row numbers the sheet shows."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

from riskmodel.errors import Problem, TableError
from riskmodel.fleet.cells import RawTable, cells_of, text_of
from riskmodel.fleet.heads import column_names
from riskmodel.fleet.nearest import folded
from riskmodel.fleet.schema import TABLES


def read_workbook(path: Path) -> dict[str, RawTable]:
    """The sheets of a workbook that are named as tables are; other sheets are left alone.

    Raises TableError if the file is no workbook, or a sheet has no head.
    """
    # Imported here because only a workbook needs it.
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        book = CalamineWorkbook.from_path(path)
    except CalamineError as error:
        raise TableError([Problem(path.name, 0, "", "must be an Excel workbook", str(error))]) from None
    sheets: dict[str, RawTable] = {}
    problems: list[Problem] = []
    for name in (name for name in book.sheet_names if folded(name) in TABLES):
        try:
            cells = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
            sheets[folded(name)] = _raw_table(f"{path.name} sheet {name}", cells)
        except TableError as error:
            problems.extend(error.problems)
    if problems:
        raise TableError(problems)
    return sheets


def _raw_table(file: str, sheet: Sequence[Sequence[Any]]) -> RawTable:
    grid = [[_cell_text(cell) for cell in row] for row in sheet]
    filled = [position for position, row in enumerate(grid) if any(row)]
    if not filled or filled[0] != 0:
        raise TableError([Problem(file, 1, "", "must open with a head that names its columns", "nothing")])
    names = column_names(grid[0], file)
    rows = filled[1:]
    nameless = [position for position, name in enumerate(names) if not name]
    _refuse_nameless(file, grid, nameless, rows)
    columns = {
        name: cells_of(pa.array([grid[row][position] for row in rows], pa.string()))
        for position, name in enumerate(names)
        if name
    }
    return RawTable(file, columns, np.array(rows, dtype=np.int64) + 1, workbook=True)


def _cell_text(cell: object) -> str:
    text = text_of(cell)
    return text.removesuffix("T00:00:00")


def _refuse_nameless(file: str, grid: list[list[str]], nameless: list[int], rows: list[int]) -> None:
    found = [(row, position) for position in nameless for row in rows if grid[row][position]]
    if found:
        row, position = found[0]
        rule = f"must have a name in the head over column {position + 1}"
        raise TableError([Problem(file, row + 1, "", rule, grid[row][position])])
