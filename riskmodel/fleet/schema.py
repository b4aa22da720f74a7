"""Reads the Table Schema descriptors that say what each table of a fleet may hold."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

TABLES = ("vessels", "items", "records", "periods", "claims")


@dataclass(frozen=True)
class Field:
    """One column of a table: its type, what it means, and the limits its values must keep.

    ``minimum`` may be reached, ``above`` may not; ``any_precision`` dates may be a day, a month or a year, dates
    ``ahead`` may lie after the day of the calendar.
    ``reference`` names the table that the value must be found in.
    """

    name: str
    type: str
    description: str
    unit: str = ""
    any_precision: bool = False
    ahead: bool = False
    required: bool = False
    unique: bool = False
    reference: str = ""
    enum: tuple[str, ...] = ()
    pattern: str = ""
    minimum: float = -math.inf
    above: float = -math.inf
    maximum: float = math.inf


@dataclass(frozen=True)
class Schema:
    """One table: its name and its fields in order."""

    name: str
    fields: tuple[Field, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The column names in order."""
        return tuple(field.name for field in self.fields)


@cache
def read_schema(name: str) -> Schema:
    """The descriptor of one table, one of ``TABLES``."""
    descriptor = json.loads(files("riskmodel.data.schema").joinpath(f"{name}.json").read_text("utf-8"))
    targets = {key["fields"][0]: key["reference"]["resource"] for key in descriptor.get("foreignKeys", [])}
    return Schema(name, tuple(_field(part, targets.get(part["name"], "")) for part in descriptor["fields"]))


def _field(part: dict[str, Any], reference: str) -> Field:
    limits = part.get("constraints", {})
    return Field(
        name=part["name"],
        type=part["type"],
        description=part["description"],
        unit=part.get("unit", ""),
        any_precision=part.get("format") == "any",
        ahead=part.get("ahead", False),
        required=limits.get("required", False),
        unique=limits.get("unique", False),
        reference=reference,
        enum=tuple(limits.get("enum", ())),
        pattern=limits.get("pattern", ""),
        minimum=float(limits.get("minimum", -math.inf)),
        above=float(limits.get("exclusiveMinimum", -math.inf)),
        maximum=float(limits.get("maximum", math.inf)),
    )
