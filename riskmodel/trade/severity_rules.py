"""The rules of the tables of severity categories and probability levels, and how their rows must follow one another."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from riskmodel.errors import Problem
from riskmodel.trade.cells import number, optional, text, word
from riskmodel.trade.rows import ParsedRow, Tables
from riskmodel.trade.table_rules import PROBABILITY, SOURCED, TableRules

# The standard's words, worst first.
SEVERITY_WORDS = ("Catastrophic", "Critical", "Marginal", "Negligible")
RISK_WORDS = ("High", "Serious", "Medium", "Low", "Eliminated")
LEVELS = "ABCDEF"
# No end state takes all of the value every time: something is always saved (judgement).
MOST_VALUE_LOST = 0.99


def category(value: str) -> int:
    """A severity category, 1 to 4."""
    return int(word("1", "2", "3", "4")(value))


SEVERITY = TableRules(
    "severity",
    ("word",),
    ("category",),
    {
        "category": category,
        "word": word(*SEVERITY_WORDS),
        "money_at_least": number(),
        "injury": text,
        **SOURCED,
    },
)

PROBABILITY_LEVELS = TableRules(
    "probability_levels",
    ("level",),
    ("level",),
    {
        "level": word(*LEVELS),
        "word": text,
        "at_least": optional(PROBABILITY),
        **{each.lower(): word(*RISK_WORDS) for each in SEVERITY_WORDS},
        "meaning": text,
        **SOURCED,
    },
)

SEVERITY_TABLES = (SEVERITY, PROBABILITY_LEVELS)


def severity_problems(tables: Tables) -> Iterator[Problem]:
    """Every place where a worse category or likelier level does not start above the next, or one cannot be reached."""
    yield from _falling(sorted(tables["severity"], key=lambda row: row.raw["category"]), "money_at_least")
    levels = sorted(tables["probability_levels"], key=lambda row: row.raw["level"])
    yield from _falling(levels[:-1], "at_least")
    for row in levels:
        if (row.raw["level"] == LEVELS[-1]) != (row.raw["at_least"] == ""):
            yield row.problem("at_least", f"must be empty for level {LEVELS[-1]} and for no other")
    for row in tables["severity"]:
        if SEVERITY_WORDS[row.values.get("category", 1) - 1] != row.raw["word"]:
            yield row.problem("category", "must be the standard's number for the word")


def _falling(rows: list[ParsedRow], column: str) -> Iterator[Problem]:
    """Each row's number above the next one's, and the last 0, so that every amount has its place."""
    for row, after in pairwise(rows):
        this, that = row.values.get(column), after.values.get(column)
        if this is not None and that is not None and this <= that:
            yield row.problem(column, f"must be above that of the next row ({after.raw[column]})")
    if rows and rows[-1].values.get(column, 0.0) != 0.0:
        yield rows[-1].problem(column, "must be 0 in the last row")
