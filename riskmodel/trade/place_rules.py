"""The rules of the table of bad spells that befall a whole place."""

from __future__ import annotations

from collections.abc import Iterator

from riskmodel.errors import Problem
from riskmodel.trade.cells import free_text, number, optional, positive, text, word, words
from riskmodel.trade.rows import Tables
from riskmodel.trade.table_rules import PROBABILITY, SOURCED, TableRules

# What the code knows how to work out or to apply: a spell of another name would do nothing.
POWER_CUT, NOBODY_COMES, HARD_FROST = "power_cut", "nobody_comes", "hard_frost"


def some_words(value: str) -> tuple[str, ...]:
    """Words joined by ';', or none."""
    return words(";")(value) if value else ()


PLACE_YEARS = TableRules(
    "place_years",
    ("spell",),
    ("spell",),
    {
        "spell": word(POWER_CUT, NOBODY_COMES, HARD_FROST),
        "label": text,
        "chance_low": PROBABILITY,
        "chance_high": PROBABILITY,
        "days": positive,
        "climate": some_words,
        "classes": some_words,
        "factor_low": optional(number(1.0)),
        "factor_high": optional(number(1.0)),
        "note": free_text,
        **SOURCED,
    },
    (("chance_low", "chance_high"), ("factor_low", "factor_high")),
)


def place_problems(tables: Tables) -> Iterator[Problem]:
    """Spells judged by halves, classes that there are not, and chances that would leave no usual year."""
    known = {row.raw["item_class"] for row in tables["classes"]}
    together = 0.0
    for row in tables["place_years"]:
        judged = row.raw["spell"] == HARD_FROST
        for column in ("classes", "factor_low", "factor_high"):
            if bool(row.raw[column]) != judged:
                rule = "must be given" if judged else "must be empty: what the spell does is worked out"
                yield row.problem(column, rule)
        for name in row.values.get("classes", ()):
            if name not in known:
                yield row.problem("classes", "must name known classes")
        before = together
        together += row.values.get("chance_high", 0.0)
        if before < 1.0 <= together:
            yield row.problem("chance_high", "must leave a chance of a year without any spell")
