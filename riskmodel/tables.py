"""Reads the readable tables that ship with the package, with an organisation's own rows laid over them."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path

from riskmodel.errors import Problem, TableError

Row = dict[str, str]


def read_table(name: str, *, key: Sequence[str], overlay: Path | None = None) -> list[Row]:
    """Rows of ``data/trade/<name>.csv``, with the rows of an overlay folder's file of the same name laid over.

    An overlay row replaces every shipped row with the same ``key`` columns; a new key is added at the end.
    Values are text, stripped. ``_file`` and ``_row`` say where a row stands, as a spreadsheet numbers it.

    Raises TableError if the overlay's columns differ from the shipped table's.
    """
    shipped = _read(
        files("riskmodel.data.trade").joinpath(f"{name}.csv").read_text("utf-8"), f"trade/{name}.csv"
    )
    path = overlay / f"{name}.csv" if overlay else None
    if path is None or not path.is_file():
        return shipped
    own = _read(path.read_text("utf-8-sig"), str(path))
    _refuse_other_columns(shipped, own, path)
    replaced = {_key(row, key) for row in own}
    return [row for row in shipped if _key(row, key) not in replaced] + own


def _read(text: str, file: str) -> list[Row]:
    reader = csv.DictReader(text.splitlines())
    rows = []
    for row in reader:
        if None in row or None in row.values():
            raise TableError(
                [Problem(file, reader.line_num, "", "must have as many cells as the head", str(row))]
            )
        rows.append(
            {k.strip(): v.strip() for k, v in row.items()} | {"_file": file, "_row": str(reader.line_num)}
        )
    return rows


def _key(row: Row, key: Sequence[str]) -> tuple[str, ...]:
    return tuple(row[column] for column in key)


def _refuse_other_columns(shipped: list[Row], own: list[Row], path: Path) -> None:
    if own and set(own[0]) != set(shipped[0]):
        wanted = ", ".join(column for column in shipped[0] if not column.startswith("_"))
        got = ", ".join(column for column in own[0] if not column.startswith("_"))
        raise TableError([Problem(str(path), 1, "", f"must have the columns {wanted}", got)])
