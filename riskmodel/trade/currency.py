"""The trade's prices in a fleet's own currency."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import TypeVar

from riskmodel.trade.records import Task, Trade
from riskmodel.trade.severity import EndState

Row = TypeVar("Row")
Priced = TypeVar("Priced", Task, EndState)
OF_TASKS = ("cost_low", "cost_high")
OF_END_STATES = ("repair_per_metre_low", "repair_per_metre_high", "per_metre_low", "per_metre_high")


def in_currency(trade: Trade, currency: str, scale: float) -> Trade:
    """The same knowledge with every price that is not in ``currency`` yet times ``scale``, and in it.

    Tasks and lifts, repair and clean-up by length, and the standard's bands and the first guess of a boat's worth,
    which are in US dollars. Shares of a boat's value stay.
    """
    tasks = {
        name: tuple(_priced(task, OF_TASKS, (currency, scale)) for task in each.tasks)
        for name, each in trade.classes.items()
    }
    return replace(
        trade,
        classes=_each(trade.classes, lambda each: replace(each, tasks=tasks[each.item_class])),
        haul_out=_priced(trade.haul_out, OF_TASKS, (currency, scale)),
        end_states=_each(trade.end_states, lambda each: _priced(each, OF_END_STATES, (currency, scale))),
        severities=_each(
            trade.severities, lambda each: replace(each, money_at_least=scale * each.money_at_least)
        ),
        propulsions=_each(
            trade.propulsions,
            lambda each: replace(each, new_value_per_cubic_metre=scale * each.new_value_per_cubic_metre),
        ),
        unit=scale * trade.unit,
    )


def _each(rows: Mapping[str, Row], change: Callable[[Row], Row]) -> Mapping[str, Row]:
    return MappingProxyType({name: change(row) for name, row in rows.items()})


def _priced(row: Priced, prices: tuple[str, ...], into: tuple[str, float]) -> Priced:
    currency, scale = into
    if row.currency == currency:
        return row
    values = {name: scale * getattr(row, name) for name in prices}
    return replace(row, currency=currency, **values)
