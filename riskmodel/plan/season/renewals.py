"""Which parts are to be renewed in the time ahead, by when and why: defects, age, and what the ranking asks for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from riskmodel.frames import each_row
from riskmodel.plan.budget.floors import sinking_limit
from riskmodel.plan.season.asked import on_a_path, suspects
from riskmodel.plan.season.dates import SeasonDates
from riskmodel.risk import Assessment
from riskmodel.risk.ranking import CAN_KILL, KNOWN_DEFECT, MONEY
from riskmodel.units import DAYS_PER_YEAR
from riskmodel.words import about_in, years

# A part that lasts no longer than this (years) and whose age nobody knows is renewed: dearer to find out (judgement).
SHORT_LIVED = 2.0


@dataclass(frozen=True)
class Renewal:
    """A renewal by a day, why, and whether it may not wait: a known defect (``defect``), or already due (``now``)."""

    by: date
    why: str
    defect: bool = False
    now: bool = False


def renewals_due(result: Assessment, dates: SeasonDates) -> dict[str, Renewal]:
    """By item_id, the renewals that fall due from today to the end of the time ahead."""
    limits, doubted = renewal_limits(result), suspects(result)
    young = result.standing.set_index("item_id")["youngest"]
    found = {}
    for row in each_row(result.frame):
        renewal = _renewal(row, limits.get(row.item_id), float(young[row.item_id]), (result, dates))
        if renewal is not None and renewal.by <= dates.until:
            said = ", found suspect" if row.item_id in doubted else ""
            found[row.item_id] = replace(renewal, why=renewal.why + said)
    return found


def renewal_limits(result: Assessment) -> dict[str, tuple[float, str]]:
    """By item_id, the age (years) at which a part is renewed and who says so: its maker, else the trade.

    Classes for which the trade names no age to renew by have none: they are looked at.
    """
    items, limits = result.fleet.items, {}
    for item, name, maker in zip(
        items["item_id"], items["item_class"], items["maker_interval_years"], strict=True
    ):
        named = any(
            row.meaning == "renew_by" and row.unit == "years" for row in result.trade.classes[name].intervals
        )
        if np.isfinite(maker):
            limits[item] = float(maker), "maker"
        elif named:
            limits[item] = result.lives.seeds[name].upkeep.renewal_age, "trade"
    return limits


def _renewal(
    row: Any, limit: tuple[float, str] | None, youngest: float, tools: tuple[Assessment, SeasonDates]
) -> Renewal | None:
    """The first reason that holds, in the order of the report: defect, age gone by, danger, age to come, money."""
    result, dates = tools
    renews = row.task_does == "renew"
    if row.group == KNOWN_DEFECT:
        return Renewal(dates.today, f"known defect: {row.defect}", defect=True, now=True)
    by_age = None if limit is None else _by_age(row, limit, youngest, dates)
    if by_age is not None and by_age.now:
        return by_age
    if row.group == CAN_KILL and renews:
        return Renewal(dates.today, f"can kill: {about_in(row.kill_probability)}", now=True)
    if renews and row.sinking_probability > sinking_limit(result):
        return Renewal(dates.today, f"can sink the boat: {about_in(row.sinking_probability)}", now=True)
    # What pays comes no later than it is asked for, though age would leave it longer.
    pays = row.group == MONEY and renews and row.loss_averted > row.task_cost
    worth = dates.soon if on_a_path(row, result) else dates.first_trip
    if by_age is not None and by_age.by <= (worth if pays else dates.until):
        return by_age
    return Renewal(worth, "averts more loss than it costs") if pays else None


def _by_age(row: Any, limit: tuple[float, str], youngest: float, dates: SeasonDates) -> Renewal | None:
    age, who = limit
    asked = f"{who} renews at {years(age)} y"
    if np.isfinite(row.age_years):
        by = dates.today + timedelta(days=round((age - row.age_years) * DAYS_PER_YEAR))
        if row.overdue or by <= dates.today:
            told = f"overdue: {years(row.age_years)} y old, {asked}"
            return Renewal(dates.today, told, now=True)
        return Renewal(by, f"due {by}: {asked}")
    if row.overdue:
        return Renewal(dates.today, f"overdue: at least {years(youngest)} y old, {asked}", now=True)
    # Nobody throws a sound part of unknown age away but where it lasts hardly longer than the looking.
    if age > SHORT_LIVED:
        return None
    return Renewal(dates.first_trip, f"age unknown: {asked}")
