"""Fills what the keeper left open from the trade's table of defaults, and keeps the trace."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from pandas import DataFrame, Series

from riskmodel.errors import ParameterError, Problem, TableError
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.links import boat_of_items
from riskmodel.fleet.numbers import YES_NO, parse_answers, parse_numbers, parse_yes_no
from riskmodel.fleet.parsed import Parsed
from riskmodel.fleet.problems import shown
from riskmodel.fleet.schema import Field, read_schema
from riskmodel.fleet.settings import Settings
from riskmodel.fleet.words import parse_chosen, parse_text
from riskmodel.tables import read_table

FILLED = ("vessels", "items", "records")
"""The tables whose open cells have defaults; an open cell of a period is its boat's own."""
TRACE_COLUMNS = ("table", "column", "value", "count", "source", "status")


@dataclass(frozen=True)
class Default:
    """What a column is taken to be on boats of one propulsion ("any": on all) where it is not given."""

    table: str
    column: str
    propulsion: str
    value: Any
    text: str
    source: str
    status: str


def read_defaults(overlay: Path | None = None) -> tuple[Default, ...]:
    """The shipped defaults with an organisation's own rows laid over them.

    Raises TableError with every row that names no column, or a value its column cannot hold.
    """
    rows = read_table("defaults", key=("table", "column", "propulsion"), overlay=overlay)
    problems: list[Problem] = []
    defaults = []
    for row in rows:
        value, fault = _value(row)
        if fault:
            problems.append(Problem(row["_file"], int(row["_row"]), *fault))
        place = (row["table"], row["column"], row["propulsion"])
        defaults.append(Default(*place, value, row["value"], row["source"], row["status"]))
    if problems:
        raise TableError(problems)
    # Stable: the row for one kind of propulsion comes before the row for any, and is used first.
    return tuple(sorted(defaults, key=lambda default: default.propulsion == "any"))


def season_defaults(settings: Settings) -> tuple[Default, ...]:
    """The season that settings.toml gives for every boat without one of its own."""
    if not settings.season_start:
        return ()
    days = {"season_start": settings.season_start, "season_end": settings.season_end}
    return tuple(
        Default("vessels", name, "any", day, day, "settings.toml", "given") for name, day in days.items()
    )


def fill_tables(
    tables: tuple[CheckedTable, CheckedTable, CheckedTable], defaults: Sequence[Default]
) -> tuple[dict[str, DataFrame], DataFrame]:
    """The frames of the three tables with their open cells filled, and the trace of what filled how many.

    Each record gets its boat's vessel_id. A column without a default stays as it is.
    """
    vessels, items, records = tables
    ids = records.frame["vessel_id"]
    boats = ids.where(ids.ne(""), boat_of_items(items, records.frame["item_id"]))
    of_boat = pd.Series(vessels.frame["propulsion"].to_numpy(), index=vessels.frame["vessel_id"])
    filled = [
        _filled(vessels, vessels.frame["propulsion"], defaults),
        _filled(items, items.frame["vessel_id"].map(of_boat), defaults),
        _filled(records, boats.map(of_boat), defaults),
    ]
    frames = {table.name: frame for table, (frame, _) in zip(tables, filled, strict=True)}
    frames["records"] = frames["records"].assign(vessel_id=boats)
    rows = [row for _, trace in filled for row in trace]
    return frames, DataFrame(rows, columns=list(TRACE_COLUMNS)).astype({"count": "int64"})


def _filled(
    table: CheckedTable, propulsion: Series[str], defaults: Sequence[Default]
) -> tuple[DataFrame, list[tuple[str, str, str, int, str, str]]]:
    """One table's frame filled, and its rows of the trace; ``propulsion`` is that of each row's boat."""
    frame = table.frame.copy(deep=False)
    open_cells = {column: ~table.given[column] for column in table.given}
    counts: Counter[tuple[str, str, str, str]] = Counter()
    for default in (default for default in defaults if default.table == table.name):
        where = open_cells[default.column] & (
            propulsion.eq(default.propulsion) | (default.propulsion == "any")
        )
        if where.any():
            frame[default.column] = frame[default.column].mask(where, default.value)
            open_cells[default.column] &= ~where
            # Kinds of propulsion that share a default share a row of the trace.
            counts[default.column, default.text, default.source, default.status] += int(where.sum())
    trace = [(table.name, *key[:2], count, *key[2:]) for key, count in counts.items()]
    return frame, trace


def cell_value(table: str, column: str, text: str) -> Any:
    """A column's value as a frame of ``table`` holds it, from its words.

    Raises ParameterError for an unknown column, one that holds dates, or words that it cannot hold.
    """
    value, fault = _value({"table": table, "column": column, "propulsion": "any", "value": text})
    if fault:
        name, rule, got = fault
        raise ParameterError(f"{column if name == 'value' else name} {rule}, got {got}")
    return value


def _value(row: dict[str, str]) -> tuple[Any, tuple[str, str, str] | None]:
    if row["table"] not in FILLED:
        return None, ("table", "must be vessels, items or records", shown(row["table"]))
    fields = {field.name: field for field in read_schema(row["table"]).fields}
    field = fields.get(row["column"])
    if field is None or field.type == "date":
        return None, (
            "column",
            f"must be a column of {row['table']} that is not a date",
            shown(row["column"]),
        )
    kinds = next(part.enum for part in read_schema("vessels").fields if part.name == "propulsion")
    if row["propulsion"] not in (*kinds, "any"):
        return None, ("propulsion", "must be a kind of propulsion or any", shown(row["propulsion"]))
    parsed = _parsed(np.array([row["value"]], dtype=object), field)
    rule = parsed.rules[0] or ("" if row["value"] else "must be given")
    return parsed.values[0], ("value", rule, shown(row["value"])) if rule else None


def _parsed(word: Any, field: Field) -> Parsed:
    if field.type in {"number", "integer"}:
        return parse_numbers(word, field, 1.0, ".")
    if field.type == "boolean":
        return parse_yes_no(word)
    if field.enum == YES_NO:
        return parse_answers(word)
    return parse_chosen(word, field.enum, {}) if field.enum else parse_text(word, field.pattern)
