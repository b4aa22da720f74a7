"""The rules of the tables of looks, surroundings and readings."""

from __future__ import annotations

from riskmodel.trade.cells import free_text, number, optional, positive, text, word
from riskmodel.trade.table_rules import LOW_HIGH, SOURCED, TableRules

# Nobody finds everything every time: our judgement.
MOST_SEEN = 0.95

DETECTION = TableRules(
    "detection",
    ("item_class", "thoroughness"),
    ("item_class", "thoroughness"),
    {
        "item_class": text,
        "thoroughness": word("glanced", "handled", "opened"),
        "low": number(0.0, MOST_SEEN),
        "high": number(0.0, MOST_SEEN),
        **SOURCED,
    },
    LOW_HIGH,
)

# An overlay replaces a factor for a mechanism or class as a whole, so that its levels stay of one mind.
SURROUNDINGS = TableRules(
    "surroundings",
    ("factor", "mechanism", "item_class"),
    ("factor", "mechanism", "item_class", "column", "level", "at_least"),
    {
        "factor": text,
        "column": text,
        "level": free_text,
        "at_least": optional(number()),
        "below": optional(number()),
        "mechanism": text,
        "item_class": text,
        "rate_low": positive,
        "rate_high": positive,
        **SOURCED,
        "note": free_text,
    },
    (("at_least", "below"), ("rate_low", "rate_high")),
)

READINGS = TableRules(
    "readings",
    ("item_class", "reading_unit"),
    ("item_class", "reading_unit", "compare"),
    {
        "item_class": text,
        "reading_unit": text,
        "condition": free_text,
        "compare": word("at_least", "at_most", "made_on"),
        "suspect": optional(number()),
        "failing": optional(number()),
        "failed": optional(number()),
        "path_low": optional(positive),
        "path_high": optional(positive),
        "meaning": text,
        **SOURCED,
    },
    (("path_low", "path_high"),),
)
