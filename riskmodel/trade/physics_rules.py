"""The rules of the tables behind the physics of consequences."""

from __future__ import annotations

from riskmodel.trade.cells import free_text, number, positive, text, word, yes_no
from riskmodel.trade.table_rules import LOW_HIGH, PROBABILITY, SOURCED, TableRules

PHYSICS = TableRules(
    "physics",
    ("quantity",),
    ("quantity",),
    {"quantity": text, "low": number(), "typical": number(), "high": number(), "unit": text, "meaning": text}
    | SOURCED,
    (("low", "typical"), ("typical", "high")),
)

OPENINGS = TableRules(
    "openings",
    ("item_class", "mode"),
    ("item_class", "mode"),
    {
        "item_class": text,
        "mode": word("weep", "split", "parted"),
        "share_low": PROBABILITY,
        "share_high": PROBABILITY,
        "area_low_mm2": positive,
        "area_high_mm2": positive,
        "bore_mm": positive,
        "depth_low_m": number(),
        "depth_high_m": number(),
        "at_berth_low": PROBABILITY,
        "at_berth_high": PROBABILITY,
        "open_low": PROBABILITY,
        "open_high": PROBABILITY,
        "note": free_text,
        **SOURCED,
    },
    (
        ("share_low", "share_high"),
        ("area_low_mm2", "area_high_mm2"),
        ("depth_low_m", "depth_high_m"),
        ("at_berth_low", "at_berth_high"),
        ("open_low", "open_high"),
    ),
)

FUEL_LEAKS = TableRules(
    "fuel_leaks",
    ("item_class", "mode"),
    ("item_class", "mode"),
    {
        "item_class": text,
        "mode": word("weep", "split", "parted"),
        "share_low": PROBABILITY,
        "share_high": PROBABILITY,
        "litres_low": positive,
        "litres_high": positive,
        "minutes_low": positive,
        "minutes_high": positive,
        "hot_low": PROBABILITY,
        "hot_high": PROBABILITY,
        "occasions_low": positive,
        "occasions_high": positive,
        "note": free_text,
        **SOURCED,
    },
    (
        ("share_low", "share_high"),
        ("litres_low", "litres_high"),
        ("minutes_low", "minutes_high"),
        ("hot_low", "hot_high"),
        ("occasions_low", "occasions_high"),
    ),
)

EXHAUST_LEAKS = TableRules(
    "exhaust_leaks",
    ("item_class", "mode"),
    ("item_class", "mode"),
    {
        "item_class": text,
        "mode": word("weep", "split", "parted"),
        "share_low": PROBABILITY,
        "share_high": PROBABILITY,
        "gas_low": PROBABILITY,
        "gas_high": PROBABILITY,
        "inside_low": PROBABILITY,
        "inside_high": PROBABILITY,
        "minutes_low": positive,
        "minutes_high": positive,
        "occasions_low": positive,
        "occasions_high": positive,
        "note": free_text,
        **SOURCED,
    },
    (
        ("share_low", "share_high"),
        ("gas_low", "gas_high"),
        ("inside_low", "inside_high"),
        ("minutes_low", "minutes_high"),
        ("occasions_low", "occasions_high"),
    ),
)

# What damage may do nothing without: water round the boat, its engine running, or nothing at all.
WATER, RUNNING, NOTHING = "water", "running", "nothing"
CONDITIONS = ("core", "water", "climate", "kept", "propulsion")

SLOW_DAMAGE = TableRules(
    "slow_damage",
    ("item_class", "end_state", "measure", *CONDITIONS),
    ("item_class", "end_state", "measure", *CONDITIONS),
    {
        "item_class": text,
        "end_state": text,
        "needs": word(WATER, RUNNING, NOTHING),
        "measure": word("reached", "delay", "least", "growth", "most", "noticed", "growth_factor"),
        **dict.fromkeys(CONDITIONS, free_text),
        "low": positive,
        "high": positive,
        "unit": word("share", "months", "share/month", "m2/month", "m2", "chance a visit", "factor"),
        "meaning": free_text,
        **SOURCED,
    },
    LOW_HIGH,
)

BACKGROUND = TableRules(
    "background",
    ("cause",),
    ("cause", "column", "level"),
    {
        "cause": text,
        "label": text,
        "column": free_text,
        "level": free_text,
        "gathers": yes_no,
        "events_per_year_low": positive,
        "events_per_year_high": positive,
        "water_mm_low": positive,
        "water_mm_high": positive,
        "note": free_text,
        **SOURCED,
    },
    (("events_per_year_low", "events_per_year_high"), ("water_mm_low", "water_mm_high")),
)

PHYSICS_TABLES = (PHYSICS, OPENINGS, SLOW_DAMAGE, FUEL_LEAKS, EXHAUST_LEAKS, BACKGROUND)
