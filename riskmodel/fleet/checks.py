"""Checks one table by itself, cell by cell, and turns its texts into typed columns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas import DataFrame

from riskmodel.errors import Problem
from riskmodel.fleet.causes import CAUSE_WORDS
from riskmodel.fleet.cells import Cells, RawTable
from riskmodel.fleet.columns import Column, match_columns
from riskmodel.fleet.dates import parse_dates
from riskmodel.fleet.numbers import DECIMAL_COMMA, YES_NO, parse_answers, parse_numbers, parse_yes_no
from riskmodel.fleet.parsed import Parsed
from riskmodel.fleet.problems import problems_at
from riskmodel.fleet.schema import Field, Schema
from riskmodel.fleet.settings import Settings
from riskmodel.fleet.windows import given_frame, typed_frame
from riskmodel.fleet.words import parse_chosen, parse_text


@dataclass(frozen=True)
class Bounds:
    """What values are held against beside the descriptor: settings, the last possible day, classes, claims' causes."""

    settings: Settings
    latest: date
    item_classes: tuple[str, ...]
    causes: tuple[str, ...] = ()


@dataclass(frozen=True)
class CheckedTable:
    """One table as typed columns (see ``Fleet``), which cells were given, and every problem found in it."""

    name: str
    file: str
    frame: DataFrame
    given: DataFrame
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class CheckedValues:
    """The fields of a table that were found, row by row: their ``values`` (dates as windows (n, 2)), whether each was
    ``given``, and every problem and note."""

    values: Mapping[str, NDArray[Any]]
    given: Mapping[str, NDArray[np.bool_]]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def check_table(table: RawTable, schema: Schema, bounds: Bounds) -> CheckedTable:
    """Every cell of a table checked by its field's rules and read as its type."""
    found = check_values(table, schema, bounds)
    frame = typed_frame(schema, found.values, table.rows)
    shown = given_frame(schema, found.given, frame)
    return CheckedTable(schema.name, table.file, frame, shown, found.problems, found.notes)


def check_values(table: RawTable, schema: Schema, bounds: Bounds) -> CheckedValues:
    """The same without a frame of every column there may be: for tables too long for that."""
    columns = match_columns(table, schema)
    problems = list(columns.problems)
    values: dict[str, NDArray[Any]] = {}
    given: dict[str, NDArray[np.bool_]] = {}
    for field in schema.fields:
        column = columns.found.get(field.name)
        if column is None:
            continue
        parsed = _parse(column, _held_to_calendar(field, bounds.latest), table, bounds)
        values[field.name] = parsed.values[column.cells.codes]
        given[field.name] = (column.cells.words != "")[column.cells.codes]
        problems += _broken_rules(table, field, column, parsed)
        problems += _repeats(table, field, column.cells)
    return CheckedValues(values, given, _comma_once(problems), columns.notes)


def empty_table(schema: Schema) -> CheckedTable:
    """A table of no rows with the columns of its descriptor, for a fleet that has none."""
    frame = typed_frame(schema, {}, np.empty(0, dtype=np.int64))
    return CheckedTable(schema.name, schema.name, frame, given_frame(schema, {}, frame), (), ())


def _held_to_calendar(field: Field, latest: date) -> Field:
    # A hull is sold as next year's model, never as one of two years on.
    return replace(field, maximum=float(latest.year + 1)) if field.name == "built_year" else field


def _parse(column: Column, field: Field, table: RawTable, bounds: Bounds) -> Parsed:
    words = column.cells.words
    if field.type in {"number", "integer"}:
        return parse_numbers(words, field, column.factor, table.decimal)
    if field.type == "boolean":
        return parse_yes_no(words)
    if field.type == "date":
        return _dates(words, field, table, bounds)
    if field.enum == YES_NO:
        return parse_answers(words)
    if field.enum:
        return parse_chosen(words, field.enum, _own_words(field, bounds.settings))
    if field.reference == "classes":
        return parse_chosen(words, bounds.item_classes, {})
    if field.reference == "end_states":
        return parse_chosen(words, bounds.causes, CAUSE_WORDS)
    return parse_text(words, field.pattern)


def _own_words(field: Field, settings: Settings) -> Mapping[str, str]:
    return settings.event_words if field.name == "event" else {}


def _dates(words: NDArray[Any], field: Field, table: RawTable, bounds: Bounds) -> Parsed:
    parsed = parse_dates(words, bounds.settings.date_format, table.workbook, field.any_precision)
    if field.ahead:
        return parsed
    late = parsed.values[:, 0] > np.datetime64(bounds.latest, "D")
    # A broken date is no date further on: one mistake, one problem.
    values = np.where(late[:, None], np.datetime64("NaT"), parsed.values)
    return Parsed(values, np.where(late, f"must not be after {bounds.latest}", parsed.rules))


def _broken_rules(table: RawTable, field: Field, column: Column, parsed: Parsed) -> list[Problem]:
    rules = parsed.rules.copy()
    if field.required:
        rules[column.cells.words == ""] = "must be given"
    if not (rules != "").any():
        return []
    bad = np.flatnonzero((rules != "")[column.cells.codes])
    codes = column.cells.codes[bad]
    return problems_at(table.file, column.written, table.rows[bad], rules[codes], column.cells.words[codes])


def _repeats(table: RawTable, field: Field, cells: Cells) -> list[Problem]:
    if not field.unique:
        return []
    codes = pd.Series(cells.codes)
    repeated = np.flatnonzero(codes.duplicated().to_numpy() & (cells.words != "")[cells.codes])
    if not repeated.size:
        return []
    first = pd.Series(table.rows).groupby(cells.codes).first()
    rows = [f"must be given once, row {first[code]} has it too" for code in cells.codes[repeated]]
    values = cells.values[repeated]
    return problems_at(table.file, field.name, table.rows[repeated], np.array(rows, dtype=object), values)


def _comma_once(problems: list[Problem]) -> tuple[Problem, ...]:
    commas = [problem for problem in problems if problem.rule == DECIMAL_COMMA]
    return tuple(problem for problem in problems if problem.rule != DECIMAL_COMMA) + tuple(commas[:1])
