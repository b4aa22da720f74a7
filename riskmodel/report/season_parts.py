"""The season's tables as rows for people and for files (months, totals, tasks, materials), and its calendar file."""

from __future__ import annotations

import pandas as pd

from riskmodel.plan.season.calendar import SeasonCalendar, group_label
from riskmodel.plan.season.materials import season_materials
from riskmodel.plan.season.season import Season
from riskmodel.report.icalendar import calendar_text
from riskmodel.report.rank import currency_of
from riskmodel.report.season_events import called_off, events_of
from riskmodel.words import LEAST_SAID

# End states that no column of months is spent on: hurt people stand apart, mess is no harm to plan for.
APART = ("injury", "nuisance")
# Columns of months that fit a page and a sheet.
MOST_STATES = 6
LISTS = ("months", "totals", "tasks", "materials")


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
    frame["group"] = [group_label(group, calendar.dates) for group in frame["group"]]
    return _dated(frame, ("due",)).assign(**days, currency=currency_of(season.result))


def calendar_file(season: Season, calendar: SeasonCalendar) -> str:
    """The season's tasks as the text of an .ics file."""
    name = f"{vessel_name(season)}: the season's work"
    events = [*events_of(season, calendar), *called_off(season, calendar)]
    # Records are only ever added: of two calendars made on one day the one that knows more is the later.
    return calendar_text(events, name, season.horizon.as_of, known=len(season.result.fleet.records))


def _dated(frame: pd.DataFrame, columns: tuple[str, ...]) -> pd.DataFrame:
    """The frame with these columns of days as ISO text."""
    return frame.assign(**{name: frame[name].map(str) for name in columns})
