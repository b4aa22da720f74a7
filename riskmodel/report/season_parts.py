"""The season's tables as rows for people and for files: months, totals, tasks, materials, calendar events."""

from __future__ import annotations

from typing import Any

import pandas as pd

from riskmodel.frames import each_row
from riskmodel.plan.season.calendar import SeasonCalendar
from riskmodel.plan.season.materials import season_materials
from riskmodel.plan.season.season import Season
from riskmodel.report.icalendar import Event, calendar_text
from riskmodel.report.rank import currency_of, part_names
from riskmodel.words import LEAST_SAID, price

# End states that no column of months is spent on: hurt people stand apart, mess is no harm to plan for.
APART = ("injury", "nuisance")
# Columns of months that fit a page and a sheet.
MOST_STATES = 6
LISTS = ("months", "totals", "tasks", "materials")
NOT_A_SURVEY = "An estimate from tables, not a survey. The maker and the local code come first."


def states_that_matter(season: Season) -> list[str]:
    """End states whose chance over the season is worth saying, what can kill first, at most MOST_STATES."""
    totals = season.totals[season.totals["end_state"].isin(season.months.columns)]
    said = totals[(totals["chance"] >= LEAST_SAID) & ~totals["end_state"].isin(APART)]
    return list(said.sort_values("can_kill", ascending=False, kind="stable")["end_state"])[:MOST_STATES]


def vessel_name(season: Season) -> str:
    """The boat's name and id, or its id where it has no name."""
    name = str(season.result.fleet.vessels["name"].iloc[0])
    return f"{name} ({season.vessel_id})" if name else season.vessel_id


def rows_of(season: Season, calendar: SeasonCalendar, which: str) -> pd.DataFrame:
    """One of LISTS as a table that stands alone: with the boat, and the days it spans or the currency."""
    days = {
        "vessel_id": season.vessel_id,
        "as_of": str(season.horizon.as_of),
        "until": str(season.horizon.until),
    }
    if which == "months":
        frame = season.months.assign(
            in_season=[calendar.dates.in_season(day) for day in season.months["start"]]
        )
        return _dated(frame, ("start", "end")).assign(**days)
    if which == "totals":
        return season.totals.assign(**days)
    if which == "materials":
        return _dated(season_materials(calendar.tasks, season.result), ("need_by",)).assign(**days)
    frame = calendar.tasks.drop(columns="rank").round({"cost": 2})
    return _dated(frame, ("due",)).assign(**days, currency=currency_of(season.result))


def events_of(season: Season, calendar: SeasonCalendar) -> list[Event]:
    """An event a task and day; a task that is put off or seen anew keeps its key: that of the month it falls due in."""
    tasks, result = calendar.tasks, season.result
    boat = str(result.fleet.vessels["name"].iloc[0]) or season.vessel_id
    return [
        Event(
            key=(season.vessel_id, task.item_id, task.task, task.mark),
            day=task.due,
            summary=f"{boat}: {part}: {task.task.replace('_', ' ')}",
            description=_description(task, season),
            category=task.group,
        )
        for task, part in zip(each_row(tasks), part_names(result, tasks), strict=True)
    ]


def calendar_file(season: Season, calendar: SeasonCalendar) -> str:
    """The season's tasks as the text of an .ics file."""
    name = f"{vessel_name(season)}: the season's work"
    return calendar_text(events_of(season, calendar), name, season.horizon.as_of)


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


def _dated(frame: pd.DataFrame, columns: tuple[str, ...]) -> pd.DataFrame:
    """The frame with these columns of days as ISO text."""
    return frame.assign(**{name: frame[name].map(str) for name in columns})
