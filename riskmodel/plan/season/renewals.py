"""Which parts are to be renewed in the time ahead, by when and why: defects, age, and what the ranking asks for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np

from riskmodel.frames import each_row
from riskmodel.plan.season.dates import SeasonDates
from riskmodel.risk import Assessment
from riskmodel.risk.horizon import DAYS_PER_YEAR
from riskmodel.risk.ranking import CAN_KILL, KNOWN_DEFECT, MONEY
from riskmodel.words import about_in, years

# A part that lasts no longer than this (years) and whose age nobody knows is renewed: dearer to find out (judgement).
SHORT_LIVED = 2.0


@dataclass(frozen=True)
class Renewal:
    """A renewal by a day, why, and whether it may not wait: a known defect (``defect``), or already due (``now``).

    ``mark`` tells it from the next renewal of the same part, on whatever day it is asked: the month it falls due in,
    where that is known.
    """

    by: date
    why: str
    mark: str
    defect: bool = False
    now: bool = False


def renewals_due(result: Assessment, dates: SeasonDates) -> dict[str, Renewal]:
    """By item_id, the renewals that fall due from today to the end of the time ahead."""
    limits = renewal_limits(result)
    young = result.standing.set_index("item_id")["youngest"]
    found = {}
    for row in each_row(result.frame):
        renewal = _renewal(row, limits.get(row.item_id), float(young[row.item_id]), dates)
        if renewal is not None and renewal.by <= dates.until:
            found[row.item_id] = renewal
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
    row: Any, limit: tuple[float, str] | None, youngest: float, dates: SeasonDates
) -> Renewal | None:
    """The first reason that holds, in the order of the report: defect, age gone by, danger, age to come, money."""
    renews = row.task_does == "renew"
    if row.group == KNOWN_DEFECT:
        return Renewal(dates.today, f"known defect: {row.defect}", "defect", defect=True, now=True)
    by_age = None if limit is None else _by_age(row, limit, youngest, dates)
    if by_age is not None and by_age.now:
        return by_age
    if row.group == CAN_KILL and renews:
        return Renewal(dates.today, f"can kill: {about_in(row.kill_probability)}", "danger", now=True)
    if by_age is not None and by_age.by <= dates.until:
        return by_age
    if row.group == MONEY and renews and row.loss_averted > row.task_cost:
        return Renewal(dates.first_trip, "averts more loss than it costs", "worth")
    return None


def _by_age(row: Any, limit: tuple[float, str], youngest: float, dates: SeasonDates) -> Renewal | None:
    age, who = limit
    asked = f"{who} renews at {years(age)} y"
    if np.isfinite(row.age_years):
        by = dates.today + timedelta(days=round((age - row.age_years) * DAYS_PER_YEAR))
        if row.overdue or by <= dates.today:
            told = f"overdue: {years(row.age_years)} y old, {asked}"
            return Renewal(dates.today, told, f"{by:%Y-%m}", now=True)
        return Renewal(by, f"due {by}: {asked}", f"{by:%Y-%m}")
    if row.overdue:
        return Renewal(
            dates.today, f"overdue: at least {years(youngest)} y old, {asked}", "overdue", now=True
        )
    # Nobody throws a sound part of unknown age away but where it lasts hardly longer than the looking.
    if age > SHORT_LIVED:
        return None
    return Renewal(dates.first_trip, f"age unknown: {asked}", "overdue")
