"""The knowledge base of the trade: item classes, intervals, tasks, paths to harm, outfits and cautions."""

from riskmodel.trade.circumstances import circumstance_factor
from riskmodel.trade.load import load_trade
from riskmodel.trade.money import end_state_loss, guessed_value, task_cost
from riskmodel.trade.outfit import typical_outfit
from riskmodel.trade.records import (
    Barrier,
    Care,
    Caution,
    Circumstance,
    Default,
    EndState,
    HarmPath,
    Interval,
    ItemClass,
    Limit,
    Mechanism,
    OutfitRow,
    Practice,
    Propulsion,
    Regulation,
    Spread,
    Task,
    Trade,
)

__all__ = [
    "Barrier",
    "Care",
    "Caution",
    "Circumstance",
    "Default",
    "EndState",
    "HarmPath",
    "Interval",
    "ItemClass",
    "Limit",
    "Mechanism",
    "OutfitRow",
    "Practice",
    "Propulsion",
    "Regulation",
    "Spread",
    "Task",
    "Trade",
    "circumstance_factor",
    "end_state_loss",
    "guessed_value",
    "load_trade",
    "task_cost",
    "typical_outfit",
]
