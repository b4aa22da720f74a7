"""A boat's season as a calendar: what to do before it is used again, before the first trip, afloat, and ashore."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from riskmodel.consequence import barriers_against
from riskmodel.frames import each_row
from riskmodel.plan.season.asked import Asked, asked_of, suspects
from riskmodel.plan.season.dates import SeasonDates, season_dates
from riskmodel.plan.season.every_trip import every_trip
from riskmodel.plan.season.looks_due import Routine, look_days, month_later, routines
from riskmodel.plan.season.renewals import Renewal, renewals_due
from riskmodel.risk import Assessment
from riskmodel.risk.looking import LOOKING
from riskmodel.trade import Task

BEFORE_USE, FIRST_TRIP = "before the boat is used again", "before the first trip"
IN_WATER, HAUL_OUT = "in the water", "at haul-out"
GROUPS = (BEFORE_USE, FIRST_TRIP, HAUL_OUT, IN_WATER)
DRY = {HAUL_OUT: "ashore", IN_WATER: "between trips"}
COLUMNS = (
    *("group", "due", "item_id", "item_class", "position", "task", "does", "what", "skill"),
    *("out_of_water", "cost", "quantity", "assumed", "why", "number", "rank"),
)
# What is lost when the pump and its switch are dead and nobody is aboard.
SUNK_AT_REST = "sinking_unattended"


@dataclass(frozen=True)
class SeasonCalendar:
    """``tasks``: one row a task and day, in the order of GROUPS, days and the ranking (COLUMNS).

    ``cost`` is that of doing it once; ``number`` tells a task from the same task at another time: the first that is
    still to be done is 1, the next 2, on whatever day the calendar is made. ``every_trip``: what is looked at on every
    trip, in sentences; ``dates``: the days that the year turns on.
    """

    tasks: pd.DataFrame
    every_trip: tuple[str, ...]
    dates: SeasonDates


@dataclass(frozen=True)
class _Planned:
    """A task on a day, why, and whether the boat waits for it (``first``)."""

    day: date
    task: Task
    why: str
    first: bool = False


def season_calendar(result: Assessment) -> SeasonCalendar:
    """What to do to the one boat of an assessment, and when; known defects before all else."""
    dates = season_dates(result)
    due, doubted = renewals_due(result, dates), suspects(result)
    looked = result.standing.set_index("item_id")["looked_on"]
    rows = []
    for row in each_row(result.frame):
        renewal, last = due.get(row.item_id), looked[row.item_id]
        planned = list(_renewed(row, renewal, result, dates))
        renewed = planned[0].day if planned else None
        seen = _Seen(None if pd.isna(last) else last.date(), renewed, doubted.get(row.item_id))
        planned += _looked_at(row, seen, result, dates)
        rows += [_row(row, each) | {"group": _group(each, dates)} for each in planned]
    frame = _costed(pd.DataFrame(rows, columns=list(COLUMNS)), result)
    frame["number"] = frame.groupby(["item_id", "task"])["due"].rank(method="first").astype(int)
    place = frame["group"].map({name: number for number, name in enumerate(GROUPS)})
    # By day and then by rank; defects have one day, and so the order of their danger.
    frame = frame.assign(place=place).sort_values(["place", "due", "rank", "task"], kind="stable")
    return SeasonCalendar(frame.drop(columns="place").reset_index(drop=True), every_trip(result), dates)


def _row(row: Any, planned: _Planned) -> dict[str, Any]:
    of_item = ("item_id", "item_class", "position", "assumed", "rank")
    of_task = ("task", "does", "what", "skill", "out_of_water")
    return {
        "due": planned.day,
        "why": planned.why,
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


def _group(planned: _Planned, dates: SeasonDates) -> str:
    day, task = planned.day, planned.task
    if planned.first:
        return BEFORE_USE
    if task.out_of_water:
        return HAUL_OUT
    # A boat that lies afloat has its pumps tested, and what may sink it looked at, before the first trip.
    lying = task.does in LOOKING and dates.today <= day < dates.first_trip
    return FIRST_TRIP if day <= dates.first_trip and not lying else IN_WATER


def group_label(group: str, dates: SeasonDates) -> str:
    """A group's name; a boat that lives ashore is neither hauled out nor left in the water."""
    return DRY.get(group, group) if dates.dry else group


