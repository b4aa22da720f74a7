"""Reads one CSV or Parquet file into a raw table, every cell as text."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet
from numpy.typing import NDArray

from riskmodel.errors import Problem, TableError
from riskmodel.files import is_plain_file, readable, text_of
from riskmodel.fleet.cells import RawTable, cells_of
from riskmodel.fleet.heads import column_names
from riskmodel.fleet.problems import shown
from riskmodel.fleet.settings import Settings

PARQUET = "must be a Parquet file"
"""The rule that a damaged file breaks like any other that its library cannot read."""


def read_csv(path: Path, settings: Settings) -> RawTable:
    """A CSV file in UTF-8, with the delimiter and the decimal mark that the settings declare.

    Raises TableError for what is no plain file, another encoding or delimiter, a missing head, or rows not as wide as
    the head.
    """
    text = text_of(path)
    if not text.strip():
        raise TableError(
            [Problem(path.name, 1, "", "must open with a head that names its columns", "nothing")]
        )
    with readable(path.name, "must be readable as CSV"):
        # Python's own idea of a line knows marks that CSV does not.
        head = next(csv.reader(io.StringIO(text, newline=""), delimiter=settings.delimiter))
        _refuse_other_delimiter(head, settings.delimiter, path.name)
        names = column_names(head, path.name)
        table, numbers = _cells(text, len(names), settings.delimiter, path.name)
        return raw_table(path.name, names, table.slice(1), numbers[1:], settings.decimal)


def read_parquet(path: Path) -> RawTable:
    """A Parquet file; dates, numbers, yes/no and dictionary columns may keep their types.

    Raises TableError for what is no plain file, a damaged one, and columns that hold more than plain values.
    """
    if not is_plain_file(path):
        raise TableError([Problem(path.name, 0, "", "must be a plain file", "nothing")])
    with readable(path.name, PARQUET):
        table = pyarrow.parquet.read_table(path)
        refuse_nested(table.schema, path.name)
        # Only a whole look shows what a damaged page made of its texts.
        table.validate(full=True)
        numbers = np.arange(table.num_rows, dtype=np.int64) + 2
        return raw_table(path.name, column_names(table.column_names, path.name), table, numbers, ".")


def refuse_nested(schema: Any, file: str) -> None:
    """Raises TableError for every column of an Arrow schema that holds more than plain values."""
    nested = [field for field in schema if pa.types.is_nested(field.type)]
    if nested:
        rule = "must hold plain values"
        raise TableError([Problem(file, 0, field.name, rule, str(field.type)) for field in nested])


def _refuse_other_delimiter(head: list[str], delimiter: str, file: str) -> None:
    for other, written in ((";", ";"), ("\t", "\\t"), ("|", "|"), (",", ",")):
        if len(head) == 1 and other != delimiter and other in head[0]:
            rule = f'must be separated as declared: write delimiter = "{written}" in settings.toml'
            raise TableError([Problem(file, 1, "", rule, shown(head[0]))])


def _cells(text: str, width: int, delimiter: str, file: str) -> tuple[pa.Table, NDArray[np.int64]]:
    """Every row, head included, as text, with its spreadsheet row number."""
    names = [str(position) for position in range(width)]
    ragged: list[Any] = []

    def keep_aside(row: Any) -> str:
        ragged.append(row)
        return "skip"

    table = pyarrow.csv.read_csv(
        pa.py_buffer(text.encode("utf-8")),
        # One thread, because only then does the reader know its row numbers.
        read_options=pyarrow.csv.ReadOptions(column_names=names, use_threads=False, block_size=1 << 24),
        parse_options=pyarrow.csv.ParseOptions(
            delimiter=delimiter,
            newlines_in_values=True,
            ignore_empty_lines=False,
            invalid_row_handler=keep_aside,
        ),
        convert_options=pyarrow.csv.ConvertOptions(column_types=dict.fromkeys(names, pa.string())),
    )
    if ragged:
        rule = f"must have {width} cells like the head"
        raise TableError([Problem(file, row.number, "", rule, f"{row.actual_columns}") for row in ragged])
    _refuse_open_quote(text, table, file)
    return table, np.arange(table.num_rows, dtype=np.int64) + 1


def _refuse_open_quote(text: str, table: pa.Table, file: str) -> None:
    """An open quotation mark takes the rest of the file into one cell, without an error of the reader's."""
    last = "" if table.num_rows == 0 else "".join(str(column[-1].as_py()) for column in table.columns)
    if text.count('"') % 2 and "\n" in last.strip():
        raise TableError([Problem(file, table.num_rows, "", "must close every quotation mark", shown(last))])


def raw_table(
    file: str, names: list[str], table: pa.Table, numbers: NDArray[np.int64], decimal: str
) -> RawTable:
    """The columns of an Arrow table under their folded ``names``, rows numbered ``numbers``; empty rows are no rows."""
    columns = {name: cells_of(column) for name, column in zip(names, table.columns, strict=True) if name}
    filled = np.zeros(len(numbers), dtype=bool)
    for cells in columns.values():
        filled |= (cells.words != "")[cells.codes]
    if not filled.all():
        columns = {name: type(cells)(cells.words, cells.codes[filled]) for name, cells in columns.items()}
    return RawTable(file, columns, numbers[filled], decimal)
