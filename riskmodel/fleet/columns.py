"""Matches the head of a raw table with its descriptor: converts units, names own columns, refuses gaps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from riskmodel.errors import Problem
from riskmodel.fleet.cells import Cells, RawTable
from riskmodel.fleet.nearest import nearest, suggestion
from riskmodel.fleet.schema import Schema
from riskmodel.units import OTHER_SUFFIXES, OWN_SUFFIXES, US_SUFFIXES, conversion_factor, split_suffix


@dataclass(frozen=True)
class Column:
    """The keeper's column behind one field: its name as written, its cells, own units in one of its units."""

    written: str
    cells: Cells
    factor: float = 1.0


@dataclass(frozen=True)
class Columns:
    """The columns of one table by field name, with what was wrong and what was done."""

    found: Mapping[str, Column]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def match_columns(table: RawTable, schema: Schema) -> Columns:
    """Every field's column; US customary columns stand under the field they are converted to."""
    found = {name: Column(name, table.columns[name]) for name in schema.names if name in table.columns}
    rest = [name for name in table.columns if name not in found]
    problems: list[Problem] = []
    notes: list[str] = []
    own: list[str] = []
    for written in rest:
        field = _measured_field(written, schema)
        factor = _factor(written, field)
        fault = _unit_fault(written, field, factor, found)
        if fault:
            problems.append(Problem(table.file, 1, written, *fault))
        elif factor is not None:
            found[field] = Column(written, table.columns[written], factor)
            notes.append(f"{table.file}: {written} was converted to {field} (times {factor:.6g}).")
        else:
            own.append(written + _meant(written, schema, found))
    if own:
        notes.append(f"{table.file}: columns not used: {', '.join(own)}.")
    missing = _missing(table, schema, found)
    return Columns(found, (*missing, *problems), tuple(notes))


def _measured_field(written: str, schema: Schema) -> str:
    """The physical field that measures the same thing under another unit, or ""."""
    base, suffix = split_suffix(written)
    for name in schema.names:
        thing, unit = split_suffix(name)
        if unit not in OWN_SUFFIXES:
            continue
        if written == thing or (base == thing and suffix in (*US_SUFFIXES, *OTHER_SUFFIXES, *OWN_SUFFIXES)):
            return name
    return ""


def _factor(written: str, field: str) -> float | None:
    return conversion_factor(split_suffix(written)[1], split_suffix(field)[1]) if field else None


def _unit_fault(
    written: str, field: str, factor: float | None, found: Mapping[str, Column]
) -> tuple[str, str] | None:
    if not field:
        return None
    suffix = split_suffix(written)[1]
    if factor is None or suffix not in US_SUFFIXES:
        thing, unit = split_suffix(field)
        readable = [field] + [
            f"{thing}_{us}" for us in US_SUFFIXES if conversion_factor(us, unit) is not None
        ]
        return f"must be in a unit that is read: {' or '.join(readable)}", written
    if field in found:
        return f"must not stand beside {found[field].written}, which measures the same", written
    return None


def _meant(written: str, schema: Schema, found: Mapping[str, Column]) -> str:
    likely = nearest(written, [name for name in schema.names if name not in found])
    return f" (did you mean {likely}?)" if likely else ""


def _missing(table: RawTable, schema: Schema, found: Mapping[str, Column]) -> list[Problem]:
    present = [name for name in table.columns if name not in found]
    return [
        Problem(
            table.file, 1, field.name, f"must be a column{suggestion(field.name, present)}", "no such column"
        )
        for field in schema.fields
        if field.required and field.name not in found
    ]