def _renewed(row: Any, renewal: Renewal | None, result: Assessment, dates: SeasonDates) -> Iterator[_Planned]:
    """The renewal, on the last day for such work that is not after it falls due."""
    if renewal is None:
        return
    tasks = [task for task in result.trade.classes[row.item_class].tasks if task.does == "renew"]
    task = next((each for each in tasks if each.task == row.best_task), tasks[0])
    yield _Planned(_renewal_day(renewal, task, dates), task, renewal.why, renewal.defect)


def _renewal_day(renewal: Renewal, task: Task, dates: SeasonDates) -> date:
    if renewal.now:
        return dates.today
    if task.out_of_water and dates.haul_outs:
        before = [day for day in dates.haul_outs if day <= max(renewal.by, dates.haul_outs[0])]
        # A part due before the next lift asks for a lift of its own.
        if before[-1] <= renewal.by or renewal.by <= dates.first_trip:
            return before[-1]
    return max(renewal.by.replace(day=1), dates.today)


@dataclass(frozen=True)
class _Seen:
    """When a part was last looked at, is to be renewed, and was last found suspect; None for never."""

    last: date | None
    renewed: date | None
    suspect: date | None


def _looked_at(row: Any, seen: _Seen, result: Assessment, dates: SeasonDates) -> Iterator[_Planned]:
    """Looks and tests by routine, the one that is asked for at the first chance; none on what is about to be renewed,
    and after a renewal as on a new part."""
    asked = asked_of(row, seen.suspect, result, dates)
    if asked is not None and seen.renewed is not None and (not seen.suspect or seen.renewed <= asked.day):
        asked = None
    every = [each for each in routines(result.trade.classes[row.item_class], result.trade) if each.months]
    for routine in every:
        mine = asked if asked is not None and asked.task == routine.task else None
        yield from _by_routine(routine, row, seen, mine, (result, dates))
    # A habit of every trip has a day only where no trip comes first, or something was seen.
    if asked is not None and asked.task not in [each.task for each in every]:
        habit = asked.task in [
            each.task for each in routines(result.trade.classes[row.item_class], result.trade)
        ]
        if not habit or seen.suspect or asked.day < dates.first_trip:
            yield _Planned(asked.day, asked.task, asked.why, asked.first)


def _by_routine(
    routine: Routine, row: Any, seen: _Seen, asked: Asked | None, tools: tuple[Assessment, SeasonDates]
) -> Iterator[_Planned]:
    """One routine's looks; the look ``asked`` for first, where it is this one."""
    result, dates = tools
    afloat = {name for each in barriers_against(SUNK_AT_REST, result.trade) for name in each.needs}
    hidden, renewed = row.item_class in afloat, seen.renewed
    days = list(look_days(routine, seen.last if asked is None else None, dates, hidden=hidden))
    if asked is not None and _sooner(asked, days, routine, dates):
        days = [asked.day, *look_days(routine, asked.day, dates, hidden=hidden)]
    for number, day in enumerate(dict.fromkeys(days)):
        if _renewed_then(day, routine, renewed):
            continue
        new = renewed is not None and day > renewed
        if asked is not None and number == 0:
            yield _Planned(day, routine.task, asked.why, asked.first)
        else:
            yield _Planned(day, routine.task, _why(routine, seen, row, new=new))


def _sooner(asked: Asked, days: list[date], routine: Routine, dates: SeasonDates) -> bool:
    """Whether a look is asked for before its routine has it; what only pays waits for the lift that it needs."""
    lifted = routine.task.out_of_water and not dates.dry and not asked.first
    return (not days or asked.day < days[0]) and not lifted


def _renewed_then(day: date, routine: Routine, renewed: date | None) -> bool:
    """Whether a look falls between a month before a renewal and the routine's time after it."""
    return (
        renewed is not None and renewed <= month_later(day, 1) and day < month_later(renewed, routine.months)
    )


def _why(routine: Routine, seen: _Seen, row: Any, *, new: bool) -> str:
    often = "every month" if routine.months == 1 else f"every {routine.months} months"
    if routine.task.out_of_water:
        often = "each time ashore" if routine.task.skill == "owner" else "once a year ashore"
    if new:
        return f"{often} once renewed"
    often = f"found suspect, {often}" if seen.suspect else often
    told = "none on record" if seen.last is None else f"last {seen.last:%Y-%m}"
    return f"{often}; {told}" + ("; age unknown: look for a date" if pd.isna(row.age_years) else "")
