"""Checks that the trade tables agree with one another: every name is known and every class is complete."""

from __future__ import annotations

from collections.abc import Iterator

from riskmodel.errors import Problem
from riskmodel.trade.crosscheck_lives import LIFE_CHECKS
from riskmodel.trade.crosscheck_slow import slow_problems
from riskmodel.trade.materials_rules import material_problems
from riskmodel.trade.place_rules import place_problems
from riskmodel.trade.rows import ParsedRow, Tables
from riskmodel.trade.severity_rules import severity_problems

ANY = "any"
HAUL_OUT = "haul_out"
OF_THE_CLASS = (
    "bore_mm",
    "depth_low_m",
    "depth_high_m",
    "at_berth_low",
    "at_berth_high",
    "open_low",
    "open_high",
)


def cross_problems(tables: Tables) -> list[Problem]:
    """Every place where one table names what another lacks, or a class lacks what each class must have."""
    checks = (
        _unknown_names,
        _outfits_out_of_place,
        _incomplete_classes,
        _undecided_circumstances,
        _overfull_paths,
        _openings_of_two_minds,
        severity_problems,
        *LIFE_CHECKS,
        slow_problems,
        material_problems,
        place_problems,
    )
    return [problem for check in checks for problem in check(tables)]


def _unknown_names(tables: Tables) -> Iterator[Problem]:
    classes = _names(tables, "classes", "item_class")
    kinds = _names(tables, "propulsion", "propulsion")
    ends = _names(tables, "end_states", "end_state")
    references = (
        ("classes", "mechanism", _names(tables, "mechanisms", "mechanism")),
        ("classes", "propulsion", kinds | {ANY}),
        ("intervals", "item_class", classes),
        ("tasks", "item_class", classes | {HAUL_OUT}),
        ("paths", "item_class", classes),
        ("paths", "end_state", ends),
        ("circumstances", "end_state", ends),
        ("barriers", "end_state", ends),
        ("barriers", "needs", classes),
        ("outfits", "propulsion", kinds),
        ("outfits", "item_class", classes),
        ("defaults", "propulsion", kinds | {ANY}),
        ("practice", "item_class", classes | {ANY}),
        ("cautions", "applies_to", classes | {"all"}),
        ("detection", "item_class", classes),
        ("surroundings", "mechanism", _names(tables, "mechanisms", "mechanism")),
        ("surroundings", "item_class", classes | {ANY}),
        ("readings", "item_class", classes | {ANY}),
        ("openings", "item_class", classes),
        ("slow_damage", "item_class", classes),
        ("slow_damage", "end_state", ends),
        ("slow_damage", "propulsion", kinds | {""}),
        ("fuel_leaks", "item_class", classes),
        ("exhaust_leaks", "item_class", classes),
    )
    for table, column, known in references:
        for row in tables[table]:
            yield from _unknown(row, column, known)


def _unknown(row: ParsedRow, column: str, known: set[str]) -> Iterator[Problem]:
    value = row.values.get(column, ())
    for name in (value,) if isinstance(value, str) else value:
        if name not in known:
            yield row.problem(column, f"must name a known {column}{_nearest(name, known)}")


def _nearest(name: str, known: set[str]) -> str:
    from difflib import get_close_matches  # only a refusal needs it, so a start does not pay for it

    near = get_close_matches(name, sorted(known), n=1)
    return f" (nearest: {near[0]})" if near else ""


def _outfits_out_of_place(tables: Tables) -> Iterator[Problem]:
    occurs = {row.raw["item_class"]: row.values.get("propulsion", (ANY,)) for row in tables["classes"]}
    for row in tables["outfits"]:
        allowed = occurs.get(row.raw["item_class"], (ANY,))
        if ANY not in allowed and row.raw["propulsion"] not in allowed:
            yield row.problem("propulsion", f"must be one that {row.raw['item_class']} occurs on")


def _incomplete_classes(tables: Tables) -> Iterator[Problem]:
    lives = {
        row.raw["item_class"]
        for row in tables["intervals"]
        if row.raw["unit"] == "years" and row.raw["meaning"] in {"renew_by", "typical_life"}
    }
    renewed = {row.raw["item_class"] for row in tables["tasks"] if row.raw["does"] == "renew"}
    looked_at = {row.raw["item_class"] for row in tables["tasks"] if row.raw["does"] in {"inspect", "test"}}
    wanted = (
        (lives, "must have a renew_by or typical_life interval in years"),
        (renewed, "must have a task that renews it"),
        (looked_at, "must have a task that inspects or tests it"),
        ({row.raw["item_class"] for row in tables["paths"]}, "must have a path to an end state"),
    )
    for row in tables["classes"]:
        for having, rule in wanted:
            if row.raw["item_class"] not in having:
                yield row.problem("item_class", rule)


def _undecided_circumstances(tables: Tables) -> Iterator[Problem]:
    for row in (*tables["circumstances"], *tables["surroundings"]):
        if bool(row.raw["level"]) == bool(row.raw["at_least"] or row.raw["below"]):
            yield row.problem("level", "must have either a level or a band (at_least, below)")


def _overfull_paths(tables: Tables) -> Iterator[Problem]:
    for fuel in ("gasoline", "diesel"):
        total: dict[str, float] = {}
        for row in tables["paths"]:
            if row.raw["fuel"] in {ANY, fuel}:
                name = row.raw["item_class"]
                before = total.get(name, 0.0)
                total[name] = before + row.values.get("high", 0.0)
                if before <= 1.0 < total[name]:
                    yield row.problem("high", f"must not bring the class's sum over 1 with {fuel}")


def _openings_of_two_minds(tables: Tables) -> Iterator[Problem]:
    """Where a part sits and when it opens is said once for a class: its modes differ in share and size alone."""
    first: dict[str, ParsedRow] = {}
    for row in tables["openings"]:
        other = first.setdefault(row.raw["item_class"], row)
        for column in OF_THE_CLASS:
            if row.values.get(column) != other.values.get(column):
                yield row.problem(column, f"must be as in the class's first row ({other.raw[column]})")


def _names(tables: Tables, table: str, column: str) -> set[str]:
    return {row.raw[column] for row in tables[table]}
