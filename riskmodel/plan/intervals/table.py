"""Best intervals of each class, in each circumstance, against the trade's: when to renew, how often to look."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from riskmodel.errors import ParameterError
from riskmodel.plan.intervals.best_age import BestAge, best_age
from riskmodel.plan.intervals.group import Group, interval_groups, misses_of
from riskmodel.plan.intervals.look_interval import (
    CHOICES,
    Cycle,
    Outlay,
    cycle_of,
    seen_ending,
    unseen_ending,
)
from riskmodel.plan.intervals.upkeep_costs import look_costs
from riskmodel.plan.intervals.wearing import age_when_gone
from riskmodel.plan.intervals.words import (
    Advice,
    LookMoney,
    beside_age,
    capped_age,
    capped_look,
    condition_age,
    free_age,
    free_look,
)
from riskmodel.risk import Assessment
from riskmodel.trade import Task

# Where no age ends a part's life, looks are judged over the age by which nearly all have let go.
NEARLY_ALL = 0.95
# Columns that tell what a row is about stand first, with those of the circumstance after the class.
CELLS = (
    *("label", "parts", "capped", "planned_cost", "failure_cost", "trade_age", "renewal_limit", "best_age"),
    *("best_age_low", "best_age_high", "within_5_percent_low", "within_5_percent_high"),
    *("within_10_percent_low", "within_10_percent_high", "penalty_early", "penalty_late", "penalty_trade"),
    *("advised_age", "words", "look_task", "look_cost", "look_worth", "best_look_interval_years"),
    *("trade_look_years", "strictest_look_years", "look_penalty_half", "look_penalty_double"),
    *("look_penalty_trade", "advised_look_years", "look_words"),
)


def intervals_table(result: Assessment, *, by: Sequence[str] = ()) -> pd.DataFrame:
    """Best renewal age and look interval of each class, against the trade's, in years of the calendar.

    Parameters
    ----------
    result : Assessment
    by : names of columns of the vessels
        Which tell circumstances apart (``propulsion``, ``kept``, ...); none: one row a class.

    Returns
    -------
    DataFrame
        ``item_class``, the columns of ``by``, ``label, parts``; ``capped``: no advice goes beyond the renewal age.

        Ages: ``planned_cost, failure_cost`` (of one part, the mean loss in it); ``trade_age`` (the renewal age that
        is published, NaN for none), ``renewal_limit`` (that no advice exceeds, makers' included; infinite for
        none); ``best_age`` (infinite: no finite age pays) with ``best_age_low, best_age_high`` (central 90 % over
        what is believed of the life); ``within_5_percent_low, ...high, within_10_percent_low, ...high``: ages
        between which the cost stays so near the best; ``penalty_early, penalty_late, penalty_trade``: what half the
        best age, twice it, and the trade's cost more, as shares; ``advised_age`` (infinite: run to failure; NaN: by
        condition), ``words``.

        Looks, beside renewal at the advised age: ``look_task, look_cost, look_worth`` (of one look at the trade's
        interval), ``best_look_interval_years`` (infinite: none pays), ``trade_look_years, strictest_look_years,
        look_penalty_half, look_penalty_double, look_penalty_trade, advised_look_years, look_words``. NaN where there
        is none to tell.

    Raises
    ------
    ParameterError
        For a name in ``by`` that is no column of the vessels.
    """
    unknown = [name for name in by if name not in result.fleet.vessels]
    if unknown:
        raise ParameterError(f"by must name columns of the vessels, got {unknown[0]}")
    rows = [_row(group) for group in interval_groups(result, tuple(by))]
    return pd.DataFrame(rows, columns=list(dict.fromkeys(["item_class", *by, *CELLS])))


def _row(group: Group) -> dict[str, object]:
    best = best_age(group.wear, group.costs.planned, group.failure_cost)
    advice = _age_advice(group, best)
    renewed = group.serves if np.isnan(advice.years) else advice.years
    return {
        "item_class": group.item_class.item_class,
        **group.where,
        "label": group.item_class.label,
        "parts": float(group.money.number.sum()),
        "capped": group.capped,
        "planned_cost": group.costs.planned,
        "failure_cost": group.failure_cost,
        "trade_age": group.trade_age,
        "renewal_limit": group.limit,
        **_age_cells(best, group.trade_age),
        "advised_age": advice.years,
        "words": advice.words + beside_age(best, group.item_class),
        **_look_cells(group, min(renewed, age_when_gone(group.wear, NEARLY_ALL))),
    }


def _age_advice(group: Group, best: BestAge) -> Advice:
    if np.isfinite(group.limit):
        return capped_age(best, group.limit)
    if group.capped:
        return condition_age(best, group.typical_age)
    failures = group.failure_cost / max(group.costs.planned, np.finfo(float).tiny)
    return free_age(best, group.trade_age, failures)


def _age_cells(best: BestAge, trade_age: float) -> dict[str, float]:
    (low_5, high_5), (low_10, high_10) = best.within(0.05), best.within(0.10)
    finite = np.isfinite(best.age)
    return {
        "best_age": best.age,
        "best_age_low": best.low,
        "best_age_high": best.high,
        "within_5_percent_low": low_5,
        "within_5_percent_high": high_5,
        "within_10_percent_low": low_10,
        "within_10_percent_high": high_10,
        "penalty_early": best.penalty(0.5 * best.age) if finite else np.nan,
        "penalty_late": best.penalty(2.0 * best.age) if finite else np.nan,
        "penalty_trade": np.nan if np.isnan(trade_age) else best.penalty(trade_age),
    }


def _look_cells(group: Group, renewed: float) -> dict[str, object]:
    """The best way of looking and how often; of several ways the one that costs least at its best."""
    cycle = cycle_of(group.wear, renewed) if group.hidden else cycle_of(group.wear, renewed, group.windows)
    ways = [
        (task, np.array([_total(group, cycle, task, each) for each in CHOICES])) for task in group.look_tasks
    ]
    if not ways:
        return {"look_task": "", "look_words": "no look is listed"}
    task, rates = min(ways, key=lambda way: float(way[1].min()))
    best, least = CHOICES[int(np.argmin(rates))], float(rates.min())
    half, double = (_total(group, cycle, task, each) / least - 1.0 for each in (2.0 * best, 0.5 * best))
    spent, each = _spent(group, cycle, task, group.trade_look), look_costs(task, group.money)
    number = 1.0 / group.trade_look
    # Where the trade names no interval a look is told at one a year, and what it is worth not at all.
    cost = each.per_year(number or 1.0) / (number or 1.0)
    worth = (rates[-1] - spent) / number if number else np.nan
    money = LookMoney(best, half, double, cost, worth)
    advice = capped_look(money, group.strictest_look) if group.capped else free_look(money)
    pays = np.isfinite(best)
    return {
        "look_task": task.task,
        "look_cost": cost,
        "look_worth": worth,
        "best_look_interval_years": best,
        "trade_look_years": group.trade_look,
        "strictest_look_years": group.strictest_look,
        "look_penalty_half": half if pays else np.nan,
        "look_penalty_double": double if pays else np.nan,
        "look_penalty_trade": (each.per_year(number) + spent) / least - 1.0,
        "advised_look_years": advice.years,
        "look_words": advice.words,
    }


def _total(group: Group, cycle: Cycle, task: Task, interval: float) -> float:
    """Money a year with the part looked at so: looks, renewals and failures."""
    looks = look_costs(task, group.money).per_year(1.0 / interval) if np.isfinite(interval) else 0.0
    return looks + _spent(group, cycle, task, interval)


def _spent(group: Group, cycle: Cycle, task: Task, interval: float) -> float:
    """The same, looks left aside, averaged over the life's nodes."""
    costs = group.costs
    outlay = Outlay(costs.planned, costs.at_once, costs.failure, costs.while_dead)
    ending = (unseen_ending if group.hidden else seen_ending)(cycle, misses_of(task), interval)
    return float(group.wear.weight @ ending.cost_rate(outlay))
