"""Adds one row to a Parquet table, and keeps its schema."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet

from riskmodel.errors import Problem, TableError
from riskmodel.fleet.nearest import folded
from riskmodel.fleet.problems import shown
from riskmodel.fleet.schema import read_schema

_TYPES = {"number": pa.float64()}


def parquet_with_row(path: Path, cells: Mapping[str, str], new_columns: Sequence[str]) -> bytes:
    """The bytes of the table with ``cells`` (text by folded column name) as its last row, in the columns' types.

    ``new_columns`` are added at the end, empty in the rows there are. The columns' order, types and metadata
    and the compression stay; how the rows were grouped does not.

    Raises TableError for a text that its column's type cannot hold.
    """
    table = _with_columns(pyarrow.parquet.read_table(path), cells, new_columns)
    columns = [_cell(cells.get(folded(field.name), ""), field) for field in table.schema]
    problems = [
        Problem(
            path.name,
            table.num_rows + 2,
            folded(field.name),
            f"must be such as its column holds ({field.type}{'' if field.nullable else ', never empty'})",
            shown(cells.get(folded(field.name), "")),
        )
        for field, column in zip(table.schema, columns, strict=True)
        if column is None
    ]
    if problems:
        raise TableError(problems)
    row = pa.Table.from_arrays(columns, schema=table.schema)
    buffer = io.BytesIO()
    # The dictionaries of a coded column are joined, else the old rows would be coded by one and the new by another.
    whole = pa.concat_tables([table, row]).unify_dictionaries()
    pyarrow.parquet.write_table(whole, buffer, compression=_compression(path))
    return buffer.getvalue()


def _with_columns(table: Any, cells: Mapping[str, str], new_columns: Sequence[str]) -> Any:
    """The table with the new columns, and with a type for the columns that had none, being empty so far."""
    kinds = {field.name: _TYPES.get(field.type, pa.string()) for field in read_schema("records").fields}
    for name in new_columns:
        table = table.append_column(name, pa.nulls(table.num_rows, kinds[name]))
    for place, field in enumerate(table.schema):
        if pa.types.is_null(field.type) and cells.get(folded(field.name)):
            kind = kinds.get(folded(field.name), pa.string())
            table = table.set_column(place, field.name, pa.nulls(table.num_rows, kind))
    return table


def _cell(text: str, field: Any) -> Any:
    """A column of this one cell, or None where its type cannot hold the text."""
    if not text:
        return pa.nulls(1, field.type) if field.nullable else None
    try:
        return pa.array([text], pa.string()).cast(field.type)
    except (pa.ArrowInvalid, pa.ArrowNotImplementedError):
        return None


def _compression(path: Path) -> str:
    groups = pyarrow.parquet.ParquetFile(path).metadata
    if not groups.num_row_groups or not groups.num_columns:
        return "snappy"
    used = str(groups.row_group(0).column(0).compression).lower()
    return "none" if used == "uncompressed" else used
