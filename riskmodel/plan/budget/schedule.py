"""When work can be done: each boat's next time out of the water, and the yard's hours month by month."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np
import pandas as pd

from riskmodel.fleet import Fleet
from riskmodel.fleet.month_days import DAYS, day_number, day_numbers
from riskmodel.frames import each_row
from riskmodel.risk.haul_out import OUT_ALREADY
from riskmodel.risk.horizon import Horizon

ASHORE = ("ashore", "on_trailer")
# A boat taken to be hauled yearly, of which nobody knows when: on average the lift is half a year off (judgement).
UNKNOWN_LIFT = timedelta(days=183)
# Whose hours a yard has so many of; an owner's own time is the owner's.
YARD = ("yard", "licensed")
# Hours closer than this are one: sums of halves and tenths.
ROUNDING = 1e-9


def haul_outs(fleet: Fleet, hauled: frozenset[str], day: date) -> pd.DataFrame:
    """When each boat is out of the water anyway, so that work there pays for no lift.

    Parameters
    ----------
    hauled : boats taken to be hauled about yearly (risk.haul_out.hauled_yearly)
    day : date
        The day the fleet is seen.

    Returns
    -------
    DataFrame
        One row a boat, in the fleet's order: ``vessel_id``; ``out_now`` (bool); ``next_on``: the first day of its
        next time ashore (None: no lift is paid for anyway, or it is out now); ``known_by``: what that rests on.
    """
    rows = [_of_boat(boat, fleet, hauled, day) for boat in each_row(fleet.vessels)]
    return pd.DataFrame(
        {
            "vessel_id": fleet.vessels["vessel_id"].to_numpy(),
            "out_now": [out for out, _, _ in rows],
            "next_on": pd.Series([on for _, on, _ in rows], dtype=object),
            "known_by": [why for _, _, why in rows],
        }
    )


def hire_season(fleet: Fleet, day: date) -> frozenset[str]:
    """Boats let by the day (``day_rate`` above 0) that are in their season on ``day``: work then costs hire."""
    rate = fleet.vessels["day_rate"].astype(float).fillna(0.0)
    return frozenset(
        boat.vessel_id
        for boat in each_row(fleet.vessels[rate > 0])
        if not _outside(_season(boat, fleet), day)
    )


def dated(work: pd.DataFrame, yard_hours: float | None, horizon: Horizon) -> pd.Series:
    """The day each piece of funded work is done, None where the yard has no hours left before the horizon's end.

    Parameters
    ----------
    work : DataFrame
        ``date`` (the first day it can be done), ``vessel_id, skill, hours, out_of_water`` and ``urgency``: the least is
        placed first.
    yard_hours : float, optional
        Hours the yard has in a month for these boats; none: as many as it takes.

    Greedy: work is taken in order of urgency and given the first month that has hours for it; all that needs a boat
    out of the water on one day goes together, and what is more than a month's hours runs on into the next.
    """
    days = work["date"].copy()
    if yard_hours is None:
        return days
    free = {month: yard_hours for month in _months(horizon)}
    for places in _blocks(work):
        rows = work.loc[places]
        hours = float(rows.loc[rows["skill"].isin(YARD), "hours"].sum())
        first = rows["date"].max()
        days.loc[places] = [_placed(hours, first, free)] * len(places)
    return days


def _of_boat(boat: object, fleet: Fleet, hauled: frozenset[str], day: date) -> tuple[bool, date | None, str]:
    vessel, kept = str(boat.vessel_id), str(boat.kept)  # type: ignore[attr-defined]
    if kept in OUT_ALREADY:
        return (
            True,
            None,
            f"kept {'on a trailer' if kept == 'trailer' else 'in a rack' if kept == 'rack' else kept}",
        )
    periods = fleet.periods[fleet.periods["vessel_id"] == vessel]
    dry = periods[periods["state"].isin(ASHORE)]
    if len(dry):
        return _by_periods(dry, day)
    lifts = fleet.records[
        (fleet.records["vessel_id"] == vessel) & fleet.records["event"].isin(("hauled", "launched"))
    ].sort_values("date", kind="stable")
    if set(lifts["event"]) == {"hauled", "launched"} and lifts["event"].iloc[-1] == "hauled":
        return True, None, "hauled and not yet launched"
    if vessel not in hauled:
        return False, None, "no lift is paid for anyway"
    last = lifts.loc[lifts["event"] == "hauled", "date"]
    if len(last):
        return False, upcoming(f"{last.iloc[-1]:%m-%d}", day), "the time of year it was hauled last"
    season = _season(boat, fleet)
    if not all(season):
        return False, day + UNKNOWN_LIFT, "taken to be hauled yearly, nobody knows when"
    if _outside(season, day):
        return True, None, "laid up: outside its season"
    return False, upcoming(season[1], day) + timedelta(days=1), "the end of its season"


def _by_periods(dry: pd.DataFrame, day: date) -> tuple[bool, date | None, str]:
    first, last = day_numbers(dry["from"]), day_numbers(dry["to"])
    if ((day_number(day) - first) % DAYS <= (last - first) % DAYS).any():
        return True, None, "ashore by its periods"
    return False, min(upcoming(month_day, day) for month_day in dry["from"]), "its periods"


def upcoming(month_day: str, day: date) -> date:
    """The first such day of a year after ``day``; 29 February falls on the 28th in other years."""
    month, number = (int(part) for part in month_day.split("-"))
    for year in (day.year, day.year + 1):
        leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
        short = (month, number) == (2, 29) and not leap
        found = date(year, month, 28 if short else number)
        if found > day:
            return found
    raise AssertionError("a day of the year comes again within two years")


def _season(boat: object, fleet: Fleet) -> tuple[str, str]:
    start, end = str(boat.season_start or ""), str(boat.season_end or "")  # type: ignore[attr-defined]
    if start and end:
        return start, end
    return fleet.settings.season_start, fleet.settings.season_end


def _outside(season: tuple[str, str], day: date) -> bool:
    """True where the day lies outside a season that is given; it may cross the year's end."""
    if not all(season):
        return False
    first, last = (int(number) for number in day_numbers(season))
    return (day_number(day) - first) % DAYS > (last - first) % DAYS


def _months(horizon: Horizon) -> Iterator[tuple[int, int]]:
    month = (horizon.as_of.year, horizon.as_of.month)
    while month <= (horizon.until.year, horizon.until.month):
        yield month
        month = (month[0] + month[1] // 12, month[1] % 12 + 1)


def _blocks(work: pd.DataFrame) -> Iterator[pd.Index]:
    """Labels of work done together, the most urgent first: a boat's haul-out on one day, else each task alone."""
    together = np.where(
        work["out_of_water"], work["vessel_id"] + "/" + work["date"].astype(str), work.index.astype(str)
    )
    groups = work.groupby(together, sort=False)
    for _, rows in sorted(groups, key=lambda group: group[1]["urgency"].min()):
        yield rows.index


def _placed(hours: float, first: date, free: dict[tuple[int, int], float]) -> date | None:
    """Takes the hours out of the months from ``first`` on; the day the work is done, None where they run out."""
    if hours <= 0:
        return first
    taken: dict[tuple[int, int], float] = {}
    for month, left in free.items():
        if month < (first.year, first.month) or left <= 0:
            continue
        taken[month] = min(left, hours - sum(taken.values()))
        if sum(taken.values()) >= hours - ROUNDING:
            for each, used in taken.items():
                free[each] -= used
            return max(first, date(*month, 1))
    return None
