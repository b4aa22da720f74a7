"""How much faster or slower a part ages in a vessel's surroundings than its trade interval presumes."""

from __future__ import annotations

from collections.abc import Mapping

from riskmodel.errors import ParameterError
from riskmodel.trade.conditions import condition_met, is_blank, plain_number
from riskmodel.trade.evidence import Surrounding
from riskmodel.trade.records import ItemClass, Trade

# Our judgement: boats for which the trade writes its intervals lie in temperate salt water for the season.
REFERENCE_LEVELS = {"water": "salt", "climate": "temperate", "kept": "afloat"}
REFERENCE_MULTIPLE = 1.0
RUNNING_HOURS = "hours_per_year"


def surrounding_rate(
    trade: Trade, item_class: ItemClass, vessel: Mapping[str, object]
) -> dict[str, tuple[float, float]]:
    """Rate of ageing by factor, low and high: 2 is twice as fast, half the life.

    Every factor of the table is there: (1, 1) where it says nothing of the class, at its reference, and where
    the vessel's column is missing or blank.

    Raises ParameterError for a word where a number belongs, or a propulsion that the trade does not know.
    """
    rates = {row.factor: (1.0, 1.0) for row in trade.surroundings}
    for row in surroundings_of(trade, item_class):
        if condition_met(row, _compared(trade, row, vessel)):
            low, high = rates[row.factor]
            rates[row.factor] = (low * row.rate_low, high * row.rate_high)
    return rates


def surroundings_of(trade: Trade, item_class: ItemClass) -> tuple[Surrounding, ...]:
    """The rows that speak of a class: its own for a factor, else those of its mechanism.

    Rows on running hours are left out for a class that has a clock of hours: it counts them already.
    """
    name, mechanism = item_class.item_class, item_class.mechanism.mechanism
    own = {row.factor for row in trade.surroundings if row.item_class == name}
    rows = (row for row in trade.surroundings if row.mechanism == mechanism)
    spoken = (row for row in rows if row.item_class == (name if row.factor in own else "any"))
    return tuple(row for row in spoken if item_class.clock == "age" or row.column != RUNNING_HOURS)


def usual_value(trade: Trade, column: str, propulsion: str) -> float:
    """What a vessels column holds on an ordinary boat of a kind [the column's unit].

    Raises ParameterError where the trade has no such default or does not know the propulsion.
    """
    if propulsion not in trade.propulsions:
        raise ParameterError(f"propulsion must be one of {', '.join(trade.propulsions)}, got {propulsion!r}")
    for row in trade.defaults:
        if (row.table, row.column) == ("vessels", column) and row.propulsion in {propulsion, "any"}:
            return plain_number(column, row.value)
    raise ParameterError(f"column must be a vessels column with a default, got {column!r}")


def _compared(trade: Trade, row: Surrounding, vessel: Mapping[str, object]) -> object:
    value = vessel.get(row.column)
    if row.level or is_blank(value):
        return value
    propulsion = vessel.get("propulsion")
    if is_blank(propulsion):
        return None
    return plain_number(row.column, value) / usual_value(trade, row.column, str(propulsion))
