"""The knowledge base of the trade: classes, intervals, looks, readings, surroundings, tasks, paths to harm."""

from riskmodel.trade.circumstances import circumstance_factor
from riskmodel.trade.currency import in_currency
from riskmodel.trade.evidence import Detection, Reading, Surrounding
from riskmodel.trade.load import load_trade
from riskmodel.trade.money import end_state_loss, guessed_value, task_cost
from riskmodel.trade.outfit import typical_outfit
from riskmodel.trade.ranges import Range, Spread
from riskmodel.trade.readings import finding_of_reading, readings_of
from riskmodel.trade.records import (
    Barrier,
    Care,
    Caution,
    Circumstance,
    Default,
    HarmPath,
    Interval,
    ItemClass,
    Limit,
    Mechanism,
    OutfitRow,
    Practice,
    Propulsion,
    Regulation,
    Task,
    Trade,
)
from riskmodel.trade.severity import EndState, ProbabilityLevel, SeverityCategory
from riskmodel.trade.surroundings import surrounding_rate, surroundings_of, usual_value

__all__ = [
    "Barrier",
    "Care",
    "Caution",
    "Circumstance",
    "Default",
    "Detection",
    "EndState",
    "HarmPath",
    "Interval",
    "ItemClass",
    "Limit",
    "Mechanism",
    "OutfitRow",
    "Practice",
    "ProbabilityLevel",
    "Propulsion",
    "Range",
    "Reading",
    "Regulation",
    "SeverityCategory",
    "Spread",
    "Surrounding",
    "Task",
    "Trade",
    "circumstance_factor",
    "end_state_loss",
    "finding_of_reading",
    "guessed_value",
    "in_currency",
    "load_trade",
    "readings_of",
    "surrounding_rate",
    "surroundings_of",
    "task_cost",
    "typical_outfit",
    "usual_value",
]
