"""What a best age and a best look interval come to in advice, and in words: safety first, then money."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.plan.intervals.best_age import BestAge
from riskmodel.trade import ItemClass
from riskmodel.words import money, ratio, years

RUN_TO_FAILURE = "run to failure"
NO_AGE = "money alone gives no age; keep the maker's interval"
UNPUBLISHED = "no renewal age is published"
BY_CONDITION = f"{UNPUBLISHED}: by condition"
NO_LOOK = "money alone gives no look"
# An optimum is called flat where ages this many times apart cost within 10 % of it, or looks half and twice as often
# cost no more than that (judgement).
FLAT_TIMES = 2.5
FLAT_SHARE = 0.10
# More looks a year than these are told as a habit and not as a number.
WEEKLY, MONTHLY = 26.0, 10.0


@dataclass(frozen=True)
class Advice:
    """Years to go by, infinite for none, NaN where the part's condition decides, and why, in a phrase."""

    years: float
    words: str


@dataclass(frozen=True)
class LookMoney:
    """Years between looks that cost least (infinite: none pays), what half and twice as often cost more, as shares,
    what a look costs, and what one is worth at the trade's interval."""

    best: float
    half: float
    double: float
    cost: float
    worth: float


def capped_age(best: BestAge, limit: float) -> Advice:
    """The age to renew at by a maker's or the trade's renewal age, ``limit`` [years], which advice never exceeds: for
    classes with a path to people or sinking, rubber that goes by its age, and parts whose maker names an age."""
    if np.isinf(best.age):
        return Advice(limit, NO_AGE)
    if best.age > limit:
        waits = f"money alone would wait until {years(best.age)} years"
        return Advice(limit, f"{waits}; the renewal age of {years(limit)} stands")
    return Advice(best.age, f"renew by {years(best.age)} years{_flat(best, limit)}")


def condition_age(best: BestAge, typical_age: float) -> Advice:
    """What to go by where people or the boat's floating are at stake and nobody publishes an age: the part's condition,
    and money's age where that comes before a typical life [years]."""
    if np.isinf(best.age):
        return Advice(np.nan, f"{BY_CONDITION}; money alone gives no age")
    if best.age > typical_age:
        return Advice(np.nan, f"{BY_CONDITION}; money alone would wait until {years(best.age)} years")
    return Advice(best.age, f"{BY_CONDITION}, and by money at {years(best.age)} years at the latest")


def free_age(best: BestAge, trade_age: float, failure_ratio: float) -> Advice:
    """The age to renew at where only money is at stake. ``trade_age`` [years, NaN where none is published];
    ``failure_ratio``: how many renewals in time a failure costs."""
    if np.isinf(best.age):
        why = f"a failure costs {ratio(failure_ratio)} times a renewal in time"
        return Advice(np.inf, f"{RUN_TO_FAILURE}: {why}{_flat(best)}")
    if np.isnan(trade_age):
        return Advice(best.age, f"renew at {years(best.age)} years; {UNPUBLISHED}{_flat(best)}")
    more = best.penalty(trade_age)
    beside = f"; the trade's {years(trade_age)} costs {100 * more:.0f} % more" if more > FLAT_SHARE else ""
    return Advice(best.age, f"renew at {years(best.age)} years{beside}{_flat(best)}")


def beside_age(best: BestAge, item_class: ItemClass) -> str:
    """What else the trade says of when to renew: a habit at haul-outs, a limit in running hours; empty for nothing."""
    habits = [row.low for row in item_class.intervals if row.meaning == "opportunity" and row.unit == "years"]
    hours = [row for row in item_class.intervals if row.meaning == "renew_by" and row.unit == "hours"]
    told = ""
    if habits:
        habit = f"{every(min(habits))}, because the boat is out, is a habit"
        asked = (
            "that costs hardly more"
            if best.penalty(min(habits)) <= FLAT_SHARE
            else "beyond what money asks for"
        )
        told += f"; {habit} {asked}"
    if hours:
        low, high = min(row.low for row in hours), max(row.high for row in hours)
        told += f"; or at {low:g} to {high:g} running hours, whichever comes first"
    return told


def capped_look(looks: LookMoney, trade: float) -> Advice:
    """How often to look, never more rarely than the trade's strictest interval, ``trade`` [years, infinite for none]:
    for classes with a path to people or sinking, and rubber that goes by its age."""
    if not trade < looks.best:
        return free_look(looks)
    first = NO_LOOK if np.isinf(looks.best) else f"money alone would look {every(looks.best)}"
    return Advice(trade, f"{first}; keep to the trade's, {every(trade)}")


def free_look(looks: LookMoney) -> Advice:
    """How often to look where only money is at stake."""
    flat = (
        "; flat: half or twice as often costs hardly more"
        if max(looks.half, looks.double) <= FLAT_SHARE
        else ""
    )
    if np.isinf(looks.best):
        worth = f": one costs {money(looks.cost)} and is worth {money(max(looks.worth, 0.0))}"
        return Advice(np.inf, f"{NO_LOOK}{worth}; glance at it when you are there")
    return Advice(looks.best, f"look {every(looks.best)}{flat}")


def every(interval: float) -> str:
    """An interval in years as people say it: "weekly", "4 times a year", "twice a year", "yearly", "every 2 years"."""
    if interval >= 1.25:
        return f"every {interval:.2g} years"
    number = 1.0 / interval
    if number >= MONTHLY:
        return "weekly" if number >= WEEKLY else "monthly"
    return {1: "yearly", 2: "twice a year"}.get(round(number), f"{round(number)} times a year")


def _flat(best: BestAge, limit: float = np.inf) -> str:
    """That it hardly matters when, where it does not: never past ``limit``."""
    low, high = best.within(FLAT_SHARE)
    high = min(high, limit)
    if np.isinf(high):
        return f"; flat: any age past {years(low)} costs within 10 %"
    if high > FLAT_TIMES * low:
        return f"; flat: {years(low)} to {years(high)} costs within 10 %"
    return ""
