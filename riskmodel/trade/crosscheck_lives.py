"""Checks that the tables behind a life agree: clocks, looks, surroundings and readings."""

from __future__ import annotations

from collections.abc import Iterator

from riskmodel.errors import Problem
from riskmodel.trade.cells import positive
from riskmodel.trade.rows import ParsedRow, Tables
from riskmodel.trade.surroundings import REFERENCE_LEVELS, REFERENCE_MULTIPLE

ANY = "any"
THOROUGHNESS = ("glanced", "handled", "opened")
GRADES = ("suspect", "failing", "failed")


def _clocks_without_a_life(tables: Tables) -> Iterator[Problem]:
    seeded = {
        row.raw["item_class"]
        for row in tables["intervals"]
        if row.raw["unit"] == "hours" and row.raw["meaning"] in {"renew_by", "typical_life"}
    }
    for row in tables["classes"]:
        if row.raw["clock"] in {"hours", "both"} and row.raw["item_class"] not in seeded:
            yield row.problem("clock", "must be age without a renew_by or typical_life interval in hours")


def _classes_without_looks(tables: Tables) -> Iterator[Problem]:
    known = {(row.raw["item_class"], row.raw["thoroughness"]) for row in tables["detection"]}
    for row in tables["classes"]:
        if any((row.raw["item_class"], word) not in known for word in THOROUGHNESS):
            yield row.problem("item_class", f"must have a detection row for {', '.join(THOROUGHNESS)}")


def _looks_that_see_less(tables: Tables) -> Iterator[Problem]:
    rows = {(row.raw["item_class"], row.raw["thoroughness"]): row for row in tables["detection"]}
    for (name, thoroughness), row in rows.items():
        place = THOROUGHNESS.index(thoroughness) if thoroughness in THOROUGHNESS else 0
        lesser = rows.get((name, THOROUGHNESS[place - 1])) if place else None
        for end in ("low", "high") if lesser else ():
            if lesser and lesser.values.get(end, 0.0) > row.values.get(end, 1.0):
                yield row.problem(end, f"must not be below that of {lesser.raw['thoroughness']}")


def _surroundings_of_another_mechanism(tables: Tables) -> Iterator[Problem]:
    mechanisms = {row.raw["item_class"]: row.raw["mechanism"] for row in tables["classes"]}
    for row in tables["surroundings"]:
        own = mechanisms.get(row.raw["item_class"], row.raw["mechanism"])
        if own != row.raw["mechanism"]:
            yield row.problem("mechanism", f"must be that of {row.raw['item_class']} ({own})")


def _moved_references(tables: Tables) -> Iterator[Problem]:
    for row in tables["surroundings"]:
        rates = {row.values.get("rate_low", 1.0), row.values.get("rate_high", 1.0)}
        if _is_reference(row) and rates != {1.0}:
            yield row.problem("rate_low", "must be 1 to 1 at what the trade interval presumes")


def _is_reference(row: ParsedRow) -> bool:
    if row.raw["level"]:
        return REFERENCE_LEVELS.get(row.raw["column"]) == row.raw["level"]
    low, high = row.values.get("at_least"), row.values.get("below")
    return (low is None or low <= REFERENCE_MULTIPLE) and (high is None or high > REFERENCE_MULTIPLE)


def _bands_without_a_measure(tables: Tables) -> Iterator[Problem]:
    usual = {
        row.raw["column"]
        for row in tables["defaults"]
        if row.raw["table"] == "vessels" and _is_above_zero(row.raw["value"])
    }
    for row in tables["surroundings"]:
        if not row.raw["level"] and row.raw["column"] not in usual:
            yield row.problem("column", "must have a vessels default above 0, of which a band is a multiple")


def _is_above_zero(value: str) -> bool:
    try:
        return positive(value) > 0.0
    except ValueError:
        return False


def _undecided_readings(tables: Tables) -> Iterator[Problem]:
    for row in tables["readings"]:
        graded = [row.raw[grade] for grade in GRADES if row.raw[grade]]
        if row.raw["compare"] == "made_on" and graded:
            yield row.problem("suspect", "must be empty where the reading is a year")
        elif row.raw["compare"] != "made_on" and not graded:
            yield row.problem("suspect", "must have a threshold for suspect, failing or failed")
        if bool(row.raw["path_low"]) != bool(row.raw["path_high"]):
            yield row.problem("path_low", "must come with path_high or both be empty")


def _tangled_readings(tables: Tables) -> Iterator[Problem]:
    for row in tables["readings"]:
        found = [row.values.get(grade) for grade in GRADES]
        numbers = [number for number in found if number is not None]
        falling = row.raw["compare"] == "at_most"
        if numbers != sorted(numbers, reverse=falling):
            direction = "fall" if falling else "rise"
            yield row.problem("suspect", f"must {direction} from suspect to failing to failed")


LIFE_CHECKS = (
    _clocks_without_a_life,
    _classes_without_looks,
    _looks_that_see_less,
    _surroundings_of_another_mechanism,
    _moved_references,
    _bands_without_a_measure,
    _undecided_readings,
    _tangled_readings,
)
