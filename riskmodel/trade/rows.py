"""Reads one trade table cell by cell, keeping every problem instead of stopping at the first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from riskmodel.errors import Problem, TableError
from riskmodel.tables import Row, read_table
from riskmodel.trade.table_rules import TableRules


@dataclass(frozen=True)
class ParsedRow:
    """A row as text, with its place, and its values; ``values`` lacks the cells that broke a rule."""

    raw: Row
    values: dict[str, Any]

    def problem(self, column: str, rule: str) -> Problem:
        """A problem that stands in this row."""
        return Problem(self.raw["_file"], int(self.raw["_row"]), column, rule, repr(self.raw.get(column, "")))


Tables = Mapping[str, list[ParsedRow]]


def read_rows(rules: TableRules, overlay: Path | None) -> tuple[list[ParsedRow], list[Problem]]:
    """All rows of a table, with an overlay's laid over, and every problem found in them."""
    try:
        raw_rows = read_table(rules.name, key=rules.key, overlay=overlay)
    except TableError as error:
        return [], list(error.problems)
    rows: list[ParsedRow] = []
    problems: list[Problem] = []
    for raw in raw_rows:
        row, found = _parse(rules, raw)
        rows.append(row)
        problems += found + _falling(rules, row)
    return rows, problems + _repeated(rules, rows)


def _parse(rules: TableRules, raw: Row) -> tuple[ParsedRow, list[Problem]]:
    row = ParsedRow(raw, {})
    problems = []
    for column, cell in rules.cells.items():
        try:
            row.values[column] = cell(raw[column])
        except ValueError as error:
            problems.append(row.problem(column, str(error)))
    return row, problems


def _falling(rules: TableRules, row: ParsedRow) -> list[Problem]:
    problems = []
    for low, high in rules.rising:
        first, second = row.values.get(low), row.values.get(high)
        if first is not None and second is not None and first > second:
            problems.append(row.problem(low, f"must not be above {high} ({row.raw[high]})"))
    return problems


def _repeated(rules: TableRules, rows: list[ParsedRow]) -> list[Problem]:
    if not rules.unique:
        return []
    seen: set[tuple[str, ...]] = set()
    problems = []
    for row in rows:
        key = tuple(row.raw[column] for column in rules.unique)
        if key in seen:
            problems.append(row.problem(rules.unique[-1], f"must not repeat {', '.join(rules.unique)}"))
        seen.add(key)
    return problems
