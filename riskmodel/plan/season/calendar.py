"""A boat's season as a calendar: what to do before it is used again, before the first trip, afloat, and ashore."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from riskmodel.consequence import barriers_against
from riskmodel.frames import each_row
from riskmodel.plan.season.dates import SeasonDates, season_dates
from riskmodel.plan.season.looks_due import NOW, Routine, look_days, month_later, routines
from riskmodel.plan.season.renewals import Renewal, renewals_due
from riskmodel.risk import Assessment
from riskmodel.risk.looking import LOOKING
from riskmodel.risk.ranking import CAN_KILL, MONEY
from riskmodel.trade import Task
from riskmodel.words import about_in

BEFORE_USE, FIRST_TRIP = "before the boat is used again", "before the first trip"
IN_WATER, HAUL_OUT = "in the water", "at haul-out"
GROUPS = (BEFORE_USE, FIRST_TRIP, HAUL_OUT, IN_WATER)
COLUMNS = (
    *("group", "due", "item_id", "item_class", "position", "task", "does", "what", "skill"),
    *("out_of_water", "cost", "quantity", "assumed", "why", "mark", "rank"),
)
# What is lost when the pump and its switch are dead and nobody is aboard.
SUNK_AT_REST = "sinking_unattended"


@dataclass(frozen=True)
class SeasonCalendar:
    """``tasks``: one row a task and day, in the order of GROUPS, days and the ranking (COLUMNS).

    ``cost`` is that of doing it once; ``mark`` tells a task from the same task at another time, on whatever day the
    calendar is made. ``every_trip``: what is looked at on every trip, in sentences; ``dates``: the days that the
    year turns on.
    """

    tasks: pd.DataFrame
    every_trip: tuple[str, ...]
    dates: SeasonDates


@dataclass(frozen=True)
class _Planned:
    """A task on a day, why, and its mark."""

    day: date
    task: Task
    why: str
    mark: str


def season_calendar(result: Assessment) -> SeasonCalendar:
    """What to do to the one boat of an assessment, and when; known defects before all else."""
    dates = season_dates(result)
    due = renewals_due(result, dates)
    looked = result.standing.set_index("item_id")["looked_on"]
    rows = []
    for row in each_row(result.frame):
        renewal, last = due.get(row.item_id), looked[row.item_id]
        planned = list(_renewed(row, renewal, result, dates))
        renewed = planned[0].day if planned else None
        planned += _looked_at(row, None if pd.isna(last) else last.date(), renewed, (result, dates))
        rows += [_row(row, each) | {"group": _group(each, renewal, dates)} for each in planned]
    frame = _costed(pd.DataFrame(rows, columns=list(COLUMNS)), result)
    place = frame["group"].map({name: number for number, name in enumerate(GROUPS)})
    # By day and then by rank; defects have one day, and so the order of their danger.
    frame = frame.assign(place=place).sort_values(["place", "due", "rank", "task"], kind="stable")
    return SeasonCalendar(frame.drop(columns="place").reset_index(drop=True), _every_trip(result), dates)


def _row(row: Any, planned: _Planned) -> dict[str, Any]:
    of_item = ("item_id", "item_class", "position", "assumed", "rank")
    of_task = ("task", "does", "what", "skill", "out_of_water")
    return {
        "due": planned.day,
        "why": planned.why,
        "mark": planned.mark,
        **{name: getattr(row, name) for name in of_item},
        **{name: getattr(planned.task, name) for name in of_task},
    }


def _costed(frame: pd.DataFrame, result: Assessment) -> pd.DataFrame:
    """The rows with ``quantity`` of each item and ``cost`` of doing each task once, without a haul-out."""
    items, once = result.fleet.items, result.tasks[result.tasks["looks"] == 1]
    named = pd.MultiIndex.from_arrays([items["item_id"].to_numpy()[once["item"]], once["task"]])
    work = pd.Series(once["work"].to_numpy(dtype=float), index=named)
    keys = pd.MultiIndex.from_frame(frame[["item_id", "task"]])
    number = items.set_index("item_id")["quantity"]
    return frame.assign(
        cost=work.reindex(keys).to_numpy(), quantity=frame["item_id"].map(number).to_numpy(dtype=float)
    )


def _group(planned: _Planned, renewal: Renewal | None, dates: SeasonDates) -> str:
    day, task = planned.day, planned.task
    if renewal is not None and renewal.defect and task.does == "renew":
        return BEFORE_USE
    if task.out_of_water:
        return HAUL_OUT
    # A boat that lies afloat all winter has its pumps tested then, and not for the first trip.
    winter = dates.wet_winter and task.does == "test" and dates.today <= day < dates.first_trip
    return FIRST_TRIP if day <= dates.first_trip and not winter else IN_WATER


def _renewed(row: Any, renewal: Renewal | None, result: Assessment, dates: SeasonDates) -> Iterator[_Planned]:
    """The renewal, on the last day for such work that is not after it falls due."""
    if renewal is None:
        return
    tasks = [task for task in result.trade.classes[row.item_class].tasks if task.does == "renew"]
    task = next((each for each in tasks if each.task == row.best_task), tasks[0])
    yield _Planned(_renewal_day(renewal, task, dates), task, renewal.why, renewal.mark)


def _renewal_day(renewal: Renewal, task: Task, dates: SeasonDates) -> date:
    if renewal.now:
        return dates.today
    if task.out_of_water and dates.haul_outs:
        before = [day for day in dates.haul_outs if day <= max(renewal.by, dates.haul_outs[0])]
        # A part due before the next lift asks for a lift of its own.
        if before[-1] <= renewal.by or renewal.by <= dates.first_trip:
            return before[-1]
    return max(renewal.by.replace(day=1), dates.today)


def _looked_at(
    row: Any, last: date | None, renewed: date | None, tools: tuple[Assessment, SeasonDates]
) -> Iterator[_Planned]:
    """Looks and tests by routine, the one that the ranking asks for at the first chance; none on what is about to be
    renewed, and after a renewal as on a new part."""
    result, dates = tools
    item_class = result.trade.classes[row.item_class]
    afloat = {name for each in barriers_against(SUNK_AT_REST, result.trade) for name in each.needs}
    wanted = renewed is None and _worth_a_look(row)
    every = routines(item_class, result.trade)
    for routine in (each for each in every if each.months):
        asked = wanted and routine.task.task == row.best_task
        days = look_days(routine, None if asked else last, dates, hidden=row.item_class in afloat)
        for number, (day, mark) in enumerate(days):
            if _renewed_then(day, routine, renewed):
                continue
            new = renewed is not None and day > renewed
            why = _asked(row) if asked and number == 0 else _why(routine, last, row, new=new)
            yield _Planned(day, routine.task, why, mark)
    if wanted and row.best_task not in {each.task.task for each in every}:
        task = next(each for each in item_class.tasks if each.task == row.best_task)
        yield _Planned(dates.first_trip, task, _asked(row), NOW)


def _renewed_then(day: date, routine: Routine, renewed: date | None) -> bool:
    """Whether a look falls between a month before a renewal and the routine's time after it."""
    return (
        renewed is not None and renewed <= month_later(day, 1) and day < month_later(renewed, routine.months)
    )


