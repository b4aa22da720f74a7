"""The rules of the table of materials, and its tie to the tasks."""

from __future__ import annotations

from collections.abc import Iterator

from riskmodel.errors import Problem
from riskmodel.trade.cells import free_text, positive, text, word
from riskmodel.trade.rows import Tables
from riskmodel.trade.table_rules import LOW_HIGH, SOURCED, TableRules

MATERIALS = TableRules(
    "materials",
    ("item_class", "task", "material"),
    ("item_class", "task", "material"),
    {
        "item_class": text,
        "task": text,
        "material": text,
        "per": word("part", "boat"),
        "low": positive,
        "high": positive,
        "unit": text,
        "note": free_text,
        **SOURCED,
    },
    LOW_HIGH,
)


def material_problems(tables: Tables) -> Iterator[Problem]:
    """Every material for a task that its class does not have, and every one counted in two units."""
    tasks = {(row.raw["item_class"], row.raw["task"]) for row in tables["tasks"]}
    units: dict[str, str] = {}
    for row in tables["materials"]:
        if (row.raw["item_class"], row.raw["task"]) not in tasks:
            yield row.problem("task", f"must be a task of {row.raw['item_class']}")
        known = units.setdefault(row.raw["material"], row.raw["unit"])
        if row.raw["unit"] != known:
            yield row.problem("unit", f"must be that of the same material elsewhere ({known})")
