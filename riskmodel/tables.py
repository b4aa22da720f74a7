"""Reads the readable tables that ship with the package, with an organisation's own rows laid over them."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path

from riskmodel.errors import Problem, TableError
from riskmodel.files import is_plain_file, readable, text_of
from riskmodel.safe_text import visible

Row = dict[str, str]


def read_table(name: str, *, key: Sequence[str], overlay: Path | None = None) -> list[Row]:
    """Rows of ``data/trade/<name>.csv``, with the rows of an overlay folder's file of the same name laid over.

    An overlay row replaces every shipped row with the same ``key`` columns; a new key is added at the end.
    Values are text, stripped. ``_file`` and ``_row`` say where a row stands, as a spreadsheet numbers it.

    Raises TableError for an overlay's file that cannot be read, or whose columns differ from the shipped table's.
    """
    columns, shipped = _read(
        files("riskmodel.data.trade").joinpath(f"{name}.csv").read_text("utf-8"), f"trade/{name}.csv"
    )
    path = overlay / f"{name}.csv" if overlay else None
    if path is None or not is_plain_file(path, str(path)):
        return shipped
    own_columns, own = _read(text_of(path, str(path)), str(path))
    _refuse_other_columns(columns, own_columns, str(path))
    replaced = {_key(row, key) for row in own}
    return [row for row in shipped if _key(row, key) not in replaced] + own


def _read(text: str, file: str) -> tuple[list[str], list[Row]]:
    """The columns of a table and its rows; empty lines are no rows."""
    with readable(file, "must be readable as CSV"):
        # Python's own idea of a line knows marks that CSV does not.
        reader = csv.reader(io.StringIO(text, newline=""), strict=True)
        head = [cell.strip() for cell in next(reader, [])]
        lines = [(reader.line_num, [visible(cell.strip()) for cell in line]) for line in reader if any(line)]
    rule = "must have as many cells as the head"
    ragged = [
        Problem(file, row, "", rule, f"{len(line)} for {len(head)}")
        for row, line in lines
        if len(line) != len(head)
    ]
    if ragged:
        raise TableError(ragged)
    places = ({"_file": file, "_row": str(row)} for row, _ in lines)
    return head, [
        dict(zip(head, line, strict=True)) | place for (_, line), place in zip(lines, places, strict=True)
    ]


def _key(row: Row, key: Sequence[str]) -> tuple[str, ...]:
    return tuple(row[column] for column in key)


def _refuse_other_columns(shipped: list[str], own: list[str], file: str) -> None:
    if sorted(own) != sorted(shipped):
        rule, got = f"must have the columns {', '.join(shipped)}", ", ".join(own) or "nothing"
        raise TableError([Problem(file, 1, "", rule, got if len(got) <= 500 else got[:497] + "...")])
