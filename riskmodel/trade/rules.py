"""The rules of each trade table: its key, what each column may hold, and which pairs run from low to high."""

from __future__ import annotations

from dataclasses import replace

from riskmodel.trade.cells import free_text, number, optional, positive, text, word, words, year, yes_no
from riskmodel.trade.evidence_rules import DETECTION, READINGS, SURROUNDINGS
from riskmodel.trade.materials_rules import MATERIALS
from riskmodel.trade.physics_rules import PHYSICS, PHYSICS_TABLES
from riskmodel.trade.place_rules import PLACE_YEARS
from riskmodel.trade.severity import DAYS_OF_HARM
from riskmodel.trade.severity_rules import MOST_VALUE_LOST, SEVERITY_TABLES, SEVERITY_WORDS
from riskmodel.trade.table_rules import LOW_HIGH, PROBABILITY, SOURCED, STATUS, TableRules

CLASSES = TableRules(
    "classes",
    ("item_class",),
    ("item_class",),
    {
        "item_class": text,
        "label": text,
        "mechanism": text,
        "clock": word("age", "hours", "both"),
        "fails_unseen": yes_no,
        "renewed_on_age": yes_no,
        "warning_low_months": positive,
        "warning_high_months": positive,
        "propulsion": words(";"),
        "description": text,
        "needs_work": text,
        "lets_go": text,
        "how_to_look": text,
        **SOURCED,
    },
    (("warning_low_months", "warning_high_months"),),
)

INTERVALS = TableRules(
    "intervals",
    ("item_class", "meaning"),
    (),
    {
        "item_class": text,
        "meaning": word("renew_by", "typical_life", "look", "opportunity"),
        "grade": word("needs_work", "lets_go"),
        "low": positive,
        "high": positive,
        "unit": word("years", "hours"),
        **SOURCED,
        "note": free_text,
    },
    LOW_HIGH,
)

MECHANISMS = TableRules(
    "mechanisms",
    ("mechanism",),
    ("mechanism",),
    {"mechanism": text, "shape": positive, "log_sd": positive, "meaning": text, **SOURCED},
)

TASKS = TableRules(
    "tasks",
    ("item_class", "task"),
    ("item_class", "task"),
    {
        "item_class": text,
        "task": text,
        "does": word("renew", "inspect", "test", "adjust", "access"),
        "what": text,
        "out_of_water": yes_no,
        "skill": word("owner", "yard", "licensed"),
        "hours_low": number(),
        "hours_high": number(),
        "cost_low": number(),
        "cost_high": number(),
        "currency": text,
        "price_year": year,
        "scales_with": word("length", "none"),
        "reference_length_m": positive,
        "detection_low": optional(PROBABILITY),
        "detection_high": optional(PROBABILITY),
        **SOURCED,
    },
    (("hours_low", "hours_high"), ("cost_low", "cost_high"), ("detection_low", "detection_high")),
)

PATHS = TableRules(
    "paths",
    ("item_class", "end_state", "fuel"),
    ("item_class", "end_state", "fuel"),
    {
        "item_class": text,
        "end_state": text,
        "fuel": word("any", "gasoline", "diesel"),
        "low": PROBABILITY,
        "high": PROBABILITY,
        "note": free_text,
        **SOURCED,
    },
    LOW_HIGH,
)

END_STATES = TableRules(
    "end_states",
    ("end_state",),
    ("end_state",),
    {
        "end_state": text,
        "label": text,
        "can_kill": yes_no,
        "people_severity": word(*SEVERITY_WORDS),
        "happens": word(*DAYS_OF_HARM),
        "covered_laid_up": yes_no,
        "value_share_low": number(0.0, MOST_VALUE_LOST),
        "value_share_high": number(0.0, MOST_VALUE_LOST),
        "repair_per_metre_low": number(),
        "repair_per_metre_high": number(),
        "repair_log_sd": positive,
        "per_metre_low": number(),
        "per_metre_high": number(),
        "currency": text,
        "price_year": year,
        **SOURCED,
    },
    (
        ("value_share_low", "value_share_high"),
        ("repair_per_metre_low", "repair_per_metre_high"),
        ("per_metre_low", "per_metre_high"),
    ),
)

