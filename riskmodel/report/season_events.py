"""A season's tasks as events of a calendar that may be imported again, with those that are no longer due called off."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from riskmodel.frames import each_row
from riskmodel.plan.season.calendar import SeasonCalendar, group_label
from riskmodel.plan.season.looks_due import MONTHS, routines
from riskmodel.plan.season.season import Season
from riskmodel.report.icalendar import Event
from riskmodel.report.rank import currency_of, part_names
from riskmodel.risk.looking import LOOKING
from riskmodel.trade import ItemClass, Task, Trade
from riskmodel.words import price

# Months that an earlier calendar may have run, whose entries are called off where they are no longer due: two seasons
# (judgement).
EARLIER = 24
# Days a year on which work ashore may be done: before the launch, at lay-up, and today.
LIFTS = 3
CALLED_OFF = "no longer due"
NOT_A_SURVEY = "An estimate from tables, not a survey. The maker and the local code come first."


def events_of(season: Season, calendar: SeasonCalendar) -> list[Event]:
    """An event a task and day; its key counts the times that a task is still to be done, so that a calendar seen again
    after a task was done, put off or recorded moves the entries it made before."""
    tasks, result = calendar.tasks, season.result
    boat = _boat(season)
    return [
        Event(
            key=_key(season, task.item_id, task.task, task.number),
            day=task.due,
            summary=f"{boat}: {part}: {_said(task.task)}",
            description=_description(task, season),
            category=group_label(task.group, calendar.dates),
        )
        for task, part in zip(each_row(tasks), part_names(result, tasks), strict=True)
    ]


def called_off(season: Season, calendar: SeasonCalendar) -> list[Event]:
    """An event for every time that an earlier calendar may have had a task and this one has not, cancelled.

    They lie on the day before this one: a calendar that does not drop what is cancelled has no stale day ahead.
    """
    result, dates = season.result, calendar.dates
    given = calendar.tasks.groupby(["item_id", "task"])["number"].max().to_dict()
    months = max(EARLIER, _months(dates.today, dates.until))
    yesterday, boat, items = dates.today - timedelta(days=1), _boat(season), result.fleet.items
    return [
        Event(
            key=_key(season, row.item_id, name, number),
            day=yesterday,
            summary=f"{boat}: {part}: {_said(name)} ({CALLED_OFF})",
            description=f"Done, or {CALLED_OFF}, as the records stood on {dates.today}.",
            category=CALLED_OFF,
            cancelled=True,
        )
        for row, part in zip(each_row(items), part_names(result, items), strict=True)
        for name, most in times_at_most(result.trade.classes[row.item_class], result.trade, months)
        for number in range(given.get((row.item_id, name), 0) + 1, most + 1)
    ]


def times_at_most(item_class: ItemClass, trade: Trade, months: int) -> Iterator[tuple[str, int]]:
    """Each task that a calendar may hold, and how often at the most in so many months."""
    often = {each.task.task: each.months for each in routines(item_class, trade)}
    for task in item_class.tasks:
        if task.does == "renew" or task.does in LOOKING:
            yield task.task, _times(task, often.get(task.task, 0), months)


def _times(task: Task, often: int, months: int) -> int:
    if task.does == "renew" or not often:
        return 1
    ashore = LIFTS * -(-months // MONTHS) if task.out_of_water else 0
    # Today's look, the one that falls in the last month, and what is due by the first trip.
    return max(months // often + 2, ashore)


def _months(start: date, end: date) -> int:
    return (end.year - start.year) * MONTHS + end.month - start.month + 1


def _key(season: Season, item: str, task: str, number: int) -> tuple[str, ...]:
    return season.vessel_id, item, task, str(number)


def _boat(season: Season) -> str:
    return str(season.result.fleet.vessels["name"].iloc[0]) or season.vessel_id


def _said(task: str) -> str:
    return task.replace("_", " ")


def _description(task: Any, season: Season) -> str:
    """What to do, why, who and for how much, and every caution that goes with the class."""
    result = season.result
    cost = f"about {currency_of(result)} {price(task.cost)}" if task.cost >= 1 else "no cost to speak of"
    cautions = [
        each.text
        for each in result.trade.cautions
        if task.item_class in each.applies_to and each.topic != "every_trip"
    ]
    fitted = ["A part of the typical outfit: if it is fitted."] if task.assumed else []
    about = [task.what, *fitted, f"Why: {task.why}.", f"Who: {task.skill}; {cost}."]
    return "\n".join([*about, *cautions, NOT_A_SURVEY])