def _worth_a_look(row: Any) -> bool:
    """Whether the ranking asks for a look: at a part that can kill, or one that averts more than it costs."""
    pays = row.group == MONEY and row.loss_averted > row.task_cost
    return row.task_does in LOOKING and (row.group == CAN_KILL or bool(pays))


def _asked(row: Any) -> str:
    if row.group == CAN_KILL:
        return f"can kill: {about_in(row.kill_probability)}"
    return "averts more loss than it costs"


def _why(routine: Routine, last: date | None, row: Any, *, new: bool) -> str:
    often = "every month" if routine.months == 1 else f"every {routine.months} months"
    if routine.task.out_of_water:
        often = "each time ashore" if routine.task.skill == "owner" else "once a year ashore"
    if new:
        return f"{often} once renewed"
    seen = "none on record" if last is None else f"last {last:%Y-%m}"
    return f"{often}; {seen}" + ("; age unknown: look for a date" if pd.isna(row.age_years) else "")


def _every_trip(result: Assessment) -> tuple[str, ...]:
    """Cautions for every trip, fumes first, then the looks that the trade makes too often for a date."""
    carried = set(result.fleet.items["item_class"])
    fumes = result.fleet.vessels["fuel"].iloc[0] == "gasoline" or "engine_blower" in carried
    told = {"fumes": fumes, "every_trip": True}
    said = [
        each.text
        for topic, holds in told.items()
        for each in result.trade.cautions
        if holds and each.topic == topic and carried & {*each.applies_to} | {*each.applies_to} & {"all"}
    ]
    looks = [
        f"{result.trade.classes[name].label}: {routine.task.what[0].lower()}{routine.task.what[1:]}"
        for name in sorted(carried)
        for routine in routines(result.trade.classes[name], result.trade)
        if not routine.months
    ]
    return (*said, *looks)