CIRCUMSTANCES = TableRules(
    "circumstances",
    ("end_state", "column"),
    ("end_state", "column", "level", "at_least"),
    {
        "end_state": text,
        "column": text,
        "level": free_text,
        "at_least": optional(number()),
        "below": optional(number()),
        "factor_low": number(),
        "factor_high": number(),
        "note": free_text,
        **SOURCED,
    },
    (("at_least", "below"), ("factor_low", "factor_high")),
)

BARRIERS = TableRules(
    "barriers",
    ("barrier", "end_state"),
    ("barrier", "end_state"),
    {
        "barrier": text,
        "end_state": text,
        "needs": words("+"),
        "stops_low": PROBABILITY,
        "stops_high": PROBABILITY,
        "note": free_text,
        **SOURCED,
    },
    (("stops_low", "stops_high"),),
)

OUTFITS = TableRules(
    "outfits",
    ("propulsion", "item_class"),
    ("propulsion", "item_class", "length_from_m", "built_from"),
    {
        "propulsion": text,
        "item_class": text,
        "length_from_m": optional(number()),
        "length_below_m": optional(number()),
        "built_from": optional(number()),
        "built_before": optional(number()),
        "quantity": number(),
        **SOURCED,
    },
    (("length_from_m", "length_below_m"), ("built_from", "built_before")),
)

PROPULSION = TableRules(
    "propulsion",
    ("propulsion",),
    ("propulsion",),
    {
        "propulsion": text,
        "label": text,
        "under_way_share": PROBABILITY,
        "new_value_per_cubic_metre": number(),
        "value_kept_each_year": PROBABILITY,
        "least_value_share": PROBABILITY,
        "meaning": text,
        **SOURCED,
    },
)

DEFAULTS = TableRules(
    "defaults",
    ("table", "column", "propulsion"),
    ("table", "column", "propulsion"),
    {"table": word("vessels", "items"), "column": text, "propulsion": text, "value": text, "unit": free_text}
    | SOURCED,
)

# A quantity of care is written as one of the physics is.
CARE = replace(PHYSICS, name="care")

LIMITS = TableRules(
    "limits",
    ("limit",),
    ("limit",),
    {"limit": text, "value": number(), "unit": text, "meaning": text, **SOURCED},
)

REGULATIONS = TableRules(
    "regulations",
    ("rule", "condition"),
    ("rule", "condition"),
    {"rule": text, "applies_to": text, "condition": text, "value": text, "units": text}
    | {"status": STATUS, "source": text},
)

PRACTICE = TableRules(
    "practice",
    ("item_class", "measure", "condition"),
    ("item_class", "measure", "condition", "status"),
    {
        "item_class": text,
        "measure": text,
        "condition": free_text,
        "low": number(),
        "high": number(),
        "unit": text,
        "meaning": free_text,
        **SOURCED,
    },
    LOW_HIGH,
)

# The text belongs to the key, so that an organisation can add a caution but never take one away.
CAUTIONS = TableRules(
    "cautions",
    ("topic", "applies_to", "text"),
    ("topic", "applies_to", "text"),
    {"topic": text, "applies_to": words(";"), "text": text, **SOURCED},
)

ALL_TABLES = (
    *(CLASSES, INTERVALS, MECHANISMS, TASKS, PATHS, END_STATES, CIRCUMSTANCES, BARRIERS),
    *(OUTFITS, PROPULSION, DEFAULTS, CARE, LIMITS, REGULATIONS, PRACTICE, CAUTIONS),
    *(DETECTION, SURROUNDINGS, READINGS, MATERIALS, PLACE_YEARS),
    *PHYSICS_TABLES,
    *SEVERITY_TABLES,
)
