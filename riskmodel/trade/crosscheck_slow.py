"""Checks of the slow damage table: every class in it has each measure for an ordinary boat, and can be looked at."""

from __future__ import annotations

from collections.abc import Iterator

from riskmodel.errors import Problem
from riskmodel.trade.physics_rules import CONDITIONS
from riskmodel.trade.rows import ParsedRow, Tables

FACTOR = "growth_factor"
MEASURES = {
    "reached": {"share"},
    "delay": {"months"},
    "least": {"share"},
    "growth": {"share/month", "m2/month"},
    "most": {"share", "m2"},
    "noticed": {"chance a visit"},
    FACTOR: {"factor"},
}
LOOKED = "handled"


def slow_problems(tables: Tables) -> Iterator[Problem]:
    """Every row of another unit than its measure's, and every pair of class and end state that is not complete."""
    pairs: dict[tuple[str, str], list[ParsedRow]] = {}
    for row in tables["slow_damage"]:
        pairs.setdefault((row.raw["item_class"], row.raw["end_state"]), []).append(row)
        allowed = MEASURES.get(row.raw["measure"], {row.raw["unit"]})
        if row.raw["unit"] not in allowed:
            yield row.problem("unit", f"must be {' or '.join(sorted(allowed))} for {row.raw['measure']}")
    seen = {row.raw["item_class"] for row in tables["detection"] if row.raw["thoroughness"] == LOOKED}
    looked = {row.raw["item_class"] for row in tables["intervals"] if row.raw["meaning"] == "look"}
    for (name, _), rows in pairs.items():
        yield from _incomplete(rows)
        if name not in seen & looked:
            yield rows[0].problem(
                "item_class", f"must have a look interval and a chance of detection {LOOKED}"
            )


def _incomplete(rows: list[ParsedRow]) -> Iterator[Problem]:
    everywhere = {row.raw["measure"] for row in rows if not any(row.raw[column] for column in CONDITIONS)}
    for measure in MEASURES:
        if measure not in everywhere | {FACTOR}:
            yield rows[0].problem("measure", f"must have a row of {measure} without conditions")
    areas = {row.raw["unit"].startswith("m2") for row in rows if row.raw["measure"] in {"growth", "most"}}
    if len({row.raw["needs"] for row in rows}) > 1:
        yield rows[0].problem("needs", "must be the same in every row of a class and end state")
    if len(areas) > 1:
        yield rows[0].problem("unit", "must be areas or shares for growth and most alike")
