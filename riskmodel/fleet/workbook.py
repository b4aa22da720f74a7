"""Reads the sheets of one Excel workbook into raw tables, with the row numbers the sheet shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

from riskmodel.errors import Problem, TableError
from riskmodel.files import is_plain_file, readable
from riskmodel.fleet.cells import RawTable, cells_of, text_of
from riskmodel.fleet.heads import column_names
from riskmodel.fleet.nearest import folded
from riskmodel.fleet.schema import TABLES
from riskmodel.fleet.sheet_bounds import far_cells, refuse_far_cell

WORKBOOK = "must be an Excel workbook, whole: open it in a spreadsheet program and save it anew"
"""The rule that a damaged file breaks like any other that its library cannot read."""


def read_workbook(path: Path) -> dict[str, RawTable]:
    """The sheets of a workbook that are named as tables are; other sheets are left alone.

    Raises TableError if the file is no workbook or a damaged one, if a cell stands too far out, if two sheets
    are one table, or a sheet has no head.
    """
    # Imported here because only a workbook needs it.
    from python_calamine import CalamineWorkbook

    if not is_plain_file(path):
        raise TableError([Problem(path.name, 0, "", "must be a plain file", "nothing")])
    with readable(path.name, WORKBOOK):
        far = far_cells(path)
        book = CalamineWorkbook.from_path(path)
        names = [name for name in book.sheet_names if folded(name) in TABLES]
    sheets: dict[str, RawTable] = {}
    problems = _twice(names, path.name)
    for name in names:
        file = f"{path.name} sheet {name}"
        try:
            with readable(file, WORKBOOK):
                refuse_far_cell(path, name, far)
                cells = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
                sheets[folded(name)] = _raw_table(file, cells)
        except TableError as error:
            problems.extend(error.problems)
    if problems:
        raise TableError(problems)
    return sheets


def _twice(names: Sequence[str], file: str) -> list[Problem]:
    """Sheets that are one table by name: one of them would be read and the other passed by."""
    rule = "must be the only sheet of its table"
    return [
        Problem(f"{file} sheet {name}", 0, "", rule, f"{names[place]} too")
        for number, name in enumerate(names)
        for place in range(number)
        if folded(names[place]) == folded(name)
    ]


def _raw_table(file: str, sheet: Sequence[Sequence[Any]]) -> RawTable:
    width = len(sheet[0]) if sheet else 0
    # Rows of nothing are many where one cell stands far below: they are never looked at.
    grid = {
        position: [_cell_text(cell) for cell in row]
        for position, row in enumerate(sheet)
        if row.count("") < width
    }
    filled = [position for position, row in grid.items() if any(row)]
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


def _refuse_nameless(
    file: str, grid: Mapping[int, Sequence[str]], nameless: list[int], rows: list[int]
) -> None:
    found = [(row, position) for position in nameless for row in rows if grid[row][position]]
    if found:
        row, position = found[0]
        rule = f"must have a name in the head over column {position + 1}"
        raise TableError([Problem(file, row + 1, "", rule, grid[row][position])])
